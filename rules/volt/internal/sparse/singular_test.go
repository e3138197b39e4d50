package sparse_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/rules/volt/internal/sparse"
)

// named holds that a matrix is singular and that one of the rows and one of the columns is named.
func named(t *testing.T, m *sparse.Matrix, rows, cols []int) {
	t.Helper()
	for name, factor := range ways {
		_, err := factor(m)
		var s *sparse.Singular
		if !errors.As(err, &s) {
			t.Errorf("%s: %v, want singular", name, err)
			continue
		}
		if !slices.Contains(rows, s.Row) || !slices.Contains(cols, s.Column) {
			t.Errorf("%s: %v, want one of the rows %d and one of the columns %d", name, err, rows, cols)
		}
	}
}

func TestZeroRowIsNamed(t *testing.T) {
	m := sparse.New(4)
	for i := range 4 {
		m.Add(i, (i+1)%4, 1)
		m.Add(i, i, 3)
	}
	m.Add(2, 3, -1)
	m.Add(2, 2, -3)
	named(t, m, []int{2}, []int{0, 1, 2, 3})
}

func TestEmptyColumnIsNamed(t *testing.T) {
	m := sparse.New(4)
	for i := range 4 {
		m.Add(i, 3*(i/3), 1)
		m.Add(i, 1, float64(i+1))
	}
	m.Add(2, 3, 2)
	named(t, m, []int{0, 1, 2, 3}, []int{2})
	named(t, sparse.New(1), []int{0}, []int{0})
}

// Two sources between the same nodes: their currents cannot be told apart, and their rows say the same.
func TestParallelSourcesAreNamed(t *testing.T) {
	c := newCircuit(3, 2)
	for i := range 3 {
		c.conductance(i, -1, 1)
	}
	c.voltage(1, 2, 5)
	c.voltage(1, 2, 6)
	named(t, c.m, []int{3, 4}, []int{3, 4})
}

// A grid that hangs on nothing: no node is left to say where zero is. Its conductances are not round, so that what is left in
// the end is rounding errors. Another grid beside it is sound, and none of its nodes is named.
func TestFloatingGridIsNamed(t *testing.T) {
	for _, side := range []int{2, 3, 7, 12, 60} {
		for seed := range uint64(5) {
			r := rand.New(rand.NewPCG(seed, 7))
			c := newCircuit(2*side*side, 0)
			var floating []int
			for _, at := range []int{0, side * side} {
				for i := range side * side {
					if i%side+1 < side {
						c.conductance(at+i, at+i+1, math.Pow(10, 4*r.Float64()))
					}
					if i+side < side*side {
						c.conductance(at+i, at+i+side, math.Pow(10, 4*r.Float64()))
					}
				}
			}
			c.conductance(0, -1, 10)
			for i := range side * side {
				floating = append(floating, side*side+i)
			}
			if side > 12 {
				_, err := sparse.Factor(c.m)
				var s *sparse.Singular
				if !errors.As(err, &s) || !slices.Contains(floating, s.Row) || !slices.Contains(floating, s.Column) {
					t.Errorf("side %d: %v, want one of those that float", side, err)
				}
				continue
			}
			named(t, c.m, floating, floating)
		}
	}
}

// A matrix with one row a sum of two others lacks one pivot. Without the row and the column that are named, it has an inverse:
// its least singular value is not much below what was the least but one. Rounding may blur a second pivot, hardly ever.
func TestNamedAreLeftOver(t *testing.T) {
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			var tried, through, others int
			for seed := range uint64(400) {
				r := rand.New(rand.NewPCG(seed, 11))
				a := newRandom(r, 3+r.IntN(40), 0)
				p := r.Perm(a.n)
				sum, by := p[0], map[int]float64{p[1]: r.NormFloat64(), p[2]: r.NormFloat64()}
				a.entries = slices.DeleteFunc(a.entries, func(e entry) bool { return e.row == sum })
				for _, e := range slices.Clone(a.entries) {
					if f, is := by[e.row]; is {
						a.entries = append(a.entries, entry{sum, e.col, f * e.v})
					}
				}
				var svd mat.SVD
				svd.Factorize(a.dense(), mat.SVDNone)
				if svd.Values(nil)[a.n-2] < 1e-2 {
					continue // more than one pivot is missing, or nearly so
				}
				tried++
				f, err := factor(a.matrix())
				if err == nil {
					through++
					if c := f.Condition(); c < 1e13 {
						t.Errorf("seed %d is neither singular nor nearly so: condition %g", seed, c)
					}
					continue
				}
				var s *sparse.Singular
				if !errors.As(err, &s) {
					t.Fatal(err)
				}
				rest := mat.NewDense(a.n-1, a.n-1, nil)
				for _, e := range a.entries {
					i, j := e.row, e.col
					if i == s.Row || j == s.Column {
						continue
					}
					if i > s.Row {
						i--
					}
					if j > s.Column {
						j--
					}
					rest.Set(i, j, rest.At(i, j)+e.v)
				}
				svd.Factorize(rest, mat.SVDNone)
				if slices.Min(svd.Values(nil)) < 1e-8 {
					others++
				}
			}
			t.Logf("of %d, %d got through and %d named others", tried, through, others)
			if tried < 100 || through+others > tried/50 {
				t.Errorf("of %d, %d got through and %d named others", tried, through, others)
			}
		})
	}
}

// Small pivots that come of no subtraction are no reason to refuse: a gain of 1 S into 1e-18 S, in three rows that leave the
// last column nothing but that.
func TestSmallIsNotSingular(t *testing.T) {
	for name, factor := range ways {
		m := sparse.New(3)
		m.Add(0, 0, 1)
		m.Add(0, 2, 1)
		m.Add(1, 1, 1)
		m.Add(2, 1, 1)
		m.Add(2, 2, 1e-18)
		f, err := factor(m)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		// x1 = 2, x2 = (3-2)/1e-18, x0 = 1 - x2.
		x := []float64{1, 2, 3}
		f.Solve(x, x)
		near(t, name, x[2], 1e18, 1e-15)
	}
}

// Whatever the numbers, there is an error or a solution, and no panic.
func TestAnyNumbers(t *testing.T) {
	odd := []float64{0, 1, -1, 2, math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, -math.MaxFloat64, math.SmallestNonzeroFloat64, 1e-300, 1e300}
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
				from := odd
				if rapid.Bool().Draw(t, "finite") {
					from = slices.DeleteFunc(slices.Clone(odd), func(v float64) bool { return v-v != 0 })
				}
				n := 1 + r.IntN(12)
				m := sparse.New(n)
				sums := mat.NewDense(n, n, nil)
				for range r.IntN(4 * n) {
					i, j, v := r.IntN(n), r.IntN(n), from[r.IntN(len(from))]
					m.Add(i, j, v)
					sums.Set(i, j, sums.At(i, j)+v)
				}
				f, err := factor(m)
				for _, v := range sums.RawMatrix().Data {
					if v-v != 0 && err == nil {
						t.Fatalf("an entry of %v is no error", v)
					}
				}
				if err != nil {
					return
				}
				b, x := make([]float64, n), make([]float64, n)
				for i := range b {
					b[i] = odd[r.IntN(len(odd))]
				}
				f.Solve(b, x)
				f.SolveTransposed(b, x)
				f.Condition()
				f.Residual()
				if s := f.Determinant(); s != 1 && s != -1 {
					t.Fatalf("the determinant has sign %d", s)
				}
			})
		})
	}
}
