package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// bell is a comparator without errors of its own, and an amplifier of 50 V/V without offset or bias.
const bell = `
[[part]]
name = "buoy-sense-50"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "50 V/V exact"
direction = "bidirectional"
supply = { operating = "2.9 V .. 5.5 V", survival = "-0.3 V .. 6.4 V", current = "1.1 mA" }
common-mode = { operating = "-5 V .. 62 V", survival = "-15 V .. 80 V" }
input = { model = "high-impedance" }
bias = { max = "0 A", mismatch = "0 A" }
output = { low = "40 mV", high = "supply - 60 mV" }
offset = { max = "0 V" }
delay = "2 us"
reference = { model = "high-impedance" }

[[part]]
name = "buoy-bell"
role = "comparator"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2.3 V .. 6 V", survival = "-0.3 V .. 7 V", current = "0.4 mA" }
common-mode = { operating = "ground .. supply - 1.2 V" }
offset = { max = "0 V" }
hysteresis = "0 V"
bias = { max = "0 A" }
delay = "1 us"
output = { type = "push-pull" }
`

// window is a channel of 50 mV/A +- 2 % around 1.65 V +- 10 mV, compared with 0.65 V +- 10 mV by firmware.
const window = `* shuntwright: rails.BUS = "48 V exact"
* shuntwright: rails.V5 = "5 V exact"
* shuntwright: rails.VM = "1.65 V +- 10 mV"
* shuntwright: currents.RSH = { range = "-15 A .. 15 A", from = "BUS", damage = "30 A" }
* shuntwright: elements.RSH.tolerance = "2 %"
* shuntwright: trips.low = { net = "out", threshold = "0.65 V +- 10 mV" }
RSH BUS LOAD 1m
RL LOAD 0 4
RM VM 0 100k
RO out 0 100k
XA BUS LOAD out 0 VM V5 buoy-sense-50`

