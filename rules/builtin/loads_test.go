package builtin_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// lowSide is a difference amplifier of 20 V/V at a shunt to ground, exact.
const lowSide = `* shuntwright: rails.V5 = "5 V exact"
* shuntwright: currents.RSH = { range = "0 A .. 20 A", from = "RET" }
* shuntwright: tolerances.resistors = "0 %"
RL V5 RET 0.2
RSH RET 0 5m
R1 RET p 1k
R3 0 m 1k
R4 m out 20k
R2 p 0 20k
XA p m out 0 V5 winch-op`

const winchOp = `
[[part]]
name = "winch-op"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2.9 V .. 5.5 V", survival = "-0.3 V .. 6.4 V", current = "1.7 mA" }
common-mode = { operating = "-0.1 V .. 4 V", survival = "-0.3 V .. 6 V" }
bias = { max = "1 nA", mismatch = "1 nA" }
output = { low = "50 mV", high = "supply - 70 mV", sink = "1 mA" }
offset = { max = "61 uV" }
`

// A pull-up of 4.95 kohm brings (5 V - 50 mV)/4.95 kohm = 1 mA into the output at its low end, from which its own resistors
// of 20 kohm and 1 kohm to ground take 50 mV/21 kohm = 2.4 uA: 4.93 kohm bring 1.0041 mA, 1.0017 mA in all.
func TestOpAmpOutputSinkCountsPullUps(t *testing.T) {
	rule := builtin.OpAmpOutputSink
	wants(t, rule, rules.KindPass, 0, lowSide, winchOp)
	wants(t, rule, rules.KindPass, 0, lowSide+"\nRPU out V5 4.95k", winchOp)
	r := wants(t, rule, rules.KindFail, rules.Warning, lowSide+"\nRPU out V5 4.93k", winchOp)
	if m := measure(t, r, "current into the output at its low end"); !near(m.Max, 4.95/4930-0.05/21e3, 1e-3) {
		t.Errorf("%v A", m.Max)
	}
	// A divider behind 2.4 kohm: 5 V over 2.4 kohm with 2.4 kohm and 0.1 Mohm to ground; 50 mV of the output counts too.
	behind := func(ohms string) string { return lowSide + "\nRO out x 2.4k\nRU x V5 " + ohms + "\nRD x 0 100k" }
	x := func(up float64) float64 { return (5/up + 0.05/2400) / (1/up + 1./2400 + 1e-5) }
	r = wants(t, rule, rules.KindFail, rules.Warning, behind("2.3k"), winchOp)
	if m := measure(t, r, "current into the output at its low end"); !near(m.Max, (x(2300)-0.05)/2400-0.05/21e3, 1e-3) {
		t.Errorf("%v A", m.Max)
	}
	wants(t, rule, rules.KindPass, 0, behind("2.7k"), winchOp)
	wants(t, rule, rules.KindPass, 0, lowSide+"\nRO out adc 100\nCO adc 0 10n\nRL2 out 0 1k", winchOp) // only takes current out
}

// The inputs of an op amp with feedback do not stand apart: no linear range is asked for.
func TestInputFullScaleOfAnOpAmp(t *testing.T) {
	wants(t, builtin.InputFullScale, rules.KindNotApplicable, 0, lowSide, winchOp)
}

// A filter at the output carries no current at DC; a load behind it does. 5 V over 47 ohm and 953 ohm is 6.25 mW at half of
// 5 V: 110 degC + 160 K/W x (5 V x 1.7 mA + 2 x 58.02 V x 27 uA + 6.25 mW) = 112.86 degC, without the load 111.86 degC.
func TestJunctionWithAFilterAtTheOutput(t *testing.T) {
	hot := tugSense + "rated = { ambient = \"-40 degC .. 125 degC\", junction = \"135 degC\", theta-ja = \"160 K/W\" }\n"
	deck := steady(t) + "\n* shuntwright: temperature = \"-20 degC .. 110 degC\"\nRO out adc 47\nCO adc 0 10n"
	for cards, want := range map[string]float64{"": 0, "\nRD adc 0 953": 6.25e-3} {
		r := wants(t, builtin.TemperatureRange, rules.KindPass, 0, deck+cards, hot)
		if m := measure(t, r, "junction temperature"); !near(m.Max, 110+160*(5*1.7e-3+2*58.02*27e-6+want), 1e-5) {
			t.Errorf("%q: %v degC", cards, m.Max)
		}
	}
}

