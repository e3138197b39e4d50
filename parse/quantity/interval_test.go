package quantity

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func drawInterval(t *rapid.T, label string) Interval {
	return Interval{float64(rapid.IntRange(-6, 6).Draw(t, label+".Lo")), float64(rapid.IntRange(-6, 6).Draw(t, label+".Hi"))}
}

// Every operation is held to what it does to membership, number by number.
func TestIntervalIsASetOfNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawInterval(t, "a"), drawInterval(t, "b")
		union, both := a.Union(b), a.Intersect(b)
		inside, count := true, 0
		for i := -14; i <= 14; i++ {
			v := float64(i) / 2
			x, y := a.Contains(v), b.Contains(v)
			if (x || y) && !union.Contains(v) {
				t.Fatalf("%v is in %v or %v but not in %v", v, a, b, union)
			}
			if (x && y) != both.Contains(v) {
				t.Fatalf("%v: intersection %v of %v and %v", v, both, a, b)
			}
			if x {
				count++
				inside = inside && y
			}
		}
		if a.Empty() != (count == 0) {
			t.Fatalf("%v holds %d numbers; Empty is %v", a, count, a.Empty())
		}
		if a.In(b) != inside {
			t.Fatalf("%v in %v is %v", a, b, a.In(b))
		}
		if want := float64(max(0, count-1)) / 2; a.Width() != want {
			t.Fatalf("%v is %v wide, not %v", a, a.Width(), want)
		}
		if !union.Empty() && (union.Lo != a.Lo && union.Lo != b.Lo || union.Hi != a.Hi && union.Hi != b.Hi) {
			t.Fatalf("the union %v of %v and %v has an end of its own", union, a, b)
		}
	})
}

func TestIntervalExtremes(t *testing.T) {
	if !Nothing.Empty() || Everything.Empty() || Nothing.Width() != 0 || !math.IsInf(Everything.Width(), 1) {
		t.Error("Nothing and Everything are mixed up")
	}
	if !Nothing.In(Point(3)) || !Point(3).In(Everything) || Everything.In(Point(3)) {
		t.Error("In fails at the extremes")
	}
	if got := (Interval{5, 3}).Union(Point(9)); got != Point(9) {
		t.Errorf("the union with an empty interval is %v", got)
	}
	failed := Interval{math.NaN(), math.NaN()}
	if failed.Empty() || failed.Contains(0) || failed.In(Everything) {
		t.Error("a failed computation passes for an interval")
	}
}