// (0.65 V - 1.65 V) / 50 mV/A, in the worst cases -1.02 V / 49 mV/A and -0.98 V / 51 mV/A, as printed: -20.82 A and
// -19.22 A.
func TestTripWindow(t *testing.T) {
	rule := builtin.TripWindow
	r := wants(t, rule, rules.KindPass, 0, window, bell)
	m := measure(t, r, "trip current of low")
	within(t, "late end", m.Min, -1.02/0.049, 1e-9)
	if m.Arithmetic != "(0.64 V - 1.66 V - 0 V) / 49 mV/A" && m.Arithmetic != "(0.66 V - 1.64 V - 0 V) / 51 mV/A" {
		t.Error(m.Arithmetic)
	}
	within(t, "late end as printed", m.Min, -20.82, 5e-3)
	within(t, "early end", m.Max, -0.98/0.051, 1e-9)
	within(t, "early end as printed", m.Max, -19.22, 5e-3)
	within(t, "output at the trip", measure(t, r, "output at the trip low").Max, 0.66, 1e-12)

	// The other side: 2.65 V is +20 A, and mirrored by the direction that is declared or drawn.
	high := edit(t, window, "0.65 V +- 10 mV\" }", "2.65 V +- 10 mV\" }")
	for _, deck := range []string{high, edit(t, window, "XA BUS LOAD", "XA LOAD BUS"), edit(t, window, `from = "BUS"`, `from = "LOAD"`)} {
		m = measure(t, wants(t, rule, rules.KindPass, 0, deck, bell), "trip current of low")
		within(t, "early end", m.Min, 0.98/0.051, 1e-9)
		within(t, "late end", m.Max, 1.02/0.049, 1e-9)
	}

	// The normal range on its own side: 19.216 A. The other side does not matter, and a declared part of the range rules.
	normal := func(deck, v string) string { return edit(t, deck, "-15 A .. 15 A", v) }
	wants(t, rule, rules.KindPass, 0, normal(window, "-19.1 A .. 25 A"), bell)
	if r = wants(t, rule, rules.KindFail, rules.Error, normal(window, "-19.4 A .. 15 A"), bell); !strings.Contains(r.Message, "low trips as early as -19.21 A, up to -19.4 A is normal") {
		t.Error(r.Message)
	}
	// -19.4 A at 51 mV/A are 0.9894 V below 1.64 V, and -30 A at 49 mV/A 1.47 V below 1.66 V; 10 mV further inside each.
	if !strings.Contains(r.Advice, "a nominal threshold between 0.200 V and 0.640 V;") || !strings.Contains(r.Advice, "trips.low.above") {
		t.Error(r.Advice)
	}
	for _, v := range []string{"0.201 V", "0.64 V"} {
		wants(t, rule, rules.KindPass, 0, edit(t, normal(window, "-19.4 A .. 15 A"), "0.65 V", v), bell)
	}
	for _, v := range []string{"0.199 V", "0.642 V"} {
		wants(t, rule, rules.KindFail, rules.Error, edit(t, normal(window, "-19.4 A .. 15 A"), "0.65 V", v), bell)
	}
	r = wants(t, rule, rules.KindFail, rules.Error, edit(t, window, "-15 A .. 15 A", "-19.4 A .. 15 A", "30 A", "20.9 A"), bell)
	if !strings.Contains(r.Advice, "no threshold fits") {
		t.Error(r.Advice)
	}
	wants(t, rule, rules.KindPass, 0, normal(high, "-25 A .. 19.1 A"), bell)
	wants(t, rule, rules.KindFail, rules.Error, normal(high, "-15 A .. 19.4 A"), bell)
	wants(t, rule, rules.KindPass, 0, normal(edit(t, window, `+- 10 mV" }`, `+- 10 mV", above = "17 A" }`), "-25 A .. 25 A"), bell)

	// What does damage, or what is asked of the trip, lies beyond 20.816 A.
	damage := func(deck, v string) string { return edit(t, deck, `damage = "30 A"`, v) }
	for _, deck := range []string{window, high} {
		wants(t, rule, rules.KindPass, 0, damage(deck, `damage = "20.9 A"`), bell)
		wants(t, rule, rules.KindFail, rules.Error, damage(deck, `damage = "20.7 A"`), bell)
		wants(t, rule, rules.KindPass, 0, damage(deck, `fault = "20.9 A for 1 ms"`), bell)
		wants(t, rule, rules.KindFail, rules.Error, damage(deck, `fault = "20.7 A for 1 ms"`), bell)
		wants(t, rule, rules.KindFail, rules.Error, edit(t, deck, `+- 10 mV" }`, `+- 10 mV", below = "20.7 A" }`), bell)
	}

	// Out of reach: the output stops at 40 mV and 4.94 V.
	level := func(v string) string { return edit(t, window, "0.65 V +- 10 mV\" }", v+"\" }", "30 A", "300 A") }
	wants(t, rule, rules.KindPass, 0, level("0.041 V exact"), bell)
	wants(t, rule, rules.KindPass, 0, level("4.93 V exact"), bell)
	for _, v := range []string{"0.039 V exact", "4.945 V exact"} {
		if r = wants(t, rule, rules.KindFail, rules.Error, level(v), bell); !strings.Contains(r.Message, "low may never trip") {
			t.Error(r.Message)
		}
	}
	// Beyond what the converter reads.
	wants(t, rule, rules.KindPass, 0, "* shuntwright: converters.out.range = \"0 V .. V5\"\n"+high, bell)
	wants(t, rule, rules.KindFail, rules.Error, "* shuntwright: converters.out.range = \"0 V .. 2.5 V\"\n"+high, bell)

	// No trip: nothing to say, nor about another block's.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, window, "* shuntwright: trips.low = { net = \"out\", threshold = \"0.65 V +- 10 mV\" }\n", ""), bell)
	two := window + "\nXB BUS LOAD out2 0 VM V5 buoy-sense-50\nRB out2 0 100k"
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, two, `net = "out"`, `net = "out2"`), bell)
	// One that no output reaches is somebody's all the same.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, two, `net = "out"`, `net = "VM"`), bell), "a way through resistors from an output to what trips.low names")
	// So it is where the first block has no output: a digital monitor.
	first := "* shuntwright: rails.V3 = \"3.3 V exact\"\nRSM BUS LOADM 10m\nRLM LOADM 0 20\nXA BUS LOADM V3 0 scl sda alr buoy-monitor\n" +
		edit(t, window, "XA BUS", "XB BUS", `net = "out"`, `net = "VM"`)
	lacks(t, wants(t, rule, rules.KindOpen, 0, first, bell+buoy), "a way through resistors from an output to what trips.low names")
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, first, `net = "VM"`, `net = "out"`), bell+buoy)
	// What is missing is named.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, window, `net = "out", `, ""), bell), "trips.low.net")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, window, `, threshold = "0.65 V +- 10 mV"`, ""), bell), "trips.low.threshold")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, window, `, damage = "30 A"`, ""), bell), "currents.RSH.damage")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, window, `, from = "BUS"`, ""), bell), "currents.RSH.from")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, window, `range = "-15 A .. 15 A", `, ""), bell), "currents.RSH.range")
	lacks(t, wants(t, rule, rules.KindOpen, 0, window, edit(t, bell, `offset = { max = "0 V" }
delay`, "delay")), "offset.max")
	lacks(t, wants(t, rule, rules.KindOpen, 0, window, edit(t, bell, `output = { low = "40 mV", high = "supply - 60 mV" }`, "")), "output")
}

