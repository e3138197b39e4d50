package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// stepped integrates a first-order filter behind a resistance and an inductance of which the current is a ramp, in small
// steps, to the end of the ramp, and returns by how much it is beyond the final value, of the final value.
func stepped(ohms, henry, amps, seconds, tau float64) float64 {
	const n = 200_000
	v, dt := 0.0, seconds/n
	for k := range n {
		in := ohms*amps*(float64(k)+0.5)/n + henry*amps/seconds
		v += (in - v) * dt / tau
	}
	return v/(ohms*amps) - 1
}

// coiled is a channel with a filter of twice 10 ohm and a capacitor, a shunt of 1 mohm with 2 nH and steps of 20 A in 50 ns.
func coiled(t testing.TB, farad string) string {
	t.Helper()
	return edit(t, filtered(t, "10", "10", sense40), "tolerances.resistors = \"1 %\"", "tolerances.resistors = \"0 %\"", `"2.5 V +- 0.2 %"`, `"2.5 V exact"`, `"5 V +- 2 %"`, `"5 V exact"`,
		`least = "0.5 A"`, `least = "0.5 A", step = "20 A", slope = "400 A/us"`) +
		"\n* shuntwright: elements.RSH.inductance = \"2 nH\"\n* shuntwright: tolerances.capacitors = \"0 %\"\nCF p m " + farad +
		"\n* shuntwright: converters.adc = { range = \"0 V .. V5\", sample-after = \"%s\" }\n* shuntwright: goals.XA = { error = \"3 %\", at = \"5 A\" }\nRO out adc 1k\nCO adc 0 1n"
}

// highZ takes no current that follows the signal: k is 1.
func highZ(t testing.TB) string {
	t.Helper()
	return edit(t, exactSense(t), `model = "differential", resistance = "5.1 kohm +- 21 %", temperature-coefficient = "80 ppm/K"`, `model = "high-impedance"`)
}

// The figures of the trade, checked by integration: L di/dt = 800 mV on 20 mV; behind 0.5 us +285 %; behind 2 us nothing.
func TestOvershootOfAShunt(t *testing.T) {
	rule := builtin.ShuntInductance
	at := func(farad, after string) rules.Result {
		return judge(t, rule, strings.Replace(coiled(t, farad), "%s", after, 1), highZ(t))
	}
	for farad, tau := range map[string]float64{"25n": 0.5e-6, "5n": 0.1e-6, "75n": 1.5e-6} { // twice 10 ohm
		r := at(farad, "0 s")
		want := stepped(1e-3, 2e-9, 20, 50e-9, tau)
		if m := measure(t, r, "overshoot left at the sample"); !near(m.Max, want, 1e-4) {
			t.Errorf("behind %v s: %v, integrated %v", tau, m.Max, want)
		}
	}
	if want := stepped(1e-3, 2e-9, 20, 50e-9, 0.5e-6); math.Abs(want-2.85) > 0.01 {
		t.Errorf("integrated %v, the trade's figure is 2.85", want)
	}
	if r := at("100n", "0 s"); r.Kind != rules.KindPass || measure(t, r, "overshoot of a step").Max != 0 {
		t.Errorf("behind the shunt's own time constant: %v %s", r.Kind, r.Message)
	}
	// Without a filter 800 mV x 40 on top of 2.5 V + 0.8 V; nothing is left of it at the sample.
	none := strings.Replace(edit(t, coiled(t, "5n"), "\nCF p m 5n", ""), "%s", "0 s", 1)
	r := wants(t, rule, rules.KindFail, rules.Warning, none, highZ(t))
	if m := measure(t, r, "output at the end of a step"); !near(m.Max, 3.3+0.8*40, 1e-4) {
		t.Errorf("the output would reach %v", m.Max)
	}
	if !strings.Contains(r.Advice, "L/R = 2 us") {
		t.Errorf("advice %q", r.Advice)
	}
	// Two capacitors from the pins to ground are as good as one of half of each between them.
	common := strings.Replace(edit(t, coiled(t, "25n"), "CF p m 25n", "CF1 p 0 50n\nCF2 m 0 50n"), "%s", "0 s", 1)
	if m := measure(t, judge(t, rule, common, highZ(t)), "overshoot left at the sample"); !near(m.Max, stepped(1e-3, 2e-9, 20, 50e-9, 0.5e-6), 1e-4) {
		t.Errorf("common-mode capacitors: %v", m.Max)
	}
}

// Behind 0.5 us the output reaches 3.3 V + 40 x 57.1 mV = 5.58 V and clips; behind 1.5 us 3.3 V + 40 x 6.56 mV does not, and
// of the 32.8 % 1 % is left after 1.5 us x ln(32.8) = 5.235 us.
func TestShuntInductance(t *testing.T) {
	rule := builtin.ShuntInductance
	at := func(farad, after string) string { return strings.Replace(coiled(t, farad), "%s", after, 1) }
	wants(t, rule, rules.KindFail, rules.Warning, at("25n", "1 ms"), highZ(t))
	wants(t, rule, rules.KindPass, 0, at("75n", "5.24 us"), highZ(t))
	wants(t, rule, rules.KindFail, rules.Warning, at("75n", "5.23 us"), highZ(t))
	wants(t, rule, rules.KindPass, 0, at("75n", "8 us"), highZ(t))
	// A goal of 99 % allows a third at once, whenever the sample is.
	unsaid := edit(t, at("75n", "1 us"), `, sample-after = "1 us"`, "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, unsaid, highZ(t)), "converters.adc.sample-after")
	wants(t, rule, rules.KindPass, 0, edit(t, unsaid, `error = "3 %"`, `error = "99 %"`), highZ(t))
	// Nothing is asked where no edge is declared; with one, the inductance is missing, of a smaller one nothing is left.
	slow := edit(t, at("25n", "1 us"), `, slope = "400 A/us"`, "")
	wants(t, rule, rules.KindNotApplicable, 0, slow, highZ(t))
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, at("25n", "1 us"), "* shuntwright: elements.RSH.inductance = \"2 nH\"\n", ""), highZ(t)), "elements.RSH.inductance")
	wants(t, rule, rules.KindPass, 0, edit(t, at("25n", "1 us"), `"2 nH"`, `"0.5 nH"`), highZ(t))
	// Without a step the whole range counts, 40 A over 100 ns.
	r := judge(t, rule, edit(t, at("75n", "0 s"), `step = "20 A", `, ""), highZ(t))
	if m := measure(t, r, "overshoot left at the sample"); !near(m.Max, stepped(1e-3, 2e-9, 40, 100e-9, 1.5e-6), 1e-4) {
		t.Errorf("%v", m.Max)
	}
	// Undeclared tolerances of capacitors, 20 %: 75 nF may be 60 nF, of which 1 % is left later.
	wants(t, rule, rules.KindReview, 0, edit(t, at("75n", "5.3 us"), "* shuntwright: tolerances.capacitors = \"0 %\"\n", ""), highZ(t))
}
