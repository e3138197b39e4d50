package sparse_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/rules/volt/internal/sparse"
)

// ways are the two ways to factor, which Factor chooses from.
var ways = map[string]func(*sparse.Matrix) (*sparse.LU, error){
	"densely":  sparse.FactorDensely,
	"sparsely": sparse.FactorSparsely,
}

// An entry is a place and a value; several at one place add up.
type entry struct {
	row, col int
	v        float64
}

// A random is a matrix as a list of entries.
type random struct {
	n       int
	entries []entry
}

// drawRandom draws a random of at most so many rows, scaled over decades.
func drawRandom(t *rapid.T, most int, decades float64) random {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
	return newRandom(r, 1+r.IntN(rapid.SampledFrom([]int{3, 12, most}).Draw(t, "at most")), decades)
}

// newRandom is an unsymmetric matrix: one entry in each row and column, so that it may have an inverse, most of them off the
// diagonal, and up to six more a column anywhere, some of them at one place. Rows and columns are scaled by powers of ten between
// -decades and decades.
func newRandom(r *rand.Rand, n int, decades float64) random {
	out := random{n: n}
	rows, cols := make([]float64, n), make([]float64, n)
	for i := range n {
		rows[i], cols[i] = math.Pow(10, decades*(2*r.Float64()-1)), math.Pow(10, decades*(2*r.Float64()-1))
	}
	add := func(i, j int, v float64) { out.entries = append(out.entries, entry{i, j, v * rows[i] * cols[j]}) }
	for i, j := range r.Perm(n) {
		add(i, j, 1+r.Float64())
	}
	for range r.IntN(6*n + 1) {
		i, j := r.IntN(n), r.IntN(n)
		add(i, j, r.NormFloat64())
		if r.IntN(8) == 0 {
			add(i, j, r.NormFloat64())
		}
	}
	return out
}

func (a random) matrix() *sparse.Matrix {
	m := sparse.New(a.n)
	for _, e := range a.entries {
		m.Add(e.row, e.col, e.v)
	}
	return m
}

func (a random) dense() *mat.Dense {
	d := mat.NewDense(a.n, a.n, nil)
	for _, e := range a.entries {
		d.Set(e.row, e.col, d.At(e.row, e.col)+e.v)
	}
	return d
}

func drawRight(t *rapid.T, n int) []float64 {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed of the right side"), 0))
	b := make([]float64, n)
	for i := range b {
		b[i] = r.NormFloat64()
	}
	return b
}

// off is the largest difference of two vectors beside the largest entry of the second.
func off(x, want []float64) float64 {
	diff, size := 0.0, 0.0
	for i, v := range want {
		diff, size = max(diff, math.Abs(x[i]-v)), max(size, math.Abs(v))
	}
	if diff == 0 {
		return 0
	}
	return diff / size
}

// Both ways agree with the dense LU of gonum, as far as the condition number lets two methods agree.
func TestSolvesAsDense(t *testing.T) {
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				a := drawRandom(t, 300, 0)
				var lu mat.LU
				lu.Factorize(a.dense())
				if lu.Cond() > 1e11 {
					t.Skip("too near singular to compare")
				}
				f, err := factor(a.matrix())
				if err != nil {
					t.Fatal(err)
				}
				b, x := drawRight(t, a.n), make([]float64, a.n)
				for _, transposed := range []bool{false, true} {
					want := mat.NewVecDense(a.n, nil)
					if err := lu.SolveVecTo(want, transposed, mat.NewVecDense(a.n, b)); err != nil {
						t.Fatal(err)
					}
					if transposed {
						f.SolveTransposed(b, x)
					} else {
						f.Solve(b, x)
					}
					if d := off(x, want.RawVector().Data); d > 1e-14*lu.Cond() {
						t.Fatalf("transposed %v: the solution is off by %g, condition %g", transposed, d, lu.Cond())
					}
					if f.Residual() > 1e-15 {
						t.Fatalf("transposed %v: residual %g", transposed, f.Residual())
					}
				}
				_, sign := lu.LogDet()
				if got := f.Determinant(); float64(got) != sign {
					t.Fatalf("the determinant has sign %d, want %v", got, sign)
				}
			})
		})
	}
}

