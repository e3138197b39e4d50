package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// near compares to a relative distance.
func near(a, b, rel float64) bool { return math.Abs(a-b) <= rel*max(math.Abs(a), math.Abs(b)) }

// steady is tug without a tolerance anywhere: its gain is 40 V/V, k is 1, the shunt 1 mohm, so that 1 A is 40 mV.
func steady(t testing.TB, pairs ...string) string {
	t.Helper()
	deck := edit(t, tug, "tolerances.resistors = \"1 %\"", "tolerances.resistors = \"0 %\"", `"2.5 V +- 0.2 %"`, `"2.5 V exact"`, `"5 V +- 2 %"`, `"5 V exact"`)
	return edit(t, deck, pairs...)
}

// exactSense is tugSense without a tolerance.
func exactSense(t testing.TB) string {
	t.Helper()
	return edit(t, tugSense, "40 V/V +- 0.3 %", "40 V/V exact", `max = "61 uV"`, `max = "0 V"`, `split = "0.06 %"`, `split = "0 %"`)
}

// In a chain without tolerances the output is a straight line: 2.5 V + 40 mV/A x I reaches 5 V - 70 mV at 2.43/0.04 =
// 60.75 A, and nine tenths of the way at 54.675 A.
func TestOutputHeadroom(t *testing.T) {
	rule := builtin.OutputHeadroom
	to := func(hi string) string { return steady(t, "-20 A .. 20 A", "-20 A .. "+hi) }
	r := wants(t, rule, rules.KindPass, 0, to("54.67 A"), exactSense(t))
	if m := measure(t, r, "current at which the output clips"); !near(m.Min, 60.75, 1e-9) || !near(m.Max, 60.75, 1e-9) {
		t.Errorf("clips at %v .. %v", m.Min, m.Max)
	}
	if m := measure(t, r, "output at the highest end"); !near(m.Max, 2.5+0.04*54.67, 1e-9) {
		t.Errorf("output up to %v", m.Max)
	}
	wants(t, rule, rules.KindFail, rules.Warning, to("54.68 A"), exactSense(t))
	wants(t, rule, rules.KindFail, rules.Warning, to("60.75 A"), exactSense(t))
	r = wants(t, rule, rules.KindFail, rules.Error, to("60.76 A"), exactSense(t))
	if r.Message != "clips above 60.7 A, 60.76 A is intended" {
		t.Error(r.Message)
	}
	// Swapped inputs, the other direction, an inverted part: the output rises with the negative current.
	for _, deck := range []string{steady(t, "-20 A .. 20 A", "-60.76 A .. 20 A", "XA BUS LOAD", "XA LOAD BUS"),
		steady(t, "-20 A .. 20 A", "-60.76 A .. 20 A", `from = "BUS"`, `from = "LOAD"`)} {
		if r = wants(t, rule, rules.KindFail, rules.Error, deck, exactSense(t)); r.Message != "clips below -60.7 A, -60.76 A is intended" {
			t.Error(r.Message)
		}
	}
	inverted := exactSense(t) + "polarity = \"inverted\"\n"
	wants(t, rule, rules.KindFail, rules.Error, steady(t, "-20 A .. 20 A", "-60.76 A .. 20 A"), inverted)
	wants(t, rule, rules.KindPass, 0, steady(t, "-20 A .. 20 A", "-20 A .. 60.76 A"), inverted)
	// With tolerances, by hand: (5 V x 0.98 - 70 mV - 2.505 V)/40.12 - 61 uV over 1.01 mohm.
	r = judge(t, rule, edit(t, tug, "-20 A .. 20 A", "-20 A .. 70 A"), tugSense)
	if m := measure(t, r, "current at which the output clips"); !near(m.Min, ((4.9-0.07-2.505)/40.12-61e-6)/1.01e-3, 1e-4) {
		t.Errorf("clips from %v on", m.Min)
	}
	// A state that measures with a supply of 3.3 V: (3.23 V - 2.5 V)/40 mV/A = 18.25 A.
	saving := steady(t) + "\n* shuntwright: states.saving = { measuring = %s, rails = { V5 = \"3.3 V exact\" } }"
	wants(t, rule, rules.KindPass, 0, strings.Replace(saving, "%s", "false", 1), exactSense(t))
	if r = wants(t, rule, rules.KindFail, rules.Error, strings.Replace(saving, "%s", "true", 1), exactSense(t)); r.Message != "clips above 18.2 A while saving, 20 A is intended" {
		t.Error(r.Message)
	}
	// A trip may clip; what is missing is named.
	wants(t, rule, rules.KindNotApplicable, 0, to("90 A")+"\n* shuntwright: goals.XA.trip-only = true", exactSense(t))
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, edit(t, tugSense, `, high = "supply - 70 mV"`, "")), "output.high")
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, edit(t, tugSense, `offset = { max = "61 uV" }`, "")), "offset.max")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, `range = "-20 A .. 20 A", `, ""), tugSense), "currents.RSH.range")
	// Without the direction only what clips both ways fails: 2.5 V - 40 mV/A x 61 A is no clip at the upper end.
	lacks(t, wants(t, rule, rules.KindOpen, 0, steady(t, "-20 A .. 20 A", "-20 A .. 61 A", `, from = "BUS"`, ""), exactSense(t)), "currents.RSH.from")
	wants(t, rule, rules.KindPass, 0, steady(t, `, from = "BUS"`, ""), exactSense(t))
	wants(t, rule, rules.KindNotApplicable, 0, tug, edit(t, tugSense, `model = "differential"`, `model = "current-output"`))
}

