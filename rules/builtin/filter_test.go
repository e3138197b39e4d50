package builtin_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// filtered is tug with resistors in front of both inputs and another amplifier.
func filtered(t testing.TB, plus, minus, amp string) string {
	t.Helper()
	card := strings.Replace(amp, "IN", "p m", 1)
	rf := ""
	if plus == "" {
		card = strings.Replace(card, "p m", "BUS m", 1)
	} else {
		rf += "\nRF1 BUS p " + plus
	}
	if minus == "" {
		card = strings.Replace(card, " m ", " LOAD ", 1)
	} else {
		rf += "\nRF2 LOAD m " + minus
	}
	return edit(t, tug, "XA BUS LOAD out 0 VM VM V5 tug-sense-40", card) + rf
}

const (
	sense40 = "XA IN out 0 VM VM V5 tug-sense-40"
	diff50  = "XA IN out 0 VM V5 tug-diff-50"
)

// A resistor-difference stage of R1 = 10 kohm and R2 = 500 kohm: 100 ohm in front of in- alone is R1 made 10.1 kohm and
// costs 100/10200 x (1 + 1/50) of the gain; in front of in+ alone it costs 100/510100 of half of it.
func TestUnequalLegsOfAResistorDifference(t *testing.T) {
	exact := "\n* shuntwright: tolerances.resistors = \"0 %\""
	deck := func(plus, minus string) string {
		return edit(t, filtered(t, plus, minus, diff50), "\n* shuntwright: tolerances.resistors = \"1 %\"", exact)
	}
	for _, c := range []struct {
		plus, minus string
		percent     float64 // as printed in the trade's rule of thumb, 0.980 and 0.0098; equal legs R1/(R1 + Rf)
		half        float64
	}{{"", "100", 0.980, 5e-4}, {"100", "", 0.0098, 5e-5}, {"100", "100", 100 * (1 - 10./10.1), 1e-6}} {
		r := judge(t, builtin.FilterGainError, deck(c.plus, c.minus), tugDiff)
		if m := measure(t, r, "gain loss 1-k"); math.Abs(100*m.Max-c.percent) > c.half || math.Abs(100*m.Min-c.percent) > c.half {
			t.Errorf("%s ohm and %s ohm cost %v .. %v, want %v %%", c.plus, c.minus, m.Min, m.Max, c.percent)
		}
	}
}

// k = Rd/(Rd + 2 Rf) with Rd = 5.1 kohm +- 21 % and Rf = R +- 1 %, each resistor by itself.
func k(rd, rf1, rf2 float64) float64 { return rd / (rd + rf1 + rf2) }