// A bidirectional current output has to take its current in as well: 1 mA/V x 1 mohm x 20 A is 20 uA.
func TestCurrentOutputBothWays(t *testing.T) {
	const part = `
[[part]]
name = "winch-current"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "supply"]
transconductance = "1 mA/V exact"
direction = "bidirectional"
supply = { operating = "2.8 V .. 13 V", survival = "-0.3 V .. 15 V", current = "0.3 mA" }
input = { model = "current-output" }
bias = { max = "0 uA", mismatch = "0 uA" }
output = { compliance = "0 V .. supply - 1 V", current = "19 uA" }
offset = { max = "0 mV" }
`
	deck := steady(t, "-20 A .. 20 A", "-20 A .. 5 A", "XA BUS LOAD out 0 VM VM V5 tug-sense-40", "XA BUS LOAD out 0 V5 winch-current\nROUT out VM 1k")
	r := wants(t, builtin.CurrentOutputCompliance, rules.KindFail, rules.Error, deck, part)
	if r.Message != "the output would have to sink 20.00 uA, the part sinks 19.00 uA" {
		t.Error(r.Message)
	}
	wants(t, builtin.CurrentOutputCompliance, rules.KindPass, 0, deck, edit(t, part, "19 uA", "21 uA"))
}

// Legs of one value and unequal tolerances are equal somewhere in between. 5 uA x (10.5 ohm - 9.9 ohm) + 0.1 uA x 10.2 ohm
// = 4.02 uV: below a fifth of 61 uV, and no review.
func TestFilterBiasOfUnequalTolerances(t *testing.T) {
	part := edit(t, tugSense, "27 uA", "5 uA", `mismatch = "0.9 uA"`, `mismatch = "0.1 uA"`)
	deck := steady(t, "XA BUS LOAD", "RF1 BUS P 10 tol=1%\nRF2 LOAD M 10 tol=5%\nXA P M")
	r := wants(t, builtin.FilterBiasError, rules.KindPass, 0, deck, part)
	if m := measure(t, r, "offset by input bias"); !near(m.Max, 5e-6*0.6+0.1e-6*10.2, 1e-6) || m.SoundMax > 1.0001*m.Max {
		t.Errorf("up to %v V, %v", m.Max, m.SoundMax)
	}
}

// A state that measures with a reference of 0.5 V: 0.5 V - 40 mV/A x 20 A is below the floor, and what a converter reads
// from 1.8 V on is not reached at 2.5 V - 0.8 V = 1.7 V either.
func TestTheLowerEndInStatesThatMeasure(t *testing.T) {
	saving := func(measuring, level string) string {
		return steady(t) + "\n* shuntwright: states.saving = { measuring = " + measuring + ", rails = { VM = \"" + level + " exact\" } }"
	}
	r := wants(t, builtin.ReferenceBias, rules.KindFail, rules.Error, saving("true", "0.5 V"), exactSense(t))
	if r.Message != "stops reading below -11.3 A, -20 A is intended while saving" { // (45 mV - 0.5 V)/40 mV/A = -11.375 A
		t.Error(r.Message)
	}
	wants(t, builtin.ReferenceBias, rules.KindPass, 0, saving("false", "0.5 V"), exactSense(t))
	wants(t, builtin.ReferenceBias, rules.KindPass, 0, saving("true", "2.4 V"), exactSense(t))
	adc := "\nRO out adc 1k\nCO adc 0 10n\n* shuntwright: converters.adc.range = \"1.6 V .. 5 V\""
	wants(t, builtin.OutputFloor, rules.KindPass, 0, saving("true", "2.41 V")+adc, exactSense(t))
	r = wants(t, builtin.OutputFloor, rules.KindFail, rules.Error, saving("true", "2.39 V")+adc, exactSense(t))
	if r.Message != "the converter on adc reads down to 1.6 V, the output arrives as low as 1.59 V while saving" {
		t.Error(r.Message)
	}
	wants(t, builtin.OutputFloor, rules.KindPass, 0, saving("false", "2.39 V")+adc, exactSense(t))
}

