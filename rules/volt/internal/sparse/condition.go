package sparse

import "math"

// Condition estimates the condition number of A, |A| |A^-1| in the 1-norm: relative changes of A or b come out in x up to so
// many times larger. It is never too large, and hardly ever more than three times too small: Hager's method as given by Higham
// (ACM Trans. Math. Softw. 14, 1988, algorithm 4.1). The first call after factoring takes about ten solves.
func (f *LU) Condition() float64 {
	if f.way == nil {
		return math.Inf(1)
	}
	if f.condition == 0 && f.a.n > 0 {
		f.condition = f.sums.col * f.inverseNorm()
	}
	return f.condition
}

// inverseNorm climbs from column to column of the inverse towards the one of the largest sum.
func (f *LU) inverseNorm() float64 {
	n := f.a.n
	x, signs := f.trial, f.size
	for i := range x {
		x[i] = 1 / float64(n)
	}
	f.way.solve(x)
	norm := sum(x)
	if n == 1 {
		return norm
	}
	clear(signs)
	last := -1
	for range 5 {
		same := true
		for i, v := range x {
			s := math.Copysign(1, v)
			same = same && s == signs[i]
			signs[i], x[i] = s, s
		}
		if same {
			break
		}
		f.way.solveTransposed(x)
		steepest := 0
		for i, v := range x {
			if math.Abs(v) > math.Abs(x[steepest]) {
				steepest = i
			}
		}
		if steepest == last {
			break
		}
		last = steepest
		clear(x)
		x[steepest] = 1
		f.way.solve(x)
		if now := sum(x); now > norm {
			norm = now
		} else {
			break
		}
	}
	// A vector that few inverses treat kindly, against those that led the climb astray.
	for i := range x {
		x[i] = 1 + float64(i)/float64(n-1)
		if i%2 == 1 {
			x[i] = -x[i]
		}
	}
	f.way.solve(x)
	return max(norm, 2*sum(x)/(3*float64(n)))
}

func sum(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += math.Abs(v)
	}
	return s
}