func TestFilterGainError(t *testing.T) {
	rule := builtin.FilterGainError
	low, high, mid := k(5100*0.79, 15.15, 15.15), k(5100*1.21, 14.85, 14.85), k(5100, 15, 15)
	r := judge(t, rule, filtered(t, "15", "15", sense40), tugSense)
	loss, spread := measure(t, r, "gain loss 1-k"), measure(t, r, "spread of k")
	if math.Abs(loss.Max-(1-low)) > 1e-9 || math.Abs(loss.Min-(1-high)) > 1e-9 || math.Abs(spread.Max-(high-low)/2/mid) > 1e-9 {
		t.Errorf("loss %v .. %v, want %v .. %v; spread %v, want %v", loss.Min, loss.Max, 1-high, 1-low, spread.Max, (high-low)/2/mid)
	}
	// Without a goal both limits are 0.5 %, and that is said.
	if r.Kind != rules.KindFail || r.Level != rules.Warning || loss.LimitMax != 0.005 || spread.LimitMax != 0.005 || !strings.Contains(strings.Join(r.Assumed, " "), "0.5 %") {
		t.Errorf("%v %v, limits %v and %v, assumed %q", r.Kind, r.Level, loss.LimitMax, spread.LimitMax, r.Assumed)
	}
	wants(t, rule, rules.KindPass, 0, filtered(t, "10", "10", sense40), tugSense)
	// A goal of 1 %: the loss at most 1 %, the spread at most a third of that.
	goal := "\n* shuntwright: goals.XA = { error = \"1 %\", at = \"10 A\" }"
	r = wants(t, rule, rules.KindPass, 0, filtered(t, "15", "15", sense40)+goal, tugSense)
	if m := measure(t, r, "spread of k"); math.Abs(m.LimitMax-0.01/3) > 1e-12 {
		t.Errorf("the spread is held against %v", m.LimitMax)
	}
	r = wants(t, rule, rules.KindFail, rules.Error, filtered(t, "47", "47", sense40)+goal, tugSense)
	if measure(t, r, "spread of k").Kind != rules.KindFail {
		t.Errorf("%+v", r.Measures)
	}
	// Firmware that knows the scale knows the loss; the spread is left. 47 ohm: spread 0.39 %, above 0.333 %.
	scale := "\n* shuntwright: converters.out.scale = \"39 mV/A\"\nCO out 0 1n"
	r = wants(t, rule, rules.KindPass, 0, filtered(t, "15", "15", sense40)+scale, tugSense)
	if slices.ContainsFunc(r.Measures, func(m rules.Measure) bool { return m.Name == loss.Name }) {
		t.Errorf("with a scale the loss is held against a limit: %+v", r.Measures)
	}
	// A calibrated gain leaves what temperature does: 80 ppm/K over 60 K from 25 degC to 85 degC, and 50 K downwards.
	cal := scale + "\n* shuntwright: calibration.XA.gain = true\n* shuntwright: temperature = \"-25 degC .. 85 degC\"" +
		"\n* shuntwright: elements.RF1.temperature-coefficient = \"100 ppm/K\"\n* shuntwright: elements.RF2.temperature-coefficient = \"100 ppm/K\""
	r = wants(t, rule, rules.KindPass, 0, filtered(t, "47", "47", sense40)+goal+cal, tugSense)
	up := k(5100*(1+80e-6*60), 47*(1-100e-6*60), 47*(1-100e-6*60))
	down := k(5100*(1-80e-6*60), 47*(1+100e-6*60), 47*(1+100e-6*60))
	if m := measure(t, r, "spread of k"); math.Abs(m.Max-(up-down)/2/k(5100, 47, 47)) > 1e-9 {
		t.Errorf("the calibrated spread is %v, want %v", m.Max, (up-down)/2/k(5100, 47, 47))
	}
	// What the tracking needs is named where it is missing.
	calibrated := filtered(t, "47", "47", sense40) + goal + scale + "\n* shuntwright: calibration.XA.gain = true"
	r = wants(t, rule, rules.KindOpen, 0, calibrated, tugSense)
	lacks(t, r, "temperature")
	lacks(t, r, "elements.RF1.temperature-coefficient")
	lacks(t, wants(t, rule, rules.KindOpen, 0, filtered(t, "15", "15", sense40), edit(t, tugSense, `resistance = "5.1 kohm +- 21 %", `, "")), "input.resistance")
	lacks(t, wants(t, rule, rules.KindOpen, 0, filtered(t, "15", "15", sense40), edit(t, tugSense, `model = "differential", `, "")), "input.model")
	// Undeclared tolerances of the filter are no need: 5 % are counted.
	r = judge(t, rule, edit(t, filtered(t, "10", "10", sense40), "* shuntwright: tolerances.resistors = \"1 %\"\n", ""), tugSense)
	if m := measure(t, r, "gain loss 1-k"); math.Abs(m.SoundMax-(1-k(5100*0.79, 10.5, 10.5))) > 1e-9 || math.Abs(m.Max-(1-k(5100*0.79, 10, 10))) > 1e-9 {
		t.Errorf("loss up to %v, counted up to %v", m.Max, m.SoundMax)
	}
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, filtered(t, "1k", "1k", sense40), edit(t, tugSense, `model = "differential"`, `model = "high-impedance"`))
}

// The series resistance that the amplifier sees through its bias resistors and across the inputs counts.
func TestLoadedFilter(t *testing.T) {
	deck := edit(t, filtered(t, "100", "100", sense40), "tolerances.resistors = \"1 %\"", "tolerances.resistors = \"0 %\"") + "\nRX p m 2.2k"
	rd := edit(t, tugSense, "5.1 kohm +- 21 %", "5.1 kohm exact")
	want := k(1/(1/5100.+1/2200.), 100, 100)
	r := judge(t, builtin.FilterGainError, deck, rd)
	if m := measure(t, r, "gain loss 1-k"); math.Abs(m.Max-(1-want)) > 1e-9 {
		t.Errorf("the loss is %v, want %v", m.Max, 1-want)
	}
}

// (Vcm - Vref)/(R1 + R2) through the difference of two resistors of 10 ohm +- 1 %: 48 V / 127.5 kohm x 0.2 ohm = 75 uV.
func TestFilterBiasOfAResistorDifference(t *testing.T) {
	stage := edit(t, tugDiff, `resistance = "10 kohm exact"`, `resistance = "2.5 kohm exact"`, `offset = { max = "0 V" }`, `offset = { max = "70 uV" }`)
	deck := edit(t, filtered(t, "10", "10", diff50), `rails.BUS = "40 V .. 58 V"`, `rails.BUS = "50.5 V exact"`, `rails.VM = "2.5 V +- 0.2 %"`, `rails.VM = "2.5 V exact"`,
		`range = "-20 A .. 20 A"`, `range = "0 A .. 1 A"`)
	r := wants(t, builtin.FilterBiasError, rules.KindFail, rules.Warning, deck, stage)
	if m := measure(t, r, "offset by input bias"); math.Abs(m.Max-75.3e-6) > 0.5e-6 {
		t.Errorf("the offset is %v, want 75 uV", m.Max)
	}
	// A fifth of an offset of 380 uV is 76 uV.
	wants(t, builtin.FilterBiasError, rules.KindPass, 0, deck, edit(t, stage, `max = "70 uV"`, `max = "380 uV"`))
}