// A current output of 1 mA/V over 40 kohm is a gain of 40 V/V: 40 mV/A of 1 mohm. With 20 kohm it is half of that.
func TestScaleOfACurrentOutput(t *testing.T) {
	const part = `
[[part]]
name = "winch-current"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "supply"]
transconductance = "1 mA/V exact"
direction = "unidirectional"
supply = { operating = "2.8 V .. 13 V", survival = "-0.3 V .. 15 V", current = "0.3 mA" }
input = { model = "current-output" }
bias = { max = "0 uA", mismatch = "0 uA" }
output = { compliance = "0 V .. supply - 1 V", current = "90 uA" }
offset = { max = "0 mV" }
`
	deck := steady(t, "-20 A .. 20 A", "0 A .. 20 A", "XA BUS LOAD out 0 VM VM V5 tug-sense-40", "XA BUS LOAD out 0 V5 winch-current\nROUT out 0 40k") +
		"\n* shuntwright: converters.out.scale = \"40 mV/A\""
	wants(t, builtin.ScaleAgreement, rules.KindPass, 0, deck, part)
	r := wants(t, builtin.ScaleAgreement, rules.KindFail, rules.Error, edit(t, deck, "0 40k", "0 20k"), part)
	if m := measure(t, r, "scale error"); !near(m.Max, 0.5, 1e-9) {
		t.Errorf("%v off", m.Max)
	}
}

// A digital monitor taps a four-terminal shunt as an amplifier does.
func TestKelvinTerminalsOfADigitalMonitor(t *testing.T) {
	const parts = `
[[part]]
name = "winch-monitor"
role = "digital-monitor"
pins = ["in+", "in-", "supply", "ground"]
[[part]]
name = "winch-shunt"
role = "shunt"
pins = ["a", "sense-a", "sense-b", "b"]
resistance = "0.3 mohm +- 0.8 %"
terminals = 4
`
	const deck = `* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: rails.V5 = "5 V exact"
XS BUS sa sb LOAD winch-shunt
RL LOAD 0 4
XA %s V5 0 winch-monitor`
	for pins, want := range map[string]rules.Kind{"sa sb": rules.KindPass, "BUS LOAD": rules.KindFail} {
		d := load(t, strings.Replace(deck, "%s", pins, 1), parts)
		for _, r := range rules.Judge(d, []*rules.Rule{builtin.KelvinTerminals}).Results {
			if r.Rule == "kelvin-terminals" && r.Kind != want {
				t.Errorf("%s: %v %s", pins, r.Kind, r.Message)
			}
		}
	}
}

// Two resistors of 20 ohm in parallel are a leg of 10 ohm: as fast as one of 10 ohm, and twice as fast as one of 20 ohm.
func TestFilterAsymmetryOfParallelLegs(t *testing.T) {
	deck := func(other string) string {
		return inPhase("48 V exact", `, edge = "1 V/ns"`, "", "0 %", "0 %", "20\nRFB p PHASE 20\nRF2 MOT m "+other+"\nC1 p 0 1n\nC2 m 0 1n")
	}
	wants(t, builtin.FilterAsymmetry, rules.KindPass, 0, deck("10"), tugSense)
	if r := judge(t, builtin.FilterAsymmetry, deck("20"), tugSense); r.Kind == rules.KindPass {
		t.Error(r.Message)
	}
}

// The legs of a resistor-difference stage are 2 R2 = 1 Mohm each: 5 V and ground behind 1.2 kohm and nothing move the middle by
// 2.5 V x 1.2 k/2001.2 k = 1.5 mV. Nothing else of the record is asked for.
func TestReferencePairOfAResistorDifferenceStage(t *testing.T) {
	part := edit(t, tugDiff, `"ref", "supply"`, `"ref-a", "ref-b", "supply"`, `reference = { model = "high-impedance" }`, `reference = { split = "0.06 %" }`)
	deck := func(ohms string) string {
		return steady(t, "XA BUS LOAD out 0 VM VM V5 tug-sense-40", "RA V5 ra "+ohms+"\nXA BUS LOAD out 0 ra 0 V5 tug-diff-50")
	}
	r := wants(t, builtin.ReferencePair, rules.KindPass, 0, deck("1.19k"), part)
	if m := measure(t, r, "shift of the middle by unequal resistances"); !near(m.Min, -2.5*1190/2001190, 1e-3) {
		t.Errorf("%v .. %v", m.Min, m.Max)
	}
	wants(t, builtin.ReferencePair, rules.KindFail, rules.Warning, deck("1.22k"), part)
}

