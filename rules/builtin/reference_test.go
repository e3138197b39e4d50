package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// twoPins is a stage of R1 = 10 kohm with two reference pins of 1 Mohm each: R2 = 500 kohm where they meet.
const twoPins = `
[[part]]
name = "tug-diff-two"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref-a", "ref-b", "supply"]
gain = "50 V/V exact"
direction = "bidirectional"
common-mode = { operating = "-5 V .. 62 V", survival = "-15 V .. 80 V" }
input = { model = "resistor-difference", resistance = "10 kohm exact" }
output = { low = "40 mV", high = "3.2 V" }
offset = { max = "0 V" }
reference = { model = "resistor-pair", resistance = "1 Mohm exact" }
`

// zeroAt is the output at 0 A of twoPins behind a network for its pins ra and rb, the common mode held at a voltage.
func zeroAt(t testing.TB, common, network string) float64 {
	t.Helper()
	r := judge(t, builtin.ReferenceBias, `* shuntwright: rails.BUS = "`+common+` exact"
* shuntwright: rails.V3 = "3.3 V exact"
* shuntwright: rails.VR = "1.65 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: currents.RSH = { range = "-1 A .. 1 A", from = "BUS" }
RSH BUS LOAD 1u
RL LOAD 0 4
RV VR 0 1k
RT V3 0 1k
XA BUS LOAD out 0 ra rb V3 tug-diff-two
`+network, twoPins)
	m := measure(t, r, "output at 0 A")
	if math.Abs(m.Max-m.Min) > 1e-4 {
		t.Errorf("the output at 0 A is %v .. %v", m.Min, m.Max)
	}
	return (m.Max + m.Min) / 2
}

// superposed is V0 by hand: each pin through its leg into the summing node gives a Thevenin source, and the common mode
// adds (Vcm - Vth) Rx/(R1 + R2 + Rx), Rx being what the sources add to R2 = 500 kohm.
func superposed(common, va, ra, vb, rb float64) float64 {
	ga, gb := 1/(1e6+ra), 1/(1e6+rb)
	vth, rx := (va*ga+vb*gb)/(ga+gb), 1/(ga+gb)-500e3
	return vth + (common-vth)*rx/(10e3+500e3+rx)
}

func TestTwoReferencePins(t *testing.T) {
	const tied = "\nRZ ra rb 0"
	for _, c := range []struct {
		name, network string
		common        float64
		byHand        float64 // V
		printed, half float64 // the figure that the trade's table of schemes gives, V
	}{
		{"both on a divider of 10 kohm and 10 kohm", "RA V3 ra 10k\nRB ra 0 10k" + tied, 58, 1.65 + (58-1.65)*5e3/(510e3+5e3), 2.1971, 5e-5},
		{"both on a divider of 200 ohm and 200 ohm", "RA V3 ra 200\nRB ra 0 200" + tied, 58, 1.65 + (58-1.65)*100/510.1e3, 1.65 + 11.05e-3, 5e-6},
		{"supply and ground, 5 kohm in the supply's leg", "RA V3 ra 5k\nRB rb 0 0", 48, superposed(48, 3.3, 5e3, 0, 0), 1.65 + 109e-3, 5e-4},
		{"supply and ground, 5 kohm in the ground's leg", "RA V3 ra 0\nRB rb 0 5k", 48, superposed(48, 3.3, 0, 0, 5e3), 1.65 + 117.1e-3, 5e-5},
		{"both at the reference, one through 5 kohm", "RA VR ra 5k\nRB rb VR 0", 48, superposed(48, 1.65, 5e3, 1.65, 0), 1.65 + 113.0e-3, 5e-5},
		{"supply and ground", "RA V3 ra 0\nRB rb 0 0", 48, 1.65, 1.65, 1e-6},
		{"both at ground", "RA 0 ra 0\nRB rb 0 0", 48, 0, 0, 1e-6},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := zeroAt(t, map[float64]string{48: "48 V", 58: "58 V"}[c.common], c.network)
			if math.Abs(got-c.byHand) > 2e-5 || math.Abs(got-c.printed) > c.half+2e-5 {
				t.Errorf("V0 = %.6f V, want %.6f V, printed %.6f V", got, c.byHand, c.printed)
			}
		})
	}
}

// The gain of a resistor-difference stage has its tolerance in the output as that of every other stage.
func TestGainToleranceOfAResistorDifference(t *testing.T) {
	at := func(gain string) rules.Measure {
		part := edit(t, twoPins, `gain = "50 V/V exact"`, `gain = "`+gain+`"`)
		r := judge(t, builtin.ReferenceBias, `* shuntwright: rails.BUS = "48 V exact"
* shuntwright: rails.V3 = "3.3 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BUS" }
RSH BUS LOAD 1m
RL LOAD 0 4
XA BUS LOAD out 0 V3 0 V3 tug-diff-two`, part)
		return measure(t, r, "output at the lowest end")
	}
	// 1.65 V +- 20 A x 1 mohm x 50, and with 10 % more gain +- 1.1 V.
	if m := at("50 V/V exact"); math.Abs(m.Min-0.65) > 1e-6 || math.Abs(m.Max-2.65) > 1e-6 {
		t.Errorf("output %v .. %v", m.Min, m.Max)
	}
	if m := at("50 V/V +- 10 %"); math.Abs(m.Min-0.55) > 1e-6 || math.Abs(m.Max-2.75) > 1e-6 {
		t.Errorf("output %v .. %v with a gain of 10 %%, want 0.55 .. 2.75", m.Min, m.Max)
	}
}

