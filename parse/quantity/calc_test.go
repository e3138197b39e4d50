package quantity

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// ranged is a cause that takes every value of a declared range.
func ranged(name string, u Unit, lo, hi float64) Quantity {
	return (&Cause{Name: name, Unit: u, Nom: lo/2 + hi/2, Sound: Interval{lo, hi}, Seen: Interval{lo, hi}}).Of()
}

// undeclared is a nominal that is seen, and a policy range that is counted.
func undeclared(name string, u Unit, lo, nom, hi float64) Quantity {
	return (&Cause{Name: name, Unit: u, Nom: nom, Sound: Interval{lo, hi}, Seen: Point(nom), Grade: Assumed, Note: name + ": undeclared"}).Of()
}

func unsaid(name string) Quantity { return Missing(Volt, Need{In: "intent", Key: name}) }

func between(t testing.TB, what string, got Interval, lo, hi float64) {
	t.Helper()
	near := func(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-9*max(1, math.Abs(b)) }
	if !near(got.Lo, lo) || !near(got.Hi, hi) {
		t.Errorf("%s is %v, want %v .. %v", what, got, lo, hi)
	}
}

func difference(x []float64) float64 { return x[0] - x[1] }
func sum(x []float64) float64 {
	total := 0.0
	for _, v := range x {
		total += v
	}
	return total
}

// k = Rd/(Rd + Rf) falls in Rf and rises in Rd: its ends are 4000/4202 and 6000/6198. Interval arithmetic, which loses
// that both Rd are one, would say 4000/6202 .. 6000/4198.
func TestSharedCausesMoveTogether(t *testing.T) {
	rd, rf := ranged("Rd", Ohm, 4000, 6000), ranged("Rf", Ohm, 198, 202)
	whole := Calc("Rd + Rf", Ohm, sum, rd, rf)
	k := Calc("k", Ratio, func(x []float64) float64 { return x[0] / x[1] }, rd, whole)
	between(t, "k", k.Seen, 4000./4202, 6000./6198)
	between(t, "k, nothing outside,", k.Sound, 4000./4202, 6000./6198)
	if got := fmt.Sprintf("%.3f %.3f", k.Seen.Lo, k.Seen.Hi); got != "0.952 0.968" {
		t.Errorf("k is %s", got)
	}
	w := k.Witness(false)
	if len(w) != 2 || w[0].Name != "Rd" || w[0].Value != 4000 || w[1].Value != 202 {
		t.Errorf("the witness of the low end is %v", w)
	}
	if at := k.At(false, map[string]float64{"Rf": 198}); math.Abs(at-4000./4198) > 1e-12 {
		t.Errorf("k at the low end with Rf at 198 ohm is %v", at)
	}
}

func TestAQuantityLessItselfIsNothing(t *testing.T) {
	q := ranged("V5", Volt, 4.9, 5.1)
	between(t, "q - q", Calc("0", Volt, difference, q, q).Sound, 0, 0)
	twice := Calc("2 q", Volt, sum, q, q)
	between(t, "2 q - q", Calc("q", Volt, difference, twice, q).Sound, 4.9, 5.1)
	// One cause met twice by its name is one cause.
	between(t, "by name", Calc("0", Volt, difference, q, ranged("V5", Volt, 4.9, 5.1)).Sound, 0, 0)
	between(t, "another name", Calc("0", Volt, difference, q, ranged("V6", Volt, 4.9, 5.1)).Sound, -0.2, 0.2)
}

// What is not declared is seen at its nominal and counted over the policy range.
func TestUndeclaredIsSeenAtItsNominal(t *testing.T) {
	d := Calc("d", Volt, difference, undeclared("A", Volt, 4.75, 5, 5.25), ranged("B", Volt, 1, 2))
	between(t, "seen", d.Seen, 3, 4)
	between(t, "sound", d.Sound, 2.75, 4.25)
	if d.Grade != Assumed || !d.Known() || !slices.Equal(d.Notes(0), []string{"A: undeclared"}) {
		t.Errorf("grade %v, needs %v, notes %q", d.Grade, d.Needs, d.Notes(0))
	}
}

// A fractional-linear function with nonnegative weights is monotone in each argument.
func TestManyCausesAgainstEveryCorner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 15).Draw(t, "causes")
		in := make([]Quantity, n)
		up, down := make([]float64, n), make([]float64, n)
		for i := range in {
			lo := rapid.Float64Range(-5, 5).Draw(t, "lo")
			in[i] = ranged(fmt.Sprint("c", i), Volt, lo, lo+rapid.Float64Range(0, 3).Draw(t, "width"))
			up[i], down[i] = rapid.Float64Range(-4, 4).Draw(t, "up"), rapid.Float64Range(0, 2).Draw(t, "down")
		}
		f := func(x []float64) float64 {
			a, b := 0.0, 100.0
			for i, v := range x {
				a += up[i] * v
				b += down[i] * v
			}
			return a / b
		}
		q := Calc("q", Volt, f, in...)
		want := Nothing
		x := make([]float64, n)
		for c := range 1 << n {
			for i := range x {
				x[i] = in[i].Sound.Lo
				if c>>i&1 == 1 {
					x[i] = in[i].Sound.Hi
				}
			}
			want = want.Union(Point(f(x)))
		}
		const tiny = 1e-12
		if want.Lo < q.Sound.Lo-tiny || want.Hi > q.Sound.Hi+tiny {
			t.Fatalf("the corners span %v, outside %v", want, q.Sound)
		}
		if q.Seen.Lo < want.Lo-tiny || q.Seen.Hi > want.Hi+tiny {
			t.Fatalf("%v is seen, the corners span %v only", q.Seen, want)
		}
		if n <= 9 && (math.Abs(q.Seen.Lo-want.Lo) > tiny || math.Abs(q.Seen.Hi-want.Hi) > tiny || q.Loose) {
			t.Fatalf("%v is seen, the corners span %v", q.Seen, want)
		}
		for _, high := range []bool{false, true} {
			end := q.Seen.Lo
			if high {
				end = q.Seen.Hi
			}
			if at := q.At(high, nil); math.Abs(at-end) > tiny {
				t.Fatalf("the witness gives %v, not %v", at, end)
			}
		}
	})
}

