package volt_test

import (
	"strings"
	"testing"
)

// Invented parts; the numbers are like no catalogue's.
const simpleParts = `
[[part]]
name = "quay-58"
match = ["QUAY58*"]
role = "clamp"
pins = ["anode", "cathode"]
drop = "0.4 V .. 1.2 V"
clamp = { breakdown = "58 V .. 64 V", level = [["4 A", "70 V"], ["12 A", "88 V"]] }

[[part]]
name = "quay-58-bare"
role = "clamp"
pins = ["cathode", "anode"]
clamp = { breakdown = "58 V .. 64 V" }

[[part]]
name = "quay-58-flat"
role = "clamp"
pins = ["cathode", "anode"]
clamp = { breakdown = "58 V .. 64 V", level = "71 V" }

[[part]]
name = "quay-9-both"
role = "clamp"
pins = ["a", "nc", "b"]
clamp = { breakdown = "9 V +- 0.5 V", level = [["2 A", "12.5 V"]] }

[[part]]
name = "quay-odd"
role = "clamp"
pins = ["k", "l"]
clamp = { breakdown = "9 V +- 0.5 V", level = "13 V" }

[[part]]
name = "keel-2m"
role = "shunt"
pins = ["a", "sense-a", "sense-b", "b"]
resistance = "2 ohm +- 1 %"
temperature-coefficient = "100 ppm/K"

[[part]]
name = "keel-two"
role = "shunt"
pins = ["a", "b"]
resistance = "2 ohm +- 1 %"

[[part]]
name = "tank-1u"
role = "capacitor"
pins = ["a", "b"]

[[part]]
name = "latch-3"
role = "switch"
pins = ["a", "control", "b"]
on-resistance = "3 ohm .. 6 ohm"

[[part]]
name = "latch-n"
match = ["LATCHN"]
role = "switch"
pins = ["drain", "gate", "source"]
channel = "n"
on-resistance = "3 ohm .. 6 ohm"
drop = "0.5 V .. 0.8 V"

[[part]]
name = "latch-unsaid"
role = "switch"
pins = ["drain", "gate", "source"]
on-resistance = "3 ohm .. 6 ohm"
`

func TestSimpleParts(t *testing.T) {
	const none = "* shuntwright: tolerances.resistors = \"0 %\"\n"
	type span struct{ lo, hi float64 }
	for _, c := range []struct {
		name, deck  string
		seen, sound span
		within      float64
	}{
		// The steeper of its points: (88 V - 64 V) / 12 A = 2 ohm. 100 V behind 10 ohm: (100 - 64) / 12 = 3 A, 70 V.
		{"a diode takes its clamp's level", `* shuntwright: rails.BUS = "0 V .. 100 V"
RB BUS N 10
DZ 0 N QUAY58A
.model QUAY58A D(BV=30)`, span{0, 70}, span{0, 70}, 1e-6},
		{"an X card too", `* shuntwright: rails.BUS = "0 V .. 100 V"
RB BUS N 10
XZ 0 N quay-58`, span{0, 70}, span{0, 70}, 1e-6},
		// Two in parallel: 1 ohm. 100 V behind 11 ohm: (100 - 64) / 12 = 3 A, 67 V.
		{"two of them", `* shuntwright: rails.BUS = "0 V .. 100 V"
RB BUS N 11
DZ 0 N QUAY58A m=2
.model QUAY58A D(BV=30)`, span{0, 67}, span{0, 67}, 1e-6},
		// 208 V behind 10 ohm: (208 - 64) / 12 = 12 A is the last point, 88 V.
		{"up to its last point", `* shuntwright: rails.BUS = "0 V .. 208 V"
RB BUS N 10
XZ 0 N quay-58`, span{0, 88}, span{0, 88}, 1e-6},
		// 238 V: seen to go on, (238 - 64) / 12 = 14.5 A, 93 V. Not counted on: 12 A through it, 238 V - 120 V.
		{"and not beyond it", `* shuntwright: rails.BUS = "0 V .. 238 V"
RB BUS N 10
XZ 0 N quay-58`, span{0, 93}, span{0, 118}, 1e-4},
		{"without a level", `* shuntwright: rails.BUS = "0 V .. 100 V"
RB BUS N 10
XZ N 0 quay-58-bare`, span{0, 64}, span{0, 100}, 1e-3},
		{"one level at any current", `* shuntwright: rails.BUS = "0 V .. 100 V"
RB BUS N 10
XZ N 0 quay-58-flat`, span{0, 71}, span{0, 71}, 1e-6},
		// Backwards it is a diode: 10 V behind 10 ohm leave its drop.
		{"forwards it drops", `* shuntwright: rails.BUS = "-10 V .. 100 V"
RB BUS N 10
XZ 0 N quay-58`, span{-1.2, 70}, span{-1.2, 70}, 1e-6},
		{"intent wins", `* shuntwright: rails.BUS = "-10 V .. 100 V"
* shuntwright: elements.XZ.drop = "0.5 V .. 0.6 V"
RB BUS N 10
XZ 0 N quay-58`, span{-0.6, 70}, span{-0.6, 70}, 1e-6},
		// (12.5 - 9.5) / 2 = 1.5 ohm both ways. 19 V behind 8 ohm: (19 - 9.5) / 9.5 = 1 A, 11 V.
		{"both ways", `* shuntwright: rails.BUS = "-19 V .. 19 V"
RB BUS N 8
XZ N x 0 quay-9-both`, span{-11, 11}, span{-11, 11}, 1e-6},

		// 8 V over 2 ohm and 2.02 ohm x (1 + 100 ppm x 40 K) = 2.02808 ohm, or 1.98 x 0.996 = 1.97208 ohm.
		{"a shunt with four terminals", `* shuntwright: rails.BUS = "8 V exact"
* shuntwright: temperature = "-15 degC .. 65 degC"
XS BUS S1 N O keel-2m
RO O 0 2
RS S1 0 1k`, span{8 * 2 / 4.02808, 8 * 2 / 3.97208}, span{8 * 2 / 4.02808, 8 * 2 / 3.97208}, 1e-6},
		{"intent knows the shunt better", `* shuntwright: rails.BUS = "8 V exact"
* shuntwright: elements.XS = { tolerance = "5 %" }
XS BUS N keel-two
RO N 0 2`, span{8 * 2 / 4.1, 8 * 2 / 3.9}, span{8 * 2 / 4.1, 8 * 2 / 3.9}, 1e-6},
		{"a capacitor is open", `* shuntwright: rails.BUS = "8 V exact"
RB BUS N 2
XC N 0 tank-1u`, span{8, 8}, span{8, 8}, 1e-6},
		// Open 8 V, closed at the least 8 V x 3 / 5.
		{"a switch", `* shuntwright: rails.BUS = "8 V exact"
RB BUS N 2
RG BUS G 1k
XS N G 0 latch-3`, span{4.8, 8}, span{4.8, 8}, 1e-6},
		// Below its source by no more than the body diode's 0.8 V.
		{"a switch with a body diode", `* shuntwright: rails.BUS = "-8 V exact"
RB BUS N 2
XS N G 0 latch-n`, span{-0.8, -0.5}, span{-0.8, -0.5}, 1e-6},
		{"a transistor of a record", `* shuntwright: rails.BUS = "-8 V .. 8 V"
RB BUS N 2
MS N G 0 0 LATCHN
.model LATCHN NMOS`, span{-0.8, 8}, span{-0.8, 8}, 1e-6},
		{"a switch of a record, its model aside", `* shuntwright: rails.BUS = "8 V exact"
RB BUS N 2
SS N 0 G 0 LATCHN
.model LATCHN SW(RON=1)`, span{4.8, 8}, span{4.8, 8}, 1e-6},
	} {
		t.Run(c.name, func(t *testing.T) {
			q := voltage(t, load(t, none+c.deck, simpleParts), "N")
			meets(t, "V(N)", q.Seen, c.seen.lo, c.seen.hi, c.within)
			meets(t, "V(N), nothing outside,", q.Sound, c.sound.lo, c.sound.hi, c.within)
			if !q.Known() {
				t.Errorf("V(N) needs %v", q.Needs)
			}
		})
	}
}