// An inverted one reads -20 A .. 10 A as 2.65 V down to 1.15 V: 1.65 V less 1 mohm x 50 a current.
func TestInvertedResistorDifference(t *testing.T) {
	// Both reference pins on one net are the commonest way: their mismatch bends what they make by little.
	one := edit(t, twoPins, `resistance = "1 Mohm exact" }`, `resistance = "1 Mohm exact", split = "0.1 %" }`)
	wants(t, builtin.ReferenceBias, rules.KindPass, 0, `* shuntwright: rails.BUS = "48 V exact"
* shuntwright: rails.V3 = "3.3 V exact"
* shuntwright: rails.VR = "1.65 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BUS" }
RSH BUS LOAD 1m
RL LOAD 0 4
XA BUS LOAD out 0 VR VR V3 tug-diff-two`, one)

	for polarity, want := range map[string][2]float64{"normal": {0.65, 2.15}, "inverted": {1.15, 2.65}} {
		r := judge(t, builtin.ReferenceBias, `* shuntwright: rails.BUS = "48 V exact"
* shuntwright: rails.V3 = "3.3 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: currents.RSH = { range = "-20 A .. 10 A", from = "BUS" }
RSH BUS LOAD 1m
RL LOAD 0 4
XA BUS LOAD out 0 V3 0 V3 tug-diff-two`, twoPins+"polarity = \""+polarity+"\"\n")
		if m := measure(t, r, "output at the lowest end"); math.Abs(m.Min-want[0]) > 1e-4 || math.Abs(m.Max-want[1]) > 1e-4 {
			t.Errorf("%s: output %v .. %v, want %v", polarity, m.Min, m.Max, want)
		}
	}
}

func TestReferenceBias(t *testing.T) {
	rule := builtin.ReferenceBias
	wants(t, rule, rules.KindPass, 0, tug, tugSense)
	grounded := edit(t, tug, "0 VM VM V5", "0 0 0 V5")
	// The floor of 45 mV is met at (45 mV + 40.12 x 61 uV) / (39.88 x 0.99 mohm) = 1.2 A.
	r := wants(t, rule, rules.KindFail, rules.Error, grounded, tugSense)
	if !strings.Contains(r.Message, "-20 A is intended") {
		t.Error(r.Message)
	}
	// V0 - S I - G offset: 2.495 V (0.2 % of 2.5 V less) - 40.12 x 1.01 mohm x 20 A - 40.12 x 61 uV.
	if m := measure(t, wants(t, rule, rules.KindPass, 0, tug, tugSense), "output at the lowest end"); math.Abs(m.Min-(2.495-40.12*(1.01e-3*20+61e-6))) > 2e-5 {
		t.Errorf("lowest output %v, want %v", m.Min, 2.495-40.12*(1.01e-3*20+61e-6))
	}
	// One reference pin at the supply: half of it; both: nothing is left above.
	wants(t, rule, rules.KindPass, 0, edit(t, tug, "0 VM VM V5", "0 V5 0 V5"), tugSense)
	r = wants(t, rule, rules.KindFail, rules.Error, edit(t, tug, "0 VM VM V5", "0 V5 V5 V5"), tugSense)
	if !strings.Contains(r.Message, "0 A") {
		t.Error(r.Message)
	}
	// Current one way only: nothing to say. A part for one way: a failure whatever the reference.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, grounded, "-20 A .. 20 A", "0 A .. 20 A"), tugSense)
	r = wants(t, rule, rules.KindFail, rules.Error, tug, edit(t, tugSense, `"bidirectional"`, `"unidirectional"`))
	if !strings.Contains(r.Message, "unidirectional") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "-20 A .. 20 A", "0 A .. 20 A"), edit(t, tugSense, `"bidirectional"`, `"unidirectional"`))
	// Swapped inputs and an inverted part each turn the slope; a biased chain holds, a grounded one does not.
	for _, deck := range []string{edit(t, tug, "XA BUS LOAD", "XA LOAD BUS"), edit(t, tug, `from = "BUS"`, `from = "LOAD"`)} {
		wants(t, rule, rules.KindPass, 0, deck, tugSense)
	}
	wants(t, rule, rules.KindPass, 0, tug, tugSense+"polarity = \"inverted\"\n")
	wants(t, rule, rules.KindFail, rules.Error, grounded, tugSense+"polarity = \"inverted\"\n")
	// What is missing is named.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, "0 VM VM V5", "0 nc nc V5"), tugSense), "nc")
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, edit(t, tugSense, `model = "resistor-pair", `, "")), "reference.model")
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, edit(t, tugSense, `offset = { max = "61 uV" }`, "")), "offset.max")
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, edit(t, tugSense, `low = "45 mV", `, "")), "output.low")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, `range = "-20 A .. 20 A", `, ""), tugSense), "currents.RSH.range")
	divider := edit(t, tug, "0 VM VM V5", "0 r r V5") + "\nRA V5 r 100k\nRB r 0 100k"
	wants(t, rule, rules.KindPass, 0, divider, tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, divider, edit(t, tugSense, `resistance = "760 kohm", `, "")), "reference.resistance")
}

