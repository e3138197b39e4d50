package sparse_test

import (
	"math"
	"math/big"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/rules/volt/internal/sparse"
)

// Hilbert matrices, a_ij = 1/(i+j-1), have inverses of whole numbers:
//
//	(-1)^(i+j) (i+j-1) C(n+i-1, n-j) C(n+j-1, n-i) C(i+j-2, i-1)^2
//
// (Higham, Accuracy and Stability of Numerical Algorithms, 2nd edition, section 28.1). Its condition numbers in the 1-norm are 748
// for n = 3 and 28375 for n = 4, by hand: for n = 3 columns sum to 11/6 at most, those of the inverse to 408.
func TestConditionOfHilbert(t *testing.T) {
	for n := 1; n <= 9; n++ {
		m := sparse.New(n)
		norm, inverse := 0.0, 0.0
		for j := int64(1); j <= int64(n); j++ {
			sum, of := 0.0, big.NewInt(0)
			for i := int64(1); i <= int64(n); i++ {
				m.Add(int(i-1), int(j-1), 1/float64(i+j-1))
				sum += 1 / float64(i+j-1)
				v := big.NewInt(i + j - 1)
				for _, c := range [][2]int64{{int64(n) + i - 1, int64(n) - j}, {int64(n) + j - 1, int64(n) - i}, {i + j - 2, i - 1}, {i + j - 2, i - 1}} {
					v.Mul(v, new(big.Int).Binomial(c[0], c[1]))
				}
				of.Add(of, v)
			}
			column, _ := new(big.Float).SetInt(of).Float64()
			norm, inverse = max(norm, sum), max(inverse, column)
		}
		want := norm * inverse
		if n == 3 {
			near(t, "the formula's condition of n = 3", want, 748, 1e-14)
		}
		if n == 4 {
			near(t, "the formula's condition of n = 4", want, 28375, 1e-14)
		}
		for name, factor := range ways {
			f, err := factor(m)
			if err != nil {
				t.Fatal(err)
			}
			// The inverse itself is known only as far as the condition lets it be.
			within := 1e-14 + 1e-16*want
			if got := f.Condition(); got > want*(1+within) || got < want*(1-within)/3 {
				t.Errorf("%s, n = %d: the condition is %.10g, want %.10g", name, n, got, want)
			}
		}
	}
}

// The estimate is never above the condition number from the inverse, and within a tenth of it.
func TestConditionOfRandom(t *testing.T) {
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				a := drawRandom(t, 60, rapid.SampledFrom([]float64{0, 2}).Draw(t, "decades"))
				f, err := factor(a.matrix())
				if err != nil {
					t.Skip("singular")
				}
				var inverse mat.Dense
				d := a.dense()
				if err := inverse.Inverse(d); err != nil {
					t.Skip("too near singular to invert")
				}
				want := mat.Norm(d, 1) * mat.Norm(&inverse, 1)
				if want > 1e10 {
					t.Skip("too near singular to compare")
				}
				if got := f.Condition(); got > want*(1+1e-5) || got < want/10 {
					t.Fatalf("the condition is %g, want %g", got, want)
				}
				if again := f.Condition(); again != f.Condition() || math.IsNaN(again) {
					t.Fatalf("the condition is %g when asked again", again)
				}
			})
		})
	}
}

// A chain of n equal resistors from a fixed node has the inverse min(i, j), of which columns sum to n (n+1)/2 at most, and
// itself columns that sum to 4: 2 n (n+1).
func TestConditionOfChain(t *testing.T) {
	for _, n := range []int{10, 1000, 20_000} {
		m := sparse.New(n)
		for i := range n {
			m.Add(i, i, 1)
			if i > 0 {
				m.Add(i-1, i-1, 1)
				m.Add(i, i-1, -1)
				m.Add(i-1, i, -1)
			}
		}
		f, err := sparse.Factor(m)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "the condition", f.Condition(), 2*float64(n)*float64(n+1), 1e-6)
	}
}
