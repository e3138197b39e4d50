package sparse

import (
	"fmt"
	"math"
	"slices"
)

// columns hold a matrix column by column: those of column c are row and value from start[c] up to start[c+1], rows
// ascending, each once.
type columns struct {
	n     int
	start []int32
	row   []int32
	value []float64

	rowSum, colSum []float64 // sums of magnitudes

	// The entries as they were gathered and where each of them went: a matrix that is gathered again in the same order,
	// as one is whenever only values change, needs no sorting.
	rows, cols []int32
	slot       []int32
}

// load takes over the entries of a matrix and tells whether its pattern is that of the one before.
func (a *columns) load(m *Matrix) (same bool, err error) {
	same = a.start != nil && a.n == m.n
	if !same || !slices.Equal(a.rows, m.rows) || !slices.Equal(a.cols, m.cols) {
		start, row := slices.Clone(a.start), slices.Clone(a.row)
		a.sort(m)
		same = same && slices.Equal(start, a.start) && slices.Equal(row, a.row)
	}
	clear(a.value)
	for k, v := range m.values {
		a.value[a.slot[k]] += v
	}
	clear(a.rowSum)
	for c := range a.n {
		sum := 0.0
		for p := a.start[c]; p < a.start[c+1]; p++ {
			v := math.Abs(a.value[p])
			if !(v <= math.MaxFloat64) {
				return same, fmt.Errorf("row %d, column %d holds %v", a.row[p], c, a.value[p])
			}
			sum += v
			a.rowSum[a.row[p]] += v
		}
		a.colSum[c] = sum
	}
	return same, nil
}

// sort finds the pattern and the place of each entry in it: once by rows and then, keeping that order, by columns.
func (a *columns) sort(m *Matrix) {
	n, entries := m.n, len(m.rows)
	a.n = n
	a.rows = append(a.rows[:0], m.rows...)
	a.cols = append(a.cols[:0], m.cols...)
	byRow := spread(make([]int32, n+1), m.rows, nil)
	a.start = make([]int32, n+1)
	byColumn := spread(a.start, m.cols, byRow)
	a.row = a.row[:0]
	a.slot = slices.Grow(a.slot[:0], entries)[:entries]
	for c := range n {
		from, to := a.start[c], a.start[c+1]
		a.start[c] = int32(len(a.row))
		for _, k := range byColumn[from:to] {
			if r := m.rows[k]; len(a.row) == int(a.start[c]) || a.row[len(a.row)-1] != r {
				a.row = append(a.row, r)
			}
			a.slot[k] = int32(len(a.row) - 1)
		}
	}
	a.start[n] = int32(len(a.row))
	a.value = make([]float64, len(a.row))
	a.rowSum, a.colSum = make([]float64, n), make([]float64, n)
}

// spread lists the indices of keys in the order of their keys, and within one key in the order of before, or of keys where
// before is nil. It leaves in start where each key begins.
func spread(start, keys, before []int32) []int32 {
	for _, k := range keys {
		start[k+1]++
	}
	for k := 1; k < len(start); k++ {
		start[k] += start[k-1]
	}
	out := make([]int32, len(keys))
	place := func(i int32) {
		k := keys[i]
		out[start[k]] = i
		start[k]++
	}
	if before == nil {
		for i := range keys {
			place(int32(i))
		}
	} else {
		for _, i := range before {
			place(i)
		}
	}
	copy(start[1:], start) // each beginning has moved up to the next one
	start[0] = 0
	return out
}

// remain sets rest to b - A x and size to |A| |x| + |b|, row by row; with transposed, A is A^T.
func (a *columns) remain(transposed bool, b, x, rest, size []float64) {
	for i, v := range b {
		rest[i], size[i] = v, math.Abs(v)
	}
	for c := range a.n {
		rows, values := a.row[a.start[c]:a.start[c+1]], a.value[a.start[c]:a.start[c+1]]
		if transposed {
			sum, magnitude := rest[c], size[c]
			for p, r := range rows {
				v := values[p] * x[r]
				sum -= v
				magnitude += math.Abs(v)
			}
			rest[c], size[c] = sum, magnitude
			continue
		}
		xc := x[c]
		if xc == 0 {
			continue
		}
		for p, r := range rows {
			v := values[p] * xc
			rest[r] -= v
			size[r] += math.Abs(v)
		}
	}
}

// scale is, for each row, the power of two that brings its largest entry to between a half and one: multiplying by it rounds
// nothing. A row of zeros has 1.
func (a *columns) scale(s []float64) {
	clear(s)
	for p, r := range a.row {
		s[r] = max(s[r], math.Abs(a.value[p]))
	}
	for r, v := range s {
		_, e := math.Frexp(v)
		s[r] = math.Ldexp(1, min(-e, 1000)) // 2^1074 for the smallest number there is would be infinite
	}
}