// What a record does not say of a part is asked for, by the name of the field.
func TestSimplePartsAskForWhatIsMissing(t *testing.T) {
	for key, card := range map[string]string{
		"quay-odd pins (anode, cathode, a, b, nc)": "XZ N 0 quay-odd",
		"latch-unsaid channel":                     "XZ N G 0 latch-unsaid",
		"what XZ does to N":                        "XZ N G x 0 latch-n",
	} {
		d, _ := bind("* shuntwright: rails.BUS = \"8 V exact\"\nRB BUS N 2\n"+card, simpleParts)
		q := voltage(t, d, "N")
		if q.Known() || q.Needs[0].Key != key {
			t.Errorf("%s: needs %v, want %s", card, q.Needs, key)
		}
	}
	doubted := strings.Replace(simpleParts, `level = "71 V"`, `level = "71 V", size = "3 V"`, 1)
	d, _ := bind("* shuntwright: rails.BUS = \"8 V exact\"\nRB BUS N 2\nXZ N 0 quay-58-flat", doubted)
	if q := voltage(t, d, "N"); q.Known() {
		t.Errorf("a record with an error settles %v", q.Sound)
	}
}

// A coil that goes on through a clamp across the switch lifts it by the level at its current: 64 V + 2 ohm x 3 A; the ring of
// current inside of the clamp is no drive of its own.
func TestCoilIntoAClamp(t *testing.T) {
	d := load(t, `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: elements.LC.current = "0 A .. 3 A"
* shuntwright: elements.SL.on-resistance = "10 mohm .. 20 mohm"
LC BATT SW 80m
SL SW 0 c 0 ls
DZ 0 SW QUAY58A
.model QUAY58A D
.model ls SW`, simpleParts)
	meets(t, "V(SW)", voltage(t, d, "SW").Sound, 0, 70, 1e-3)
	d = load(t, `* shuntwright: rails.BATT = "9 V .. 16 V"
SL BATT F c 0 ls
XZ 0 F quay-58
.model ls SW`, simpleParts)
	if q := voltage(t, d, "F"); q.Known() || q.Needs[0].Key != "rails.F" {
		t.Errorf("V(F) is %v, needs %v", q.Sound, q.Needs)
	}
}