// Twenty causes of a sum: nothing of them may be lost in the search, and a sum is found exactly.
func TestTwentyCausesOfASum(t *testing.T) {
	var in []Quantity
	for i := range 20 {
		in = append(in, ranged(fmt.Sprint("c", i), Volt, -float64(i), 1))
	}
	q := Calc("sum", Volt, sum, in...)
	between(t, "seen", q.Seen, -190, 20)
	if !(q.Sound.Lo <= -190 && q.Sound.Hi >= 20) {
		t.Errorf("sound is %v", q.Sound)
	}
}

// Products of causes of both signs have their extremes at corners that no walk of single steps need reach.
func TestProductsOfManyCauses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const n = 12
		var in []Quantity
		for i := range n {
			lo := rapid.Float64Range(-3, 2).Draw(t, "lo")
			in = append(in, ranged(fmt.Sprint("c", i), Volt, lo, lo+rapid.Float64Range(0.1, 2).Draw(t, "width")))
		}
		f := func(x []float64) float64 {
			s := 0.0
			for i := 0; i < n; i += 2 {
				s += x[i] * x[i+1]
			}
			return s
		}
		q := Calc("q", Volt, f, in...)
		want := Interval{}
		for i := 0; i < n; i += 2 {
			a, b := in[i].Sound, in[i+1].Sound
			p := []float64{a.Lo * b.Lo, a.Lo * b.Hi, a.Hi * b.Lo, a.Hi * b.Hi}
			want.Lo, want.Hi = want.Lo+slices.Min(p), want.Hi+slices.Max(p)
		}
		if q.Sound.Lo > want.Lo+1e-9 || q.Sound.Hi < want.Hi-1e-9 {
			t.Fatalf("sound is %v, the products reach %v", q.Sound, want)
		}
		if q.Seen.Lo < want.Lo-1e-9 || q.Seen.Hi > want.Hi+1e-9 {
			t.Fatalf("seen is %v, the products reach %v only", q.Seen, want)
		}
	})
}

// A quantity's causes are told apart through chains of calculations, whatever their order.
func TestChainsOfCalculations(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := ranged("a", Volt, rapid.Float64Range(-3, 0).Draw(t, "lo a"), rapid.Float64Range(0, 3).Draw(t, "hi a"))
		b := ranged("b", Volt, rapid.Float64Range(1, 2).Draw(t, "lo b"), rapid.Float64Range(2, 5).Draw(t, "hi b"))
		// (a + b) - b is a, (a / b) b is a.
		between := func(what string, q Quantity) {
			if math.Abs(q.Sound.Lo-a.Sound.Lo) > 1e-9 || math.Abs(q.Sound.Hi-a.Sound.Hi) > 1e-9 {
				t.Fatalf("%s is %v, want %v", what, q.Sound, a.Sound)
			}
		}
		between("(a + b) - b", Calc("", Volt, difference, Calc("", Volt, sum, b, a), b))
		between("(a / b) b", Calc("", Volt, func(x []float64) float64 { return x[0] * x[1] },
			Calc("", Ratio, func(x []float64) float64 { return x[0] / x[1] }, a, b), b))
		between("3 a / 3", a.Times(3).Times(1./3))
	})
}

// What bends by little has a place beyond its ends, and by much none. Sampling is the judge.
func TestBends(t *testing.T) {
	legs := func(split float64) Quantity {
		return Calc("parallel legs", Ohm, func(x []float64) float64 { return x[1] * (1 + x[0]) * (1 - x[0]) / 2 },
			ranged("split", Ratio, -split, split), ranged("leg", Ohm, 990, 1010))
	}
	little := legs(0.01)
	if !little.Loose || little.Sound.Hi < 505 || little.Sound.Hi > 506 || little.Seen.Hi > 505 {
		t.Errorf("1 %%: %v, sound %v, loose %v", little.Seen, little.Sound, little.Loose)
	}
	for s := -0.01; s <= 0.01; s += 1e-3 {
		if v := 1010 * (1 - s*s) / 2; !little.Sound.Contains(v) {
			t.Errorf("%v lies outside %v", v, little.Sound)
		}
	}
	if much := legs(0.5); !math.IsInf(much.Sound.Hi, 1) {
		t.Errorf("50 %%: sound %v", much.Sound)
	}
}
