package volt_test

import (
	"fmt"
	"testing"
)

// Diodes in series block together: what lies between them floats then, and they conduct beyond the sum of their drops. From
// +-10 V over 1 kohm to a, over diodes to b, 1 kohm to ground, all resistors of 10 %: V(a) is highest where the drops are,
// V(b) where they are lowest; backwards nothing flows.
func TestDiodesInSeriesBlockTogether(t *testing.T) {
	for _, n := range []int{2, 3, 4, 7} {
		deck := "* shuntwright: rails.IN = \"-10 V .. 10 V\"\n* shuntwright: tolerances.resistors = \"10 %\"\n.model d D\nR1 IN m0 1k\n"
		for k := range n {
			deck += fmt.Sprintf("* shuntwright: elements.D%d.drop = \"0.3 V .. 0.6 V\"\nD%d m%d m%d d\n", k, k, k, k+1)
		}
		d := load(t, deck+fmt.Sprintf("R2 m%d 0 1k", n), "")
		least, most := 0.3*float64(n), 0.6*float64(n)
		q := voltage(t, d, "m0")
		meets(t, fmt.Sprintf("before %d diodes", n), q.Sound, -10, 10-0.9*(10-most)/2, 1e-9)
		meets(t, "seen", q.Seen, -10, 10-0.9*(10-most)/2, 1e-9)
		q = voltage(t, d, fmt.Sprint("m", n))
		meets(t, fmt.Sprintf("behind %d diodes", n), q.Sound, 0, 1.1*(10-least)/2, 1e-9)
		if q.Loose {
			t.Errorf("loose behind %d diodes", n)
		}
	}
}

// The same with two diodes that lead into the middle and two that lead out of it: the lower way decides on each side, but
// not with one of either side alone.
func TestFloatingMiddleOfFourDiodes(t *testing.T) {
	const deck = `* shuntwright: rails.INA = "-10 V .. 10 V"
* shuntwright: rails.INB = "-4 V .. 4 V"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.D1.drop = "0.5 V exact"
* shuntwright: elements.D2.drop = "0.7 V exact"
* shuntwright: elements.D3.drop = "0.4 V exact"
* shuntwright: elements.D4.drop = "0.6 V exact"
.model d D
RA INA a 1k
RB INB b 1k
D1 a m d
D2 b m d
D3 m y d
D4 m 0 d
RY y 0 1k`
	d := load(t, deck, "")
	// D4 holds m at 0.6 V at the most: a at 1.1 V, b at 1.3 V, y at 0.2 V.
	meets(t, "V(a)", voltage(t, d, "a").Sound, -10, 1.1, 1e-9)
	meets(t, "V(b)", voltage(t, d, "b").Sound, -4, 1.3, 1e-9)
	meets(t, "V(y)", voltage(t, d, "y").Sound, 0, 0.2, 1e-9)
}
