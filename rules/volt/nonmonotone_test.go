package volt_test

import (
	"fmt"
	"testing"
)

// A full-wave rectifier's output is the larger of the two inputs less a drop, and nothing below: with the input at 0 V it
// is 0 V, whatever the ends of the input's range are.
func TestRectifierPassesZero(t *testing.T) {
	for _, r := range [][2]float64{{-10, 10}, {-10, 4}, {-1, 10}, {-9, 2}, {-0.5, 20}} {
		rail := fmt.Sprintf("* shuntwright: rails.A = \"%v V .. %v V\"\n* shuntwright: tolerances.resistors = \"0 %%\"\n", r[0], r[1])
		var drops string
		for _, name := range []string{"D1", "D2", "D3", "D4"} {
			drops += fmt.Sprintf("* shuntwright: elements.%s.drop = \"0.7 V exact\"\n", name)
		}
		tap := load(t, rail+drops[:2*len(drops)/4]+"E1 B 0 A 0 -1\nD1 A P d\nD2 B P d\nRL P 0 1k\n.model d D", "")
		if q := voltage(t, tap, "P"); q.Sound.Lo > 1e-6 || q.Sound.Hi < max(-r[0], r[1])-0.7-1e-6 {
			t.Errorf("centre tap over %v V: %v, and 0 V at 0 V", r, q.Sound)
		}
		bridge := load(t, rail+drops+"D1 A P d\nD2 0 P d\nD3 N A d\nD4 N 0 d\nRL P N 1k\n.model d D", "")
		if q := across(t, bridge, "P", "N"); q.Sound.Lo > 1e-6 || q.Sound.Hi < max(-r[0], r[1])-1.4-1e-6 {
			t.Errorf("bridge over %v V: %v, and 0 V at 0 V", r, q.Sound)
		}
	}
}

// Supplies joined by diodes are monotone in each: the larger one less its drop.
func TestJoinedSupplies(t *testing.T) {
	d := load(t, `* shuntwright: rails.A = "4 V .. 12 V"
* shuntwright: rails.B = "9 V .. 10 V"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.D1.drop = "0.3 V .. 0.6 V"
* shuntwright: elements.D2.drop = "0.7 V .. 0.9 V"
D1 A OUT d
D2 B OUT d
RL OUT 0 1k
.model d D`, "")
	q := voltage(t, d, "OUT")
	meets(t, "V(OUT)", q.Seen, 8.1, 11.7, 1e-6)
	meets(t, "V(OUT), nothing outside,", q.Sound, 8.1, 11.7, 1e-6)
}