// Without the direction only what fails both ways is a failure.
func TestDirectionMissing(t *testing.T) {
	rule := builtin.ReferenceBias
	missing := func(deck string) string { return edit(t, deck, `, from = "BUS"`, "") }
	wants(t, rule, rules.KindPass, 0, missing(tug), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, missing(edit(t, tug, "0 VM VM V5", "0 0 0 V5")), tugSense)
	// -2 A .. 60 A holds with the reference in the middle one way: 2.5 V - 0.081 V, and 2.5 V - 2.43 V the other.
	r := wants(t, rule, rules.KindOpen, 0, missing(edit(t, tug, "-20 A .. 20 A", "-2 A .. 61 A")), tugSense)
	lacks(t, r, "currents.RSH.from")
	wants(t, rule, rules.KindPass, 0, edit(t, tug, "-20 A .. 20 A", "-2 A .. 61 A"), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, tug, "-20 A .. 20 A", "-2 A .. 61 A", `from = "BUS"`, `from = "LOAD"`), tugSense)
}

// The remedy for a grounded reference is the smallest reference that holds: 45 mV + 40.12 (1.01 mohm x 20 A + 61 uV).
func TestReferenceRemedy(t *testing.T) {
	want := 0.045 + 40.12*(1.01e-3*20+61e-6)
	for _, r := range rules.Judge(load(t, edit(t, tug, "0 VM VM V5", "0 0 0 V5"), tugSense), all).Results {
		if r.Rule != builtin.ReferenceBias.ID {
			continue
		}
		if r.Remedy == nil || len(r.Remedy.Changes) != 1 || r.Remedy.Changes[0].Value < want-1e-9 || r.Remedy.Changes[0].Value > want+2e-3 {
			t.Errorf("remedy %+v, want at least %v V", r.Remedy, want)
		}
	}
}

// The bias current through the filter moves the output by its mismatch, and by the whole of it only over the difference of
// the resistors: two exact resistors of 1 kohm make 0.9 uA x 1 kohm x 40.12 = 36 mV of it.
func TestBiasMismatchInTheOutput(t *testing.T) {
	deck := edit(t, filtered(t, "1k", "1k", sense40), "tolerances.resistors = \"1 %\"", "tolerances.resistors = \"0 %\"", `"2.5 V +- 0.2 %"`, `"2.5 V exact"`)
	part := edit(t, tugSense, `split = "0.06 %"`, `split = "0 %"`, "5.1 kohm +- 21 %", "5.1 kohm exact")
	m := measure(t, judge(t, builtin.ReferenceBias, deck, part), "output at the lowest end")
	k := 5.1 / 7.1
	want := 2.5 - 40.12*(k*(20e-3+0.9e-6*1e3)+61e-6)
	if m.Min < want-2e-3 {
		t.Errorf("the output is seen down to %v; with a mismatch of 0.9 uA it reaches %v", m.Min, want)
	}
}

// Two reference legs that conduct together what they would without a mismatch leave the common-mode rejection as it is: a
// stage of exact resistors with both pins on ground stands at 0 V at no current, whatever the common mode. Legs of
// R(1 + s) and R(1 - s) would make 1/(1 - s^2) of it, which at 58 V and 1 % is 5.8 mV.
func TestReferenceLegsOfUnequalResistanceKeepTheRejection(t *testing.T) {
	part := edit(t, tugDiff, `"ref", "supply"`, `"ref-a", "ref-b", "supply"`, `reference = { model = "high-impedance" }`, `reference = { model = "high-impedance", split = "1 %" }`,
		`offset = { max = "0 V" }`, `offset = { max = "1 mV" }`)
	var zero quantity.Quantity
	look := &rules.Rule{ID: "look", Judge: func(p *rules.Bench) { zero = p.Zero(design.Operating); p.Holds("looked") }}
	judge(t, look, steady(t, "XA BUS LOAD out 0 VM VM V5 tug-sense-40", "XA BUS LOAD out 0 0 0 V5 tug-diff-50"), part)
	if most := max(zero.Sound.Hi, -zero.Sound.Lo); !(most < 1e-6) {
		t.Errorf("the output at 0 A is %v", zero.Sound)
	}
	// Of one pin on 5 V and one on ground the middle is 2.5 V, 1 % either way; the common mode does not come into it.
	judge(t, look, steady(t, "XA BUS LOAD out 0 VM VM V5 tug-sense-40", "XA BUS LOAD out 0 V5 0 V5 tug-diff-50"), part)
	if !near(zero.Sound.Lo, 2.475, 1e-6) || !near(zero.Sound.Hi, 2.525, 1e-6) || zero.Sound != zero.Seen {
		t.Errorf("the middle is %v, seen %v", zero.Sound, zero.Seen)
	}
}
