package rules_test

import (
	"math"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// Both inputs stand at BUS or 20 A x 1.01 mohm below it and measure up to 60 V; the supply is good up to 5.6 V; the shunt's
// voltage is held below 50 mV here, which 50 mV / 1.01 mohm = 49.5 A reach.
func TestWhatBreaksFirst(t *testing.T) {
	within := func(id, pin, key string) *rules.Rule {
		return &rules.Rule{ID: id, Title: id, Level: rules.Error, Judge: func(p *rules.Bench) {
			lo, hi, text := p.Limits(key, design.Operating)
			p.Within(p.Voltage(pin, design.Operating), lo, hi, text)
		}}
	}
	drop := &rules.Rule{ID: "drop", Title: "drop", Level: rules.Warning, Judge: func(p *rules.Bench) {
		i, r := p.ShuntCurrent(design.Operating), p.ShuntOhms()
		v := quantity.Calc("drop", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] }, i, r)
		p.AtMost(v, quantity.Exactly("50 mV", quantity.Volt, 0.05), "50 mV")
	}}
	d := load(t, "* shuntwright: temperature = \"0 degC .. 50 degC\"\n"+deck, barge)
	list := []*rules.Rule{within("input", "in+", "common-mode.operating"), within("supply", "supply", "supply.operating"), drop}
	got := map[string]rules.Growth{}
	for _, g := range rules.Judge(d, list, rules.Growing).Growth {
		got[g.What+map[bool]string{true: " up", false: " down"}[g.Up]] = g
	}
	for what, want := range map[string]struct {
		rule string
		at   float64
	}{
		"current up": {"drop", 0.05 / 1.01e-3}, "supply up": {"supply", 5.6}, "supply down": {"supply", 2.8},
		"common mode up": {"input", 60}, "common mode down": {"input", -4}, "temperature up": {"", 200}, "temperature down": {"", -150},
	} {
		g, ok := got[what]
		if !ok || g.Rule != want.rule || math.Abs(math.Abs(g.At)-math.Abs(want.at)) > 0.04 {
			t.Errorf("%s: %+v, want %s at %g", what, g, want.rule, want.at)
		}
	}
	if len(got) != 7 {
		t.Errorf("%d of 7: %v", len(got), got)
	}
	if g := rules.Judge(d, list).Growth; g != nil {
		t.Errorf("nobody asked: %v", g)
	}
}
