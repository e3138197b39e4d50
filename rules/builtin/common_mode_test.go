package builtin_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// tug is a high-side channel with nothing wrong; its part measures from -5 V to 62 V and survives -15 V to 80 V.
const tug = `* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.VM = "2.5 V +- 0.2 %"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BUS", least = "0.5 A" }
* shuntwright: tolerances.resistors = "1 %"
RSH BUS LOAD 1m
RL LOAD 0 4
RM VM 0 100k
XA BUS LOAD out 0 VM VM V5 tug-sense-40`

func TestCommonModeOperating(t *testing.T) {
	rule := builtin.CommonModeOperating
	bus := func(v string) string { return edit(t, tug, `"40 V .. 58 V"`, v) }
	wants(t, rule, rules.KindPass, 0, tug, tugSense)
	// The load's side is 20.2 mV above the bus at most: 62 V less that is still inside, and the limit itself is inside.
	wants(t, rule, rules.KindPass, 0, bus(`"40 V .. 61.9798 V"`), tugSense)
	r := wants(t, rule, rules.KindFail, rules.Error, bus(`"40 V .. 61.9799 V"`), tugSense)
	if m := measure(t, r, "in-"); m.Kind != rules.KindFail || !m.AtHigh || m.Margin > 0 || m.Margin < -2e-4 {
		t.Errorf("%+v", m)
	}
	wants(t, rule, rules.KindPass, 0, edit(t, tug, `"40 V .. 58 V"`, `"40 V .. 62 V"`, "-20 A .. 20 A", "0 A .. 20 A"), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, bus(`"40 V .. 66 V"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, bus(`"-8 V .. 40 V"`), tugSense)
	// 61 V without a tolerance: 5 % may be 64.05 V. At 65 V the figure itself is outside.
	r = wants(t, rule, rules.KindReview, 0, bus(`"61 V"`), tugSense)
	if !strings.Contains(strings.Join(r.Assumed, " "), "BUS") {
		t.Errorf("assumed %q", r.Assumed)
	}
	wants(t, rule, rules.KindPass, 0, bus(`"55 V"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, bus(`"65 V"`), tugSense)
	// Without the rail, without the field, without the current of the shunt.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, "* shuntwright: rails.BUS = \"40 V .. 58 V\"\n", "", "RL LOAD 0 4\n", ""), tugSense), "rails.")
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, edit(t, tugSense, `operating = "-5 V .. 62 V", `, "")), "common-mode.operating")
	// A limit that moves with the supply: 4.9 V is all that is sure of 5 V.
	follows := edit(t, tugSense, `operating = "-5 V .. 62 V"`, `operating = "ground - 5 V .. supply + 53.2 V"`)
	wants(t, rule, rules.KindPass, 0, bus(`"40 V .. 58 V"`), follows)
	wants(t, rule, rules.KindFail, rules.Error, bus(`"40 V .. 58.1 V"`), follows)
}

// Limits count from the amplifier's own ground pin.
func TestLimitsAreRelativeToTheGroundPin(t *testing.T) {
	low := `* shuntwright: rails.BUS = "10 V .. 20 V"
* shuntwright: rails.NEG = "-48 V exact"
* shuntwright: rails.VS = "-43 V exact"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BUS", least = "0.5 A" }
* shuntwright: tolerances.resistors = "1 %"
RSH BUS LOAD 1m
RL LOAD 0 4
XA BUS LOAD out NEG NEG NEG VS tug-sense-40`
	// 10 V .. 20 V against -48 V is 58 V .. 68 V, beyond 62 V; the supply is 5 V.
	r := wants(t, builtin.CommonModeOperating, rules.KindFail, rules.Error, low, tugSense)
	if m := measure(t, r, "in+"); m.Min != 58 || m.Max != 68 {
		t.Errorf("in+ reaches %v .. %v", m.Min, m.Max)
	}
	wants(t, builtin.CommonModeOperating, rules.KindPass, 0, edit(t, low, "10 V .. 20 V", "-10 V .. 13.9 V"), tugSense)
	wants(t, builtin.SupplyRange, rules.KindPass, 0, low, tugSense)
	wants(t, builtin.SupplyRange, rules.KindFail, rules.Error, edit(t, low, "-43 V", "-41 V"), tugSense)
}