// guarded is a channel of 50 mV/A from ground whose comparator sees a part of the output.
const guarded = `* shuntwright: rails.BUS = "48 V exact"
* shuntwright: rails.V5 = "5 V exact"
* shuntwright: rails.VT = "2 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: currents.RSH = { range = "0 A .. 20 A", from = "BUS", damage = "90 A" }
RSH BUS LOAD 1m
RL LOAD 0 4
RT VT 0 100k
XA BUS LOAD out 0 0 V5 buoy-sense-50
`

func TestTripOfAComparator(t *testing.T) {
	rule := builtin.TripWindow
	amps := func(cards string) (lo, hi float64) {
		t.Helper()
		m := measure(t, wants(t, rule, rules.KindPass, 0, guarded+cards, bell), "trip current of XC")
		return m.Min, m.Max
	}
	is := func(cards string, want float64) {
		t.Helper()
		lo, hi := amps(cards)
		within(t, "trip, early", lo, want, 1e-6)
		within(t, "trip, late", hi, want, 1e-6)
	}
	// On the output itself: 2 V / 50 mV/A, on either input.
	is("XC out VT trip 0 V5 buoy-bell", 40)
	is("XC VT out trip 0 V5 buoy-bell", 40)
	// Half the output is left behind a divider: 2 V x 20k / (10k + 10k) are 4 V, 80 A.
	is("R1 out sig 10k\nR2 sig 0 10k\nXC sig VT trip 0 V5 buoy-bell", 80)
	// A divider to 5 V instead: with the output at 0 V it stands at 0.5 V, and 0.9 of the output arrive:
	// (2 V - 0.5 V) / 0.9 / 50 mV/A.
	is("R1 out sig 10k\nR2 sig V5 90k\nXC sig VT trip 0 V5 buoy-bell", 1.5/0.9/0.05)
	// The threshold from a divider of the same 5 V.
	is("R3 V5 th 15k\nR4 th 0 10k\nXC out th trip 0 V5 buoy-bell", 40)
	// With 1 Mohm of feedback to the signal behind 10 kohm: low before the trip, 2 V x 1.01 = 2.02 V.
	is("R1 out sig 10k\nRH trip sig 1meg\nXC sig VT trip 0 V5 buoy-bell", 2.02/0.05)
	// With feedback to the threshold of an inverting one: high before the trip, by superposition of conductances
	// (5 V / 15k + 5 V / 1M) / (1/15k + 1/10k + 1/1M).
	is("R3 V5 th 15k\nR4 th 0 10k\nRH trip th 1meg\nXC th out trip 0 V5 buoy-bell",
		(5/15e3+5/1e6)/(1/15e3+1/10e3+1/1e6)/0.05)
	// An open drain lets go instead: then the pull-up of 10 kohm stands before the 1 Mohm.
	open := edit(t, bell, "push-pull", "open-drain")
	m := measure(t, wants(t, rule, rules.KindPass, 0, guarded+"R3 V5 th 15k\nR4 th 0 10k\nRH trip th 1meg\nRPU V5 trip 10k\nXC th out trip 0 V5 buoy-bell", open), "trip current of XC")
	within(t, "trip with an open drain", m.Max, (5/15e3+5/1.01e6)/(1/15e3+1/10e3+1/1.01e6)/0.05, 1e-6)
	// The comparator's own: 2 V +- 10 mV of offset and half of 40 mV up, 40.2 A .. 40.6 A.
	part := edit(t, bell, "offset = { max = \"0 V\" }\nhysteresis = \"0 V\"", "offset = { max = \"10 mV\" }\nhysteresis = \"40 mV\"")
	m = measure(t, judge(t, rule, guarded+"XC out VT trip 0 V5 buoy-bell", part), "trip current of XC")
	within(t, "with offset and hysteresis, early", m.Min, 2.01/0.05, 1e-9)
	within(t, "with offset and hysteresis, late", m.Max, 2.03/0.05, 1e-9)
	// Its bias of up to 2 uA through 10 kohm takes 20 mV of the signal: up to 2.02 V at the output.
	m = measure(t, judge(t, rule, guarded+"R1 out sig 10k\nXC sig VT trip 0 V5 buoy-bell", edit(t, bell, "bias = { max = \"0 A\" }", "bias = { max = \"2 uA\" }")), "trip current of XC")
	within(t, "with bias, early", m.Min, 40, 1e-6)
	within(t, "with bias, late", m.Max, 2.02/0.05, 1e-6)
	lacks(t, judge(t, rule, guarded+"R1 out sig 10k\nXC sig VT trip 0 V5 buoy-bell", edit(t, bell, "bias = { max = \"0 A\" }", "")), "bias.max")
	// A declared threshold comes before the drawn one.
	m = measure(t, wants(t, rule, rules.KindPass, 0, guarded+"* shuntwright: trips.over = { comparator = \"XC\", threshold = \"1.5 V exact\" }\nXC out VT trip 0 V5 buoy-bell", bell), "trip current of over")
	within(t, "a declared threshold", m.Max, 30, 1e-9)

	// No feedback, unknown threshold: the key is named. Feedback of an output of unknown type as well.
	lacks(t, wants(t, rule, rules.KindOpen, 0, guarded+"XC out dac trip 0 V5 buoy-bell\nRX dac y 1k", bell), "trips.XC.threshold")
	lacks(t, wants(t, rule, rules.KindOpen, 0, guarded+"XC out VT trip 0 V5 buoy-bell", edit(t, bell, "hysteresis = \"0 V\"\n", "")), "hysteresis")
	// Both inputs behind the output, or none: no trip.
	wants(t, rule, rules.KindNotApplicable, 0, guarded+"R1 out sig 10k\nC1 sig 0 1u\nXC out sig trip 0 V5 buoy-bell", bell)
	wants(t, rule, rules.KindNotApplicable, 0, guarded+"R1 x 0 10k\nXC x VT trip 0 V5 buoy-bell", bell)
}

