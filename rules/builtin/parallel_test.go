package builtin_test

import (
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// Two resistors side by side in a leg let twice the current of one into the pin, and each stands the voltage that one would.
func TestFilterResistorsSideBySide(t *testing.T) {
	// 1.616 V behind the clamp: over 396 ohm 4.04 mA, over two of them 8.08 mA.
	one := edit(t, quayDeck, "XA BUS LOAD", "RF1 BUS P 400\nRF2 LOAD N 400\nXA P N", `"80 V"`, `"92.462353 V"`)
	two := edit(t, one, "RF2 LOAD N 400", "RF2 LOAD N 400\nRF3 BUS P 400\nRF4 N LOAD 400")
	alone := measure(t, wants(t, builtin.ClampCurrent, rules.KindPass, 0, one, buoyParts), "in+ current with XT in dump").Max
	m := measure(t, wants(t, builtin.ClampCurrent, rules.KindFail, rules.Error, two, buoyParts), "in+ current with XT in dump")
	agrees(t, "current over two", m.Max, 2*alone, 1e-9)
	// In the middle of a leg as well.
	mid := edit(t, one, "RF1 BUS P 400", "RF1 BUS Q 200\nRF3 BUS Q 200\nRF5 Q P 300")
	m = measure(t, judge(t, builtin.ClampCurrent, mid, buoyParts), "in+ current with XT in dump")
	agrees(t, "current in the middle", m.Max, alone, 1e-9)

	// A fault of 2.02 V less 0.5 V between the inputs over 200 ohm or 100 ohm, each 1 % less.
	records := edit(t, tugSense, "input = {", "input = { clamp-voltage = \"0.5 V\", survival-current = \"10 mA\", ")
	fault := edit(t, tug, "XA BUS LOAD", "RF1 BUS P 100\nRF2 LOAD N 100\nXA P N", `least = "0.5 A"`, `fault = "2000 A for 1 us"`)
	wants(t, builtin.DifferentialSurvival, rules.KindPass, 0, fault, records)
	beside := edit(t, fault, "RF2 LOAD N 100", "RF2 LOAD N 100\nRF3 BUS P 100\nRF4 N LOAD 100")
	r := wants(t, builtin.DifferentialSurvival, rules.KindFail, rules.Error, beside, records)
	agrees(t, "fault", measure(t, r, "input current with in+ less in- in a fault").Max, (2000*1.01e-3-0.5)/(100*0.99), 1e-9)
	// Their power with the shunt open: (58.02 V - 0.5 V) / 2, that of the load side, over 100 ohm in each of the four.
	open := edit(t, beside, `fault =`, `open-shunt = "survive", fault =`) + "\n* shuntwright: tolerances.resistors = \"0 %\""
	open = edit(t, open, "* shuntwright: tolerances.resistors = \"1 %\"\n", "")
	r = judge(t, builtin.PassiveRating, open, records)
	for _, name := range []string{"RF1", "RF2", "RF3", "RF4"} {
		agrees(t, name, measure(t, r, "power of "+name+" with the shunt open").Max, 28.76*28.76/100, 1e-9)
	}
	// What the inputs stand is not known without a rating: that is asked for, and nothing is said to burn.
	lacks(t, wants(t, builtin.PassiveRating, rules.KindOpen, 0, open, tugSense), "differential.survival")
}

// A current is declared of one of the shunts in parallel. 2 mohm that carry 20 A make 0.8 W whatever stands beside them, and
// 3 mohm there make (40 mV)^2 / 3 mohm; a fault likewise.
func TestCurrentOfOneOfSeveralShunts(t *testing.T) {
	deck := edit(t, heated, "RSH BUS LOAD 2m", "* shuntwright: elements.RS2.power = \"1 W\"\nRS2 LOAD BUS 3m\nRSH BUS LOAD 2m", `"1 %"`, `"0 %"`,
		`rms = "20 A"`, `rms = "20 A", fault = "-90 A for 20 us"`)
	r := judge(t, builtin.ShuntPower, deck, tugSense)
	agrees(t, "power", measure(t, r, "power of RSH").Max, 0.8, 1e-12)
	agrees(t, "power beside", measure(t, r, "power of RS2").Max, 0.04*0.04/3e-3, 1e-12)
	r = judge(t, builtin.ShuntPower, edit(t, deck, `rms = "20 A", `, ""), tugSense)
	agrees(t, "bound", measure(t, r, "power of RSH").SoundMax, 30*30*2e-3, 1e-12)
	r = judge(t, builtin.ShuntPulseEnergy, deck, tugSense)
	agrees(t, "energy", measure(t, r, "energy of a fault in RSH").Max, 90*90*2e-3*20e-6, 1e-12)
	agrees(t, "energy beside", measure(t, r, "energy of a fault in RS2").Max, 0.18*0.18/3e-3*20e-6, 1e-12)

	// Two times 2 mohm +- 2 % make the 1 mohm of the window, of which each carries half: the trip comes at 20.8 A in all,
	// 10.4 A in RSH, whatever the other one is. What is let through: half of 48 V / 48 uH x 6 us = 6 A on top.
	half := edit(t, window, "RSH BUS LOAD 1m", "RSH BUS LOAD 2m\nRS2 BUS LOAD 2m\n* shuntwright: elements.RS2.tolerance = \"0 %\"", `"-15 A .. 15 A"`, `"-9 A .. 9 A"`,
		`damage = "30 A"`, `damage = "11 A", fault-voltage = "48 V", fault-inductance = "48 uH"`)
	records := edit(t, bell, `delay = "2 us"`, `delay = "6 us"`)
	m := measure(t, wants(t, builtin.TripWindow, rules.KindPass, 0, half, records), "trip current of low")
	agrees(t, "late end", m.Min, -1.02/(50*1.96e-3), 1e-12)
	agrees(t, "early end", m.Max, -0.98/(50*2.04e-3), 1e-12)
	wants(t, builtin.TripWindow, rules.KindFail, rules.Error, edit(t, half, `"-9 A .. 9 A"`, `"-10 A .. 10 A"`), records)
	r = judge(t, builtin.TripLetThrough, edit(t, half, `threshold =`, `delay = "0 s", threshold =`), records)
	agrees(t, "let through", measure(t, r, "fault current let through by low").SoundMax, 1.02/(50*1.96e-3)+6*(1/(1+1.96/2)), 1e-2)

	// A stray inductance carries what both carry: 5 nH x 2 A/ns.
	stray := edit(t, phaseDeck, "RSH PH MOT 1m", "RSH PH MOT 2m\nRS2 MOT PH 2m\n* shuntwright: elements.RS2.tolerance = \"0 %\"")
	m = measure(t, judge(t, builtin.InputUndershoot, stray, tugSense), "in- while the current changes")
	one := measure(t, judge(t, builtin.InputUndershoot, phaseDeck, tugSense), "in- while the current changes")
	agrees(t, "kick", m.Min, one.Min-5-0.02, 1e-9)
}
