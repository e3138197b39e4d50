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