func TestCommonModeSurvival(t *testing.T) {
	rule := builtin.CommonModeSurvival
	bus := func(v string) string { return edit(t, tug, `"40 V .. 58 V"`, v) }
	wants(t, rule, rules.KindPass, 0, tug, tugSense)
	// One range holds in every event; 72 V is a tenth below 80 V.
	wants(t, rule, rules.KindPass, 0, bus(`"40 V .. 71.9 V"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, bus(`"40 V .. 72.5 V"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, bus(`"40 V .. 80.1 V"`), tugSense)
	// Reaching a rating is a failure: one way only, so that BUS is the highest.
	one := func(v string) string {
		return edit(t, tug, `"40 V .. 58 V"`, v, "-20 A .. 20 A", "0 A .. 20 A")
	}
	wants(t, rule, rules.KindFail, rules.Error, one(`"40 V .. 80 V"`), tugSense)
	// Declared events.
	wants(t, rule, rules.KindPass, 0, bus(`{ operating = "40 V .. 58 V", survival = "0 V .. 70 V" }`), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, bus(`{ operating = "40 V .. 58 V", survival = "-16 V .. 70 V" }`), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, bus(`{ operating = "40 V .. 82 V", survival = "0 V .. 70 V" }`), tugSense)
	// Nothing declared about events: a review, or a failure where the working range alone breaks the rating.
	r := wants(t, rule, rules.KindReview, 0, bus(`{ operating = "40 V .. 58 V" }`), tugSense)
	if !strings.Contains(strings.Join(r.Assumed, " "), "rails.BUS.survival") {
		t.Errorf("assumed %q", r.Assumed)
	}
	wants(t, rule, rules.KindFail, rules.Error, bus(`{ operating = "40 V .. 85 V" }`), tugSense)
	// A fault current lifts the load's side: -2400 A through 10 mohm make 24 V.
	fault := edit(t, one(`"40 V .. 58 V"`), "RSH BUS LOAD 1m", "RSH LOAD BUS 10m", `from = "BUS"`, `from = "LOAD"`, `least = "0.5 A"`, `fault = "2400 A for 20 us"`)
	r = wants(t, rule, rules.KindFail, rules.Error, fault, tugSense)
	if m := measure(t, r, "in- in events"); m.Max < 58+24*1.01-1e-6 || m.Max > 58+24*1.01+1e-6 {
		t.Errorf("in- reaches %v in a fault", m.Max)
	}
	wants(t, builtin.CommonModeOperating, rules.KindPass, 0, fault, tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, edit(t, tugSense, `, survival = "-15 V .. 80 V"`, "")), "common-mode.survival")
}

// States that measure are judged for the range in which the part measures; every state is judged for survival.
func TestStates(t *testing.T) {
	state := func(s string) string { return tug + "\n* shuntwright: states.sleep = " + s }
	off := `{ measuring = %s, rails = { BUS = "%s", V5 = "0 V" } }`
	fill := func(measuring, bus string) string {
		return state(strings.Replace(strings.Replace(off, "%s", measuring, 1), "%s", bus, 1))
	}
	wants(t, builtin.CommonModeOperating, rules.KindPass, 0, fill("false", "-8 V .. -7 V"), tugSense)
	r := wants(t, builtin.CommonModeOperating, rules.KindFail, rules.Error, fill("true", "-8 V .. -7 V"), tugSense)
	if !strings.Contains(r.Message, "sleep") {
		t.Errorf("%q does not name the state", r.Message)
	}
	wants(t, builtin.CommonModeSurvival, rules.KindPass, 0, fill("false", "-8 V .. -7 V"), tugSense)
	wants(t, builtin.CommonModeSurvival, rules.KindFail, rules.Error, fill("false", "-16 V .. -7 V"), tugSense)
	// What an unpowered part survives may be less: a rating that follows the supply.
	powered := edit(t, tugSense, `survival = "-15 V .. 80 V"`, `survival = "-15 V .. supply + 66 V"`)
	wants(t, builtin.CommonModeSurvival, rules.KindPass, 0, tug, powered)
	wants(t, builtin.CommonModeSurvival, rules.KindFail, rules.Error, fill("false", "40 V .. 66.5 V"), powered)
	// A figure without a tolerance is one in a state too: 5 % may be 63 V.
	wants(t, builtin.CommonModeOperating, rules.KindReview, 0, fill("true", "60 V"), tugSense)
}

// Undeclared drops: seen as 0.7 V, counted up to 1.5 V.
func TestUndeclaredDropIsAReview(t *testing.T) {
	coil := `* shuntwright: rails.BUS = "40 V .. %s V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "COIL", least = "0.2 A" }
* shuntwright: tolerances.resistors = "1 %"
* shuntwright: elements.MB = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 30 mohm" }
LB BUS COIL 80m
RSH COIL SW 20m
DF SW BUS free
MB SW gate 0 0 fet
XA COIL SW out 0 0 0 V5 tug-sense-40
.model fet NMOS
.model free D`
	at := func(v string) string { return strings.Replace(coil, "%s", v, 1) }
	wants(t, builtin.CommonModeOperating, rules.KindPass, 0, at("60"), tugSense)
	r := wants(t, builtin.CommonModeOperating, rules.KindReview, 0, at("61"), tugSense)
	if !strings.Contains(strings.Join(r.Assumed, " "), "DF") {
		t.Errorf("assumed %q", r.Assumed)
	}
	wants(t, builtin.CommonModeOperating, rules.KindFail, rules.Error, at("61.9"), tugSense)
	// Without the diode nothing limits the node, which is a failure and no missing input.
	r = wants(t, builtin.CommonModeOperating, rules.KindFail, rules.Error, edit(t, at("48"), "DF SW BUS free\n", ""), tugSense)
	if !strings.Contains(r.Message, "unbounded") || !strings.Contains(measure(t, r, "in+").Reason, "MB") {
		t.Errorf("%q, %+v", r.Message, measure(t, r, "in+").Reason)
	}
}
