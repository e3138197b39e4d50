package builtin_test

import (
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// A current is declared for one of two parallel shunts: two of 2 mohm with up to 20 A each are one of 1 mohm with 40 A.
// What is compared with a current of both, 40 mV at each ampere of it, counts both.
func TestCurrentsOfParallelShuntsAreOfAll(t *testing.T) {
	two := func(pairs ...string) string {
		return edit(t, steady(t, "RSH BUS LOAD 1m", "RSH BUS LOAD 2m\nRSB LOAD BUS 2m", "-20 A .. 20 A", "0 A .. 20 A"), pairs...)
	}
	// 2.5 V + 40 mV/A x 40 A = 4.1 V, which clips at 60.75 A.
	r := wants(t, builtin.OutputHeadroom, rules.KindPass, 0, two(), exactSense(t))
	if m := measure(t, r, "output at the highest end"); !near(m.Max, 4.1, 1e-9) {
		t.Errorf("output up to %v", m.Max)
	}
	r = wants(t, builtin.OutputHeadroom, rules.KindFail, rules.Error, two("0 A .. 20 A", "0 A .. 31 A"), exactSense(t))
	if r.Message != "clips above 60.7 A, 62 A is intended" {
		t.Error(r.Message)
	}
	// A floor of 2.54 V is left at 1 A, which is 0.5 A in each: the least of interest.
	floor := edit(t, exactSense(t), `low = "45 mV"`, `low = "2.54 V"`)
	wants(t, builtin.OutputFloor, rules.KindPass, 0, two(), floor)
	wants(t, builtin.OutputFloor, rules.KindFail, rules.Note, two(`least = "0.5 A"`, `least = "0.49 A"`), floor)
	wants(t, builtin.OutputFloor, rules.KindPass, 0, two()+"\n* shuntwright: goals.XA = { error = \"2 %\", at = \"1.01 A\" }", floor)
	wants(t, builtin.OutputFloor, rules.KindFail, rules.Error, two()+"\n* shuntwright: goals.XA = { error = \"2 %\", at = \"0.99 A\" }", floor)
	// 0.5 A in each is 1 mV between the inputs.
	wants(t, builtin.MinimumSenseVoltage, rules.KindPass, 0, two(), exactSense(t)+"differential.least = \"0.99 mV\"\n")
	wants(t, builtin.MinimumSenseVoltage, rules.KindFail, rules.Warning, two(), exactSense(t)+"differential.least = \"1.01 mV\"\n")
	// 2 % of 0.5 A in each is 20 uV: a bias of 27 uA makes that of 0.741 ohm more in one leg.
	leg := func(ohms string) string {
		return two("XA BUS LOAD", "RF BUS P "+ohms+"\nXA P LOAD") + "\n* shuntwright: goals.XA.error = \"2 %\""
	}
	bias := edit(t, exactSense(t), `mismatch = "0.9 uA"`, `mismatch = "0 A"`, `max = "0 V"`, `max = "61 mV"`)
	wants(t, builtin.FilterBiasError, rules.KindPass, 0, leg("0.74"), bias)
	wants(t, builtin.FilterBiasError, rules.KindFail, rules.Error, leg("0.742"), bias)
}

// A smallest current that flows the other way counts by its size.
func TestGoalOfANegativeCurrent(t *testing.T) {
	deck := func(ohms string) string {
		return steady(t, "-20 A .. 20 A", "-20 A .. 0 A", `least = "0.5 A"`, `least = "-0.5 A"`, "XA BUS LOAD", "RF BUS P "+ohms+"\nXA P LOAD") +
			"\n* shuntwright: goals.XA.error = \"2 %\""
	}
	bias := edit(t, exactSense(t), `mismatch = "0.9 uA"`, `mismatch = "0 A"`, `max = "0 V"`, `max = "61 mV"`)
	wants(t, builtin.FilterBiasError, rules.KindPass, 0, deck("0.37"), bias) // 27 uA x 0.37 ohm = 9.99 uV of 10 uV
	wants(t, builtin.FilterBiasError, rules.KindFail, rules.Error, deck("0.371"), bias)
}
