package builtin_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// Invented parts; the numbers are like no catalogue's. The first works far above its supply, the others up to 1.3 V below
// it and from ground on.
const tugOp = `
[[part]]
name = "tug-op-over"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2.4 V .. 5.6 V", survival = "-0.3 V .. 6.3 V", current = "0.4 mA" }
common-mode = { operating = "ground - 0.1 V .. 61 V", survival = "ground - 0.4 V .. 77 V" }
bias = { max = "12 nA" }
output = { low = "25 mV", high = "supply - 45 mV", sink = "1.4 mA" }
offset = { max = "90 uV" }

[[part]]
name = "tug-op"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2.4 V .. 31 V", survival = "-0.3 V .. 34 V", current = "0.6 mA" }
common-mode = { operating = "ground .. supply - 1.3 V", survival = "ground - 0.3 V .. supply + 0.3 V" }
bias = { max = "70 nA" }
output = { low = "22 mV", high = "supply - 1.6 V", sink = "46 uA" }
offset = { max = "2.8 mV" }
`

// over is a difference amplifier of gain 20 on a bus of 24 V, nothing wrong but its resistors of 1 %.
const over = `* shuntwright: rails.BUS = "24 V exact"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "0 A .. 10 A", from = "BUS", least = "0.5 A" }
* shuntwright: tolerances.resistors = "1 %"
* shuntwright: elements.RSH.tolerance = "0 %"
* shuntwright: goals.XA = { error = "10 %", at = "10 A" }
RSH BUS LOAD 10m
RL LOAD 0 2.4
R1 LOAD n 10k
R2 n out 200k
R3 BUS p 10k
R4 p 0 200k
XA p n out 0 V5 tug-op-over`

// low is a low-side stage of gain 21 with its gain leg at the shunt's ground.
const low = `* shuntwright: rails.BUS = "20 V .. 29 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "0 A .. 10 A", from = "LO", least = "0.5 A" }
* shuntwright: tolerances.resistors = "1 %"
RL BUS LO 2.4
RSH LO 0 10m
RF LO p 1k
CF p 0 10n
RG n 0 1k
R2 n out 20k
XA p n out 0 V5 tug-op`

