package builtin_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// coded is tugSense with gain codes, the one without a suffix of 40 V/V.
func coded(t testing.TB) string {
	t.Helper()
	return exactSense(t) + `
[[part.code]]
suffix = "-16"
gain = "16 V/V exact"

[[part.code]]
suffix = "-8"
gain = "8 V/V exact"
`
}

// converter is a filter and a converter behind the output, and a goal; what it declares beside its range is filled in.
func converter(keys string) string {
	return "\nRO out adc 1k\nCO adc 0 10n\n* shuntwright: converters.adc = { range = \"0 V .. V5\"" + keys + " }" +
		"\n* shuntwright: goals.XA = { error = \"2 %\", at = \"5 A\" }"
}

// The chain makes 40 mV/A. A goal of 2 % is left at 40/1.02 = 39.2157 mV/A and at 40/0.98 = 40.8163 mV/A, and 0.3 of it at
// 40/1.006 = 39.7614 mV/A and 40/0.994 = 40.2414 mV/A.
func TestScaleAgreement(t *testing.T) {
	rule := builtin.ScaleAgreement
	takes := func(scale string) string { return steady(t) + converter(`, scale = "`+scale+`"`) }
	r := wants(t, rule, rules.KindPass, 0, takes("40 mV/A"), exactSense(t))
	if m := measure(t, r, "scale at adc"); !near(m.Min, 0.04, 1e-9) {
		t.Errorf("scale %v", m.Min)
	}
	for scale, level := range map[string]rules.Level{"39.77 mV/A": 0, "40.24 mV/A": 0, "39.76 mV/A": rules.Warning, "40.25 mV/A": rules.Warning,
		"39.22 mV/A": rules.Warning, "40.81 mV/A": rules.Warning, "39.21 mV/A": rules.Error, "40.82 mV/A": rules.Error, "-40 mV/A": 0} {
		kind := rules.KindFail
		if level == 0 {
			kind = rules.KindPass
		}
		wants(t, rule, kind, level, takes(scale), exactSense(t))
	}
	// Each slip by its name, both ways; 3 is none.
	for scale, want := range map[string]string{"20 mV/A": "by 2 makes", "16 mV/A": "by 2.5", "10 mV/A": "by 4", "8 mV/A": "by 5", "4 mV/A": "by 10",
		"80 mV/A": "by 2 makes", "100 mV/A": "by 2.5", "160 mV/A": "by 4", "200 mV/A": "by 5", "400 mV/A": "by 10"} {
		if r = wants(t, rule, rules.KindFail, rules.Error, takes(scale), exactSense(t)); !strings.Contains(r.Message, want) {
			t.Errorf("%s: %s", scale, r.Message)
		}
	}
	if r = wants(t, rule, rules.KindFail, rules.Error, takes("120 mV/A"), exactSense(t)); strings.Contains(r.Message, "slip") {
		t.Error(r.Message)
	}
	// What the filter and a divider take is in the scale: 5.1/(5.1 + 0.2) of 40 mV/A, then 3/4.
	taken := edit(t, filtered(t, "100", "100", sense40), "tolerances.resistors = \"1 %\"", "tolerances.resistors = \"0 %\"")
	exactIn := edit(t, exactSense(t), "5.1 kohm +- 21 %", "5.1 kohm exact")
	wants(t, rule, rules.KindPass, 0, taken+converter(`, scale = "28.87 mV/A"`)+"\nRD adc 0 3k", exactIn)
	wants(t, rule, rules.KindFail, rules.Error, taken+converter(`, scale = "28.87 mV/A"`), exactIn)
	// No matter how wide k is: its nominal counts.
	wants(t, rule, rules.KindPass, 0, taken+converter(`, scale = "38.49 mV/A"`), exactSense(t))
	// Controls: nothing declared, a calibrated gain. Missing: the gain.
	wants(t, rule, rules.KindNotApplicable, 0, steady(t), exactSense(t))
	wants(t, rule, rules.KindNotApplicable, 0, steady(t)+converter(""), exactSense(t))
	wants(t, rule, rules.KindPass, 0, takes("10 mV/A")+"\n* shuntwright: calibration.XA.gain = true", exactSense(t))
	lacks(t, wants(t, rule, rules.KindOpen, 0, takes("40 mV/A"), edit(t, exactSense(t), "gain = \"40 V/V exact\"\n", "")), "gain")
	// Without a goal 2 % is used, and that is said.
	r = wants(t, rule, rules.KindFail, rules.Error, edit(t, takes("39.2 mV/A"), "\n* shuntwright: goals.XA = { error = \"2 %\", at = \"5 A\" }", ""), exactSense(t))
	if !strings.Contains(strings.Join(r.Assumed, " "), "2 %") {
		t.Errorf("assumed %q", r.Assumed)
	}
}

