package volt_test

import (
	"math"
	"testing"
)

// What has no answer, or only one in some states, is not known: it must never lie inside a limit.
func TestWhatNothingTiesDownIsMissing(t *testing.T) {
	for name, c := range map[string]struct{ deck, net string }{
		"a source that follows itself":      {"V1 1 0 5\nR1 1 a 1k\nE1 a 0 a 0 1", "a"},
		"nothing on it":                     {"C1 a 0 1n\nV1 b 0 5", "a"},
		"a resistor that leads nowhere":     {"R1 a b 1k\nC1 b 0 1n\nV1 c 0 5", "a"},
		"while a switch is open":            {"* shuntwright: rails.B = \"12 V exact\"\nS1 B a c 0 sw\nVC c 0 1\nC1 a 0 1u\n.model sw SW(RON=0.1)", "a"},
		"a resistance that nobody has said": {"V1 1 0 5\nR1 1 a 1k\nR2 a 0 {nowhere}", "a"},
	} {
		t.Run(name, func(t *testing.T) {
			d, _ := bind(c.deck, "") // one of them has an expression without a value
			q := voltage(t, d, c.net)
			if q.Known() && q.Sound.Hi-q.Sound.Lo < 1e6 {
				t.Errorf("V(%s) is known in %v", c.net, q.Sound)
			}
		})
	}
}

// A resistance may be negative: SPICE3f3 User's Manual, 3.1.1. -1 kohm and 3 kohm divide 10 V to 15 V.
func TestNegativeResistance(t *testing.T) {
	d := load(t, "* shuntwright: tolerances.resistors = \"0 %\"\nV1 1 0 10\nR1 1 2 -1k\nR2 2 0 3k", "")
	q := voltage(t, d, "2")
	if q.Known() && !math.IsInf(q.Sound.Hi, 1) && math.Abs(q.Nom-15) > 1e-6 {
		t.Errorf("V(2) is %v, seen %v, sound %v; want 15 V, or nothing", q.Nom, q.Seen, q.Sound)
	}
}

// One milliohm beside 31.6 kohm: rounding of parts in 1e9 is no reason to give up.
func TestRoundingIsNoTurningPoint(t *testing.T) {
	d := load(t, "R0 n1 0 10\nR1 n2 n1 10\nR2 n3 0 10\nR3 n4 n1 31622.776601683796\nR4 n5 n4 0.001\nV0 n2 0 1", "")
	meets(t, "V(n4)", voltage(t, d, "n4").Sound, 0.95*9.5/20, 1.05*10.5/20, 1e-6)
	d = load(t, "R0 n1 0 10k\nR1 n2 0 1m\nV0 n1 0 5", "")
	meets(t, "V(n2)", voltage(t, d, "n2").Sound, 0, 0, 1e-12)
}

// A card's temperature coefficient counts from 27 degC, TC1 only: 10 V over 1 kohm (1 + 0.01 (T - 27)) and 1 kohm.
func TestTemperatureCoefficientOfACard(t *testing.T) {
	d := load(t, "* shuntwright: temperature = \"-40 degC .. 125 degC\"\n* shuntwright: tolerances.resistors = \"0 %\"\n* shuntwright: elements.V1.tolerance = \"0 %\"\nV1 1 0 10\nR1 1 2 1k TC=0.01\nR2 2 0 1k", "")
	meets(t, "V(2)", voltage(t, d, "2").Seen, 10/2.98, 10/1.33, 1e-6)
}