// The worst of the sixteen corners, computed by the closed form of the four resistors and not by solving a network:
// 24 V x |R4/(R3 + R4) (1 + R2/R1) - R2/R1| / 20 over a voltage of 0 A, which the trade takes as 24 V x 4 t / (1 + G).
func TestResistorMatch(t *testing.T) {
	rule := builtin.ResistorMatch
	for _, c := range []struct {
		percent   float64
		first, mV float64 // first order; as the catalogue prints the exact one, 0 where it does not (checked)
	}{{0.1, 4.571e-3, 4.58}, {1, 45.71e-3, 0}, {0.01, 0.4571e-3, 0}} {
		tol := c.percent / 100
		worst := 0.0
		for bits := range 16 {
			r := [4]float64{10, 200, 10, 200}
			for i := range r {
				r[i] *= 1 + tol*float64(2*(bits>>i&1)-1)
			}
			worst = max(worst, math.Abs(24*(r[3]/(r[2]+r[3])*(1+r[1]/r[0])-r[1]/r[0])/20))
		}
		deck := edit(t, over, `range = "0 A .. 10 A"`, `range = "0 A .. 1 uA"`, `resistors = "1 %"`, fmt.Sprintf(`resistors = "%v %%"`, c.percent))
		m := measure(t, judge(t, rule, deck, tugOp), "error of the resistors at the shunt")
		if got := max(m.Max, -m.Min); math.Abs(got-worst) > 1e-6*worst {
			t.Errorf("%v %%: %v, by the closed form %v", c.percent, got, worst)
		}
		if math.Abs(worst-c.first) > 0.02*c.first || c.mV > 0 && math.Abs(1e3*worst-c.mV) > 5e-3 {
			t.Errorf("%v %%: the closed form gives %v, first order %v, printed %v mV", c.percent, worst, c.first, c.mV)
		}
	}
	// 10 % of 10 A x 10 mohm are 10 mV: more than 4.58 mV, less than 45.7 mV.
	r := wants(t, rule, rules.KindFail, rules.Error, over, tugOp)
	if !strings.Contains(r.Message, "46.6") || r.Advice == "" {
		t.Errorf("%s, advice %q", r.Message, r.Advice)
	}
	tenth := edit(t, over, `resistors = "1 %"`, `resistors = "0.1 %"`)
	wants(t, rule, rules.KindPass, 0, tenth, tugOp)
	// Just inside and just outside: 4.582 mV of 10 mV; the goal at 4.6 A allows 4.6 mV, at 4.5 A 4.5 mV.
	wants(t, rule, rules.KindPass, 0, edit(t, tenth, `at = "10 A"`, `at = "4.6 A"`), tugOp)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, tenth, `at = "10 A"`, `at = "4.5 A"`), tugOp)
	// Both signs: with in+ and in- on the other ends of a shunt whose current is the other way.
	mirrored := edit(t, tenth, "R1 LOAD n", "R1 BUS n", "R3 BUS p", "R3 LOAD p", `range = "0 A .. 10 A"`, `range = "-10 A .. 0 A"`)
	a := measure(t, judge(t, rule, tenth, tugOp), "error of the resistors at the shunt")
	b := measure(t, judge(t, rule, mirrored, tugOp), "error of the resistors at the shunt")
	if math.Abs(a.Max-b.Max) > 2e-5 || math.Abs(a.Min-b.Min) > 2e-5 {
		t.Errorf("mirrored %v .. %v, straight %v .. %v", b.Min, b.Max, a.Min, a.Max)
	}
	// A resistance of 100 ohm in front of R3 alone: 24 V x (1 - 200/210.1 x 21) / 20 beside the tolerances.
	exact := edit(t, over, `resistors = "1 %"`, `resistors = "0 %"`, `range = "0 A .. 10 A"`, `range = "0 A .. 1 uA"`)
	wants(t, rule, rules.KindPass, 0, exact, tugOp)
	r = judge(t, rule, edit(t, exact, "R3 BUS p 10k", "RX BUS q 100\nR3 q p 10k"), tugOp)
	want := 24 * (200/210.1*21 - 20) / 20
	if m := measure(t, r, "error of the resistors at the shunt"); math.Abs(m.Max-want) > 1e-6 && math.Abs(m.Min-want) > 1e-6 {
		t.Errorf("%v .. %v, want %v", m.Min, m.Max, want)
	}
	// A wrong value has a right one.
	d := load(t, edit(t, exact, "R4 p 0 200k", "R4 p 0 180k"), tugOp)
	for _, r := range rules.Judge(d, []*rules.Rule{rule}).Results {
		if r.Rule == rule.ID && (r.Kind != rules.KindFail || r.Remedy == nil || !strings.HasPrefix(r.Remedy.Text, "R")) {
			t.Errorf("%v, remedy %+v", r.Kind, r.Remedy)
		}
	}
	// Only the change of the common mode since the calibration counts: 1 % of 45.8 mV is left at 0.24 V from 24 V.
	cal := edit(t, over, `rails.BUS = "24 V exact"`, `rails.BUS = "23.5 V .. 24.5 V"`) + "\n* shuntwright: calibration.XA.offset.common-mode = \"24 V\""
	r = wants(t, rule, rules.KindPass, 0, cal, tugOp)
	if m := measure(t, r, "error of the resistors at the shunt since the calibration"); m.Max > 1.2e-3 || m.Max < 0.9e-3 {
		t.Errorf("calibrated %v", m.Max)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, over+"\n* shuntwright: calibration.XA.offset = true", tugOp), "calibration.XA.offset.common-mode")
	// A matched network holds where single resistors do not; without its tracking nobody knows.
	net := "\n* shuntwright: elements.R1 = { matched-with = [\"R2\", \"R3\", \"R4\"], tracking = \"0.1 %\" }"
	r = wants(t, rule, rules.KindPass, 0, over+net, tugOp)
	if m := measure(t, r, "error of the resistors at the shunt"); math.Abs(m.Max-2.286e-3) > 0.02e-3 { // as of four resistors of 0.05 %
		t.Errorf("matched: %v", m.Max)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, over+edit(t, net, `, tracking = "0.1 %"`, ""), tugOp), "elements.R1.tracking")
	// Nothing asked, nothing to reject, no op amp.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, over, "* shuntwright: goals.XA = { error = \"10 %\", at = \"10 A\" }\n", ""), tugOp)
	wants(t, rule, rules.KindNotApplicable, 0, low+"\n* shuntwright: goals.XA = { error = \"1 %\", at = \"1 A\" }", tugOp)
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
	// Without a tolerance 5 % are counted and 0 % are seen.
	wants(t, rule, rules.KindReview, 0, edit(t, over, "* shuntwright: tolerances.resistors = \"1 %\"\n", ""), tugOp)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, over, `, at = "10 A"`, "", `, least = "0.5 A"`, ""), tugOp), "currents.RSH.least")
}

