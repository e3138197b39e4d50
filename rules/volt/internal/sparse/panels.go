package sparse

import "math"

// panels hold L and U for a sparse matrix. Neighbouring columns of L that have entries in the same rows stand together in a
// panel, which names its rows once: first those of its own pivots, in order, and then the ones below.
//
// The factoring goes column by column and looks to the left, as Gilbert and Peierls do (SIAM J. Sci. Stat. Comput. 9, 1988):
// which panels have a part in a column is found by walking from row to panel to row, so that the work follows the
// multiplications. Panels take a part as wholes (Demmel, Eisenstat, Gilbert, Li and Liu, SIAM J. Matrix Anal. Appl. 20, 1999), and
// the walk leaves out rows that are reached through a later panel anyway (Eisenstat and Liu, SIAM J. Matrix Anal. Appl. 13, 1992).
type panels struct {
	n       int
	order   []int32   // the column of the matrix at each place
	natural []int32   // of each column of the matrix: the row that it should have its pivot in
	place   []int32   // of each row of the matrix: the place of the column that has its pivot there, none before
	scale   []float64 // of each row of the matrix

	panel []int32 // of each column
	first []int32 // of each panel and one more: its first column
	rowAt []int   // of each panel and one more: where its rows begin
	rows  []int32 // places once factored, rows of the matrix before

	at    []int // of each column and one more: where its part of lower begins
	lower []float64
	pivot []float64

	partAt []int // of each column and one more: where its parts begin
	parts  []part
	upper  []float64 // entries of the parts, one part after the other

	work    []float64
	walking *walk // what is only needed for finding pivots, kept for the next time
}

// A part is a run of columns of one panel, that have entries in a column of U one after the other.
type part struct{ first, count int32 }

func (f *panels) factor(a *columns, again bool) error {
	if again {
		if f.repeat(a) {
			return nil
		}
	} else {
		f.prepare(a)
	}
	return f.search(a, none)
}

func (f *panels) prepare(a *columns) {
	n := a.n
	f.n = n
	var fill int
	f.order, f.natural, fill = eliminationOrder(a)
	f.place, f.panel = make([]int32, n), make([]int32, n)
	f.scale, f.pivot, f.work = make([]float64, n), make([]float64, n), make([]float64, n)
	f.at, f.partAt = make([]int, n+1), make([]int, n+1)
	// Pivots beside the diagonal may take more, and then the room grows.
	fill = min(fill, 1<<24)
	f.lower, f.upper = make([]float64, 0, fill), make([]float64, 0, fill)
	f.walking = newWalk(n)
}

// take subtracts from the column y what the columns of one part make of it, and puts the column's entries of U into u. All of
// y there becomes zero, so that it is clean for the next column.
func (f *panels) take(p part, u, y []float64) {
	s := f.panel[p.first]
	last := p.first + p.count - 1
	rows := f.rows[f.rowAt[s]+int(p.first-f.first[s]) : f.panelEnd(s)]
	for t := range u {
		u[t], y[rows[t]] = y[rows[t]], 0
	}
	for t, v := range u {
		if v != 0 {
			own := f.lower[f.at[int(p.first)+t]:]
			rest := u[t+1:]
			own = own[:len(rest)]
			for q, l := range own {
				rest[q] -= l * v
			}
		}
	}
	f.subtract(p.first, last, rows[len(u):], u, y)
}

// panelEnd is where the rows of a panel end.
func (f *panels) panelEnd(s int32) int {
	if int(s)+1 < len(f.rowAt) {
		return f.rowAt[s+1]
	}
	return len(f.rows)
}

// subtract takes from y, in the rows below a panel, its columns first to last times u.
func (f *panels) subtract(first, last int32, below []int32, u, y []float64) {
	n := len(below)
	if n == 0 {
		return
	}
	column := func(c int32) []float64 {
		at := f.at[c] + int(last-c)
		return f.lower[at : at+n]
	}
	c := first
	for ; c+3 <= last; c += 4 {
		u0, u1, u2, u3 := u[0], u[1], u[2], u[3]
		u = u[4:]
		l0, l1, l2, l3 := column(c), column(c+1), column(c+2), column(c+3)
		l0, l1, l2, l3 = l0[:n], l1[:n], l2[:n], l3[:n]
		for k, r := range below {
			y[r] -= l0[k]*u0 + l1[k]*u1 + l2[k]*u2 + l3[k]*u3
		}
	}
	if c+1 <= last {
		u0, u1 := u[0], u[1]
		u = u[2:]
		l0, l1 := column(c), column(c+1)
		l0, l1 = l0[:n], l1[:n]
		for k, r := range below {
			y[r] -= l0[k]*u0 + l1[k]*u1
		}
		c += 2
	}
	if c == last {
		u0 := u[0]
		l0 := column(c)
		l0 = l0[:n]
		if u0 != 0 {
			for k, r := range below {
				y[r] -= l0[k] * u0
			}
		}
	}
}

