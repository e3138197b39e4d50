package sparse_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/shuntwright/shuntwright/rules/volt/internal/sparse"
)

// A circuit gathers node equations: its first unknowns are voltages of nodes against ground, which is node -1, and the others
// are currents of sources.
type circuit struct {
	m      *sparse.Matrix
	right  []float64
	source int // the next unknown for a current
}

func newCircuit(nodes, sources int) *circuit {
	return &circuit{sparse.New(nodes + sources), make([]float64, nodes+sources), nodes}
}

func (c *circuit) add(row, col int, v float64) {
	if row >= 0 && col >= 0 {
		c.m.Add(row, col, v)
	}
}

func (c *circuit) conductance(a, b int, siemens float64) {
	c.add(a, a, siemens)
	c.add(b, b, siemens)
	c.add(a, b, -siemens)
	c.add(b, a, -siemens)
}

// voltage puts a source from b to a and returns the unknown that its current is, into a and out of b through the rest.
func (c *circuit) voltage(a, b int, volts float64) int {
	i := c.source
	c.source++
	c.add(a, i, 1)
	c.add(i, a, 1)
	c.add(b, i, -1)
	c.add(i, b, -1)
	c.right[i] = volts
	return i
}

func (c *circuit) solve(t *testing.T, factor func(*sparse.Matrix) (*sparse.LU, error)) []float64 {
	t.Helper()
	f, err := factor(c.m)
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float64, c.m.Order())
	f.Solve(c.right, x)
	if f.Residual() > 1e-15 {
		t.Errorf("residual %g", f.Residual())
	}
	return x
}

// near holds two numbers together within a part of the second.
func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within*math.Abs(want)) {
		t.Errorf("%s is %.17g, want %.17g", what, got, want)
	}
}

// Dividers of 1e-15 S up to 1e9 S hang on one rail, which a source drives through 1e9 S. Each divides by its conductances:
// the middle is at rail * above / (above + below).
func TestConductancesOfManyDecades(t *testing.T) {
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			const dividers = 25 * 25
			c := newCircuit(2+dividers, 1)
			c.voltage(0, -1, 12)
			c.conductance(0, 1, 1e9)
			for k := range dividers {
				c.conductance(1, 2+k, math.Pow10(k/25-15))
				c.conductance(2+k, -1, math.Pow10(k%25-15))
			}
			x := c.solve(t, factor)
			// All dividers draw what they draw in series; the rail sags by that over 1e9 S.
			load := 0.0
			for k := range dividers {
				above, below := math.Pow10(k/25-15), math.Pow10(k%25-15)
				load += above * below / (above + below)
			}
			rail := 12 * 1e9 / (1e9 + load)
			near(t, "the rail", x[1], rail, 1e-13)
			near(t, "the current", x[2+dividers], -rail*load, 1e-13)
			for k := range dividers {
				above, below := math.Pow10(k/25-15), math.Pow10(k%25-15)
				near(t, fmt.Sprintf("the divider of %g and %g S", above, below), x[2+k], rail*above/(above+below), 1e-13)
			}
		})
	}
}

// Sources in series, stacked on a ground that only one of them reaches, and amplifiers one after the other: no diagonal entry in
// any of their equations, nor at the nodes between.
func TestNothingOnTheDiagonal(t *testing.T) {
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			const cells, stages = 150, 40
			c := newCircuit(cells+stages, cells+stages)
			for k := range cells {
				c.voltage(k, k-1, 1.5)
			}
			// Each amplifies the node before it by -2, starting at the lowest cell.
			for k := range stages {
				in := cells + k - 1
				if k == 0 {
					in = 0
				}
				i := c.voltage(cells+k, -1, 0)
				c.add(i, in, 2)
			}
			c.conductance(cells-1, -1, 0.1)
			x := c.solve(t, factor)
			for k := range cells {
				near(t, "a cell", x[k], 1.5*float64(k+1), 1e-14)
				near(t, "its current", x[cells+stages+k], -1.5*cells*0.1, 1e-13)
			}
			for k := range stages {
				near(t, "a stage", x[cells+k], 1.5*math.Pow(-2, float64(k+1)), 1e-14)
			}
		})
	}
}

// An ideal operational amplifier holds its inputs together by an output that its own equation does not name: an inverting
// amplifier by -10.
func TestNullor(t *testing.T) {
	for name, factor := range ways {
		t.Run(name, func(t *testing.T) {
			const in, minus, out = 0, 1, 2
			c := newCircuit(3, 2)
			c.voltage(in, -1, 0.25)
			c.conductance(in, minus, 1e-3)
			c.conductance(minus, out, 1e-4)
			i := c.source
			c.add(out, i, 1)
			c.add(i, minus, 1)
			x := c.solve(t, factor)
			near(t, "the output", x[out], -2.5, 1e-14)
			// What it gives is what comes through 10 kohm, 0.25 mA, with the sign of a current out of the node.
			near(t, "the output's current", x[i], 2.5e-4, 1e-14)
		})
	}
}

// A source between two nodes makes one of them of two: the more sources, the fewer entries a grid takes, however far they
// reach. Eliminated in an order that counts on pivots on the diagonal they take up to fifteen times as many.
func TestSourcesTakeNoFill(t *testing.T) {
	const side = 100
	for _, reach := range []string{"to ground", "to the neighbour", "anywhere"} {
		var before int
		for _, sources := range []int{0, 100, 1000, 3000} {
			c := newCircuit(side*side, sources)
			for i := range side * side {
				c.conductance(i, -1, 1e-3)
				if i%side+1 < side {
					c.conductance(i, i+1, 1)
				}
				if i+side < side*side {
					c.conductance(i, i+side, 1)
				}
			}
			// One source a node from a random order of nodes closes no loop: to the next of the order, and to the right.
			nodes := rand.New(rand.NewPCG(3, 4)).Perm(side * side)
			for k := range sources {
				a, b := nodes[k], -1
				switch {
				case reach == "anywhere" && k%2 == 0:
					b = nodes[k+1]
				case reach == "to the neighbour" && a%side+1 < side:
					b = a + 1
				}
				c.voltage(a, b, 1)
			}
			f, err := sparse.Factor(c.m)
			if err != nil {
				t.Fatal(err)
			}
			lower, upper := f.Fill()
			t.Logf("%d sources %s: L %d, U %d", sources, reach, lower, upper)
			if before != 0 && lower+upper > before {
				t.Errorf("%d sources %s: L and U have %d entries, more than %d with fewer", sources, reach, lower+upper, before)
			}
			before = lower + upper
		}
	}
}