// V_P = 24 V x 200/210 = 22.857 V, with 1 % between 24 x 198/208.1 = 22.835 V and 24 x 202/211.9 = 22.879 V.
func TestOpAmpInputRange(t *testing.T) {
	rule := builtin.OpAmpInputRange
	r := wants(t, rule, rules.KindPass, 0, over, tugOp)
	if m := measure(t, r, "inputs"); math.Abs(m.Min-24*198/208.1) > 1e-9 || math.Abs(m.Max-24*202/211.9) > 1e-9 {
		t.Errorf("%v .. %v", m.Min, m.Max)
	}
	r = wants(t, rule, rules.KindFail, rules.Error, edit(t, over, "V5 tug-op-over", "V5 tug-op"), tugOp)
	if !strings.Contains(r.Message, "reaches 22.8") {
		t.Errorf("%s", r.Message)
	}
	// Reaching the limit of the range is inside it; one that moves with the supply is scanned with it.
	limit := func(v float64) string {
		return edit(t, tugOp, "ground - 0.1 V .. 61 V", fmt.Sprintf("ground - 0.1 V .. %v V", v))
	}
	wants(t, rule, rules.KindPass, 0, over, limit(22.8788))
	wants(t, rule, rules.KindFail, rules.Error, over, limit(22.8787))
	follows := edit(t, tugOp, "ground - 0.1 V .. 61 V", "ground - 0.1 V .. supply + 17.98 V")
	wants(t, rule, rules.KindPass, 0, over, follows)
	wants(t, rule, rules.KindFail, rules.Error, over, edit(t, follows, "17.98", "17.97"))
	// Low side from ground on: 0 V at 0 A is the end of the range, less than that is outside of it.
	wants(t, rule, rules.KindPass, 0, low, tugOp)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, low, "0 A .. 10 A", "-1 A .. 10 A"), tugOp)
	wants(t, rule, rules.KindPass, 0, edit(t, low, "0 A .. 10 A", "-1 A .. 10 A"), edit(t, tugOp, "ground .. supply - 1.3 V", "ground - 0.2 V .. supply - 1.3 V"))
	// Asleep the supply is at 0 V and the bus is not: 5.7 V above the rating through 10 kohm beside 200 kohm.
	asleep := edit(t, over, `"24 V exact"`, `"6 V exact"`, `"5 V +- 2 %"`, `{ operating = "5 V +- 2 %", survival = "0 V .. 5.2 V" }`, "V5 tug-op-over", "V5 tug-op",
		`resistors = "1 %"`, `resistors = "0 %"`, "R4 p 0 200k", "R4 p 0 10k", "R2 n out 200k", "R2 n out 10k", `range = "0 A .. 10 A"`, `range = "0 A .. 1 A"`) +
		"\n* shuntwright: states.asleep = { measuring = false, rails = { V5 = \"0 V\" } }"
	wants(t, rule, rules.KindFail, rules.Error, asleep, tugOp)
	// 3 V less 0.3 V into in+ over 5 kohm are 540 uA at most.
	takes := edit(t, tugOp, `bias = { max = "70 nA" }`, "bias = { max = \"70 nA\" }\ninput = { survival-current = \"0.7 mA\" }")
	r = wants(t, rule, rules.KindPass, 0, asleep, takes)
	if m := measure(t, r, "current into in+ in events"); math.Abs(m.Max-(3-0.3-70e-9*5e3)/5e3) > 2e-6 {
		t.Errorf("current %v", m.Max)
	}
	wants(t, rule, rules.KindFail, rules.Error, asleep, edit(t, takes, "0.7 mA", "0.5 mA"))
	// What is missing.
	lacks(t, wants(t, rule, rules.KindOpen, 0, over, edit(t, tugOp, `operating = "ground - 0.1 V .. 61 V", `, "")), "common-mode.operating")
	lacks(t, wants(t, rule, rules.KindOpen, 0, over, edit(t, tugOp, `, survival = "ground - 0.4 V .. 77 V"`, "")), "common-mode.survival")
	unsaid := edit(t, low, "* shuntwright: rails.BUS = \"20 V .. 29 V\"\n", "", `* shuntwright: currents.RSH = { range = "0 A .. 10 A", from = "LO", least = "0.5 A" }
`, "", "RL BUS LO 2.4\n", "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, unsaid, tugOp), "currents.RSH.range")
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
}

