package volt_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/volt"
)

const outputs = `[[part]]
name = "capstan-op"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2 V .. 32 V", current = "1 mA" }
output = { low = "50 mV", high = "supply - 100 mV" }
offset = { max = "1 mV" }
bias = { max = "0 A" }

[[part]]
name = "capstan-ideal"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2 V .. 400 V", current = "1 mA" }
output = { low = "0 V", high = "supply - 0 V" }
offset = { max = "0 V" }
bias = { max = "0 A" }

[[part]]
name = "capstan-20"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "20 V/V +- 1 %"
supply = { operating = "3 V .. 6 V", current = "1 mA" }
input = { model = "high-impedance" }
bias = { max = "0 A" }
output = { low = "50 mV", high = "supply - 100 mV" }
offset = { max = "0.5 mV" }
reference = { model = "high-impedance" }

[[part]]
name = "capstan-20-down"
role = "sense-amplifier"
polarity = "inverted"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "20 V/V exact"
supply = { operating = "3 V .. 6 V", current = "1 mA" }
input = { model = "high-impedance" }
bias = { max = "0 A" }
output = { low = "50 mV", high = "supply - 100 mV" }
offset = { max = "0 V" }
reference = { model = "high-impedance" }
`

const still = "* shuntwright: tolerances.resistors = \"0 %\"\n"

// Op amps as nullors, by hand: a gain of 1 + R2/R1 or -R2/R1 about a middle of 15 V, 1 mV of offset times 1 + R2/R1 on top,
// and no farther than 50 mV from ground and 100 mV from the supply.
func TestOpAmps(t *testing.T) {
	const rails = still + "* shuntwright: rails.VP = \"30 V exact\"\n* shuntwright: rails.MID = \"15 V exact\"\nRM MID 0 1k\n"
	for name, c := range map[string]struct {
		deck   string
		lo, hi float64
	}{
		"follower":        {"* shuntwright: rails.A = \"1 V .. 5 V\"\nX1 A OUT OUT 0 VP capstan-op\nRL OUT 0 1k", 0.999, 5.001},
		"non-inverting":   {"* shuntwright: rails.A = \"1 V .. 5 V\"\nX1 A N OUT 0 VP capstan-op\nR1 N 0 1k\nR2 OUT N 3k", 4 * 0.999, 4 * 5.001},
		"inverting":       {"* shuntwright: rails.A = \"14 V .. 17 V\"\nX1 MID N OUT 0 VP capstan-op\nR1 A N 1k\nR2 OUT N 2k", 15 - 2*2 - 3e-3, 15 + 2*1 + 3e-3},
		"stopped high":    {"* shuntwright: rails.A = \"10 V .. 12 V\"\nX1 A N OUT 0 VP capstan-op\nR1 N 0 1k\nR2 OUT N 9k", 29.9, 30},
		"stopped low":     {"* shuntwright: rails.A = \"-2 V .. -1 V\"\nX1 A OUT OUT 0 VP capstan-op", 0, 0.05},
		"from end to end": {"* shuntwright: rails.A = \"-2 V .. 40 V\"\nX1 A OUT OUT 0 VP capstan-op", 0, 30},
		"two in a row":    {"* shuntwright: rails.A = \"1 V .. 2 V\"\nX1 A N1 B 0 VP capstan-op\nR1 N1 0 1k\nR2 B N1 1k\nX2 B N2 OUT 0 VP capstan-op\nR3 N2 0 1k\nR4 OUT N2 2k", 3 * (2*0.999 - 1e-3), 3 * (2*2.001 + 1e-3)},
		"difference":      {"* shuntwright: rails.A = \"10 V .. 10.5 V\"\n* shuntwright: rails.B = \"10 V exact\"\nX1 P N OUT 0 VP capstan-op\nR1 B N 1k\nR2 OUT N 10k\nR3 A P 1k\nR4 P MID 10k", 15 - 11e-3, 15 + 5 + 11e-3},
	} {
		q := voltage(t, load(t, rails+c.deck, outputs), "OUT")
		meets(t, name, q.Seen, c.lo, c.hi, 1e-9)
		meets(t, name+", nothing outside,", q.Sound, c.lo, c.hi, 1e-9)
		if q.Loose || !q.Known() {
			t.Errorf("%s: loose %v, needs %v", name, q.Loose, q.Needs)
		}
	}
}

