package quantity

import (
	"math"
	"slices"
	"testing"
)

func TestMissingInputs(t *testing.T) {
	a := ranged("A", Volt, 1, 2)
	for _, c := range []struct {
		name  string
		q     Quantity
		known bool
		sound Interval
	}{
		{"itself", unsaid("x"), false, Everything},
		{"in a sum", Calc("", Volt, sum, a, unsaid("x")), false, Everything},
		{"with another missing one", Calc("", Volt, sum, a, unsaid("x"), unsaid("y")), false, Everything},
		{"less itself", Calc("", Volt, difference, unsaid("x"), unsaid("x")), true, Point(0)},
		{"times nothing", Calc("", Volt, func(x []float64) float64 { return x[0] + 0*x[1] }, a, unsaid("x")), true, Interval{1, 2}},
		{"in the larger of two", Calc("", Volt, func(x []float64) float64 { return max(x[0], x[1]) }, a, unsaid("x")), false, Interval{1, math.Inf(1)}},
		{"in the smaller of two", Calc("", Volt, func(x []float64) float64 { return min(x[0], x[1]) }, a, unsaid("x")), false, Interval{math.Inf(-1), 2}},
	} {
		between(t, c.name, c.q.Sound, c.sound.Lo, c.sound.Hi)
		if c.q.Known() != c.known {
			t.Errorf("%s: needs %v", c.name, c.q.Needs)
		}
		if c.known == c.q.Seen.Empty() {
			t.Errorf("%s: seen %v", c.name, c.q.Seen)
		}
		if !c.known && len(c.q.Witness(true)) > 0 {
			t.Errorf("%s: has a witness %v", c.name, c.q.Witness(true))
		}
	}
	both := Calc("", Volt, sum, unsaid("x"), a, unsaid("y"))
	if got := both.Needs; !slices.Equal(got, []Need{{In: "intent", Key: "x"}, {In: "intent", Key: "y"}}) {
		t.Errorf("needs %v", got)
	}
}

// A quotient by something nobody has said may be anything: it has a pole inside the range.
func TestMissingDivisor(t *testing.T) {
	q := Calc("1/x", Ratio, func(x []float64) float64 { return 1 / x[0] }, unsaid("x"))
	if q.Known() || q.Sound.Lo > -1 || q.Sound.Hi < 1 {
		t.Errorf("1/x is %v, needs %v", q.Sound, q.Needs)
	}
}

// The calculation of a missing magnitude must not take both its ends for the same thing.
func TestMissingMagnitude(t *testing.T) {
	q := Calc("|x|", Volt, func(x []float64) float64 { return math.Abs(x[0]) }, unsaid("x"))
	if q.Known() {
		t.Errorf("|x| is %v and needs nothing", q.Sound)
	}
}

// A switch takes the values it has and none between them.
func TestDiscreteCauses(t *testing.T) {
	s := (&Cause{Name: "state of MH", Sound: Interval{0, 1}, Seen: Interval{0, 1}, States: []float64{1, 0},
		Labels: []string{"MH on", "MH off"}, Nom: 1}).Of()
	a, b := ranged("A", Volt, 1, 2), ranged("B", Volt, 10, 12)
	q := Calc("V", Volt, func(x []float64) float64 {
		if x[0] != 0 && x[0] != 1 {
			t.Fatalf("a state of %v", x[0])
		}
		if x[0] == 1 {
			return x[1]
		}
		return x[2]
	}, s, a, b)
	between(t, "V", q.Seen, 1, 12)
	if w := q.Witness(true); !slices.ContainsFunc(w, func(s State) bool { return s.Label() == "MH off" }) {
		t.Errorf("the witness of the high end is %v", w)
	}
	// Two switches with an excluded combination: NaN is no state of the circuit.
	o := (&Cause{Name: "state of ML", Sound: Interval{0, 1}, Seen: Interval{0, 1}, States: []float64{1, 0}, Nom: 0}).Of()
	x := CalcStates("V", Volt, func(x []float64) float64 {
		if x[0] == 1 && x[1] == 1 {
			return math.NaN()
		}
		return 10*x[0] - 3*x[1]
	}, s, o)
	between(t, "V", x.Seen, -3, 10)
}

// What has no state at all proves nothing.
func TestNoStateAtAll(t *testing.T) {
	a := ranged("A", Volt, 1, 2)
	q := CalcStates("V", Volt, func([]float64) float64 { return math.NaN() }, a)
	if q.Sound.In(Interval{-1e3, 1e3}) {
		t.Errorf("a voltage without a state is %v: it lies inside every limit", q.Sound)
	}
	// So does a calculation that fails anywhere.
	f := Calc("V", Volt, func(x []float64) float64 { return math.Sqrt(x[0] - 1.5) }, a)
	if f.Sound != Everything {
		t.Errorf("a failed calculation is %v", f.Sound)
	}
	if m := Calc("margin", Volt, difference, a, q); m.Sound.Lo > -1e3 {
		t.Errorf("a margin against it is %v", m.Sound)
	}
}

