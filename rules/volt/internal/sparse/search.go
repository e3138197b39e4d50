package sparse

import (
	"math"
	"slices"
)

// A walk is what finding the pivots takes besides L and U.
type walk struct {
	// Where one may walk to from a closed panel: a copy of its rows below, those first that are needed.
	from, to []int32 // of each panel, into rows
	rows     []int32
	pruned   []bool

	reached []int32 // of each panel: its first column that has a part in the column in hand
	visited []int32 // of each panel: the last column that reached it
	named   []int32 // of each row: the last column that has it among its candidates
	path    []step
	found   []int32 // panels in the order in which the walk left them: any after those that depend on it
	rest    []int32 // rows without a pivot that the column has an entry in: the candidates for its pivot

	owner   []int32 // of each row: the column that would rather have its pivot there
	natural []int32 // of each column of the matrix: its row of preference
}

type step struct{ panel, next int32 }

func newWalk(n int) *walk {
	w := &walk{named: make([]int32, n), owner: make([]int32, n), natural: make([]int32, n)}
	return w
}

// search factors and looks for pivots, with none for the column at the place left, where there is one.
func (f *panels) search(a *columns, left int32) error {
	n, w, y := f.n, f.walking, f.work
	a.scale(f.scale)
	clear(y)
	for i := range n {
		f.place[i], w.named[i] = none, none
		w.natural[i], w.owner[f.natural[i]] = f.natural[i], int32(i)
	}
	f.first, f.rowAt, f.rows = f.first[:0], f.rowAt[:0], f.rows[:0]
	f.lower, f.upper, f.parts = f.lower[:0], f.upper[:0], f.parts[:0]
	w.from, w.to, w.rows, w.pruned = w.from[:0], w.to[:0], w.rows[:0], w.pruned[:0]
	w.reached, w.visited = w.reached[:0], w.visited[:0]

	without := none
	for j := range int32(n) {
		c := f.order[j]
		f.at[j], f.partAt[j] = len(f.lower), len(f.parts)
		w.found, w.rest = w.found[:0], w.rest[:0]
		for p := a.start[c]; p < a.start[c+1]; p++ {
			r := a.row[p]
			y[r] = a.value[p] * f.scale[r]
			f.visit(r, j)
		}
		for i := len(w.found) - 1; i >= 0; i-- {
			s := w.found[i]
			p := part{w.reached[s], f.columnsEnd(s, j) - w.reached[s]}
			f.parts = append(f.parts, p)
			at := len(f.upper)
			f.upper = extend(f.upper, int(p.count))
			f.take(p, f.upper[at:], y)
		}
		pivot := int32(none)
		if j != left {
			pivot = f.choose(w.natural[c])
		}
		if pivot == none {
			if without == none {
				without = int(c)
			}
			for _, r := range w.rest {
				y[r] = 0
			}
			f.close(j)
			f.open(j, nil)
			w.leadTo(nil)
			f.pivot[j] = 1
			continue // only to find which rows are left over
		}
		f.settle(c, pivot)
		f.place[pivot] = j
		f.add(j, pivot)
		f.prune(pivot)
	}
	f.at[n], f.partAt[n] = len(f.lower), len(f.parts)
	f.first = append(f.first, int32(n))
	f.rowAt = append(f.rowAt, len(f.rows))
	if without != none {
		var left []int32
		for r, p := range f.place {
			if p == none {
				left = append(left, int32(r))
			}
		}
		return singular(without, left)
	}
	for k, r := range f.rows {
		f.rows[k] = f.place[r]
	}
	return nil
}

func extend(s []float64, by int) []float64 {
	n := len(s) + by
	if n > cap(s) {
		grown := make([]float64, len(s), max(n, cap(s)+cap(s)/2))
		copy(grown, s)
		s = grown
	}
	return s[:n]
}

// columnsEnd is one more than the last column of a panel, of the open one when column j is in hand.
func (f *panels) columnsEnd(s, j int32) int32 {
	if int(s)+1 < len(f.first) {
		return f.first[s+1]
	}
	return j
}

// visit notes a row that column j has an entry in, and walks to all that follow from it.
func (f *panels) visit(r, j int32) {
	w := f.walking
	if f.note(r, j) {
		for len(w.path) > 0 {
			top := &w.path[len(w.path)-1]
			s := top.panel
			var rows []int32
			if int(s) < len(w.from) {
				rows = w.rows[w.from[s]:w.to[s]]
			} else {
				rows = f.rows[f.rowAt[s]+int(j-f.first[s]):]
			}
			deeper := false
			for int(top.next) < len(rows) {
				r := rows[top.next]
				top.next++
				if f.note(r, j) {
					deeper = true
					break
				}
			}
			if !deeper {
				w.found = append(w.found, s)
				w.path = w.path[:len(w.path)-1]
			}
		}
	}
}

