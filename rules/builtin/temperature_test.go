package builtin_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// rated is exactSense with a rated temperature.
func rated(t testing.TB, more string) string {
	t.Helper()
	return exactSense(t) + "rated = { ambient = \"-40 degC .. 105 degC\"" + more + " }\n"
}

func TestTemperatureRange(t *testing.T) {
	rule := builtin.TemperatureRange
	at := func(v string) string { return steady(t) + "\n* shuntwright: temperature = \"" + v + "\"" }
	wants(t, rule, rules.KindPass, 0, at("-40 degC .. 105 degC"), rated(t, ""))
	r := wants(t, rule, rules.KindFail, rules.Error, at("-40 degC .. 105.1 degC"), rated(t, ""))
	if r.Message != "the ambient temperature reaches 105.1 degC, the part is rated up to 105.0 degC" {
		t.Error(r.Message)
	}
	r = wants(t, rule, rules.KindFail, rules.Error, at("-40.1 degC .. 25 degC"), rated(t, ""))
	if !strings.Contains(r.Message, "down to -40.0 degC") {
		t.Error(r.Message)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, steady(t), rated(t, "")), "temperature")
	lacks(t, wants(t, rule, rules.KindOpen, 0, at("25 degC"), exactSense(t)), "rated.ambient")
	for _, r := range rules.Judge(load(t, at("-40 degC .. 118 degC"), rated(t, "")), all).Results {
		if r.Rule == rule.ID && (r.Remedy == nil || !strings.Contains(r.Remedy.Text, "rated.ambient reaches up to 118 degC")) {
			t.Errorf("remedy %+v", r.Remedy)
		}
	}
}

// By hand: 5 V x 1.7 mA = 8.5 mW; both inputs at 58.02 V (the load's side stands 20 mV above the bus when the current
// returns) with 27 uA each, 3.133 mW; a load of 1 kohm at half the supply 2.5 V x 2.5 mA = 6.25 mW. 17.883 mW at 1 K/mW are
// 17.88 K over 85 degC.
func TestJunction(t *testing.T) {
	rule := builtin.TemperatureRange
	deck := steady(t) + "\nRO out 0 1k\n* shuntwright: temperature = \"-25 degC .. 85 degC\""
	hot := func(junction string) string {
		return rated(t, ", junction = \""+junction+"\", theta-ja = \"1000 K/W\"")
	}
	want := 85 + 1000*(5*1.7e-3+2*58.02*27e-6+2.5*2.5e-3)
	r := wants(t, rule, rules.KindPass, 0, deck, hot("102.89 degC"))
	if m := measure(t, r, "junction temperature"); !near(m.Max, want, 1e-9) {
		t.Errorf("junction at %v, want %v", m.Max, want)
	}
	r = wants(t, rule, rules.KindFail, rules.Error, deck, hot("102.87 degC"))
	if !strings.Contains(r.Message, "the junction reaches 102.9 degC with 17.88 mW in the part") {
		t.Error(r.Message)
	}
	// A resistor-difference stage draws (Vcm - V0)/(R1 + R2) in place of a bias current: 55.52 V / 510 kohm = 108.9 uA.
	stage := edit(t, tugDiff, "input = {", "rated = { ambient = \"-40 degC .. 105 degC\", junction = \"150 degC\", theta-ja = \"1000 K/W\" }\ninput = {")
	card := edit(t, deck, sense40[:2]+" BUS LOAD out 0 VM VM V5 tug-sense-40", "XA BUS LOAD out 0 VM V5 tug-diff-50")
	m := measure(t, judge(t, rule, card, stage), "junction temperature")
	if least := 85 + 1000*(5*1.7e-3+2*58*(58-2.5)/510e3+2.5*2.5e-3); m.Max < least || m.Max > least+0.3 {
		t.Errorf("junction at %v, want %v and what the shunt adds", m.Max, least)
	}
	// One of the two without the other asks for it; neither is no need.
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck, rated(t, ", junction = \"150 degC\"")), "rated.theta-ja")
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck, rated(t, ", theta-ja = \"90 K/W\"")), "rated.junction")
	wants(t, rule, rules.KindPass, 0, deck, rated(t, ""))
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck, edit(t, hot("150 degC"), `, current = "1.7 mA"`, "")), "supply.current")
}

// A number that is stated at one condition only is a review at others, naming what would say more.
func TestStatedConditions(t *testing.T) {
	rule := builtin.TemperatureRange
	deck := steady(t) + "\n* shuntwright: temperature = \"%s\""
	at := func(v string) string { return strings.Replace(deck, "%s", v, 1) }
	part := func(where, more string) string {
		return edit(t, rated(t, ""), `offset = { max = "0 V" }`, `offset = { max = "0 V", at = { `+where+` } }`) + more
	}
	r := wants(t, rule, rules.KindReview, 0, at("-25 degC .. 70 degC"), part(`temperature = "25 degC"`, ""))
	if !strings.Contains(r.Message, "offset.drift") || !strings.Contains(r.Message, "25 degC") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindPass, 0, at("20 degC .. 30 degC"), part(`temperature = "25 degC"`, ""))
	wants(t, rule, rules.KindReview, 0, at("19.9 degC .. 30 degC"), part(`temperature = "25 degC"`, ""))
	wants(t, rule, rules.KindReview, 0, at("20 degC .. 30.1 degC"), part(`temperature = "25 degC"`, ""))
	drift := edit(t, part(`temperature = "25 degC"`, ""), `offset = { max = "0 V", `, `offset = { max = "0 V", drift = "1 uV/K", `)
	wants(t, rule, rules.KindPass, 0, at("-25 degC .. 70 degC"), drift)
	r = wants(t, rule, rules.KindReview, 0, at("25 degC"), part(`common-mode = "12 V"`, ""))
	if !strings.Contains(r.Message, "cmrr.min") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindPass, 0, at("25 degC"), part(`common-mode = "12 V"`, "cmrr = { min = \"100 dB\" }\n"))
	wants(t, rule, rules.KindReview, 0, at("25 degC"), part(`supply = "3.3 V"`, ""))
	wants(t, rule, rules.KindPass, 0, at("25 degC"), part(`supply = "5 V"`, ""))
	wants(t, rule, rules.KindPass, 0, at("25 degC"), part(`supply = "3.3 V"`, "psrr = { max = \"10 uV/V\" }\n"))
}
