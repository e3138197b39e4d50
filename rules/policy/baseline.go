package policy

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// A Baseline is what is written of each finding that a team takes over as it stands.
type Baseline struct {
	Netlist        string // counted from the folder of the file
	Because, Owner string
	Until          time.Time // the last day
}

// A recorded finding is what an acceptance of it says; instances that share a name are one.
type recorded struct {
	rule, at string
	variant  string
	found    int // index of foundWords
	of       []string
	margins  []rules.Measure
}

// Record writes the findings of one netlist as acceptances, and counts them and those that the policy lets nobody
// accept.
func (p *Policy) Record(set *source.Set, results []rules.Result, b Baseline) (text string, written, left int) {
	var list []*recorded
	known := map[[3]string]*recorded{}
	for _, r := range results {
		switch {
		case !r.Unsettled(): // what follows another finding would be one once that is accepted
			continue
		case r.Rule == acceptanceRule, r.Rule == policyRule, slices.Contains(p.Never(), r.Rule):
			left++
			continue
		}
		written++
		at := Instance(set, r)
		key := [3]string{r.Rule, strings.ToLower(at), r.Variant}
		if known[key] == nil {
			known[key] = &recorded{rule: r.Rule, at: at, variant: r.Variant}
			list = append(list, known[key])
		}
		known[key].add(r)
	}
	var out strings.Builder
	for _, f := range list {
		out.WriteString("\n" + f.toml(b))
	}
	return out.String(), written, left
}

// add takes a finding in: the heaviest word, and of each unit the least margin.
func (f *recorded) add(r rules.Result) {
	f.found = max(f.found, slices.Index(foundWords, Word(r)))
	if list := names(r); len(list) > len(f.of) {
		f.of = list
	}
	if r.Kind == rules.KindOpen {
		return
	}
	for _, m := range deciding(r) {
		if math.IsNaN(m.Margin) {
			m.Margin = math.Inf(-1)
		}
		i := slices.IndexFunc(f.margins, func(o rules.Measure) bool { return o.Unit.Dim == m.Unit.Dim })
		switch {
		case i < 0:
			f.margins = append(f.margins, m)
		case m.Margin < f.margins[i].Margin:
			f.margins[i] = m
		}
	}
}

func (f *recorded) toml(b Baseline) string {
	var out strings.Builder
	line := func(key, value string) { fmt.Fprintf(&out, "%s = %s\n", key, value) }
	fmt.Fprintf(&out, "[[accept.%s]]\n", quoted(f.rule))
	line("at", text(f.at))
	if f.variant != "" {
		line("variant", text(f.variant))
	}
	line("netlist", text(literal(b.Netlist)))
	line("found", text(foundWords[f.found]))
	if len(f.of) > 0 {
		var list []string
		for _, name := range f.of {
			list = append(list, text(name))
		}
		line("of", "["+strings.Join(list, ", ")+"]")
	}
	var margins []string
	for _, m := range f.margins {
		if t := text(quantity.ScaleFor(m.Unit, m.Margin).Text(m.Margin, quantity.Down)); !slices.Contains(margins, t) {
			margins = append(margins, t)
		}
	}
	switch len(margins) {
	case 0:
	case 1:
		line("margin", margins[0])
	default:
		line("margin", "["+strings.Join(margins, ", ")+"]")
	}
	line("because", text(b.Because))
	line("until", text(b.Until.Format(time.DateOnly)))
	line("owner", text(b.Owner))
	return out.String()
}

// literal makes a path stand for itself in a glob.
func literal(path string) string {
	return strings.NewReplacer(`\`, `\\`, "*", `\*`, "?", `\?`, "[", `\[`, "{", `\{`, "}", `\}`).Replace(path)
}

// text writes a TOML text: JSON's escapes are among TOML's.
func text(s string) string {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	_ = e.Encode(s) // a text always has one
	return strings.ReplaceAll(strings.TrimSuffix(b.String(), "\n"), "\x7f", `\u007f`)
}

// quoted writes the id of a rule as a key.
func quoted(id string) string {
	for _, c := range id {
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_') {
			return text(id)
		}
	}
	return id
}