// One net is one variable: a reference of half the supply and a level that hangs on the supply move together. Of 3 V .. 5
// V the worst supply is 3 V: 1.5 V + 40 mV/A x 35 A = 2.9 V, below 2.93 V; paired ends would say 2.5 V + 1.4 V = 3.9 V.
func TestOutputHeadroomJointly(t *testing.T) {
	deck := steady(t, `"5 V exact"`, `"3 V .. 5 V"`, "VM VM V5", "V5 0 V5", "-20 A .. 20 A", "-35.7 A .. 35.7 A")
	r := judge(t, builtin.OutputHeadroom, deck, exactSense(t))
	for _, m := range r.Measures {
		if m.LimitText == "output.high" && (m.Kind != rules.KindPass || !near(m.Margin, 2.93-1.5-0.04*35.7, 1e-6)) {
			t.Errorf("%+v", m)
		}
	}
	if r.Kind != rules.KindFail || r.Level != rules.Warning { // a tenth of 1.43 V is not left
		t.Errorf("%v %v %s", r.Kind, r.Level, r.Message)
	}
	// The same converter range on the amplifier's own supply costs nothing more; a reference of its own does.
	adc := deck + "\nRO out adc 1k\nCO adc 0 10n\n* shuntwright: converters.adc.range = \"0 V .. %s\""
	r = judge(t, builtin.OutputHeadroom, strings.Replace(adc, "%s", "V5", 1), exactSense(t))
	if r.Kind != rules.KindFail || r.Level != rules.Warning {
		t.Errorf("%v %v %s", r.Kind, r.Level, r.Message)
	}
	r = wants(t, builtin.OutputHeadroom, rules.KindFail, rules.Error, strings.Replace(adc, "%s", "2.5 V", 1), exactSense(t))
	// 5 V / 2 is at 2.5 V with 0 A, so that nothing is left at that supply.
	if !strings.Contains(r.Message, "leaves the converter's range above 0 A") {
		t.Error(r.Message)
	}
}

// A divider of 1 kohm into 3 kohm to a rail of 1 V: the converter sees 3/4 of the output and 1/4 of the rail.
func TestConverterBehindADivider(t *testing.T) {
	deck := steady(t) + "\nRO out adc 1k\nRP adc VP 3k\n* shuntwright: rails.VP = \"1 V exact\"\n* shuntwright: converters.adc.range = \"0 V .. %s\""
	at := func(v string) string { return strings.Replace(deck, "%s", v, 1) }
	r := judge(t, builtin.OutputHeadroom, at("4 V"), exactSense(t))
	if m := measure(t, r, "voltage at adc"); !near(m.Max, 0.75*3.3+0.25, 1e-9) {
		t.Errorf("the converter sees up to %v", m.Max)
	}
	// It reads up to (2.9 V - 0.25 V)/0.75 = 3.533 V of output, 25.8 A.
	r = wants(t, builtin.OutputHeadroom, rules.KindPass, 0, at("2.9 V"), exactSense(t))
	if m := measure(t, r, "current at the end of the converter's range"); !near(m.Min, ((2.9-0.25)/0.75-2.5)/0.04, 1e-9) {
		t.Errorf("it reads up to %v", m.Min)
	}
	wants(t, builtin.OutputHeadroom, rules.KindFail, rules.Error, at("2.72 V"), exactSense(t))
}

