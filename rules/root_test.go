package rules_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// atMost is a rule that holds the series resistance of a leg at or below some ohm.
func atMost(id string, ohms float64, l rules.Level) *rules.Rule {
	return &rules.Rule{ID: id, Title: id, Level: l, Judge: func(p *rules.Bench) {
		p.AtMost(p.Plus.Resistance("series"), quantity.Exactly("most", quantity.Ohm, ohms), "most").Lower(p.Plus.Resistors()...)
	}}
}

func verdicts(d *design.Design, list ...*rules.Rule) map[string]rules.Result {
	out := map[string]rules.Result{}
	for _, r := range rules.Judge(d, list).Results {
		out[r.Rule] = r
	}
	return out
}

// Of two failures that one remedy settles the root is told once; the other is found again when the root is accepted,
// when it weighs less, and it stays a finding where it weighs more than what cures it.
func TestOneRootIsOneFinding(t *testing.T) {
	d := load(t, strings.Replace(deck, "XA BUS LOAD", "RF BUS n 100\nXA n LOAD", 1), barge)
	got := verdicts(d, atMost("loose", 50, rules.Error), atMost("tight", 10, rules.Error))
	if got["loose"].Follows != "tight" || got["tight"].Follows != "" {
		t.Fatalf("loose follows %q, tight %q", got["loose"].Follows, got["tight"].Follows)
	}
	if !slices.ContainsFunc(got["tight"].Brings, func(r source.Related) bool { return strings.HasPrefix(r.Message, "loose comes of it: ") }) {
		t.Errorf("it brings %v", got["tight"].Brings)
	}
	if got["loose"].Finding() || !got["loose"].Unsettled() || !got["tight"].Finding() {
		t.Error("what follows is a finding, or its root is none")
	}
	both := []rules.Result{got["loose"], got["tight"]}
	rules.Rooted(both)
	if both[0].Follows != "tight" {
		t.Error("it lost its root for no reason")
	}
	both[1].Level = rules.Warning
	rules.Rooted(both)
	if both[0].Follows != "" || slices.ContainsFunc(both[1].Brings, func(r source.Related) bool { return strings.Contains(r.Message, "comes of it") }) {
		t.Error("an error hides behind a warning, or is told there as well")
	}
	both = []rules.Result{got["loose"], got["tight"]}
	both[1].Accepted = &rules.Acceptance{}
	rules.Rooted(both)
	if !both[0].Finding() {
		t.Error("the root is accepted, and what follows with it")
	}
	// A variant that changes nothing about the root does not repeat it: the drawing's tells what comes of it there.
	lone := got["loose"]
	lone.Variant, lone.Level = "lite", rules.Warning
	both = []rules.Result{got["tight"], lone}
	rules.Rooted(both)
	if !slices.ContainsFunc(both[0].Brings, func(r source.Related) bool { return strings.HasPrefix(r.Message, "loose (lite) comes of it: ") }) {
		t.Errorf("it brings %v", both[0].Brings)
	}
	got = verdicts(d, atMost("loose", 50, rules.Error), atMost("tight", 10, rules.Warning))
	if got["loose"].Follows != "" || got["tight"].Follows != "" && got["tight"].Follows != "loose" {
		t.Errorf("loose follows %q, tight %q", got["loose"].Follows, got["tight"].Follows)
	}
	// Without remedies nobody knows what settles what.
	for _, r := range rules.Judge(d, []*rules.Rule{atMost("loose", 50, rules.Error), atMost("tight", 10, rules.Error)}, rules.NoRemedies).Results {
		if !r.Finding() {
			t.Errorf("%s follows %q", r.Rule, r.Follows)
		}
	}
}

// What only misses what a failure has told of follows it; what misses more does not.
func TestToldNeeds(t *testing.T) {
	gone := quantity.Need{In: "netlist", Key: "a shunt"}
	broken := &rules.Rule{ID: "broken", Title: "broken", Level: rules.Error, Judge: func(p *rules.Bench) { p.Breach("no shunt").Tells(gone) }}
	asks := func(id string, needs ...quantity.Need) *rules.Rule {
		return &rules.Rule{ID: id, Title: id, Level: rules.Error, Judge: func(p *rules.Bench) {
			for _, n := range needs {
				p.Need(n)
			}
		}}
	}
	got := verdicts(load(t, deck, barge), asks("one", gone), asks("two", gone, quantity.Need{In: "intent", Key: "goals.XA.error"}), broken)
	if got["one"].Follows != "broken" || got["two"].Follows != "" {
		t.Errorf("one follows %q, two %q", got["one"].Follows, got["two"].Follows)
	}

	// The same words at one place are said once, with the rules that they are said of.
	list := []*rules.Rule{broken}
	for _, id := range []string{"a", "b", "c", "d", "e", "f"} {
		list = append(list, asks(id, gone))
	}
	root := verdicts(load(t, deck, barge), list...)["broken"]
	if len(root.Brings) != 1 || root.Brings[0].Message != "a, b, c, d, e, 1 more come of it: "+verdicts(load(t, deck, barge), list[1])["a"].Message {
		t.Errorf("it brings %v", root.Brings)
	}
}

// Two rules that see one defect are one finding, in either order of weight that lets the root be the root.
func TestSameDefect(t *testing.T) {
	says := func(id string, l rules.Level, same string) *rules.Rule {
		return &rules.Rule{ID: id, Title: id, Level: l, Judge: func(p *rules.Bench) { p.Breach(id).SameAs(same) }}
	}
	d := load(t, deck, barge)
	if got := verdicts(d, says("pair", rules.Error, "float"), says("float", rules.Error, "")); got["pair"].Follows != "float" || got["float"].Follows != "" {
		t.Errorf("pair follows %q, float %q", got["pair"].Follows, got["float"].Follows)
	}
	if got := verdicts(d, says("pair", rules.Error, "float"), says("float", rules.Warning, "")); got["pair"].Follows != "" {
		t.Error("an error follows a warning")
	}
	if got := verdicts(d, says("pair", rules.Error, "float")); got["pair"].Follows != "" {
		t.Error("it follows what does not fail")
	}
}