// A part of which the gain of 16 was meant: the code is named, and judged as the remedy.
func TestGainCodeThatFits(t *testing.T) {
	d := load(t, steady(t)+converter(`, scale = "16 mV/A", zero = "VM"`), coded(t))
	for _, r := range rules.Judge(d, all).Results {
		if r.Rule != builtin.ScaleAgreement.ID {
			continue
		}
		if !strings.Contains(r.Message, "by 2.5 makes; tug-sense-40-16 would fit") {
			t.Error(r.Message)
		}
		if r.Remedy == nil || r.Remedy.Kind != rules.KindPass || !strings.Contains(r.Remedy.Text, "tug-sense-40-16, 16 V/V") {
			t.Errorf("remedy %+v", r.Remedy)
		}
	}
	// Headroom takes the highest gain that still fits: 2.5 V + 16 mV/A x 130 A = 4.58 V of 4.93 V.
	for _, r := range rules.Judge(load(t, steady(t, "-20 A .. 20 A", "-20 A .. 130 A", "RSH BUS LOAD 1m", "RSH BUS LOAD 1m tol=0"), coded(t)), all).Results {
		if r.Rule == builtin.OutputHeadroom.ID && (r.Kind != rules.KindFail || r.Remedy == nil) {
			t.Errorf("%v %s %+v", r.Kind, r.Message, r.Remedy)
		}
	}
}

// A zero of 2.5 V that firmware takes for 2.49 V is 10 mV / 40 mV/A = 0.25 A off; the goal allows 2 % of 5 A = 0.1 A, and
// warns from 0.03 A or 1.2 mV on.
func TestZeroAgreement(t *testing.T) {
	rule := builtin.ScaleAgreement
	takes := func(zero string) string { return steady(t) + converter(`, scale = "40 mV/A", zero = "`+zero+`"`) }
	r := wants(t, rule, rules.KindFail, rules.Error, takes("2.49 V"), exactSense(t))
	if m := measure(t, r, "zero error"); !near(m.Max, 0.25, 1e-9) || r.Message != "0 A stands at 2.5 V, firmware takes 2.49 V: 250 mA off" {
		t.Errorf("%v: %s", m.Max, r.Message)
	}
	wants(t, rule, rules.KindPass, 0, takes("VM"), exactSense(t))
	wants(t, rule, rules.KindPass, 0, takes("V5 / 2"), exactSense(t))
	wants(t, rule, rules.KindPass, 0, takes("2.5011 V"), exactSense(t))
	wants(t, rule, rules.KindPass, 0, takes("2.4989 V"), exactSense(t))
	wants(t, rule, rules.KindFail, rules.Warning, takes("2.5013 V"), exactSense(t))
	wants(t, rule, rules.KindFail, rules.Warning, takes("2.4987 V"), exactSense(t))
	wants(t, rule, rules.KindFail, rules.Error, takes("2.5041 V"), exactSense(t))
	// Behind a divider of 1 kohm into 3 kohm the zero is 1.875 V.
	wants(t, rule, rules.KindPass, 0, edit(t, takes("1.875 V"), "40 mV/A", "30 mV/A")+"\nRD adc 0 3k", exactSense(t))
	// A zero that is read at no current is no constant of firmware.
	wants(t, rule, rules.KindPass, 0, takes("2 V")+"\n* shuntwright: calibration.XA.offset = true", exactSense(t))
}