// A threshold of 0.8 and a zero of 0.5 of one supply move together: 0.3 x (4.5 V .. 5.5 V) / 50 mV/A, 27 A .. 33 A, and not
// what opposite ends of the supply would make, (0.8 x 4.5 V - 0.5 x 5.5 V) / 50 mV/A = 17 A.
func TestTripOfOneSupply(t *testing.T) {
	deck := edit(t, guarded, `"5 V exact"`, `"4.5 V .. 5.5 V"`, "out 0 0 V5", "out 0 mid V5") +
		"R1 V5 mid 10k\nR2 mid 0 10k\nR3 V5 th 10k\nR4 th 0 40k\nXC out th trip 0 V5 buoy-bell"
	m := measure(t, wants(t, builtin.TripWindow, rules.KindPass, 0, deck, bell), "trip current of XC")
	within(t, "early", m.Min, 27, 1e-9)
	within(t, "late", m.Max, 33, 1e-9)
}

// 30 A + 48 V / 10 uH x 5 us = 54 A, as printed: 2 us of the amplifier and 3 us of all that follows.
func TestTripLetThrough(t *testing.T) {
	rule := builtin.TripLetThrough
	deck := func(damage string) string {
		return edit(t, guarded, `damage = "90 A"`, `damage = "`+damage+`", fault-voltage = "48 V", fault-inductance = "10 uH"`) +
			"* shuntwright: trips.over = { net = \"out\", threshold = \"1.5 V exact\", delay = \"3 us\" }\nRO out 0 100k"
	}
	const name = "fault current let through by over"
	m := measure(t, wants(t, rule, rules.KindPass, 0, deck("54.2 A"), bell), name)
	within(t, "peak", m.Max, 54, 1e-9)
	r := wants(t, rule, rules.KindFail, rules.Error, deck("53.8 A"), bell)
	if !strings.Contains(r.Message, "rises to 54.00 A") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindFail, rules.Error, deck("54 A"), bell) // it does damage
	// Negative trips rise the other way.
	negative := edit(t, window, `damage = "30 A"`, `damage = "70 A", fault-voltage = "48 V", fault-inductance = "10 uH"`,
		`+- 10 mV" }`, `+- 10 mV", delay = "3 us" }`)
	m = measure(t, wants(t, rule, rules.KindPass, 0, negative, bell), "fault current let through by low")
	within(t, "negative peak", m.Max, 1.02/0.049+24, 1e-9)
	// The bandwidth stands in for the delay: 1 / (2 pi 100 kHz) = 1.592 us.
	part := edit(t, bell, "delay = \"2 us\"", "bandwidth = \"100 kHz\"")
	m = measure(t, judge(t, rule, deck("60 A"), part), name)
	within(t, "peak by bandwidth", m.Max, 30+4.8*(3+1.5915494), 1e-5)
	// A blanking is waited for.
	m = measure(t, judge(t, rule, edit(t, deck("60 A"), `delay = "3 us"`, `delay = "3 us", blanking = "1 us"`), bell), name)
	within(t, "peak with blanking", m.Max, 58.8, 1e-9)

	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, deck("60 A"), `, delay = "3 us"`, ""), bell), "trips.over.delay")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, deck("60 A"), `, fault-voltage = "48 V"`, ""), bell), "currents.RSH.fault-voltage")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, deck("60 A"), `, fault-inductance = "10 uH"`, ""), bell), "currents.RSH.fault-inductance")
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck("60 A"), edit(t, bell, "delay = \"2 us\"\n", "")), "delay")
	// Nothing declared to be damaged and no comparator: nothing to say.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, deck("60 A"), `damage = "60 A", `, ""), bell)
	wants(t, rule, rules.KindNotApplicable, 0, guarded, bell)
}

