package builtin_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// assumes tells that a result says what it rests on.
func assumes(r rules.Result, text string) bool {
	return slices.ContainsFunc(r.Assumed, func(a string) bool { return strings.Contains(a, text) })
}

// near holds a figure to one worked out by hand.
func near(t testing.TB, what string, got, want, part float64) {
	t.Helper()
	if !(math.Abs(got-want) <= part*math.Abs(want)) {
		t.Errorf("%s is %v, worked out %v", what, got, want)
	}
}

func TestDecoupling(t *testing.T) {
	rule := builtin.Decoupling
	asks := edit(t, tugSense, `current = "1.7 mA" }`, `current = "1.7 mA", decoupling = "220 nF" }`)
	r := wants(t, rule, rules.KindFail, rules.Error, tug, tugSense)
	if !strings.Contains(r.Message, "V5") || !strings.Contains(r.Advice, "100 nF") {
		t.Errorf("%s; %s", r.Message, r.Advice)
	}
	// A capacitor between other nets is none.
	wants(t, rule, rules.KindFail, rules.Error, tug+"\nC1 V5 VM 1u\nC2 out 0 1u", tugSense)
	// 100 nF where the record says nothing: exactly enough, and said to be assumed. 99 nF are short of it.
	if r := wants(t, rule, rules.KindPass, 0, tug+"\nC1 V5 0 100n", tugSense); !assumes(r, "100 nF") {
		t.Errorf("rests on %q", r.Assumed)
	}
	wants(t, rule, rules.KindPass, 0, tug+"\nC1 0 V5 100n", tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, tug+"\nC1 V5 0 99n", tugSense)
	// By hand: 100 nF + 47 nF + 68 nF are 215 nF, 5 nF short of 220 nF; with 5 nF more there are four and it is enough.
	sum := "\nC1 V5 0 100n\nC2 V5 0 47n\nC3 0 V5 68n"
	r = wants(t, rule, rules.KindFail, rules.Warning, tug+sum, asks)
	m := measure(t, r, "capacitance at the supply pin")
	near(t, "sum", m.Min, 215e-9, 1e-9)
	near(t, "margin", m.Margin, -5e-9, 1e-6)
	if r := wants(t, rule, rules.KindPass, 0, tug+sum+"\nC4 V5 0 5n", asks); len(r.Assumed) > 0 {
		t.Errorf("a record that says how much rests on %q", r.Assumed)
	}
	// A capacitor without a value is named.
	d, _, _ := bind(t, "a deck\n"+tug+"\nC1 V5 0 ceramic\n.model ceramic C\n.end\n", asks)
	got := rules.JudgeAt(d, []*rules.Rule{rule}, "XA")
	if len(got) != 1 || got[0].Kind != rules.KindOpen {
		t.Fatalf("%+v", got)
	}
	lacks(t, got[0], "the value of C1")
}

// One rail by two names: a piece of wire, a bead, a declared net tie, and the same on the ground side.
func TestDecouplingByOtherNames(t *testing.T) {
	rule := builtin.Decoupling
	fed := func(by string) string { return edit(t, tug, "VM VM V5 tug", "VM VM vs tug") + "\n" + by }
	for by, kind := range map[string]rules.Kind{
		"RZ V5 vs 0\nC1 V5 0 100n":                                             rules.KindPass,
		"LB V5 vs 600n\nC1 V5 0 100n":                                          rules.KindPass,
		"LB V5 vs 600n\nRZ vs v2 0\nC1 v2 0 100n":                              rules.KindPass,
		"LB V5 vs 100u\nC1 V5 0 100n":                                          rules.KindFail,
		"RS V5 vs 10\nC1 V5 0 100n":                                            rules.KindFail,
		"RS V5 vs 10\nC1 V5 0 100n\nC2 vs 0 100n":                              rules.KindPass,
		"RZ V5 vs 0\nRG ag 0 0\nC1 vs ag 100n":                                 rules.KindPass,
		"RZ V5 vs 0\nLG ag 0 300n\nC1 vs ag 100n":                              rules.KindPass,
		"RZ V5 vs 0\nRG ag 0 10\nC1 vs ag 100n":                                rules.KindFail,
		"* shuntwright: elements.RT.net-tie = true\nRT V5 vs 1m\nC1 V5 0 100n": rules.KindPass,
	} {
		level := rules.Level(0)
		if kind == rules.KindFail {
			level = rules.Warning
			if strings.Contains(by, "ag 0 10\n") {
				level = rules.Error
			}
		}
		wants(t, rule, kind, level, fed(by), tugSense)
	}
	r := judge(t, rule, fed("RS V5 vs 10\nC1 V5 0 100n"), tugSense)
	if !strings.Contains(r.Message, "C1") || !strings.Contains(r.Message, "RS") {
		t.Error(r.Message)
	}
}

// Two parts on one net want two capacitors: a note, and the sum is not multiplied.
func TestDecouplingOfSeveralParts(t *testing.T) {
	rule := builtin.Decoupling
	two := tug + "\nXB BUS LOAD o2 0 VM VM V5 tug-sense-40\nC1 V5 0 100n"
	if r := wants(t, rule, rules.KindFail, rules.Note, two, tugSense); !strings.Contains(r.Message, "2 parts share 1 capacitor") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindPass, 0, two+"\nC2 V5 0 100n", tugSense)
}

// The remedy is judged again: the smallest capacitor that suffices beside the other.
func TestDecouplingRemedy(t *testing.T) {
	d := load(t, tug+"\nC1 V5 0 47n", tugSense)
	for _, r := range rules.Judge(d, []*rules.Rule{builtin.Decoupling}).Results {
		if r.Remedy == nil || !strings.Contains(r.Remedy.Text, "C1 at least 100 nF") {
			t.Errorf("%s: remedy %+v", r.Message, r.Remedy)
		}
	}
}
