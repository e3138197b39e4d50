package sparse

import "math"

// dense holds L and U row by row in one square, in the order of the pivots: L left of the diagonal, without its ones.
// Columns keep their order.
type dense struct {
	n      int
	square []float64
	scale  []float64 // of each row of the matrix
	row    []int32   // the row of the matrix that each row of the square is
	work   []float64
}

func (d *dense) factor(a *columns, _ bool) error { return d.without(a, none) }

func (d *dense) without(a *columns, left int) error {
	n := a.n
	if d.square == nil {
		d.n = n
		d.square = make([]float64, n*n)
		d.scale, d.work = make([]float64, n), make([]float64, n)
		d.row = make([]int32, n)
	}
	a.scale(d.scale)
	clear(d.square)
	for c := range n {
		d.row[c] = int32(c)
		for p := a.start[c]; p < a.start[c+1]; p++ {
			r := int(a.row[p])
			d.square[r*n+c] = a.value[p] * d.scale[r]
		}
	}
	done, without := 0, none // rows that have a pivot; the first column that has none
	for c := range n {
		pivot, best := none, 0.0
		for r := done; r < n && c != left; r++ {
			if v := math.Abs(d.square[r*n+c]); v > best {
				best, pivot = v, r
			}
		}
		if pivot == none {
			if without == none {
				without = c
			}
			continue // only to find which rows are left over
		}
		d.eliminate(c, done, pivot)
		done++
	}
	if without != none {
		return singular(without, d.row[done:])
	}
	return nil
}

// eliminate takes the pivot row, exchanged with the row done, from those below it so that column c becomes zero there.
func (d *dense) eliminate(c, done, pivot int) {
	n := d.n
	top := d.square[done*n : done*n+n]
	if pivot != done {
		for k, v := range d.square[pivot*n : pivot*n+n] {
			d.square[pivot*n+k], top[k] = top[k], v
		}
		d.row[done], d.row[pivot] = d.row[pivot], d.row[done]
	}
	over := top[c]
	rest := top[c+1:]
	for r := done + 1; r < n; r++ {
		row := d.square[r*n : r*n+n]
		if row[c] == 0 {
			continue
		}
		l := row[c] / over
		row[c] = l
		to := row[c+1:]
		to = to[:len(rest)]
		for k, v := range rest {
			to[k] -= l * v
		}
	}
}

func (d *dense) doubtful() ([]doubt, error) {
	for _, v := range d.square {
		if v-v != 0 {
			return nil, errOverflow
		}
	}
	var all doubts
	above := d.work
	clear(above)
	for k := range d.n {
		row := d.square[k*d.n : k*d.n+d.n]
		all.take(k, math.Abs(row[k]), above[k])
		for c := k + 1; c < d.n; c++ {
			above[c] = max(above[c], math.Abs(row[c]))
		}
	}
	return all.worst(), nil
}

func (d *dense) null(k int, w, v []float64) {
	y := d.work
	clear(y)
	y[k] = 1
	d.lowerTransposed(y)
	for p, r := range d.row {
		w[r] = y[p] * d.scale[r]
	}
	clear(y)
	y[k] = d.square[k*d.n+k]
	d.upperBack(y, v)
}

func (d *dense) solve(x []float64) {
	n, y := d.n, d.work
	for k, r := range d.row {
		y[k] = x[r] * d.scale[r]
	}
	for k := range n {
		v := y[k]
		for c, l := range d.square[k*n : k*n+k] {
			v -= l * y[c]
		}
		y[k] = v
	}
	d.upperBack(y, x)
}

func (d *dense) solveTransposed(x []float64) {
	n, y := d.n, d.work
	copy(y, x)
	for k := range n {
		row := d.square[k*n : k*n+n]
		y[k] /= row[k]
		v := y[k]
		for c := k + 1; c < n; c++ {
			y[c] -= row[c] * v
		}
	}
	d.lowerTransposed(y)
	for k, r := range d.row {
		x[r] = y[k] * d.scale[r]
	}
}

// upperBack solves U x = y.
func (d *dense) upperBack(y, x []float64) {
	n := d.n
	for k := n - 1; k >= 0; k-- {
		row := d.square[k*n : k*n+n]
		v := y[k]
		for c := k + 1; c < n; c++ {
			v -= row[c] * x[c]
		}
		x[k] = v / row[k]
	}
}

// lowerTransposed solves with the transposed of L in place.
func (d *dense) lowerTransposed(y []float64) {
	n := d.n
	for k := n - 1; k >= 0; k-- {
		v := y[k]
		for c, l := range d.square[k*n : k*n+k] {
			y[c] -= l * v
		}
	}
}

func (d *dense) sign() int {
	sign := parity(d.row)
	for k := range d.n {
		if d.square[k*d.n+k] < 0 {
			sign = -sign
		}
	}
	return sign
}