// The resistor R2 pushes (V_N - VOL)/R2 into an output at its low end; V_N is V_P.
func TestOpAmpOutputSink(t *testing.T) {
	rule := builtin.OpAmpOutputSink
	name := "current into the output at its low end"
	r := wants(t, rule, rules.KindPass, 0, over, tugOp)
	if m := measure(t, r, name); math.Abs(m.Max-(24*202/211.9-0.025)/198e3) > 1e-6 || m.LimitMax != 1.4e-3 {
		t.Errorf("%v against %v", m.Max, m.LimitMax)
	}
	// 2.24 V on two legs of 10 kohm leave V_N at 1.12 V: 109.8 uA into 22 mV, of which 46 uA are sunk, so that the output
	// stays at 1.12 V - 0.46 V = 0.66 V. Ten times the resistors: 11 uA.
	one := edit(t, over, `"24 V exact"`, `"2.24 V exact"`, `resistors = "1 %"`, `resistors = "0 %"`, "R2 n out 200k", "R2 n out 10k", "R4 p 0 200k", "R4 p 0 10k",
		"V5 tug-op-over", "V5 tug-op", "RL LOAD 0 2.4", "RL LOAD 0 0.2", `goals.XA = { error = "10 %"`, `goals.XA = { error = "20 %"`)
	r = wants(t, rule, rules.KindFail, rules.Warning, one, tugOp)
	if m := measure(t, r, name); math.Abs(m.Max-(1.12-0.022)/10e3) > 1e-9 || !strings.Contains(r.Message, "0.66") {
		t.Errorf("%v: %s", m.Max, r.Message)
	}
	for _, r := range rules.Judge(load(t, one, tugOp), []*rules.Rule{rule}).Results {
		if r.Rule == rule.ID && (r.Kind != rules.KindFail || r.Remedy == nil || r.Remedy.Text != "R1, R2, R3, R4 5 times as large") {
			t.Errorf("%v, remedy %+v", r.Kind, r.Remedy)
		}
	}
	wants(t, rule, rules.KindPass, 0, edit(t, one, "10k", "100k"), tugOp)
	sink := func(v string) string { return edit(t, tugOp, `sink = "46 uA"`, `sink = "`+v+`"`) }
	wants(t, rule, rules.KindPass, 0, one, sink("109.9 uA"))
	wants(t, rule, rules.KindFail, rules.Warning, one, sink("109.7 uA"))
	// A reference of 1.2 V keeps the output where it sinks with all its strength; one that the bus is below pushes nothing.
	lifted := edit(t, one, "R4 p 0 10k", "R4 p VM 10k") + "\nRV VM 0 1k\n* shuntwright: rails.VM = "
	wants(t, rule, rules.KindPass, 0, lifted+`"1.2 V exact"`, tugOp)
	wants(t, rule, rules.KindPass, 0, low, tugOp) // from 0 V on the output only delivers
	// Other way: the current is declared against the output.
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, one, "R1 LOAD n", "R1 BUS n", "R3 BUS p", "R3 LOAD p", "0 A .. 10 A", "-10 A .. 0 A"), tugOp)
	// The offset through its noise gain of 21, of which 20 count: 2.8 mV x 1.05 at the shunt, of 3 mV or of 2.9 mV.
	vos := edit(t, over, "V5 tug-op-over", "V5 tug-op", `resistors = "1 %"`, `resistors = "0 %"`, "0 A .. 10 A", "2 A .. 10 A", `error = "10 %", at = "10 A"`, `error = "10 %", at = "3 A"`)
	strong := sink("2 mA")
	r = wants(t, rule, rules.KindPass, 0, vos, strong)
	if m := measure(t, r, "offset at the shunt"); math.Abs(m.Max-2.8e-3*21/20) > 1e-9 || math.Abs(m.Min+2.8e-3*21/20) > 1e-9 {
		t.Errorf("%v .. %v", m.Min, m.Max)
	}
	wants(t, rule, rules.KindFail, rules.Error, edit(t, vos, `at = "3 A"`, `at = "2.9 A"`), strong)
	wants(t, rule, rules.KindPass, 0, edit(t, vos, `at = "3 A"`, `at = "2.9 A"`)+"\n* shuntwright: calibration.XA.offset = true", strong)
	lacks(t, wants(t, rule, rules.KindOpen, 0, vos, edit(t, strong, "\noffset = { max = \"2.8 mV\" }", "")), "offset.max")
	// What helps may outweigh what comes back: a positive feedback that stays below the negative one only as drawn.
	latches := edit(t, low, "RF LO p 1k", "RF LO p 1k\nRP out p 20.2k")
	r = wants(t, rule, rules.KindFail, rules.Error, latches, tugOp)
	if !strings.Contains(r.Message, "latches") {
		t.Errorf("%s", r.Message)
	}
	wants(t, rule, rules.KindPass, 0, edit(t, latches, "20.2k", "40k"), tugOp)
	lacks(t, wants(t, rule, rules.KindOpen, 0, over, edit(t, tugOp, `, sink = "1.4 mA"`, "")), "output.sink")
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
}

