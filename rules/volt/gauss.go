package volt

import "math"

// gauss solves m·x = x in place, choosing pivots by their size relative to their row; false when m is singular.
func gauss(m [][]float64, x, scale []float64) bool {
	n := len(x)
	for r := range n {
		scale[r] = 0
		for _, v := range m[r] {
			scale[r] = max(scale[r], math.Abs(v))
		}
	}
	for c := range n {
		best, pivot := 0.0, -1
		for r := c; r < n; r++ {
			if v := math.Abs(m[r][c]) / scale[r]; v > best {
				best, pivot = v, r
			}
		}
		if pivot < 0 {
			return false
		}
		m[c], m[pivot] = m[pivot], m[c]
		x[c], x[pivot] = x[pivot], x[c]
		scale[c], scale[pivot] = scale[pivot], scale[c]
		row := m[c]
		for r := c + 1; r < n; r++ {
			if m[r][c] == 0 {
				continue
			}
			f := m[r][c] / row[c]
			to := m[r]
			for k := c + 1; k < n; k++ {
				to[k] -= f * row[k]
			}
			x[r] -= f * x[c]
		}
	}
	for c := n - 1; c >= 0; c-- {
		for k := c + 1; k < n; k++ {
			x[c] -= m[c][k] * x[k]
		}
		x[c] /= m[c][c]
	}
	return true
}
