// Package sparse solves systems of linear equations of which most coefficients are zero, as the equations of a circuit
// are. It knows nothing of circuits: rows and columns are numbers from 0, and so are their units.
//
// A Matrix is gathered entry by entry, Factor takes it apart, and the LU that comes of it solves. Small or full matrices are
// factored densely, others sparsely, with one and the same result.
package sparse

import "fmt"

// A Matrix is square and gathered entry by entry; entries at one place add up. What was never added is zero. An entry
// that adds up to zero still belongs to the pattern, so that values may come and go under one pattern.
type Matrix struct {
	n          int
	rows, cols []int32
	values     []float64
}

// New is a matrix of n rows and n columns without entries.
func New(n int) *Matrix {
	if n < 0 || n > 1<<30 {
		panic(fmt.Sprintf("sparse: a matrix of %d rows", n))
	}
	return &Matrix{n: n}
}

// Add adds v to what stands in a row and column, both from 0; it panics when they lie outside. Any v is taken, also one that
// is not finite: Factor returns the error.
func (m *Matrix) Add(row, col int, v float64) {
	if uint(row) >= uint(m.n) || uint(col) >= uint(m.n) {
		panic(fmt.Sprintf("sparse: row %d, column %d of a matrix of %d", row, col, m.n))
	}
	m.rows = append(m.rows, int32(row))
	m.cols = append(m.cols, int32(col))
	m.values = append(m.values, v)
}

// Reset forgets the entries and keeps the room that they took. An LU made of them stays as it is.
func (m *Matrix) Reset() {
	m.rows, m.cols, m.values = m.rows[:0], m.cols[:0], m.values[:0]
}

// Order is how many rows, and columns, there are.
func (m *Matrix) Order() int { return m.n }

// Multiply sets y to A x. Both are as long as the matrix is wide, and not the same slice.
func (m *Matrix) Multiply(x, y []float64) {
	clear(y[:m.n])
	for k, v := range m.values {
		y[m.rows[k]] += v * x[m.cols[k]]
	}
}
