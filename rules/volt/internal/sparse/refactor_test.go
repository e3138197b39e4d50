package sparse_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/rules/volt/internal/sparse"
)

// Other values under one pattern give the same factored again as factored anew, also where they need other pivots.
func TestRefactorsAsFactors(t *testing.T) {
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				a := drawRandom(t, 120, 1)
				f, err := factor(a.matrix())
				if err != nil {
					t.Skip("singular")
				}
				r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "values"), 0))
				decades := rapid.SampledFrom([]float64{0, 0.5, 12}).Draw(t, "decades")
				for k := range a.entries {
					a.entries[k].v *= math.Pow(10, decades*(2*r.Float64()-1))
				}
				if rapid.Bool().Draw(t, "gathered in another order") {
					r.Shuffle(len(a.entries), func(i, j int) { a.entries[i], a.entries[j] = a.entries[j], a.entries[i] })
				}
				g, err := factor(a.matrix())
				again := f.Refactor(a.matrix())
				if err != nil || again != nil {
					var s *sparse.Singular
					if errors.As(err, &s) != errors.As(again, &s) {
						t.Fatalf("anew: %v; again: %v", err, again)
					}
					return
				}
				if f.Determinant() != g.Determinant() {
					t.Fatalf("the determinant has sign %d anew and %d again", g.Determinant(), f.Determinant())
				}
				if g.Condition() > 1e11 {
					return
				}
				b := drawRight(t, a.n)
				x, y := make([]float64, a.n), make([]float64, a.n)
				for _, transposed := range []bool{false, true} {
					if transposed {
						f.SolveTransposed(b, x)
						g.SolveTransposed(b, y)
					} else {
						f.Solve(b, x)
						g.Solve(b, y)
					}
					if d := off(x, y); d > 1e-14*g.Condition() {
						t.Fatalf("transposed %v: the solution is off by %g, condition %g", transposed, d, g.Condition())
					}
				}
			})
		})
	}
}

// Another pattern, or another number of rows, is factored anew by the same LU.
func TestRefactorsAnotherPattern(t *testing.T) {
	f, err := sparse.Factor(grid(12))
	if err != nil {
		t.Fatal(err)
	}
	for _, side := range []int{3, 20, 12, 1} {
		if err := f.Refactor(grid(side)); err != nil {
			t.Fatal(err)
		}
		x := same(side*side, 1e-3)
		f.Solve(x, x)
		if d := off(x, same(side*side, 1)); d > 1e-10 {
			t.Errorf("side %d is off by %g", side, d)
		}
	}
}

// After an error nothing is solved, and the next matrix is.
func TestRefactorsAfterAnError(t *testing.T) {
	for name, factor := range ways {
		m := sparse.New(2)
		gather := func(v float64) {
			m.Reset()
			m.Add(0, 0, 2)
			m.Add(1, 1, v)
		}
		gather(4)
		f, err := factor(m)
		if err != nil {
			t.Fatal(err)
		}
		for _, bad := range []float64{0, math.NaN(), math.Inf(-1)} {
			gather(bad)
			var s *sparse.Singular
			if err := f.Refactor(m); err == nil || errors.As(err, &s) != (bad == 0) {
				t.Errorf("%s: %v with %g on the diagonal", name, err, bad)
			}
			x := []float64{1, 1}
			f.Solve(x, x)
			if !math.IsNaN(x[0]) || !math.IsNaN(x[1]) || !math.IsNaN(f.Residual()) || f.Determinant() != 0 || !math.IsInf(f.Condition(), 1) {
				t.Errorf("%s: solved to %v after an error", name, x)
			}
			gather(-8)
			if err := f.Refactor(m); err != nil {
				t.Fatal(err)
			}
			x = []float64{1, 1}
			f.Solve(x, x)
			if x[0] != 0.5 || x[1] != -0.125 || f.Residual() != 0 || f.Determinant() != -1 {
				t.Errorf("%s: solved to %v", name, x)
			}
		}
	}
}

// Solving, and factoring again with the same pivots, take no memory.
func TestAllocatesNothing(t *testing.T) {
	for name, factor := range ways {
		m := grid(15)
		f, err := factor(m)
		if err != nil {
			t.Fatal(err)
		}
		b, x := same(m.Order(), 1), make([]float64, m.Order())
		if got := testing.AllocsPerRun(10, func() {
			f.Solve(b, x)
			f.SolveTransposed(b, x)
		}); got != 0 {
			t.Errorf("%s: a solve allocates %v times", name, got)
		}
		if got := testing.AllocsPerRun(10, func() { _ = f.Refactor(m) }); got != 0 {
			t.Errorf("%s: a refactoring allocates %v times", name, got)
		}
	}
}

// Factor chooses the dense way for what is small or full.
func TestWayBySize(t *testing.T) {
	full := sparse.New(200)
	for i := range 200 {
		for j := range 200 {
			full.Add(i, j, 1/float64(1+i+2*j*j))
		}
		full.Add(i, i, 3)
	}
	for _, c := range []struct {
		m      *sparse.Matrix
		sparse bool
	}{{grid(8), false}, {grid(9), true}, {full, false}, {grid(18), true}} {
		f, err := sparse.Factor(c.m)
		if err != nil {
			t.Fatal(err)
		}
		if f.Sparsely() != c.sparse {
			t.Errorf("%d rows: sparsely %v", c.m.Order(), f.Sparsely())
		}
	}
}

func TestNoRows(t *testing.T) {
	f, err := sparse.Factor(sparse.New(0))
	if err != nil {
		t.Fatal(err)
	}
	f.Solve(nil, nil)
	f.SolveTransposed(nil, nil)
	if f.Determinant() != 1 || f.Residual() != 0 {
		t.Errorf("sign %d, residual %g", f.Determinant(), f.Residual())
	}
	f.Condition()
}
