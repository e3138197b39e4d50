package quantity

import (
	"math"
	"testing"
)

// At the high end of x / y, x is at its high end and y at its low one; what rests on other causes is at its nominal.
func TestCornerSharesCauses(t *testing.T) {
	x, y, z := ranged("x", Ratio, 1, 3), ranged("y", Ratio, 2, 4), ranged("z", Ratio, 5, 7)
	q := Calc("x / y", Ratio, func(v []float64) float64 { return v[0] / v[1] }, x, y)
	sum := Calc("x + y", Ratio, func(v []float64) float64 { return v[0] + v[1] }, x, y)
	for high, want := range map[bool][3]float64{false: {1 + 4, 4, 6}, true: {3 + 2, 2, 6}} {
		got, ok := q.Corner(high, []Quantity{sum, y, z})
		if !ok || [3]float64(got) != want {
			t.Errorf("high %v: %v, want %v", high, got, want)
		}
	}
	if _, ok := Missing(Volt, Need{Key: "rails.A"}).Corner(true, nil); ok {
		t.Error("a corner of what nobody said")
	}
}

// In 10 V x r / (r + s) + 1 uV x w with r from 1 to 3 and s exactly 2, r decides first, then s and the 10 V, and w does not.
func TestDeciding(t *testing.T) {
	exactly := func(name string, v float64) Quantity { return Exactly(name, Ratio, v) }
	q := Calc("q", Volt, func(v []float64) float64 { return v[0]*v[1]/(v[1]+v[2]) + 1e-6*v[3] },
		exactly("volts", 10), ranged("r", Ratio, 1, 3), exactly("s", 2), ranged("w", Ratio, 0, 1))
	states := q.Deciding(true)
	var names []string
	for _, s := range states {
		names = append(names, s.Name)
	}
	if len(names) != 3 || names[0] != "r" || names[1] != "volts" || names[2] != "s" {
		t.Fatalf("deciding are %v", names)
	}
	// One per cent of 10 V is 0.06 V of 6 V; of s it is 10 x 3 x (1 / 5 - 1 / 5.02); each counts a hundred times.
	for i, want := range []float64{6 - 10./3, 6, 3000 * (1./5 - 1/5.02)} {
		if math.Abs(states[i].Effect-want) > 1e-9 {
			t.Errorf("%s moves it by %v, want %v", names[i], states[i].Effect, want)
		}
	}
}