// |Ib| |Rf+ - Rf-| + Ios (Rf+ + Rf-)/2: two resistors of 10 ohm +- 1 % differ by 0.2 ohm.
func TestFilterBiasError(t *testing.T) {
	rule := builtin.FilterBiasError
	r := wants(t, rule, rules.KindFail, rules.Warning, filtered(t, "10", "10", sense40), tugSense)
	// Largest where one is 10.1 ohm and the other 9.9 ohm: 27 uA x 0.2 ohm + 0.9 uA x 10 ohm = 14.4 uV, above 12.2 uV.
	if m := measure(t, r, "offset by input bias"); math.Abs(m.Max-14.4e-6) > 1e-12 || math.Abs(m.LimitMax-12.2e-6) > 1e-12 {
		t.Errorf("offset %v, limit %v", m.Max, m.LimitMax)
	}
	if !strings.Contains(strings.Join(r.Assumed, " "), "20 %") {
		t.Errorf("assumed %q", r.Assumed)
	}
	wants(t, rule, rules.KindPass, 0, filtered(t, "8", "8", sense40), tugSense)
	// A nominal difference counts in full: 27 uA x (10.1 - 4.95) ohm + 0.9 uA x 7.525 ohm.
	r = judge(t, rule, filtered(t, "10", "5", sense40), tugSense)
	if m := measure(t, r, "offset by input bias"); math.Abs(m.Max-(27e-6*5.15+0.9e-6*7.525)) > 1e-12 {
		t.Errorf("offset %v", m.Max)
	}
	// An error where it exceeds the goal at the smallest current: 1 % of 0.1 A x 1 mohm is 1 uV.
	goal := "\n* shuntwright: goals.XA = { error = \"1 %\", at = \"0.1 A\" }"
	wants(t, rule, rules.KindFail, rules.Error, filtered(t, "8", "8", sense40)+goal, tugSense)
	wants(t, rule, rules.KindPass, 0, filtered(t, "8", "8", sense40)+edit(t, goal, "0.1 A", "10 A"), tugSense)
	// Missing and typical.
	lacks(t, wants(t, rule, rules.KindOpen, 0, filtered(t, "8", "8", sense40), edit(t, tugSense, `, mismatch = "0.9 uA"`, "")), "bias.mismatch")
	lacks(t, wants(t, rule, rules.KindOpen, 0, filtered(t, "8", "8", sense40), edit(t, tugSense, `max = "27 uA", `, "")), "bias.max")
	lacks(t, wants(t, rule, rules.KindOpen, 0, filtered(t, "8", "8", sense40), edit(t, tugSense, `offset = { max = "61 uV" }`, "")), "offset.max")
	wants(t, rule, rules.KindReview, 0, filtered(t, "8", "8", sense40), edit(t, tugSense, `max = "27 uA"`, `typical = "27 uA"`))
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
}

// The bias current is the largest that the common mode in use meets, between the points that the record gives.
func TestBiasByCommonMode(t *testing.T) {
	points := edit(t, tugSense, `max = "27 uA"`, `max = [["0 V", "-12 uA"], ["5 V", "6 uA"], ["62 V", "27 uA"]]`)
	offset := func(bus string) float64 {
		deck := edit(t, filtered(t, "10", "10", sense40), `"40 V .. 58 V"`, bus, `range = "-20 A .. 20 A"`, `range = "0 A .. 1 A"`)
		return measure(t, judge(t, builtin.FilterBiasError, deck, points), "offset by input bias").Max
	}
	for bus, ib := range map[string]float64{
		`"62 V exact"`:   27e-6,
		`"33.5 V exact"`: 6e-6 + 21e-6/2,
		`"0.5 V .. 5 V"`: 10.2e-6, // at 0.5 V -12 uA + 18 uA / 10
	} {
		if got := offset(bus); math.Abs(got-(ib*0.2+9e-6)) > 2e-3*ib*0.2+1e-9 {
			t.Errorf("BUS %s: offset %v, want %v", bus, got, ib*0.2+9e-6)
		}
	}
}

// Both rules say what is missing where there is no shunt to filter.
func TestFilterWithoutAShunt(t *testing.T) {
	deck := edit(t, filtered(t, "10", "10", sense40), "RF2 LOAD m 10", "RF2 BUS m 10")
	for _, rule := range []*rules.Rule{builtin.FilterGainError, builtin.FilterBiasError, builtin.ReferenceBias} {
		r := wants(t, rule, rules.KindOpen, 0, deck, tugSense)
		if len(r.Needs) == 0 {
			t.Errorf("%s names nothing that is missing", rule.ID)
		}
	}
}