// One way from ground: (45 mV/39.88 + 61 uV)/0.99 mohm = 1.2015 A with tolerances, 45 mV/40 mV/A = 1.125 A without.
func TestOutputFloor(t *testing.T) {
	rule := builtin.OutputFloor
	low := func(pairs ...string) string {
		return edit(t, steady(t, "VM VM V5", "0 0 V5", "-20 A .. 20 A", "0 A .. 20 A"), pairs...)
	}
	goal := func(at string) string { return "\n* shuntwright: goals.XA = { error = \"3 %\", at = \"" + at + "\" }" }
	r := wants(t, rule, rules.KindPass, 0, low()+goal("1.125 A"), exactSense(t))
	if m := measure(t, r, "current from which the output reads"); !near(m.Min, 1.125, 1e-9) || !near(m.Max, 1.125, 1e-9) {
		t.Errorf("reads from %v .. %v", m.Min, m.Max)
	}
	r = wants(t, rule, rules.KindFail, rules.Error, low()+goal("1.12 A"), exactSense(t))
	if r.Message != "reads only from 1.13 A on, the goal begins at 1.12 A" {
		t.Error(r.Message)
	}
	full := edit(t, tug, "0 VM VM V5", "0 0 0 V5", "-20 A .. 20 A", "0 A .. 20 A")
	if m := measure(t, judge(t, rule, full, tugSense), "current from which the output reads"); !near(m.Max, (45e-3/39.88+61e-6)/0.99e-3, 1e-4) {
		t.Errorf("reads from %v on", m.Max)
	}
	// A filter of 100 ohm in each leg takes its part of the shunt's voltage, Rin / (Rin + 200 ohm) of it arrives, and 0.9 uA of
	// bias mismatch adds 90 uV of either sign: (45 mV / 40 V/V / 0.95271 + 90 uV) / 1 mohm = 1.2708 A with the lowest Rin.
	filter := low("RM VM 0 100k", "RM VM 0 100k\nRF1 BUS inp 100\nRF2 LOAD inm 100", "XA BUS LOAD", "XA inp inm")
	m := measure(t, judge(t, rule, filter, exactSense(t)), "current from which the output reads")
	if lo, hi := 1.125*(6171.0+200)/6171-0.09, 1.125*(4029.0+200)/4029+0.09; !near(m.Min, lo, 1e-4) || !near(m.Max, hi, 1e-4) {
		t.Errorf("behind a filter it reads from %v .. %v, want %v .. %v", m.Min, m.Max, lo, hi)
	}
	// In one leg alone the whole bias counts, 27 uA x 100 ohm more, and half of the mismatch; which leg decides its sign.
	one := low("RM VM 0 100k", "RM VM 0 100k\nRF1 BUS inp 100", "XA BUS LOAD", "XA inp LOAD")
	if m := measure(t, judge(t, rule, one, exactSense(t)), "current from which the output reads"); !near(m.Max, 1.125*(4029.0+100)/4029+2.7+0.045, 1e-4) {
		t.Errorf("behind a resistor at in+ it reads from %v on", m.Max)
	}
	one = low("RM VM 0 100k", "RM VM 0 100k\nRF2 LOAD inm 100", "XA BUS LOAD", "XA BUS inm")
	if m := measure(t, judge(t, rule, one, exactSense(t)), "current from which the output reads"); !near(m.Max, 1.125*(4029.0+100)/4029+0.045, 1e-4) {
		t.Errorf("behind a resistor at in- it reads from %v on", m.Max)
	}
	// A goal without a current begins at the least one; without a goal there is a note.
	wants(t, rule, rules.KindFail, rules.Error, low()+"\n* shuntwright: goals.XA.error = \"3 %\"", exactSense(t))
	wants(t, rule, rules.KindFail, rules.Note, low(), exactSense(t))
	wants(t, rule, rules.KindPass, 0, low(`least = "0.5 A"`, `least = "1.2 A"`), exactSense(t))
	r = wants(t, rule, rules.KindFail, rules.Note, low(`, least = "0.5 A"`, ""), exactSense(t))
	if !strings.Contains(r.Message, "1.13 A") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindPass, 0, low(`, least = "0.5 A"`, "", "0 A .. 20 A", "1.2 A .. 20 A"), exactSense(t))
	// A current that is declared as negative, its direction and the inputs turned: the same.
	r = wants(t, rule, rules.KindFail, rules.Error, low("0 A .. 20 A", "-20 A .. 0 A", "XA BUS LOAD", "XA LOAD BUS")+goal("1.12 A"), exactSense(t))
	if r.Message != "reads only from -1.13 A on, the goal begins at 1.12 A" {
		t.Error(r.Message)
	}
	// The output falls: swapped inputs on ground read nothing; from 2.5 V down to 45 mV it reads 61.375 A.
	wants(t, rule, rules.KindFail, rules.Error, low("XA BUS LOAD", "XA LOAD BUS"), exactSense(t))
	fall := func(hi string) string {
		return steady(t, "-20 A .. 20 A", "0 A .. "+hi, "XA BUS LOAD", "XA LOAD BUS")
	}
	wants(t, rule, rules.KindPass, 0, fall("61.37 A"), exactSense(t))
	if r = wants(t, rule, rules.KindFail, rules.Error, fall("61.38 A"), exactSense(t)); !strings.Contains(r.Message, "meets its floor at 61.3 A, 61.38 A is intended") {
		t.Error(r.Message)
	}
	// Controls: a reference that lifts the output, a trip, a current that flows both ways.
	wants(t, rule, rules.KindPass, 0, steady(t, "-20 A .. 20 A", "0 A .. 20 A")+goal("0.1 A"), exactSense(t))
	wants(t, rule, rules.KindNotApplicable, 0, low()+goal("0.1 A")+"\n* shuntwright: goals.XA.trip-only = true", exactSense(t))
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
	// What is missing: where the goal begins, the direction, the level.
	lacks(t, wants(t, rule, rules.KindOpen, 0, low(`, least = "0.5 A"`, "")+"\n* shuntwright: goals.XA.error = \"3 %\"", exactSense(t)), "currents.RSH.least")
	lacks(t, wants(t, rule, rules.KindOpen, 0, low(`, from = "BUS"`, ""), exactSense(t)), "currents.RSH.from")
	wants(t, rule, rules.KindPass, 0, steady(t, "-20 A .. 20 A", "0 A .. 20 A", `, from = "BUS"`, ""), exactSense(t))
	lacks(t, wants(t, rule, rules.KindOpen, 0, low(), edit(t, exactSense(t), `low = "45 mV", `, "")), "output.low")
}

