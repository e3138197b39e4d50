package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// asleep48 is a channel on a battery of 48 V whose controller sleeps.
const asleep48 = `* shuntwright: rails.BUS = "48 V exact"
* shuntwright: rails.V5 = "5 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: currents.RSH = { range = "0 A .. 20 A", from = "BUS" }
* shuntwright: states.asleep = { measuring = false, rails = { V5 = "0 V" } }
RSH BUS LOAD 1m
RL LOAD 0 40
XA BUS LOAD out 0 0 V5 buoy-sense-50
`

func TestStandbyCurrent(t *testing.T) {
	rule := builtin.UnpoweredInputs
	part := edit(t, bell, `bias = { max = "0 A", mismatch = "0 A" }`, `bias = { max = "0 A", mismatch = "0 A", unpowered = "14 uA" }`)
	budget := func(v string) string {
		return edit(t, asleep48, "measuring = false", `measuring = false, standby-current = "`+v+`"`)
	}
	// Two inputs of 14 uA; reaching the budget is inside.
	m := measure(t, wants(t, rule, rules.KindPass, 0, budget("28 uA"), part), "current into both inputs while asleep")
	within(t, "drain", m.Max, 28e-6, 1e-15)
	r := wants(t, rule, rules.KindFail, rules.Error, budget("27.8 uA"), part)
	if !strings.Contains(r.Message, "the inputs draw 28.00 uA while asleep, 27.80 uA is allowed") {
		t.Error(r.Message)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, budget("28 uA"), bell), "bias.unpowered")
	// What it watches is off as well: nothing flows, and nobody needs to say how much would.
	wants(t, rule, rules.KindPass, 0, edit(t, budget("1 uA"), `V5 = "0 V"`, `V5 = "0 V", BUS = "0 V"`), bell)
	// No budget: nothing to hold. No state without supply: nothing to say, behind a resistor in the supply either.
	wants(t, rule, rules.KindNotApplicable, 0, asleep48, part)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, budget("1 uA"), `V5 = "0 V"`, `V5 = "3 V"`), part)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, asleep48, `* shuntwright: states.asleep = { measuring = false, rails = { V5 = "0 V" } }`+"\n", ""), part)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, budget("27.8 uA"), "0 0 V5 buoy", "0 0 vs buoy")+"RS V5 vs 10", part)
	// Somebody counts on a reading without supply.
	if r = wants(t, rule, rules.KindFail, rules.Error, edit(t, asleep48, "measuring = false", "measuring = true"), part); !strings.Contains(r.Message, "read while asleep") {
		t.Error(r.Message)
	}
}

// A resistor-difference stage of 10 kohm and 50 x 10 kohm: between 2 x 48 V / 510 kohm = 188.2 uA and 2 x 48 V / 10 kohm =
// 9.6 mA, less the voltage of the shunt on one side.
func TestStandbyCurrentOfAStage(t *testing.T) {
	rule := builtin.UnpoweredInputs
	stage := edit(t, bell, `input = { model = "high-impedance" }`, `input = { model = "resistor-difference", resistance = "10 kohm exact" }`)
	budget := func(v string) string {
		return edit(t, asleep48, "measuring = false", `measuring = false, standby-current = "`+v+`"`)
	}
	wants(t, rule, rules.KindPass, 0, budget("9.65 mA"), stage)
	lacks(t, wants(t, rule, rules.KindOpen, 0, budget("9.5 mA"), stage), "bias.unpowered")
	lacks(t, wants(t, rule, rules.KindOpen, 0, budget("190 uA"), stage), "bias.unpowered")
	wants(t, rule, rules.KindFail, rules.Error, budget("187 uA"), stage)
}

// 48 V behind 10 kohm and a drop of 0.7 V force 4.73 mA into a pin that is no stronger than its supply: the 4.7 mA of the
// trade's table.
func TestForcedInputs(t *testing.T) {
	rule := builtin.UnpoweredInputs
	part := func(current string) string {
		return edit(t, bell, `survival = "-15 V .. 80 V"`, `survival = "ground - 0.3 V .. supply + 0.3 V"`,
			`input = { model = "high-impedance" }`, `input = { model = "high-impedance"`+current+` }`)
	}
	strong := part(`, survival-current = "5 mA"`)
	filtered := edit(t, asleep48, "XA BUS LOAD", "XA inp inm") + "RFP BUS inp 10k\nRFM LOAD inm 10k\n"
	declared := filtered + "* shuntwright: elements.XA.drop = \"0.7 V\"\n"
	m := measure(t, wants(t, rule, rules.KindPass, 0, declared, strong), "current forced into in+ while asleep")
	within(t, "forced current", m.Max, 4.73e-3, 1e-12)
	within(t, "forced current as printed", m.Max, 4.7e-3, 5e-5)
	wants(t, rule, rules.KindPass, 0, declared, part(`, survival-current = "4.74 mA"`))
	wants(t, rule, rules.KindFail, rules.Error, declared, part(`, survival-current = "4.72 mA"`))
	wants(t, rule, rules.KindFail, rules.Error, declared, part(`, survival-current = "4.73 mA"`)) // a rating
	// Nobody says that the pin takes any.
	lacks(t, wants(t, rule, rules.KindOpen, 0, declared, part("")), "input.survival-current")
	// An undeclared drop is 0 V to 1.5 V: 4.65 mA at least, 4.8 mA at most.
	wants(t, rule, rules.KindPass, 0, filtered, part(`, survival-current = "4.81 mA"`))
	if r := wants(t, rule, rules.KindReview, 0, filtered, part(`, survival-current = "4.75 mA"`)); !strings.Contains(strings.Join(r.Assumed, " "), "no drop") {
		t.Error(r.Assumed)
	}
	wants(t, rule, rules.KindFail, rules.Error, filtered, part(`, survival-current = "4.64 mA"`))
	// The remedy: 47.3 V over 4 mA are 11.825 kohm, a rating away from it and to three digits 11.9 kohm.
	d := load(t, declared, part(`, survival-current = "4 mA"`))
	for _, r := range rules.Judge(d, []*rules.Rule{rule}).Results {
		if r.Rule == rule.ID && (r.Remedy == nil || !strings.Contains(r.Remedy.Text, "11.9 kohm each")) {
			t.Errorf("%s: remedy %+v", r.Message, r.Remedy)
		}
	}
	// A pin that is rated for what it sees takes nothing.
	wants(t, rule, rules.KindNotApplicable, 0, declared, bell)
	// Off as well: nothing is forced.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, declared, `V5 = "0 V"`, `V5 = "0 V", BUS = "0 V"`), strong)
}