// The netlists of "Lessons In Electric Circuits", Reference, ch. 7, with an op amp for the source of gain 999k, about a middle
// of 200 V since this one has a single supply.
func TestPublishedOpAmps(t *testing.T) {
	const rails = still + "* shuntwright: rails.VP = \"400 V exact\"\n* shuntwright: rails.M = \"200 V exact\"\n"
	for in, out := range map[float64]float64{0.5: -1.394, 1: -2.788, 3.5: -9.758} {
		q := across(t, load(t, rails+fmt.Sprintf("* shuntwright: rails.\"2\" = \"%v V exact\"\nX1 M 1 3 0 VP capstan-ideal\nr1 3 1 3.29k\nr2 1 2 1.18k", 200+in), outputs), "3", "M")
		meets(t, "inverting", q.Seen, out, out, 5e-4)
	}
	for v := range 11 {
		q := across(t, load(t, rails+fmt.Sprintf(`* shuntwright: rails."1" = "%v V exact"
* shuntwright: rails."4" = "205 V exact"
X1 1 2 3 0 VP capstan-ideal
X2 4 5 6 0 VP capstan-ideal
X3 8 7 9 0 VP capstan-ideal
rload 9 M 10k
r1 2 3 10k
rgain 2 5 10k
r2 5 6 10k
r3 3 7 10k
r4 7 9 10k
r5 6 8 10k
r6 8 M 10k`, 200+v), outputs), "9", "M")
		meets(t, fmt.Sprint("instrumentation amplifier at ", v), q.Seen, 15-3*float64(v), 15-3*float64(v), 1e-6)
	}
}

// Four resistors of 1 % and a gain of 100 leave 0.04 V for each volt of common mode, 68 dB: A. S. Sedra, K. C. Smith,
// "Microelectronic Circuits", exercise 2.15. About a middle of 200 V, 1 V of common mode.
func TestPublishedCommonModeGain(t *testing.T) {
	q := across(t, load(t, `* shuntwright: rails.VP = "400 V exact"
* shuntwright: rails.M = "200 V exact"
* shuntwright: rails.A = "201 V exact"
* shuntwright: tolerances.resistors = "1 %"
X1 P N OUT 0 VP capstan-ideal
R1 A N 2k
R2 OUT N 200k
R3 A P 2k
R4 P M 200k`, outputs), "OUT", "M")
	most := max(q.Seen.Hi, -q.Seen.Lo)
	if math.Abs(most-0.04) > 1e-3 || math.Abs(20*math.Log10(100/most)-68) > 0.2 {
		t.Errorf("%v V, %v dB", most, 20*math.Log10(100/most))
	}
	// Exactly: R2 and R3 high, R1 and R4 low, (R4/(R3+R4))(1 + R2/R1) - R2/R1, and the other way around.
	gain := func(t float64) float64 {
		r1, r2, r3, r4 := 2*(1+t), 200*(1-t), 2*(1-t), 200*(1+t)
		return r4/(r3+r4)*(1+r2/r1) - r2/r1
	}
	meets(t, "common mode", q.Seen, gain(-0.01), gain(0.01), 1e-9)
}

