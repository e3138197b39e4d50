package sparse

import "math"

// Solve sets x to the solution of A x = b. Both are as long as the matrix is wide; they may be one and the same slice, and b is
// kept where they are not. It allocates nothing.
//
// The solution is refined up to twice, as long as that lowers the largest residual of a row beside the magnitudes that were
// added up in the row, or else the one over all. This measure of Oettli and Prager (Higham, Accuracy and Stability of Numerical Algorithms,
// 2nd edition, theorem 7.3) keeps rows of small numbers as exact as rows of large ones, which the Residual over all would not.
func (f *LU) Solve(b, x []float64) { f.refine(false, b, x) }

// SolveTransposed sets y to the solution of A^T y = c, in everything else as Solve.
func (f *LU) SolveTransposed(c, y []float64) { f.refine(true, c, y) }

// Residual is how far the last solution is off, |b - A x| / (|A| |x| + |b|) in maximum norms, after refinement; with A^T for A
// after SolveTransposed. It is about 1e-16 where all is well, and NaN where nothing was solved or x is not finite.
func (f *LU) Residual() float64 { return f.residual }

func (f *LU) refine(transposed bool, b, x []float64) {
	n := f.a.n
	b, x = b[:n], x[:n]
	if f.way == nil {
		for i := range x {
			x[i] = math.NaN()
		}
		return
	}
	copy(f.right, b)
	copy(x, b)
	f.raw(transposed, x)
	worst, residual := f.backward(transposed, x)
	for range 2 {
		if !(worst > epsilon) {
			break
		}
		f.raw(transposed, f.rest)
		for i, d := range f.rest {
			f.trial[i] = x[i] + d
		}
		nowWorst, nowResidual := f.backward(transposed, f.trial)
		if !(nowWorst < worst || nowWorst == worst && nowResidual < residual) {
			break
		}
		copy(x, f.trial)
		enough := nowWorst > worst/2 && nowResidual > residual/2
		worst, residual = nowWorst, nowResidual
		if enough {
			break
		}
	}
	f.residual = residual
}

// epsilon is the distance from 1 to the next number.
const epsilon = 0x1p-52

func (f *LU) raw(transposed bool, x []float64) {
	if transposed {
		f.way.solveTransposed(x)
	} else {
		f.way.solve(x)
	}
}

// backward leaves in rest what x leaves of the right side and returns its largest part relative to the magnitudes of its own
// row, and the relative residual over all.
func (f *LU) backward(transposed bool, x []float64) (worst, residual float64) {
	f.a.remain(transposed, f.right, x, f.rest, f.size)
	norm := f.sums.row
	if transposed {
		norm = f.sums.col
	}
	var long, right, left float64
	for i, v := range x {
		r := math.Abs(f.rest[i])
		long, right, left = max(long, math.Abs(v)), max(right, math.Abs(f.right[i])), max(left, r)
		if r > 0 {
			worst = max(worst, r/f.size[i])
		}
	}
	if left == 0 {
		return worst, 0
	}
	return worst, left / (norm*long + right)
}