// note takes a row in, and tells whether it puts a panel on the path.
func (f *panels) note(r, j int32) bool {
	w := f.walking
	at := f.place[r]
	if at == none {
		if w.named[r] != j {
			w.named[r] = j
			w.rest = append(w.rest, r)
		}
		return false
	}
	s := f.panel[at]
	if w.visited[s] == j {
		w.reached[s] = min(w.reached[s], at)
		return false
	}
	w.visited[s], w.reached[s] = j, at
	w.path = append(w.path, step{panel: s})
	return true
}

// choose picks the row of the pivot: the natural one unless it is less than a tenth of the largest. It is none where nothing
// but zeros is left.
func (f *panels) choose(natural int32) (pivot int32) {
	y, largest := f.work, 0.0
	pivot = none
	for _, r := range f.walking.rest {
		if v := math.Abs(y[r]); v > largest {
			largest, pivot = v, r
		}
	}
	if pivot != none && f.place[natural] == none && math.Abs(y[natural]) >= largest/10 {
		pivot = natural
	}
	return pivot
}

// settle gives the natural row of column c, when it takes another, to the column that would have had that one.
func (f *panels) settle(c, pivot int32) {
	w := f.walking
	mine := w.natural[c]
	if mine == pivot {
		return
	}
	other := w.owner[pivot]
	w.natural[other], w.owner[mine] = mine, other
	w.natural[c], w.owner[pivot] = pivot, c
}

// add puts column j into L, into the open panel when that has the same rows, else into one of its own.
func (f *panels) add(j, pivot int32) {
	w, y := f.walking, f.work
	s := int32(len(f.first)) - 1
	joins := s >= 0 && w.visited[s] == j && len(f.rows)-f.rowAt[s]-int(j-f.first[s]) == len(w.rest)
	if !joins {
		f.close(j)
		f.open(j, w.rest)
		s = int32(len(f.first)) - 1
	}
	f.panel[j] = s
	k := int(j - f.first[s])
	rows := f.rows[f.rowAt[s]:]
	at := k
	for rows[at] != pivot {
		at++
	}
	if at != k {
		rows[at], rows[k] = rows[k], rows[at]
		for i := range k {
			own := f.lower[f.at[int(f.first[s])+i]:]
			own[at-i-1], own[k-i-1] = own[k-i-1], own[at-i-1]
		}
	}
	over := y[pivot]
	f.pivot[j] = over
	y[pivot] = 0
	below := rows[k+1:]
	begin := len(f.lower)
	f.lower = extend(f.lower, len(below))
	own := f.lower[begin:]
	for i, r := range below {
		own[i] = y[r] / over
		y[r] = 0
	}
}

// open begins a panel at column j.
func (f *panels) open(j int32, rows []int32) {
	w := f.walking
	f.panel[j] = int32(len(f.first))
	f.first = append(f.first, j)
	f.rowAt = append(f.rowAt, len(f.rows))
	f.rows = append(f.rows, rows...)
	w.reached = append(w.reached, none)
	w.visited = append(w.visited, none)
}

// close ends the open panel, if there is one, before column j: its rows below are those that the walk goes to.
func (f *panels) close(j int32) {
	if s := len(f.first) - 1; s >= len(f.walking.from) {
		f.walking.leadTo(f.rows[f.rowAt[s]+int(j-f.first[s]):])
	}
}

// leadTo closes a panel with the rows that the walk goes to from there.
func (w *walk) leadTo(rows []int32) {
	w.from = append(w.from, int32(len(w.rows)))
	w.rows = append(w.rows, rows...)
	w.to = append(w.to, int32(len(w.rows)))
	w.pruned = append(w.pruned, false)
}

// prune shortens what the walk goes to from the panels that column j has a part of, where the row of its pivot is below the
// panel as well: what lies beyond that row is below column j, too.
func (f *panels) prune(pivot int32) {
	w := f.walking
	for _, s := range w.found {
		if int(s) >= len(w.from) || w.pruned[s] {
			continue
		}
		rows := w.rows[w.from[s]:w.to[s]]
		if !slices.Contains(rows, pivot) {
			continue
		}
		kept := 0
		for k, r := range rows {
			if f.place[r] != none {
				rows[k], rows[kept] = rows[kept], r
				kept++
			}
		}
		w.to[s], w.pruned[s] = w.from[s]+int32(kept), true
	}
}