// ramp is how far the end of a chain of resistors and capacitors lags behind a ramp after a long time, in s, by stepping
// through its equations.
func ramp(ohms, farads []float64) float64 {
	v := make([]float64, len(ohms))
	const dt, end = 2e-10, 60e-6
	for k := 0; float64(k)*dt < end; k++ {
		in := float64(k) * dt
		next := make([]float64, len(v))
		for i := range v {
			before := in
			if i > 0 {
				before = v[i-1]
			}
			amps := (before - v[i]) / ohms[i]
			if i+1 < len(v) {
				amps -= (v[i] - v[i+1]) / ohms[i+1]
			}
			next[i] = v[i] + amps/farads[i]*dt
		}
		copy(v, next)
	}
	return end - v[len(v)-1]
}

func TestTripLag(t *testing.T) {
	rule := builtin.TripLetThrough
	peak := func(cards string, pairs ...string) float64 {
		deck := edit(t, guarded, `damage = "90 A"`, `damage = "300 A", fault-voltage = "48 V", fault-inductance = "10 uH"`) +
			"* shuntwright: tolerances.capacitors = \"0 %\"\n* shuntwright: trips.over = { net = \"sig\", threshold = \"1.5 V exact\", delay = \"3 us\" }\n" + cards
		return measure(t, judge(t, rule, edit(t, deck, pairs...), bell), "fault current let through by over").Max
	}
	lag := func(cards string, pairs ...string) float64 { return (peak(cards, pairs...)-30)/4.8e6 - 5e-6 }
	within(t, "no filter", lag("RO out sig 0"), 0, 1e-12)
	within(t, "two poles behind the output", lag("R1 out mid 1k\nC1 mid 0 1n\nR2 mid sig 2k\nC2 sig 0 500p"), ramp([]float64{1e3, 2e3}, []float64{1e-9, 500e-12}), 2e-9)
	// A branch aside loads with what is before it.
	within(t, "a branch aside", lag("R1 out sig 1k\nR2 sig far 2k\nC2 far 0 500p"), 0.5e-6, 1e-12)
	// Two legs of 50 ohm: 10 nF between them sees both, 1 nF from one to ground its own.
	filter := "\nRFP BUS inp 50\nRFM LOAD inm 50\n"
	swap := []string{"XA BUS LOAD", "XA inp inm"}
	within(t, "input filter", lag(filter+"CD inp inm 10n\nRO out sig 0", swap...), ramp([]float64{100}, []float64{10e-9}), 2e-9)
	within(t, "input filter with capacitors to ground", lag(filter+"CD inp inm 10n\nCP inp 0 1n\nCM inm 0 1n\nRO out sig 0", swap...), 1e-6+0.05e-6, 1e-12)
}

