package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

const (
	mostStates    = 8  // parts of a witness that a line of text names; the machine formats name all
	mostInstances = 20 // and instances of a card
)

// A row is one line of evidence: a fixed word, what it says, and at the right edge where that comes from.
type row struct {
	word, text, from string
	wide             bool // a gauge: it does not move the right edge
}

// evidence is what stands under the first line of a finding, in fixed order.
func (n *Netlist) evidence(g *group) (rows []row) {
	r, home := g.worst, n.place(g.worst.At).Path
	add := func(word, text, from string) { rows = append(rows, row{word, Plain(text), Plain(from), false}) }

	shown := telling(r)
	for i, m := range shown {
		s := scale(m)
		reach, bound, margin := figures(m, s)
		if i == 0 {
			if nothing := math.IsNaN(m.Min) && math.IsNaN(m.Max); !nothing && !math.IsNaN(reached(m)) {
				text := reach
				switch {
				case m.Arithmetic != "":
					text += "   = " + m.Arithmetic
				case m.Reason != "" && !finite(reached(m)):
					text += "   " + m.Reason
				}
				add("reach", text, n.origins(m.From, home, ""))
			}
			if finite(limit(m)) {
				text := bound
				if m.LimitText != "" {
					text += "   = " + m.LimitText
				}
				add("limit", text, n.origins(m.LimitFrom, home, m.LimitText))
			}
		}
		if bar := gauge(m, s); bar != "" && !math.IsNaN(m.Margin) {
			line := row{word: "margin", text: margin + "   " + bar, wide: true}
			if len(shown) > 1 {
				line.from = Plain(label(m, shown))
			}
			rows = append(rows, line)
		}
	}
	for _, a := range r.Assumed {
		add("rests-on", " "+a, "")
	}
	for i, need := range g.needs {
		if i == mostInstances {
			add("missing", fmt.Sprintf(" %d more", len(g.needs)-i), "")
			break
		}
		add("missing", " "+need.String(), n.short(need.At, home))
	}
	if len(shown) > 0 {
		if w := shown[0].Witness; len(w) > 0 {
			add("witness", " "+first(w, mostStates, ", "), "")
		}
	}
	if r.Remedy != nil {
		add("remedy", " "+r.Remedy.Text, verdict(r.Remedy))
	}
	if r.Advice != "" {
		add("remedy", " "+r.Advice, unjudged)
	}
	for _, x := range slices.Concat(r.Related, r.Brings) {
		add("related", " "+x.Message, n.short(x.At, home))
	}
	if len(g.instances) > 0 {
		calls := n.shorts(g.calls, home)
		if calls != "" {
			calls = "called at " + calls
		}
		add("instances", " "+first(g.instances, mostInstances, ", "), calls)
	}
	return rows
}

// label is what a gauge among several is called: its quantity, and the limit beside it where others are of the same quantity.
func label(m rules.Measure, among []rules.Measure) string {
	n := 0
	for _, o := range among {
		if o.Name == m.Name {
			n++
		}
	}
	if n > 1 && m.LimitText != "" {
		return m.Name + ", " + m.LimitText
	}
	return m.Name
}

// first joins a list and counts what is beyond the first few.
func first(list []string, most int, between string) string {
	text := strings.Join(list[:min(len(list), most)], between)
	if len(list) > most {
		text += fmt.Sprintf("%s%d more", between, len(list)-most)
	}
	return text
}

// telling are the measures of a result that a person has to see: the one that decides and whatever else does not hold.
func telling(r rules.Result) (out []rules.Measure) {
	for i, m := range r.Measures {
		if i == 0 || m.Kind > rules.KindPass {
			out = append(out, m)
		}
	}
	return out
}

// unjudged stands beside a remedy that is the rule's own word.
const unjudged = "not judged again"

// verdict says how the remedy fared when it was judged again.
func verdict(r *rules.Remedy) string {
	switch {
	case len(r.Breaks) == 0 && r.Kind == rules.KindReview:
		return "judged again: review"
	case len(r.Breaks) == 0:
		return "judged again: passes"
	}
	return "judged again: worse for " + strings.Join(r.Breaks, ", ")
}

// figures are the deciding end, its limit and the margin, right-aligned with room for a sign; each errs to the side
// that makes the design look worse.
func figures(m rules.Measure, s quantity.Scale) (reach, bound, margin string) {
	out := []string{
		s.Text(reached(m), towards(m.AtHigh)),
		s.Text(limit(m), towards(!m.AtHigh)),
		s.Text(m.Margin, quantity.Down),
	}
	width := 0
	for i := range out {
		if i == 1 && !finite(limit(m)) {
			continue
		}
		w := utf8.RuneCountInString(out[i])
		if !strings.HasPrefix(out[i], "-") {
			w++
		}
		width = max(width, w)
	}
	for i, t := range out {
		out[i] = strings.Repeat(" ", max(0, width-utf8.RuneCountInString(t))) + t
	}
	return out[0], out[1], out[2]
}

// widest is how far to the right a row moves the edge of the sources: one long sentence would drive them out of sight.
const widest = 120

// lay puts rows under each other, their sources at one edge.
func lay(rows []row) (lines []string) {
	edge := 0
	head := make([]string, len(rows))
	for i, r := range rows {
		head[i] = fmt.Sprintf("    %-8s%s", r.word, r.text)
		if len(r.word) > 8 {
			head[i] = "    " + r.word + " " + r.text
		}
		if wide := utf8.RuneCountInString(head[i]); !r.wide && r.from != "" && wide <= widest {
			edge = max(edge, wide)
		}
	}
	for i, r := range rows {
		if r.from != "" {
			gap := max(4, edge+4-utf8.RuneCountInString(head[i]))
			if r.wide {
				gap = 4
			}
			head[i] += strings.Repeat(" ", gap) + r.from
		}
		lines = append(lines, strings.TrimRight(head[i], " "))
	}
	return lines
}
