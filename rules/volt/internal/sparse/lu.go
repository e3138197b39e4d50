package sparse

import (
	"errors"
	"math"
)

// LU is a matrix taken apart into triangles, with what it takes to solve with them. It keeps its own copy of the matrix and
// room to work in, so that two goroutines must not use one LU at a time.
type LU struct {
	a    columns
	way  factors
	sums struct{ row, col float64 } // norms of A: the largest sum of magnitudes in a row, in a column

	right, rest, trial, size []float64
	residual                 float64
	condition                float64 // 0 as long as nobody has asked
}

// factors are P R A Q = L U in one way or another: R scales rows, P and Q put rows and columns in order.
type factors interface {
	// factor finds pivots and factors; again, with the pivots that it had as long as they are sound. Its error is *Singular,
	// for a column of which elimination leaves nothing.
	factor(a *columns, again bool) error
	// doubtful lists pivots that may be nothing but rounding errors. It returns errOverflow when not all numbers are finite.
	doubtful() ([]doubt, error)
	// null sets w and v to the combinations of rows and columns that leave only pivot k of A: w^T A v is the pivot.
	null(k int, w, v []float64)
	// without factors as if nothing were left in the column of pivot k, to find which row is left over then.
	without(a *columns, k int) error
	// solve puts the solution where the right side was, solveTransposed that of the transposed matrix.
	solve(x []float64)
	solveTransposed(x []float64)
	sign() int
}

var errOverflow = errors.New("the matrix cannot be factored: its numbers get too large")

// Factor takes a matrix apart by Gaussian elimination, with rows scaled and pivots chosen by their size; it keeps nothing of
// m. The error is a *Singular, or says which entry is not finite.
func Factor(m *Matrix) (*LU, error) {
	f := &LU{}
	if err := f.Refactor(m); err != nil {
		return nil, err
	}
	return f, nil
}

// Refactor takes another matrix apart in place of the one before. Where the pattern is the same, the order of the columns
// is kept, and so are the pivots as long as none becomes small beside what it divides; else it is as Factor. The errors are those
// of Factor; after one, solutions are NaN until a Refactor succeeds.
func (f *LU) Refactor(m *Matrix) error {
	same, err := f.a.load(m)
	if err != nil {
		f.way, f.residual = nil, math.NaN()
		return err
	}
	if same && f.way != nil {
		return f.factor(true)
	}
	if f.a.full() {
		f.way = &dense{}
	} else {
		f.way = &panels{}
	}
	return f.factor(false)
}

// full tells whether a matrix is factored densely. That is faster below about 64 unknowns for matrices like those of
// circuits, and up to 300 for those with many entries (measured on grids, on circuits with sources, on random matrices).
func (a *columns) full() bool {
	return a.n <= 64 || a.n < 300 && 8*len(a.row) >= a.n*a.n
}

// factor factors what is loaded, with the pivots there are if again.
func (f *LU) factor(again bool) error {
	f.residual, f.condition = math.NaN(), 0
	if n := f.a.n; len(f.right) != n {
		f.right, f.rest, f.trial, f.size = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	}
	err := f.way.factor(&f.a, again)
	if err == nil {
		err = f.doubt()
	}
	if err != nil && again {
		return f.factor(false)
	}
	if err != nil {
		f.way = nil
		return err
	}
	f.sums.row, f.sums.col = 0, 0
	for i := range f.a.n {
		f.sums.row, f.sums.col = max(f.sums.row, f.a.rowSum[i]), max(f.sums.col, f.a.colSum[i])
	}
	return nil
}

// Determinant is the sign of the determinant of A, +1 or -1; +1 for a matrix without rows. Its size is not to be had: it would
// overflow.
func (f *LU) Determinant() (sign int) {
	if f.way == nil {
		return 0
	}
	return f.way.sign()
}

// parity is -1 for a permutation of an odd number of exchanges, else 1.
func parity(p []int32) int {
	sign := 1
	seen := make([]bool, len(p))
	for i := range p {
		for k := p[i]; !seen[i] && k != int32(i); k = p[k] {
			seen[k] = true
			sign = -sign
		}
		seen[i] = true
	}
	return sign
}