// Rows and columns scaled over 24 decades each: every row by itself is satisfied to nine digits, however small its numbers.
func TestSolvesBadlyScaled(t *testing.T) {
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				a := drawRandom(t, 100, 12)
				f, err := factor(a.matrix())
				if err != nil {
					t.Skip("singular") // the unscaled matrix may be so by chance
				}
				want, x := drawRight(t, a.n), make([]float64, a.n)
				b := make([]float64, a.n)
				a.matrix().Multiply(want, b)
				f.Solve(b, x)
				// Each row by itself: what is left beside the magnitudes that were added up in it.
				left, size := append([]float64(nil), b...), make([]float64, a.n)
				for i, v := range b {
					size[i] = math.Abs(v)
				}
				for _, e := range a.entries {
					left[e.row] -= e.v * x[e.col]
					size[e.row] += math.Abs(e.v * x[e.col])
				}
				for i := range left {
					if math.Abs(left[i]) > 1e-9*size[i] {
						t.Fatalf("row %d is off by %g of %g", i, left[i], size[i])
					}
				}
			})
		})
	}
}

// A transposed solution, multiplied column by column, gives the right side.
func TestTransposedMultipliesBack(t *testing.T) {
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				a := drawRandom(t, 80, 3)
				f, err := factor(a.matrix())
				if err != nil {
					t.Skip("singular")
				}
				c, y := drawRight(t, a.n), make([]float64, a.n)
				f.SolveTransposed(c, y)
				back, size := make([]float64, a.n), make([]float64, a.n)
				for _, e := range a.entries {
					back[e.col] += e.v * y[e.row]
					size[e.col] += math.Abs(e.v * y[e.row])
				}
				for j, v := range back {
					if math.Abs(v-c[j]) > 1e-13*(size[j]+math.Abs(c[j])) {
						t.Fatalf("column %d gives %g, want %g", j, v, c[j])
					}
				}
			})
		})
	}
}

// Rows and columns in another order give the same unknowns in another order, and a determinant with the sign of the two
// orders.
func TestOrderDoesNotMatter(t *testing.T) {
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				a := drawRandom(t, 120, 2)
				f, err := factor(a.matrix())
				if err != nil || f.Condition() > 1e10 {
					t.Skip("singular, or nearly so")
				}
				r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "orders"), 0))
				rows, cols := r.Perm(a.n), r.Perm(a.n)
				other := sparse.New(a.n)
				for _, e := range a.entries {
					other.Add(rows[e.row], cols[e.col], e.v)
				}
				g, err := factor(other)
				if err != nil {
					t.Fatal(err)
				}
				b, moved := drawRight(t, a.n), make([]float64, a.n)
				for i, v := range b {
					moved[rows[i]] = v
				}
				x, y, back := make([]float64, a.n), make([]float64, a.n), make([]float64, a.n)
				f.Solve(b, x)
				g.Solve(moved, y)
				for j := range back {
					back[j] = y[cols[j]]
				}
				if d := off(back, x); d > 1e-13*f.Condition() {
					t.Fatalf("the solution is off by %g, condition %g", d, f.Condition())
				}
				if got, want := g.Determinant(), f.Determinant()*inversions(rows)*inversions(cols); got != want {
					t.Fatalf("the determinant has sign %d, want %d", got, want)
				}
			})
		})
	}
}

// inversions is 1 where an even number of pairs stand in the wrong order, else -1.
func inversions(p []int) int {
	sign := 1
	for i := range p {
		for j := range i {
			if p[j] > p[i] {
				sign = -sign
			}
		}
	}
	return sign
}
func TestZ(t *testing.T) {
	for _, seed := range []uint64{1} {
		r := rand.New(rand.NewPCG(seed, 0))
		a := newRandom(r, 1+r.IntN(100), 12)
		f, err := sparse.FactorSparsely(a.matrix())
		t.Log(a.n, err)
		if err == nil {
			t.Log(f.Condition())
		}
		d, err := sparse.FactorDensely(a.matrix())
		if err == nil {
			t.Log(d.Condition())
		}
		r = rand.New(rand.NewPCG(seed, 0))
		a = newRandom(r, 1+r.IntN(100), 0)
		t.Log(mat.Cond(a.dense(), 2))
	}
}
