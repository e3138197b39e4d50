package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

func TestSupplyRange(t *testing.T) {
	rule := builtin.SupplyRange
	v5 := func(v string) string { return edit(t, tug, `"5 V +- 2 %"`, v) }
	wants(t, rule, rules.KindPass, 0, tug, tugSense)
	// The commonest good design there is (common practice, no source): 5 V +- 5 % on a 5.5 V part.
	wants(t, rule, rules.KindPass, 0, v5(`"5 V +- 5 %"`), tugSense)
	// Reaching an operating limit is inside; a hair more is not.
	wants(t, rule, rules.KindPass, 0, v5(`"2.9 V .. 5.5 V"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, v5(`"2.9 V .. 5.501 V"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, v5(`"2.899 V .. 5 V"`), tugSense)
	// A rail without a tolerance: 5.3 V may be 5.565 V, 5 V is 5.25 V at most.
	wants(t, rule, rules.KindReview, 0, v5(`"5.3 V"`), tugSense)
	wants(t, rule, rules.KindPass, 0, v5(`"5 V"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, v5(`"5.6 V"`), tugSense)
	// Events: reaching the rating of 6.4 V fails, a tenth below it warns, undeclared ones are a review.
	events := func(v string) string { return v5(`{ operating = "5 V +- 2 %", survival = "` + v + `" }`) }
	wants(t, rule, rules.KindFail, rules.Error, events("0 V .. 6.4 V"), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, events("0 V .. 5.8 V"), tugSense)
	wants(t, rule, rules.KindPass, 0, events("0 V .. 5.7 V"), tugSense)
	wants(t, rule, rules.KindReview, 0, v5(`{ operating = "5 V +- 2 %" }`), tugSense)
	// Another state counts where it measures.
	state := func(measuring string) string {
		return tug + "\n* shuntwright: states.saving = { measuring = " + measuring + ", rails = { V5 = \"2.5 V\" } }"
	}
	if r := wants(t, rule, rules.KindFail, rules.Error, state("true"), tugSense); !strings.Contains(r.Message, "while saving") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindPass, 0, state("false"), tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, "* shuntwright: rails.V5 = \"5 V +- 2 %\"\n", ""), tugSense), "rails.V5")
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, edit(t, tugSense, `operating = "2.9 V .. 5.5 V", `, "")), "supply.operating")
}

// 1.7 mA through 100 ohm +- 1 % is 0.1717 V; two amplifiers behind one resistor take twice that.
func TestSupplyBehindAResistor(t *testing.T) {
	rule := builtin.SupplyRange
	behind := edit(t, tug, "VM VM V5 tug", "VM VM vs tug") + "\nRS V5 vs 100"
	r := wants(t, rule, rules.KindPass, 0, behind, tugSense)
	if m := measure(t, r, "supply voltage"); math.Abs(m.Min-(4.9-0.1717)) > 1e-9 || math.Abs(m.Max-5.1) > 1e-9 {
		t.Errorf("supply %v .. %v", m.Min, m.Max)
	}
	two := behind + "\nXB BUS LOAD out2 0 VM VM vs tug-sense-40"
	r = judge(t, rule, two, tugSense)
	if m := measure(t, r, "supply voltage"); math.Abs(m.Min-(4.9-2*0.1717)) > 1e-9 {
		t.Errorf("supply of two down to %v, want %v", m.Min, 4.9-2*0.1717)
	}
	// A load on the same net: a divider of 1 kohm to ground.
	r = judge(t, rule, behind+"\nRLED vs 0 1k", tugSense)
	want := (4.9/101 - 1.7e-3) / (1./101 + 1./990)
	if m := measure(t, r, "supply voltage"); math.Abs(m.Min-want) > 1e-9 {
		t.Errorf("supply with a load down to %v, want %v", m.Min, want)
	}
	// Starved: 4.9 V - 1.7 mA x 1212 ohm = 2.84 V.
	r = wants(t, rule, rules.KindFail, rules.Error, edit(t, behind, "RS V5 vs 100", "RS V5 vs 1.2k"), tugSense)
	if m := measure(t, r, "supply voltage"); math.Abs(m.Min-(4.9-1.7e-3*1212)) > 1e-9 || !strings.Contains(r.Message, "2.83") {
		t.Errorf("supply down to %v: %s", m.Min, r.Message)
	}
	// A consumer whose current nobody has stated, of the same kind or another part's.
	lacks(t, wants(t, rule, rules.KindOpen, 0, behind, edit(t, tugSense, `, current = "1.7 mA"`, "")), "supply.current")
	other := tugSense + "\n[[part]]\nname = \"tug-lamp\"\nrole = \"op-amp\"\npins = [\"supply\", \"ground\"]\n"
	lacks(t, wants(t, rule, rules.KindOpen, 0, behind+"\nXL vs 0 tug-lamp", other), "supply.current")
	// On the rail itself no current changes anything.
	wants(t, rule, rules.KindPass, 0, tug, edit(t, tugSense, `, current = "1.7 mA"`, ""))
}

// The remedy is judged again: the largest resistor that still passes.
func TestSupplyRemedy(t *testing.T) {
	d := load(t, edit(t, tug, "VM VM V5 tug", "VM VM vs tug")+"\nRS V5 vs 1.2k", tugSense)
	for _, r := range rules.Judge(d, all).Results {
		if r.Rule != builtin.SupplyRange.ID {
			continue
		}
		// (4.9 V - 2.9 V) / 1.7 mA / 1.01 = 1164.8 ohm, to three digits downwards 1160 ohm
		if r.Remedy == nil || !strings.Contains(r.Remedy.Text, "RS at most 1.16 kohm") || len(r.Remedy.Breaks) > 0 {
			t.Errorf("%s: remedy %+v", r.Message, r.Remedy)
		}
	}
}