// A current whose direction nobody has said: what happens either way is seen, the rest is not.
func TestUnknownDirection(t *testing.T) {
	dir := (&Cause{Name: "direction", Sound: Interval{-1, 1}, Seen: Nothing, States: []float64{1, -1}, Nom: 1,
		Needs: []Need{{In: "intent", Key: "currents.RSH.from"}}}).Of()
	product := func(x []float64) float64 { return x[0] * x[1] }
	for _, c := range []struct{ lo, hi, seenLo, seenHi, soundLo, soundHi float64 }{
		{-20, 20, -20, 20, -20, 20},
		{-5, 20, -5, 5, -20, 20}, // 5 A are reached either way
		{-20, 5, -5, 5, -20, 20},
	} {
		i := Calc("I", Amp, product, dir, ranged("range", Amp, c.lo, c.hi))
		between(t, "seen", i.Seen, c.seenLo, c.seenHi)
		between(t, "sound", i.Sound, c.soundLo, c.soundHi)
		if i.Known() {
			t.Error("the direction is not missing")
		}
	}
	one := Calc("I", Amp, product, dir, ranged("range", Amp, 2, 20))
	if !one.Seen.Empty() && one.Seen.Lo < one.Seen.Hi {
		t.Errorf("a current of one unknown direction is seen in %v", one.Seen)
	}
	between(t, "sound", one.Sound, -20, 20)
	// Where the sign does not matter nothing is missing.
	square := Calc("I", Amp, func(x []float64) float64 { return x[0] * x[0] * x[1] }, dir, ranged("range", Amp, 2, 20))
	between(t, "seen", square.Seen, 2, 20)
	if !square.Known() {
		t.Errorf("needs %v", square.Needs)
	}
}

func TestOrStandsInForWhatIsMissing(t *testing.T) {
	d := unsaid("goal").Or(0.005, "0.5 % used")
	if d.Seen != Point(0.005) || d.Sound != Point(0.005) || d.Grade != Assumed || !d.Known() || !slices.Equal(d.Notes(0), []string{"0.5 % used"}) {
		t.Errorf("%+v, notes %q", d, d.Notes(0))
	}
	if q := ranged("A", Volt, 1, 2).Or(7, "no"); q.Seen != (Interval{1, 2}) || q.Grade != Firm {
		t.Errorf("a default took the place of %v", q.Seen)
	}
}

func TestSpread(t *testing.T) {
	between(t, "spread", ranged("k", Ratio, 0.9, 1.1).Spread().Seen, 0.1, 0.1)
	s := undeclared("k", Ratio, 0.9, 1, 1.1).Spread()
	between(t, "spread seen", s.Seen, 0, 0)
	between(t, "spread counted", Point(s.Sound.Hi), 0.1, 0.1)
	if s.Grade != Assumed {
		t.Errorf("grade %v", s.Grade)
	}
	m := unsaid("k").Spread()
	if m.Known() || m.Sound.Hi < 1e9 || !m.Seen.Empty() {
		t.Errorf("the spread of something missing is %v, seen %v, needs %v", m.Sound, m.Seen, m.Needs)
	}
	if limit := Calc("margin", Ratio, difference, Exactly("limit", Ratio, 0.01), m); limit.Sound.Lo >= 0 {
		t.Errorf("its margin is %v", limit.Sound)
	}
	if z := ranged("z", Volt, -1, 1).Spread(); z.Sound.Hi < 1e9 {
		t.Errorf("the spread around 0 is %v", z.Sound)
	}
}

func TestPeak(t *testing.T) {
	between(t, "peak", ranged("I", Amp, -7, 3).Peak().Seen, 7, 7)
	between(t, "peak", ranged("I", Amp, -7, 9).Peak().Seen, 9, 9)
	p := undeclared("I", Amp, -7, 1, 3).Peak()
	between(t, "peak seen", p.Seen, 1, 1)
	between(t, "peak counted", Point(p.Sound.Hi), 7, 7)
	if m := unsaid("I").Peak(); m.Known() || !math.IsInf(m.Sound.Hi, 1) {
		t.Errorf("the peak of something missing is %v, needs %v", m.Sound, m.Needs)
	}
	if c := ranged("I", Amp, -7, 3).Peak().Causes(); len(c) != 1 || c[0].Name != "I" {
		t.Errorf("a peak rests on %v", c)
	}
}

// The weakest input that matters gives the grade.
func TestGrades(t *testing.T) {
	soft := (&Cause{Name: "typ", Sound: Interval{1, 2}, Seen: Interval{1, 2}, Nom: 1.5, Grade: Soft, Note: "typical"}).Of()
	if q := Calc("", Volt, sum, ranged("A", Volt, 0, 1), soft); q.Grade != Soft {
		t.Errorf("grade %v", q.Grade)
	}
	if q := Calc("", Volt, func(x []float64) float64 { return x[0] + 0*x[1] }, ranged("A", Volt, 0, 1), soft); q.Grade != Firm {
		t.Errorf("grade %v with a typical value that does not matter", q.Grade)
	}
}