// Of several address pins each must be driven.
func TestEveryAddressPinIsDriven(t *testing.T) {
	const log = `
[[part]]
name = "winch-log"
role = "digital-monitor"
pins = ["in+", "in-", "ground", "supply", "address-0", "address-1"]
supply = { operating = "2.9 V .. 5.5 V", survival = "-0.3 V .. 6.4 V", current = "0.7 mA" }
address.pull = "none"
`
	deck := func(pins string) string {
		return steady(t, "BUS LOAD out 0 VM VM V5 tug-sense-40", "BUS LOAD 0 V5 "+pins+" winch-log")
	}
	wants(t, builtin.FloatingPin, rules.KindPass, 0, deck("0 V5"), log)
	r := wants(t, builtin.FloatingPin, rules.KindFail, rules.Error, deck("0 ad"), log)
	if !strings.Contains(r.Message, "address-1 floats") {
		t.Error(r.Message)
	}
	lacks(t, wants(t, builtin.FloatingPin, rules.KindOpen, 0, deck("ad V5"), edit(t, log, "address.pull = \"none\"\n", "")), "address.pull")
}

// Two resistors of 600 ohm in parallel are 300 ohm: (5 V - 3.6 V)/300 ohm = 4.67 mA, with one of them 2.33 mA.
func TestAdcOvervoltageBehindParallelResistors(t *testing.T) {
	deck := steady(t) + "\nRO out adc 600\nCO adc 0 10n\nCV V3 0 1u\n* shuntwright: rails.V3 = \"3.3 V exact\"\n* shuntwright: converters.adc = { range = \"0 V .. V3\", survival-current = \"3 mA\" }"
	wants(t, builtin.AdcOvervoltage, rules.KindPass, 0, deck, exactSense(t))
	r := wants(t, builtin.AdcOvervoltage, rules.KindFail, rules.Error, deck+"\nRQ adc out 600", exactSense(t))
	if m := measure(t, r, "current into adc with the output at its supply"); !near(m.Max, 1.4/300, 1e-6) {
		t.Errorf("%v A", m.Max)
	}
}

// A channel that reads from -20 A to 5 A around 1.5 V stands at 0.7 V at its lowest. 0.4 nH at 400 A/us and no filter are 160 mV
// between the inputs and 6.4 V at the output: up to 8.1 V, down to -5.7 V. One that falls with a one-way current has no upper end.
func TestOvershootAtTheLowerEnd(t *testing.T) {
	deck := func(rng, level, henry string) string {
		return steady(t, "-20 A .. 20 A", rng, `least = "0.5 A"`, `least = "0.5 A", slope = "400 A/us"`, `"2.5 V exact"`, level) +
			"\n* shuntwright: elements.RSH.inductance = \"" + henry + "\""
	}
	r := wants(t, builtin.ShuntInductance, rules.KindFail, rules.Warning, deck("-20 A .. 5 A", `"1.5 V exact"`, "0.4 nH"), highZ(t))
	if m := measure(t, r, "output at the end of a step downwards"); !near(m.Min, 0.7-6.4, 1e-9) {
		t.Errorf("%v", m.Min)
	}
	if m := measure(t, r, "output at the end of a step"); !near(m.Max, 1.7+6.4, 1e-9) {
		t.Errorf("%v", m.Max)
	}
	// 20 pH make 0.32 V of it: 0.38 V is above the floor of 45 mV; 50 pH make 0.8 V.
	wants(t, builtin.ShuntInductance, rules.KindPass, 0, deck("-20 A .. 5 A", `"1.5 V exact"`, "0.02 nH"), highZ(t))
	wants(t, builtin.ShuntInductance, rules.KindFail, rules.Warning, deck("-20 A .. 5 A", `"1.5 V exact"`, "0.05 nH"), highZ(t))
	wants(t, builtin.ShuntInductance, rules.KindFail, rules.Warning, deck("-20 A .. 0 A", `"1.5 V exact"`, "0.05 nH"), highZ(t))
	wants(t, builtin.ShuntInductance, rules.KindPass, 0, deck("0 A .. 20 A", `"1.5 V exact"`, "0.05 nH"), highZ(t))
}

// With the reference at the supply and a current that flows one way, of which nobody says from where, the output may be one
// that falls: then it clips at small currents only.
func TestOutputHeadroomOfAnUnknownDirection(t *testing.T) {
	deck := steady(t, "-20 A .. 20 A", "0 A .. 20 A", `, from = "BUS"`, "", "0 VM VM V5", "0 V5 V5 V5")
	lacks(t, wants(t, builtin.OutputHeadroom, rules.KindOpen, 0, deck, exactSense(t)), "currents.RSH.from")
	wants(t, builtin.OutputHeadroom, rules.KindFail, rules.Error, edit(t, deck, "0 A .. 20 A", "-20 A .. 20 A"), exactSense(t))
}
