package sparse_test

import (
	"testing"

	"github.com/shuntwright/shuntwright/rules/volt/internal/sparse"
)

// grid is a square grid of resistors of 1 ohm, side by side, with 1 mS from each node to ground: 1 mA into each makes 1 V.
func grid(side int) *sparse.Matrix {
	m := sparse.New(side * side)
	join := func(i, j int) {
		m.Add(i, i, 1)
		m.Add(j, j, 1)
		m.Add(i, j, -1)
		m.Add(j, i, -1)
	}
	for y := range side {
		for x := range side {
			i := y*side + x
			m.Add(i, i, 1e-3)
			if x+1 < side {
				join(i, i+1)
			}
			if y+1 < side {
				join(i, i+side)
			}
		}
	}
	return m
}

// hub is a node, the last one, with 1 S to each of the others, which have 1 S to ground.
func hub(leaves int) *sparse.Matrix {
	m := sparse.New(leaves + 1)
	m.Add(leaves, leaves, 1)
	for i := range leaves {
		m.Add(i, i, 2)
		m.Add(leaves, leaves, 1)
		m.Add(i, leaves, -1)
		m.Add(leaves, i, -1)
	}
	return m
}

func same(n int, v float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

func BenchmarkGrid300(b *testing.B) { factorAndSolve(b, grid(300)) }

func BenchmarkHub(b *testing.B) { factorAndSolve(b, hub(100_000)) }

func factorAndSolve(b *testing.B, m *sparse.Matrix) {
	right, x := same(m.Order(), 1e-3), make([]float64, m.Order())
	for b.Loop() {
		f, err := sparse.Factor(m)
		if err != nil {
			b.Fatal(err)
		}
		f.Solve(right, x)
	}
}

func BenchmarkGrid300Refactor(b *testing.B) {
	m := grid(300)
	f, err := sparse.Factor(m)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := f.Refactor(m); err != nil {
			b.Fatal(err)
		}
	}
}