func TestComparatorDoesItsPart(t *testing.T) {
	rule := builtin.TripLetThrough
	deck := func(cards string) string { return edit(t, guarded, `, damage = "90 A"`, "") + cards }
	const drawn = "XC out VT trip 0 V5 buoy-bell\n"
	latched := "* shuntwright: trips.over = { comparator = \"XC\", latched = true }\n"
	wants(t, rule, rules.KindPass, 0, deck(drawn+latched), bell)

	// Common mode: at 5 V it compares up to 3.8 V.
	wants(t, rule, rules.KindPass, 0, edit(t, deck(drawn+latched), `"2 V exact"`, `"3.79 V exact"`), bell)
	r := wants(t, rule, rules.KindFail, rules.Warning, edit(t, deck(drawn+latched), `"2 V exact"`, `"3.81 V exact"`), bell)
	if !strings.Contains(r.Message, "the comparator compares up to 3.8") {
		t.Error(r.Message)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck(drawn+latched), edit(t, bell, "common-mode = { operating = \"ground .. supply - 1.2 V\" }\n", "")), "common-mode.operating")

	// Hysteresis: of its own, and 5 V x 10k / 1.01M = 49.5 mV by feedback.
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck(drawn), bell), "trips.XC.noise")
	wants(t, rule, rules.KindPass, 0, deck(drawn+"* shuntwright: trips.XC.latched = true\n"), bell) // by the path of the comparator
	noisy := func(v string) string {
		return "* shuntwright: trips.over = { comparator = \"XC\", noise = \"" + v + "\" }\n"
	}
	own := edit(t, bell, `hysteresis = "0 V"`, `hysteresis = "30 mV +- 2 mV"`)
	wants(t, rule, rules.KindPass, 0, deck(drawn+noisy("27.9 mV")), own)
	if r = wants(t, rule, rules.KindFail, rules.Warning, deck(drawn+noisy("28.1 mV")), own); !strings.Contains(r.Message, "over may chatter") {
		t.Error(r.Message)
	}
	const fed = "R1 out sig 10k\nRH trip sig 1meg\nXC sig VT trip 0 V5 buoy-bell\n"
	wants(t, rule, rules.KindPass, 0, deck(fed+noisy("49.4 mV")), bell)
	wants(t, rule, rules.KindFail, rules.Warning, deck(fed+noisy("49.6 mV")), bell)
	// The same to the threshold of an inverting one: 5 V x (10k || 15k) / (10k || 15k + 1M).
	const inverting = "R3 V5 th 15k\nR4 th 0 10k\nRH trip th 1meg\nXC th out trip 0 V5 buoy-bell\n"
	gap := 5 * 6e3 / 1.006e6
	m := measure(t, wants(t, rule, rules.KindPass, 0, deck(inverting+noisy("29.7 mV")), bell), "hysteresis of over")
	within(t, "hysteresis by feedback", m.Min, gap, 1e-9)
	wants(t, rule, rules.KindFail, rules.Warning, deck(inverting+noisy("29.9 mV")), bell)
	// Fed back the wrong way round it is none.
	wants(t, rule, rules.KindFail, rules.Warning, deck("R3 V5 th 15k\nR4 th 0 10k\nRH trip th 1meg\nXC out th trip 0 V5 buoy-bell\n"+noisy("1 mV")), bell)

	// An open drain wants a pull-up; feedback is none.
	open := edit(t, bell, "push-pull", "open-drain")
	if r = wants(t, rule, rules.KindFail, rules.Warning, deck(drawn+latched), open); r.Advice == "" || !strings.Contains(r.Message, "nothing pulls it up") {
		t.Errorf("%s; advice %q", r.Message, r.Advice)
	}
	wants(t, rule, rules.KindPass, 0, deck(drawn+latched+"RPU V5 trip 10k"), open)
	wants(t, rule, rules.KindFail, rules.Warning, deck(drawn+latched+"RPD trip 0 10k"), open)
	wants(t, rule, rules.KindPass, 0, deck(drawn+"* shuntwright: trips.over = { comparator = \"XC\", latched = true, pull-up = true }\n"), open)
	wants(t, rule, rules.KindReview, 0, deck(drawn+latched+"XB BUS LOAD out2 0 trip V5 buoy-sense-50"), open)
	unsaid := edit(t, bell, "output = { type = \"push-pull\" }\n", "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck(drawn+latched), unsaid), "output.type")
	wants(t, rule, rules.KindPass, 0, deck(drawn+latched+"RPU V5 trip 10k"), unsaid)

	// Blanking against a glitch.
	glitch := func(s string) string {
		return "* shuntwright: trips.over = { comparator = \"XC\", latched = true, glitch = \"2 us\"" + s + " }\n"
	}
	wants(t, rule, rules.KindPass, 0, deck(drawn+glitch(`, blanking = "2.01 us"`)), bell)
	wants(t, rule, rules.KindFail, rules.Warning, deck(drawn+glitch(`, blanking = "1.99 us"`)), bell)
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck(drawn+glitch("")), bell), "trips.over.blanking")
}