// A sense amplifier's output: reference and gain times the shunt's voltage, 0.5 mV of offset, clipped to its swing.
func TestSenseOutputs(t *testing.T) {
	const head = still + "* shuntwright: rails.V5 = \"5 V exact\"\n* shuntwright: rails.BATT = \"48 V exact\"\n"
	deck := func(lo, hi float64, ref, part string) string {
		return head + fmt.Sprintf("* shuntwright: currents.RS = { range = \"%v A .. %v A\", from = \"BATT\" }\n* shuntwright: rails.REF = \"%s exact\"\nRS BATT LOAD 1m\nRL LOAD 0 1\nXA BATT LOAD OUT 0 REF V5 %s", lo, hi, ref, part)
	}
	for _, c := range []struct {
		deck string
		want quantity.Interval
	}{
		{deck(-40, 60, "2.5 V", "capstan-20"), quantity.Interval{Lo: 2.5 - 20.2*(0.04+0.0005), Hi: 2.5 + 20.2*(0.06+0.0005)}},
		{deck(0, 10, "0 V", "capstan-20"), quantity.Interval{Lo: 0, Hi: 20.2 * (0.01 + 0.0005)}},
		{deck(-200, 200, "2.5 V", "capstan-20"), quantity.Interval{Lo: 0, Hi: 5}},
		{deck(-40, 60, "2.5 V", "capstan-20-down"), quantity.Interval{Lo: 2.5 - 20*0.06, Hi: 2.5 + 20*0.04}},
	} {
		q := voltage(t, load(t, c.deck, outputs), "OUT")
		meets(t, "OUT", q.Seen, c.want.Lo, c.want.Hi, 1e-8)
		meets(t, "OUT, nothing outside,", q.Sound, c.want.Lo, c.want.Hi, 1e-8)
	}
}

// An output that feeds its own input has two states: the one that attains an end is remembered, and can be shown. By hand:
// at its supply of 11 V it keeps n6 below, with the other rail at 10.3 V, and 0.7 V stand over all three resistors.
func TestBistableOutputIsShown(t *testing.T) {
	d := load(t, still+`* shuntwright: rails.n1 = "7 V .. 11 V"
* shuntwright: rails.n2 = "10.3 V .. 19.8 V"
R6 n6 n2 409
R7 n6 n4 196
R8 n4 n3 1270
X9 n3 n6 n3 0 n1 capstan-ideal`, outputs)
	s := volt.New(d)
	e, _ := d.Find("R6")
	q := s.Current(e, design.Operating)
	meets(t, "I(R6)", q.Seen, -19.8/1875, 0.7/1875, 1e-9)
	reproduces(t, q, func(high bool) ([]string, error) { return s.CurrentDeck(e, design.Operating, q, high) })
	w, err := s.CurrentWitness(e, design.Operating, q, true)
	if err != nil || !slices.Equal(w.Stops, []volt.Stop{{Of: "X9", High: true}}) {
		t.Errorf("stopped: %v (%v)", w.Stops, err)
	}
}

// Seven resistances that move nothing, beside two op amps that stop: the end is shown in the state in which it was found. By
// hand: X10 stops low, at 0 V .. 50 mV, and D12 brings n5 0.4 V .. 0.6 V above it.
func TestEndBesideManyResistancesIsShown(t *testing.T) {
	q := voltage(t, load(t, still+`* shuntwright: temperature = "-40 degC .. 125 degC"
* shuntwright: rails.n1 = "12 V exact"
* shuntwright: rails.n2 = "-7.6 V exact"
* shuntwright: elements.R2.tolerance = "5 %"
* shuntwright: elements.R4.tolerance = "20 %"
* shuntwright: elements.R5.tolerance = "20 %"
* shuntwright: elements.R6.tolerance = "20 %"
* shuntwright: elements.R7.tolerance = "40 %"
* shuntwright: elements.R9.tolerance = "40 %"
* shuntwright: elements.R11.tolerance = "5 %"
* shuntwright: elements.D12.drop = "0.4 V .. 0.6 V"
* shuntwright: elements.D13.drop = "0.2 V exact"
R2 n5 n1 228 TC=-0.000392,1e-05
R3 n6 n5 47.4
R4 n6 n1 976
R5 n6 n2 1660
R6 n1 n3 152 TC=0.001831
R7 n3 n6 717
X8 n2 n6 n3 0 n1 capstan-op
R9 n3 n5 293 TC=-0.0027
X10 n5 n6 n4 0 n1 capstan-op
R11 n4 n2 1960 TC=-0.002318,-6e-06
D12 n5 n4 free
D13 n4 0 free
.model free D`, outputs), "n5")
	meets(t, "n5", q.Seen, 0.4, 0.65, 1e-9)
}