// 39 kohm into 12 kohm + 8.2 kohm leaves 20.2/59.2 = 0.341: the voltage divider.
func TestOutputLoading(t *testing.T) {
	rule := builtin.OutputLoading
	divided := edit(t, steady(t)+converter(""), "RO out adc 1k", "RO out adc 39k") + "\nR1 adc low 12k\nR2 low 0 8.2k"
	r := wants(t, rule, rules.KindFail, rules.Error, divided, exactSense(t))
	if m := measure(t, r, "output transfer"); !near(m.Min, 0.341, 1e-3) {
		t.Errorf("kout %v", m.Min)
	}
	if m := measure(t, r, "loss 1-kout"); !near(m.Max, 39/59.2, 1e-9) {
		t.Errorf("loss %v", m.Max)
	}
	// A load R behind 1 kohm takes 1/(1 + R/kohm): 0.4 % at 249 kohm, 2 % at 49 kohm.
	load := func(v string) string { return steady(t) + converter("") + "\nRD adc 0 " + v }
	wants(t, rule, rules.KindPass, 0, load("250k"), exactSense(t))
	wants(t, rule, rules.KindFail, rules.Warning, load("248k"), exactSense(t))
	wants(t, rule, rules.KindFail, rules.Warning, load("49.1k"), exactSense(t))
	wants(t, rule, rules.KindFail, rules.Error, load("48.9k"), exactSense(t))
	// Firmware that has a scale has the constant: what spreads is left. 48.9 kohm and 1 kohm, 1 % each: 2 % x 2 % of it.
	known := edit(t, load("48.9k")+"\n* shuntwright: tolerances.resistors = \"1 %\"", "tolerances.resistors = \"0 %\"", "tolerances.capacitors = \"0 %\"", `range = "0 V .. V5"`, `range = "0 V .. V5", scale = "39.2 mV/A"`)
	r = wants(t, rule, rules.KindPass, 0, known, exactSense(t))
	if m := measure(t, r, "spread of kout"); !near(m.Max, (1/(1+0.99/49.389)-1/(1+1.01/48.411))/2*(1+1/48.9), 1e-6) {
		t.Errorf("spread %v", m.Max)
	}
	// The converter's own resistance and leakage, of intent or of a record: 1 kohm into 100 kohm is 0.99 %, and 1 uA x 1 kohm /
	// 40 mV/A = 25 mA, above a fifth of 2 % of 5 A.
	r = wants(t, rule, rules.KindFail, rules.Warning, steady(t)+converter(`, input-resistance = "100 kohm exact"`), exactSense(t))
	if m := measure(t, r, "loss 1-kout"); !near(m.Max, 1/101., 1e-9) {
		t.Errorf("loss %v", m.Max)
	}
	r = wants(t, rule, rules.KindFail, rules.Warning, steady(t)+converter(`, leakage = "1 uA"`), exactSense(t))
	if m := measure(t, r, "offset by leakage"); !near(m.Max, 0.025, 1e-9) {
		t.Errorf("leakage makes %v", m.Max)
	}
	wants(t, rule, rules.KindPass, 0, steady(t)+converter(`, leakage = "0.79 uA"`), exactSense(t))
	wants(t, rule, rules.KindFail, rules.Error, steady(t)+converter(`, leakage = "4.1 uA"`), exactSense(t))
	chip := exactSense(t) + `
[[part]]
name = "tug-converter"
role = "converter"
pins = ["in", "ground"]
input = { resistance = "100 kohm exact", leakage = "1 uA" }
`
	r = wants(t, rule, rules.KindFail, rules.Warning, steady(t)+converter("")+"\nXC adc 0 tug-converter", chip)
	if m := measure(t, r, "loss 1-kout"); !near(m.Max, 1/101., 1e-9) {
		t.Errorf("loss into a part %v", m.Max)
	}
	if m := measure(t, r, "offset by leakage"); !near(m.Max, 0.025, 1e-9) {
		t.Errorf("leakage of a part makes %v", m.Max)
	}
	// What is calibrated is calibrated with its loads.
	wants(t, rule, rules.KindPass, 0, load("48.9k")+"\n* shuntwright: calibration.XA.gain = true", exactSense(t))
	// Controls: no converter, nothing in series, no load; a divider at the output pin itself loads nothing.
	wants(t, rule, rules.KindNotApplicable, 0, steady(t), exactSense(t))
	wants(t, rule, rules.KindNotApplicable, 0, steady(t)+"\n* shuntwright: converters.out.range = \"0 V .. V5\"\nCO out 0 1n", exactSense(t))
	wants(t, rule, rules.KindPass, 0, steady(t)+converter(""), exactSense(t))
	wants(t, rule, rules.KindPass, 0, steady(t)+converter("")+"\nRD out mid 10k\nRE mid 0 10k", exactSense(t))
	// What nobody says about a load is missing.
	lacks(t, wants(t, rule, rules.KindOpen, 0, steady(t)+converter("")+"\nBX adc 0 I=time", exactSense(t)), "BX")
}

// A number that a record only calls typical fails what fails with it, and passes nothing.
func TestTypicalNumbers(t *testing.T) {
	usual := edit(t, tugSense, `resistance = "5.1 kohm +- 21 %"`, `resistance = "5.1 kohm +- 21 % typical"`)
	filtered := func(ohms string) string {
		return edit(t, tug, "XA BUS LOAD", "XA p m") + "\nRF1 BUS p " + ohms + "\nRF2 LOAD m " + ohms
	}
	r := wants(t, builtin.FilterGainError, rules.KindReview, 0, filtered("2"), usual)
	if !slices.ContainsFunc(r.Assumed, func(s string) bool { return strings.Contains(s, "input.resistance is a typical value") }) {
		t.Errorf("it rests on %q", r.Assumed)
	}
	wants(t, builtin.FilterGainError, rules.KindPass, 0, filtered("2"), tugSense)
	wants(t, builtin.FilterGainError, rules.KindFail, rules.Error, filtered("1k"), usual)
	_, _, diags := bind(t, "a deck\n"+tug+"\n.end\n", edit(t, tugSense, `"-15 V .. 80 V"`, `"-15 V .. 80 V typical"`))
	if len(diags) != 1 || !strings.Contains(diags[0].Text(), "only typical") {
		t.Errorf("a typical rating: %v", diags)
	}
}