// In a package of two, each unit is found at its own pins.
func TestTripOfADoubleComparator(t *testing.T) {
	double := edit(t, bell, `pins = ["in+", "in-", "out", "ground", "supply"]`,
		"pins = [\"pa\", \"ma\", \"oa\", \"ground\", \"pb\", \"mb\", \"ob\", \"supply\"]\n"+
			"units = { a = { \"in+\" = 1, \"in-\" = 2, out = 3 }, b = { \"in+\" = 5, \"in-\" = 6, out = 7 } }")
	r := judge(t, builtin.TripWindow, guarded+"* shuntwright: rails.VU = \"3 V exact\"\nRU VU 0 100k\nXC out VT o1 0 out VU o2 V5 buoy-bell", double)
	within(t, "unit a", measure(t, r, "trip current of XC:a").Max, 40, 1e-9)
	within(t, "unit b", measure(t, r, "trip current of XC:b").Max, 60, 1e-9)
	if math.IsNaN(measure(t, r, "output at the trip XC:b").Max) {
		t.Error("no output at the trip of unit b")
	}
}

// A difference amplifier of gain 10 raises its offset of 2.8 mV by 11, and 100 kohm x 70 nA come on top: (1 V -+ 37.8 mV) /
// 100 mV/A.
func TestTripOfAnOpAmp(t *testing.T) {
	deck := `* shuntwright: rails.BUS = "12 V exact"
* shuntwright: rails.V5 = "30 V exact"
* shuntwright: currents.RSH = { range = "0 A .. 5 A", from = "BUS", damage = "90 A" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: trips.x = { net = "out", threshold = "1 V exact" }
RSH BUS LOAD 10m
RL LOAD 0 24
R1 LOAD n 10k
R2 n out 100k
R3 BUS p 10k
R4 p 0 100k
RO out 0 100k
XA p n out 0 V5 tug-op`
	m := measure(t, wants(t, builtin.TripWindow, rules.KindPass, 0, deck, tugOp), "trip current of x")
	agrees(t, "early", m.Min, (1-11*2.8e-3-70e-9*100e3)/0.1, 1e-6)
	agrees(t, "late", m.Max, (1+11*2.8e-3+70e-9*100e3)/0.1, 1e-6)
	wants(t, builtin.TripWindow, rules.KindFail, rules.Error, edit(t, deck, "0 A .. 5 A", "0 A .. 9.65 A"), tugOp)
}

