package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// A grid of 60 by 60 with 1 %: random corners and states inside stay in the bound. The node equations are solved by
// successive over-relaxation here (D. M. Young, 1950).
func TestStatesOfALargeGrid(t *testing.T) {
	const side = 60
	d := load(t, "* shuntwright: tolerances.resistors = \"1 %\"\n* shuntwright: elements.V1.tolerance = \"1 %\"\n"+grid(side, 0), "")
	rnd := rand.New(rand.NewPCG(51, 52))
	q := voltage(t, d, fmt.Sprintf("n%d_%d", side/2, side/3))
	if q.Seen.Lo >= q.Nom || q.Seen.Hi <= q.Nom || !q.Seen.In(q.Sound) {
		t.Fatalf("nominal %v, seen %v, sound %v", q.Nom, q.Seen, q.Sound)
	}
	for round := range 2 {
		place := func() float64 { return 2*rnd.Float64() - 1 }
		if round == 0 {
			place = func() float64 { return float64(2*rnd.IntN(2) - 1) }
		}
		g := func() float64 { return 1 / (1 + 0.01*place()) }
		var right, down, v [side][side]float64
		for r := range side {
			for c := range side {
				right[r][c], down[r][c], v[r][c] = g(), g(), 5
			}
		}
		v[0][0], v[side-1][side-1] = 10*(1+0.01*place()), 0
		for range 700 {
			for r := range side {
				for c := range side {
					if r+c == 0 || r+c == 2*side-2 {
						continue
					}
					sum, all := 0.0, 0.0
					take := func(g, v float64) { sum, all = sum+g*v, all+g }
					if c > 0 {
						take(right[r][c-1], v[r][c-1])
					}
					if c+1 < side {
						take(right[r][c], v[r][c+1])
					}
					if r > 0 {
						take(down[r-1][c], v[r-1][c])
					}
					if r+1 < side {
						take(down[r][c], v[r+1][c])
					}
					v[r][c] += 1.93 * (sum/all - v[r][c])
				}
			}
		}
		if x := v[side/2][side/3]; x < q.Sound.Lo || x > q.Sound.Hi {
			t.Errorf("%v is possible, outside %v", x, q.Sound)
		}
	}
	t.Logf("seen %v, sound %v, loose %v", q.Seen, q.Sound, q.Loose)
}

// A ladder of 200 sections with 1 %, fed at one end: the series resistors high and those to ground low make the far end
// lowest, since both take from every node behind them.
func TestLongLadder(t *testing.T) {
	const sections = 200
	var b strings.Builder
	b.WriteString("* shuntwright: tolerances.resistors = \"1 %\"\n* shuntwright: rails.n0 = \"10 V exact\"\n")
	for k := range sections {
		fmt.Fprintf(&b, "RS%d n%d n%d 1\nRP%d n%d 0 2k\n", k, k, k+1, k, k+1)
	}
	d := load(t, b.String(), "")
	far := func(series, parallel func() float64) float64 {
		a, z := mat.NewDense(sections, sections, nil), mat.NewVecDense(sections, nil)
		for k := range sections {
			g := 1 / series()
			a.Set(k, k, a.At(k, k)+g+1/(2000*parallel()))
			if k == 0 {
				z.SetVec(0, 10*g)
				continue
			}
			a.Set(k-1, k-1, a.At(k-1, k-1)+g)
			a.Set(k-1, k, a.At(k-1, k)-g)
			a.Set(k, k-1, a.At(k, k-1)-g)
		}
		var x mat.VecDense
		if err := x.SolveVec(a, z); err != nil {
			t.Fatal(err)
		}
		return x.AtVec(sections - 1)
	}
	always := func(v float64) func() float64 { return func() float64 { return v } }
	q := voltage(t, d, fmt.Sprint("n", sections))
	lo, hi := far(always(1.01), always(0.99)), far(always(0.99), always(1.01))
	meets(t, "the far end is seen in", q.Seen, lo, hi, 1e-9*10)
	if q.Sound.Lo > lo+1e-8 || q.Sound.Hi < hi-1e-8 || math.IsInf(q.Sound.Width(), 0) {
		t.Errorf("sound %v leaves out %v .. %v", q.Sound, lo, hi)
	}
	rnd := rand.New(rand.NewPCG(53, 54))
	place := func() float64 { return 1 + 0.01*(2*rnd.Float64()-1) }
	for range 5 {
		if x := far(place, place); x < q.Sound.Lo || x > q.Sound.Hi {
			t.Errorf("%v outside %v", x, q.Sound)
		}
	}
	t.Logf("seen %v, sound %v, loose %v", q.Seen, q.Sound, q.Loose)
}
