package volt_test

import (
	"strings"
	"testing"
)

// Transistors other than MOSFETs are switches between the two ends of their channel: 8 V behind 2 ohm, open 8 V, closed at
// the least 8 V x R / (R + 2 ohm). A resistance that nobody said is seen as none and counted as any.
func TestTransistorsAreSwitches(t *testing.T) {
	records := "[[part]]\nname = 'latch-3'\nrole = 'switch'\npins = ['a', 'control', 'b']\non-resistance = '3 ohm .. 6 ohm'\n"
	for _, c := range []struct {
		name, deck string
		low        float64
	}{
		{"n-p-n, emitter at ground", "Q1 N b 0 q\n.model q NPN", 0},
		{"the same with a substrate", "Q1 N b 0 0 q\n.model q NPN", 0},
		{"the same, declared", "Q1 N b 0 q\n.model q NPN\n* shuntwright: elements.Q1.on-resistance = \"3 ohm .. 4 ohm\"", 4.8},
		{"the same, by its record", "Q1 N b 0 LATCH-3\n.model LATCH-3 NPN", 4.8},
		{"p-n-p, emitter at a rail", "Q1 N b V3 q\n.model q PNP\n* shuntwright: rails.V3 = \"3 V exact\"", 3},
		{"n-channel junction", "J1 N g 0 j\n.model j NJF", 0},
		{"p-channel junction", "J1 0 g N j\n.model j PJF\n* shuntwright: elements.J1.on-resistance = \"3 ohm .. 4 ohm\"", 4.8},
		{"metal gate", "Z1 N g 0 z\n.model z NMF", 0},
	} {
		q := voltage(t, load(t, "* shuntwright: rails.BUS = \"8 V exact\"\n* shuntwright: tolerances.resistors = \"0 %\"\nRB BUS N 2\nRG b g 1k\n"+c.deck, records), "N")
		meets(t, c.name, q.Seen, c.low, 8, 1e-6)
		meets(t, c.name+", nothing outside,", q.Sound, c.low, 8, 1e-6)
		if !q.Known() {
			t.Errorf("%s needs %v", c.name, q.Needs)
		}
	}
}

// The current of the base joins the emitter's: with up to 0.1 A of it a follower's load of 8 ohm sees 0 V (off) to
// 8 V x 8/10 + 0.1 A x (2 ohm || 8 ohm) = 6.56 V (on, no drop), off and with the base alone 0.8 V. Where nobody said what
// the base takes, the emitter and the base are undecided, and nothing that does not hang on them.
func TestBaseCurrent(t *testing.T) {
	deck := `* shuntwright: rails.BUS = "8 V exact"
* shuntwright: rails.VD = "5 V exact"
* shuntwright: tolerances.resistors = "0 %"
RB BUS C 2
RD VD B 10
RE E 0 8
Q1 C B E q
.model q NPN
`
	said := `* shuntwright: elements.Q1 = { base-current = "0.1 A", on-resistance = "1 uohm exact" }`
	d := load(t, deck+said, "")
	meets(t, "V(E)", voltage(t, d, "E").Sound, 0, 6.56, 1e-5)
	meets(t, "V(C)", voltage(t, d, "C").Sound, 6.4, 8, 1e-5)
	meets(t, "V(B)", voltage(t, d, "B").Sound, 4, 5, 1e-6)
	for _, n := range []string{"E", "B"} {
		if q := voltage(t, load(t, deck, ""), n); q.Known() || q.Needs[0].Key != "elements.Q1.base-current" {
			t.Errorf("V(%s) is %v, needs %v", n, q.Sound, q.Needs)
		}
	}
	// Of a p-n-p the base gives: 0.1 A out of the emitter's net leave 8 V - 0.2 V while it is off.
	d = load(t, strings.Replace(strings.Replace(deck, "RE E 0 8\nQ1 C B E", "RE E 0 1meg\nQ1 E B C", 1), "NPN", "PNP", 1)+said, "")
	meets(t, "V(C) of a p-n-p", voltage(t, d, "C").Sound, 7.8-16e-6, 8, 1e-5)
	meets(t, "V(B) of a p-n-p", voltage(t, d, "B").Sound, 5, 6, 1e-6)
}

// A shunt at the emitter with a declared current stands where that puts it, whatever the base adds.
func TestEmitterShunt(t *testing.T) {
	d := load(t, `* shuntwright: rails.BUS = "8 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: currents.RS = { range = "0 A .. 3 A", from = "E" }
RB BUS C 2
Q1 C B E q
RS E 0 10m
.model q NPN`, "")
	q := voltage(t, d, "E")
	meets(t, "V(E)", q.Sound, 0, 0.03, 1e-9)
	if !q.Known() {
		t.Errorf("V(E) needs %v", q.Needs)
	}
}