// started is a channel around 2.5 V with a converter and a trip on the negative side.
const started = `* shuntwright: rails.BUS = "48 V exact"
* shuntwright: rails.V5 = "5 V exact"
* shuntwright: rails.VM = "2.5 V exact"
* shuntwright: tolerances = { resistors = "0 %", capacitors = "0 %" }
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BUS" }
* shuntwright: converters.adc = { range = "0 V .. 5 V", bits = 12 }
RSH BUS LOAD 1m
RL LOAD 0 40
RM VM 0 100k
RO out adc 1k
CO adc 0 10n
XA BUS LOAD out 0 VM V5 buoy-sense-50
`

// 120 us, and 10 us until what is left of a step is half of one of 4096: ln(8192) = 9.0109 time constants.
func TestFirstRead(t *testing.T) {
	rule := builtin.StartUp
	part := edit(t, bell, "delay = \"2 us\"\n", "delay = \"2 us\"\nstart-up = { time = \"120 us\", output = \"low\" }\n")
	first := func(v string) string { return edit(t, started, "bits = 12", `bits = 12, first-read = "`+v+`"`) }
	m := measure(t, wants(t, rule, rules.KindPass, 0, first("211 us"), part), "time until the output is valid")
	left := math.Exp(-(m.Max - 120e-6) / 10e-6) // of the step that the output makes at the end of its start
	within(t, "what is left", left*8192, 1, 1e-9)
	wants(t, rule, rules.KindFail, rules.Warning, first("209 us"), part)
	wants(t, rule, rules.KindFail, rules.Warning, first("0 s"), part)
	// Without the bits a thousandth is left after 6.908 time constants.
	wants(t, rule, rules.KindPass, 0, edit(t, first("190 us"), "bits = 12, ", ""), part)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, first("188 us"), "bits = 12, ", ""), part)
	lacks(t, wants(t, rule, rules.KindOpen, 0, first("1 ms"), bell), "start-up.time")
	wants(t, rule, rules.KindNotApplicable, 0, started, bell)
}

func TestLatchedTripAtTheStart(t *testing.T) {
	rule := builtin.StartUp
	part := func(output string) string {
		return edit(t, bell, "delay = \"2 us\"\n", "delay = \"2 us\"\nstart-up = { time = \"120 us\""+output+" }\n")
	}
	low, high := part(`, output = "low"`), part(`, output = "high"`)
	trip := func(threshold, more string) string {
		return started + "* shuntwright: trips.over = { net = \"adc\", threshold = \"" + threshold + "\", latched = true" + more + " }\n"
	}
	const below, above = "0.9 V exact", "4.1 V exact"
	// An output that is low sets the trip below and not the one above; the other way round where it is high.
	wants(t, rule, rules.KindPass, 0, trip(above, ""), low)
	wants(t, rule, rules.KindPass, 0, trip(below, ""), high)
	for _, c := range [][2]string{{below, low}, {above, high}, {below, part(`, output = "undefined"`)}, {above, part(`, output = "open"`)}} {
		lacks(t, wants(t, rule, rules.KindOpen, 0, trip(c[0], ""), c[1]), "trips.over.blanking")
		r := wants(t, rule, rules.KindFail, rules.Warning, trip(c[0], `, blanking = "119 us"`), c[1])
		if !strings.Contains(r.Message, "sets over") {
			t.Error(r.Message)
		}
		wants(t, rule, rules.KindPass, 0, trip(c[0], `, blanking = "121 us"`), c[1])
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, trip(below, ""), part("")), "start-up.output")
	lacks(t, wants(t, rule, rules.KindOpen, 0, trip(below, `, blanking = "121 us"`), edit(t, low, `time = "120 us", `, "")), "start-up.time")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, trip(below, ""), `threshold = "0.9 V exact", `, ""), low), "trips.over.threshold")
	// One that does not stay does no harm.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, trip(below, ""), "latched = true", "latched = false"), low)
	// A state with the supply there and the bus so far down that the part does not measure; one in which it does.
	state := func(v string) string {
		return "* shuntwright: states.parked = { measuring = false, rails = { BUS = \"" + v + "\" } }\n" + trip(below, `, blanking = "121 us"`)
	}
	wants(t, rule, rules.KindReview, 0, state("-6 V"), low)
	wants(t, rule, rules.KindPass, 0, state("0 V"), low)
	// A trip that a comparator makes is found as well.
	drawn := started + "* shuntwright: rails.VT = \"0.9 V exact\"\nRT VT 0 10k\nXC adc VT t 0 V5 buoy-bell\n* shuntwright: trips.over = { comparator = \"XC\", latched = true, blanking = \"119 us\" }\n"
	wants(t, rule, rules.KindFail, rules.Warning, drawn, low)
	wants(t, rule, rules.KindPass, 0, drawn, high)
}