// repeat factors with the pivots there are; false when one is too small beside the entries that it divides.
func (f *panels) repeat(a *columns) bool {
	a.scale(f.scale)
	y, at := f.work, 0
	clear(y)
	for j := range int32(f.n) {
		c := f.order[j]
		for p := a.start[c]; p < a.start[c+1]; p++ {
			r := a.row[p]
			y[f.place[r]] = a.value[p] * f.scale[r]
		}
		for _, p := range f.parts[f.partAt[j]:f.partAt[j+1]] {
			u := f.upper[at : at+int(p.count)]
			at += int(p.count)
			f.take(p, u, y)
		}
		over := y[j]
		y[j] = 0
		s := f.panel[j]
		rows := f.rows[f.rowAt[s]+int(j-f.first[s])+1 : f.rowAt[s+1]]
		own := f.lower[f.at[j]:f.at[j+1]]
		largest := 0.0
		for k, r := range rows {
			v := y[r]
			y[r] = 0
			largest = max(largest, math.Abs(v))
			own[k] = v / over
		}
		f.pivot[j] = over
		if size := math.Abs(over); !(size >= sound*largest) || size == 0 {
			return false
		}
	}
	return true
}

// sound is how small a pivot may be beside the entries that it divides when it was found for other values.
const sound = 1e-3

func (f *panels) doubtful() ([]doubt, error) {
	for _, l := range f.lower {
		if l-l != 0 {
			return nil, errOverflow
		}
	}
	var d doubts
	at := 0
	for k, v := range f.pivot {
		above := 0.0
		for _, p := range f.parts[f.partAt[k]:f.partAt[k+1]] {
			for _, u := range f.upper[at : at+int(p.count)] {
				above = max(above, math.Abs(u))
			}
			at += int(p.count)
		}
		if !d.take(k, math.Abs(v), above) {
			return nil, errOverflow
		}
	}
	return d.worst(), nil
}

func (f *panels) without(a *columns, k int) error { return f.search(a, int32(k)) }

func (f *panels) null(k int, w, v []float64) {
	y := f.work
	clear(y)
	y[k] = 1
	f.lowerTransposed(y)
	for r, p := range f.place {
		w[r] = y[p] * f.scale[r]
	}
	clear(y)
	y[k] = f.pivot[k]
	f.upperBack(y)
	for p, c := range f.order {
		v[c] = y[p]
	}
}

func (f *panels) solve(x []float64) {
	y := f.work
	for r, p := range f.place {
		y[p] = x[r] * f.scale[r]
	}
	for s := range f.rowAt[:len(f.rowAt)-1] {
		first, next := f.first[s], f.first[s+1]
		u := y[first:next]
		for t, v := range u {
			if v != 0 {
				rest := u[t+1:]
				own := f.lower[f.at[int(first)+t]:]
				own = own[:len(rest)]
				for q, l := range own {
					rest[q] -= l * v
				}
			}
		}
		f.subtract(first, next-1, f.rows[f.rowAt[s]+len(u):f.rowAt[s+1]], u, y)
	}
	f.upperBack(y)
	for p, c := range f.order {
		x[c] = y[p]
	}
}

func (f *panels) solveTransposed(x []float64) {
	y := f.work
	for p, c := range f.order {
		y[p] = x[c]
	}
	at := 0
	for j := range f.n {
		v := y[j]
		for _, p := range f.parts[f.partAt[j]:f.partAt[j+1]] {
			from := y[p.first : p.first+p.count]
			u := f.upper[at : at+int(p.count)]
			u = u[:len(from)]
			at += int(p.count)
			for t, w := range from {
				v -= u[t] * w
			}
		}
		y[j] = v / f.pivot[j]
	}
	f.lowerTransposed(y)
	for r, p := range f.place {
		x[r] = y[p] * f.scale[r]
	}
}

// upperBack solves with U in place.
func (f *panels) upperBack(y []float64) {
	at := len(f.upper)
	for j := f.n - 1; j >= 0; j-- {
		v := y[j] / f.pivot[j]
		y[j] = v
		parts := f.parts[f.partAt[j]:f.partAt[j+1]]
		for i := len(parts) - 1; i >= 0; i-- {
			p := parts[i]
			at -= int(p.count)
			if v == 0 {
				continue
			}
			to := y[p.first : p.first+p.count]
			u := f.upper[at : at+int(p.count)]
			u = u[:len(to)]
			for t := range to {
				to[t] -= u[t] * v
			}
		}
	}
}

// lowerTransposed solves with the transposed of L in place.
func (f *panels) lowerTransposed(y []float64) {
	for j := f.n - 1; j >= 0; j-- {
		s := f.panel[j]
		rows := f.rows[f.rowAt[s]+j-int(f.first[s])+1 : f.rowAt[s+1]]
		own := f.lower[f.at[j]:f.at[j+1]]
		own = own[:len(rows)]
		v := y[j]
		for k, r := range rows {
			v -= own[k] * y[r]
		}
		y[j] = v
	}
}

func (f *panels) sign() int {
	sign := parity(f.order) * parity(f.place)
	for _, v := range f.pivot {
		if v < 0 {
			sign = -sign
		}
	}
	return sign
}
