package policy

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// ferry are the rules of a ferry's winch: one of the first set, one of the second.
var ferry = []*rules.Rule{{ID: "winch-name", Level: rules.Error}, {ID: "winch-rope", Level: rules.Warning, Since: 2}}

var today = time.Date(2027, 1, 1, 23, 59, 59, 0, time.UTC)

// accepting reads a file of acceptances, which must be of the right form.
func accepting(t testing.TB, text string) (*source.Set, []Acceptance) {
	t.Helper()
	set := source.NewSet()
	list, diags := ReadFile(set, set.Add("accepted.toml", []byte(text), source.Span{}), false)
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	return set, list
}

// decision reads a policy, which must be of the right form.
func decision(t testing.TB, text string) *Policy {
	t.Helper()
	set := source.NewSet()
	p, diags := Read(set, set.Add("shuntwright.toml", []byte(text), source.Span{}), ferry)
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	return p
}

// fails is a failure of a rule with margins in volts, or in amperes where they end in A.
func fails(rule, block string, level rules.Level, margins ...string) rules.Result {
	r := rules.Result{Rule: rule, Block: block, Kind: rules.KindFail, Level: level}
	for _, m := range margins {
		v, u, err := quantity.ReadMargin(m)
		if err != nil {
			panic(err)
		}
		r.Measures = append(r.Measures, rules.Measure{Name: "rope", Unit: u, Margin: v, Kind: r.Kind, Level: level})
	}
	return r
}

// said is what comes of results, one line each: the kind, whether it is accepted, the message of an acceptance.
func said(results []rules.Result, idle []Idle) string {
	var out []string
	for _, r := range results {
		switch {
		case r.Rule == acceptanceRule:
			out = append(out, r.Message)
		case r.Accepted != nil:
			out = append(out, fmt.Sprintf("%s %s accepted", r.Block, r.Rule))
		default:
			line := fmt.Sprintf("%s %s %s", r.Block, r.Rule, Word(r))
			for _, x := range r.Related {
				line += ": " + x.Message
			}
			out = append(out, line)
		}
	}
	for _, i := range idle {
		out = append(out, "idle: "+i.Result.Message)
	}
	return strings.Join(out, "\n")
}