// A current output of 2 mA/V into 10 kohm, and into half of that behind a filter, has a gain of 20 and of 10: (2.4 V -+ 20 mV) /
// 200 mV/A and (2.4 V x 10 / 9 -+ 10 mV) / 100 mV/A.
func TestTripOfACurrentOutput(t *testing.T) {
	deck := edit(t, lamp, `from = "BUS"`, `from = "BUS", damage = "90 A"`) + "\n* shuntwright: trips.x = { net = \"out\", threshold = \"2.4 V exact\" }"
	m := measure(t, wants(t, builtin.TripWindow, rules.KindPass, 0, deck, dockCurrent), "trip current of x")
	agrees(t, "early", m.Min, 2.38/0.2, 1e-9)
	agrees(t, "late", m.Max, 2.42/0.2, 1e-9)
	deck = edit(t, deck, `net = "out"`, `net = "adc"`) + "\nRF out adc 1k\nRI adc 0 9k"
	m = measure(t, wants(t, builtin.TripWindow, rules.KindPass, 0, deck, dockCurrent), "trip current of x")
	agrees(t, "early", m.Min, (2.4*10/9-0.01)/0.1, 1e-9)
	agrees(t, "late", m.Max, (2.4*10/9+0.01)/0.1, 1e-9)
}

// 1 A/us makes the lag readable. A current output charges 10 nF through its load of 10 kohm in 100 us, a record that says 200 ohm
// of its output in 2 us, an op amp the 100 pF beside its 100 kohm in 10 us.
func TestLagOfTheOutputItself(t *testing.T) {
	rule := builtin.TripLetThrough
	fault := `damage = "900 A", fault-voltage = "1 V", fault-inductance = "1 uH"`
	over := func(deck, records string) float64 {
		deck = edit(t, deck, `from = "BUS"`, `from = "BUS", `+fault) + "\n* shuntwright: trips.x = { net = \"out\", threshold = \"2.4 V exact\", delay = \"0 s\" }\n* shuntwright: tolerances.capacitors = \"0 %\""
		r := judge(t, rule, deck, records)
		late := measure(t, judge(t, builtin.TripWindow, deck, records), "trip current of x")
		return measure(t, r, "fault current let through by x").Max - late.Max
	}
	delayed := edit(t, dockCurrent, "offset =", "delay = \"3 us\"\noffset =")
	agrees(t, "of the amplifier", over(lamp, delayed), 3, 1e-6)
	agrees(t, "of a current output", over(lamp+"\nCO out 0 10n", delayed), 3+100, 1e-6)
	plain := `* shuntwright: rails.BUS = "48 V exact"
* shuntwright: rails.V5 = "5 V exact"
* shuntwright: currents.RSH = { range = "0 A .. 15 A", from = "BUS" }
* shuntwright: tolerances.resistors = "0 %"
RSH BUS LOAD 1m
RL LOAD 0 4
RO out 0 100k
CO out 0 10n
XA BUS LOAD out 0 0 V5 buoy-sense-50`
	agrees(t, "of an output without a resistance", over(plain, bell), 2, 1e-6)
	agrees(t, "of its resistance", over(plain, edit(t, bell, `high = "supply - 60 mV" }`, `high = "supply - 60 mV", resistance = "200 ohm exact" }`)), 2+2, 1e-6)
	stage := `* shuntwright: rails.BUS = "12 V exact"
* shuntwright: rails.V5 = "30 V exact"
* shuntwright: currents.RSH = { range = "0 A .. 5 A", from = "BUS" }
* shuntwright: tolerances.resistors = "0 %"
RSH BUS LOAD 10m
RL LOAD 0 24
R1 LOAD n 10k
R2 n out 100k
C2 out n 100p
R3 BUS p 10k
R4 p 0 100k
RO out 0 100k
XA p n out 0 V5 tug-op`
	agrees(t, "of an op amp", over(stage, edit(t, tugOp, `offset = { max = "2.8 mV" }`, "delay = \"0 s\"\noffset = { max = \"2.8 mV\" }")), 10, 1e-6)
}