// pair is a sense amplifier of three op amps: gain (1 + 2 x 10/2) x 3 = 33 about a reference.
const pair = `* shuntwright: rails.BUS = "2 V .. 4 V"
* shuntwright: rails.V5 = "6 V +- 2 %"
* shuntwright: rails.VM = "2.5 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: currents.RSH = { range = "-4 A .. 4 A", from = "BUS", least = "0.5 A" }
RSH BUS LOAD 10m
RL LOAD 0 4
XU1 BUS n1 o1 0 V5 tug-op
XU2 LOAD n2 o2 0 V5 tug-op
R1 n1 o1 10k
RG n1 n2 2k
R2 n2 o2 10k
R3 o2 n 10k
R4 n out 30k
R5 o1 p 10k
R6 p VM 30k
RV VM 0 1k
XA p n out 0 V5 tug-op`

// Every op amp of a block is judged by its own record: V_P of the last is V_O1 x 3/4 + 2.5 V / 4, and V_O1 is 4 V + 5 x 40 mV.
func TestOpAmpPairs(t *testing.T) {
	r := wants(t, builtin.OpAmpInputRange, rules.KindPass, 0, pair, tugOp)
	if m := measure(t, r, "inputs of XA"); math.Abs(m.Max-(4.2*3/4+2.5/4)) > 1e-9 {
		t.Errorf("%v", m.Max)
	}
	if m := measure(t, r, "inputs of XU2"); math.Abs(m.Max-4.04) > 1e-9 || math.Abs(m.Min-1.96) > 1e-9 {
		t.Errorf("%v .. %v", m.Min, m.Max)
	}
	// 5.88 V less 1.3 V is 4.58 V: in+ of the one at the load stands 40 mV above the bus.
	wants(t, builtin.OpAmpInputRange, rules.KindPass, 0, edit(t, pair, "2 V .. 4 V", "2 V .. 4.54 V"), tugOp)
	r = wants(t, builtin.OpAmpInputRange, rules.KindFail, rules.Error, edit(t, pair, "2 V .. 4 V", "2 V .. 4.541 V"), tugOp)
	if !strings.HasPrefix(r.Message, "inputs of XU2") {
		t.Error(r.Message)
	}
	// Each supply by itself.
	r = wants(t, builtin.SupplyRange, rules.KindFail, rules.Error, edit(t, pair, "XU2 LOAD n2 o2 0 V5 tug-op", "XU2 LOAD n2 o2 0 V5 tug-op-over"), tugOp)
	if !strings.HasPrefix(r.Message, "supply voltage of XU2 reaches 6.12") {
		t.Error(r.Message)
	}
	wants(t, builtin.SupplyRange, rules.KindPass, 0, pair, tugOp)
	// The noise gains of the first two are 33 together, that of the last is 4: (33 + 33 + 4) x 2.8 mV / 33 at the shunt.
	goal := "\n* shuntwright: goals.XA = { error = \"20 %\", at = \"4 A\" }"
	m := measure(t, judge(t, builtin.OpAmpOutputSink, pair+goal, tugOp), "offset at the shunt")
	if want := 2.8e-3 * (33 + 33 + 4) / 33; math.Abs(m.Max-want) > 1e-9 {
		t.Errorf("%v, want %v", m.Max, want)
	}
	// Four resistors of 1 % in the last stage are 4 x 1 % / (1 + 3) of the bus less the reference, by the first stage's 11.
	one := pair + goal + "\n"
	for _, name := range []string{"R3", "R4", "R5", "R6"} {
		one += "* shuntwright: elements." + name + ".tolerance = \"1 %\"\n"
	}
	m = measure(t, judge(t, builtin.ResistorMatch, edit(t, one, "2 V .. 4 V", "4 V exact", "-4 A .. 4 A", "-1 uA .. 1 uA"), tugOp), "error of the resistors at the shunt")
	if want := 1.5 * 0.01 / 11; math.Abs(m.Max-want) > 0.03*want {
		t.Errorf("%v, first order %v", m.Max, want)
	}
}