// A converter that begins at 0.5 V: 2.5 V - 40 mV/A x 50 A.
func TestConverterFloor(t *testing.T) {
	deck := steady(t, "-20 A .. 20 A", "%s .. 20 A") + "\nRO out adc 1k\nCO adc 0 10n\n* shuntwright: converters.adc.range = \"0.5 V .. 5 V\""
	at := func(v string) string { return strings.Replace(deck, "%s", v, 1) }
	wants(t, builtin.OutputFloor, rules.KindPass, 0, at("-50 A"), exactSense(t))
	wants(t, builtin.OutputFloor, rules.KindFail, rules.Error, at("-50.1 A"), exactSense(t))
	wants(t, builtin.OutputFloor, rules.KindNotApplicable, 0, edit(t, at("-50.1 A"), "0.5 V .. 5 V", "0 V .. 5 V"), exactSense(t))
	// One way from ground it reads from 0.5 V/40 mV/A = 12.5 A on.
	one := edit(t, at("0 A"), "VM VM V5", "0 0 V5")
	if m := measure(t, judge(t, builtin.OutputFloor, one, exactSense(t)), "current from which the output reads"); !near(m.Max, 12.5, 1e-9) {
		t.Errorf("reads from %v", m.Max)
	}
}

// A reference at the supply reads one way, downwards: 5 V - 40 mV/A x I comes below 4.93 V at 1.75 A and meets 45 mV at
// 123.875 A.
func TestReferenceAtTheSupply(t *testing.T) {
	deck := steady(t, "VM VM V5", "V5 V5 V5", "XA BUS LOAD", "XA LOAD BUS", "-20 A .. 20 A", "0 A .. 20 A")
	goal := func(at string) string { return "\n* shuntwright: goals.XA = { error = \"3 %\", at = \"" + at + "\" }" }
	r := wants(t, builtin.OutputHeadroom, rules.KindPass, 0, deck+goal("1.75 A"), exactSense(t))
	if m := measure(t, r, "current from which the output reads"); !near(m.Max, 1.75, 1e-9) {
		t.Errorf("reads from %v", m.Max)
	}
	r = wants(t, builtin.OutputHeadroom, rules.KindFail, rules.Error, deck+goal("1.7 A"), exactSense(t))
	if r.Message != "reads only from 1.75 A on, the goal begins at 1.7 A" {
		t.Error(r.Message)
	}
	wants(t, builtin.OutputHeadroom, rules.KindFail, rules.Note, deck, exactSense(t))
	wants(t, builtin.OutputFloor, rules.KindPass, 0, edit(t, deck, "0 A .. 20 A", "0 A .. 123.8 A"), exactSense(t))
	wants(t, builtin.OutputFloor, rules.KindFail, rules.Error, edit(t, deck, "0 A .. 20 A", "0 A .. 123.9 A"), exactSense(t))
}
