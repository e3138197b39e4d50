package quantity

import (
	"math"
	"testing"
)

// What a search could not rule out stays in a difference, to either side: 4 V .. 6 V is attained, 3 V .. 8 V is not ruled
// out, and 1 V .. 2 V is taken off.
func TestMinusKeepsWhatIsNotProven(t *testing.T) {
	found := func(outer Interval) Quantity {
		search := func(b *Box) Ends {
			return Ends{Interval: Interval{4, 6}, Outer: outer, Low: []float64{4}, High: []float64{6}, Weight: []float64{2}, Loose: true, Why: "too wide"}
		}
		return CalcBy("v", Volt, func(x []float64) float64 { return x[0] }, search, ranged("A", Volt, 4, 6))
	}
	v, b := found(Interval{3, 8}), ranged("B", Volt, 1, 2)
	over := Minus("over", v, b)
	between(t, "over", over.Sound, 3-2, 8-1)
	between(t, "over, seen", over.Seen, 4-2, 6-1)
	under := Minus("under", b, v)
	between(t, "under", under.Sound, 1-8, 2-3)
	if all := Minus("all", found(Everything), b); !math.IsInf(all.Sound.Lo, -1) || !math.IsInf(all.Sound.Hi, 1) || all.Reason(true) != "too wide" {
		t.Errorf("without a limit: %v, %q", all.Sound, all.Reason(true))
	}
}