// A stage whose current flows both ways reads both only about a reference: 2.5 V less 20 x 80 mV is 0.9 V. One that delivers
// a current through a transistor reads one direction.
func TestReferenceBiasOfOpAmpBlocks(t *testing.T) {
	rule := builtin.ReferenceBias
	both := edit(t, over, "0 A .. 10 A", "-8 A .. 8 A", `resistors = "1 %"`, `resistors = "0 %"`)
	r := wants(t, rule, rules.KindFail, rules.Error, both, tugOp)
	if !strings.Contains(r.Message, "is intended") {
		t.Error(r.Message)
	}
	lifted := edit(t, both, "R4 p 0 200k", "R4 p VM 200k") + "\nRV VM 0 1k\n* shuntwright: rails.VM = \"2.5 V exact\""
	r = wants(t, rule, rules.KindPass, 0, lifted, tugOp)
	// 20 x 80 mV, 21 x 90 uV of offset, and 12 nA through 200 kohm on one side alone.
	if m := measure(t, r, "output at the lowest end"); math.Abs(m.Min-(2.5-1.6-21*90e-6-12e-9*200e3)) > 1e-6 {
		t.Errorf("%v", m.Min)
	}
	through := edit(t, both, "R1 LOAD n 10k\nR2 n out 200k\nR3 BUS p 10k\nR4 p 0 200k\nXA p n out 0 V5 tug-op-over",
		"RI BUS n 100\nRP LOAD p 100\nMP o g n n pm\n.model pm PMOS\nRG out g 100\nRO o 0 4.7k\nXA p n out 0 BUS tug-op-high\nRV V5 0 1k")
	high := edit(t, tugOp, `name = "tug-op-over"`, `name = "tug-op-high"`, "2.4 V .. 5.6 V", "2.4 V .. 31 V", "-0.3 V .. 6.3 V", "-0.3 V .. 34 V")
	wants(t, rule, rules.KindFail, rules.Error, through, high)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, through, "-8 A .. 8 A", "0 A .. 8 A"), high)
	lacks(t, wants(t, rule, rules.KindOpen, 0, lifted, edit(t, tugOp, "bias = { max = \"12 nA\" }\n", "")), "bias.max")
}

// What else is judged of an op-amp block answers, and nothing is wrong with one that is well designed.
func TestRulesOnOpAmpBlocks(t *testing.T) {
	want := map[string]rules.Kind{
		"common-mode-operating": rules.KindNotApplicable, "common-mode-survival": rules.KindNotApplicable,
		"filter-gain-error": rules.KindNotApplicable, "filter-bias-error": rules.KindNotApplicable,
		"supply-range": rules.KindPass, "reference-bias": rules.KindNotApplicable,
		"resistor-match": rules.KindPass, "op-amp-input-range": rules.KindPass, "op-amp-output-sink": rules.KindPass,
	}
	clean := edit(t, over, `resistors = "1 %"`, `resistors = "0.1 %"`, `"5 V +- 2 %"`, `{ operating = "5 V +- 2 %", survival = "0 V .. 5.5 V" }`)
	for _, r := range rules.Judge(load(t, clean, tugOp), builtin.All).Results {
		if k, ok := want[r.Rule]; ok {
			if delete(want, r.Rule); r.Kind != k {
				t.Errorf("%s: %v: %s", r.Rule, r.Kind, r.Message)
			}
		}
	}
	if len(want) > 0 {
		t.Errorf("not judged: %v", want)
	}
}

// What stands across the shunt is not what stands between the pins of an op amp, and its output is no current: its record
// need not say anything of either.
func TestOpAmpIsNotAskedOfItsPinsAsOfAnAmplifier(t *testing.T) {
	for _, rule := range []*rules.Rule{builtin.DifferentialSurvival, builtin.InputFullScale, builtin.CurrentOutputCompliance} {
		wants(t, rule, rules.KindNotApplicable, 0, low, tugOp)
		wants(t, rule, rules.KindNotApplicable, 0, over, tugOp)
	}
}

// What op amps do not have is not asked of them: a kind of input, a range between inputs that feedback holds together.
func TestOpAmpsAreNotAskedForAmplifiers(t *testing.T) {
	for _, rule := range []*rules.Rule{builtin.CurrentOutputCompliance, builtin.InputFullScale} {
		wants(t, rule, rules.KindNotApplicable, 0, low, tugOp)
	}
}

// The threshold is drawn: 5 V x 15 / 25 = 3 V nominal behind 0.21 V/A are 14.29 A; nothing is asked for, though holding the
// output of an op amp leaves no block.
func TestTripOfOpAmp(t *testing.T) {
	deck := strings.Replace(low, "least = ", `damage = "24 A", least = `, 1) + `
RO out cmp 1k
RT1 V5 th 10k
RT2 th 0 15k
XCMP cmp th trip 0 V5 buoy-bell`
	m := measure(t, wants(t, builtin.TripWindow, rules.KindPass, 0, deck, tugOp+bell), "trip current of XCMP")
	if !(m.Min < 14.29 && 14.29 < m.Max) {
		t.Errorf("the trip comes between %v A and %v A", m.Min, m.Max)
	}
}
