package sparse_test

import (
	"math"
	"testing"

	"github.com/shuntwright/shuntwright/rules/volt/internal/sparse"
)

// A hub eliminated first would join all its 100,000 neighbours. Last, it leaves one entry a neighbour in L and in U.
func TestHubComesLast(t *testing.T) {
	const leaves = 100_000
	for _, at := range []int{0, leaves / 2, leaves} {
		m := sparse.New(leaves + 1)
		m.Add(at, at, 1)
		for i := range leaves + 1 {
			if i != at {
				m.Add(i, i, 2)
				m.Add(at, at, 1)
				m.Add(i, at, -1)
				m.Add(at, i, -1)
			}
		}
		f, err := sparse.Factor(m)
		if err != nil {
			t.Fatal(err)
		}
		if lower, upper := f.Fill(); lower != leaves || upper != leaves {
			t.Errorf("hub at %d: L has %d entries and U %d, want %d", at, lower, upper, leaves)
		}
		// 1 A into the hub: the leaves are at half its voltage, so that (1 + leaves) V - leaves V/2 = 1.
		b, x := make([]float64, leaves+1), make([]float64, leaves+1)
		b[at] = 1
		f.Solve(b, x)
		if want := 1 / (1 + leaves/2.0); math.Abs(x[at]-want) > 1e-11*want {
			t.Errorf("hub at %d has %g, want %g", at, x[at], want)
		}
	}
}

// A tree has an order without any fill, which minimum degree finds: leaves first.
func TestTreeTakesNoFill(t *testing.T) {
	const n = 5000
	m := sparse.New(n)
	m.Add(0, 0, 1)
	for i := 1; i < n; i++ {
		to := (i - 1) / 3
		m.Add(i, i, 1)
		m.Add(to, to, 1)
		m.Add(i, to, -1)
		m.Add(to, i, -1)
	}
	f, err := sparse.Factor(m)
	if err != nil {
		t.Fatal(err)
	}
	if lower, upper := f.Fill(); lower != n-1 || upper != n-1 {
		t.Errorf("L has %d entries and U %d, want %d", lower, upper, n-1)
	}
}

// Nested dissection takes 31/4 n log2(n) + O(n) entries on a square grid of n nodes (George and Liu, Computer Solution of Large
// Sparse Positive Definite Systems, 1981, section 8.1). Minimum degree is known to do about as well at such sizes; natural
// order would take n^1.5.
func TestGridTakesLittleFill(t *testing.T) {
	for _, side := range []int{20, 60, 150} {
		f, err := sparse.Factor(grid(side))
		if err != nil {
			t.Fatal(err)
		}
		n := float64(side * side)
		most := 31.0 / 4 * n * math.Log2(n)
		lower, upper := f.Fill()
		t.Logf("side %d: L %d, U %d, at most %.0f", side, lower, upper, most)
		if float64(lower) > most/2 || float64(upper) > most/2 {
			t.Errorf("side %d: L has %d entries and U %d, want less than %.0f", side, lower, upper, most/2)
		}
		// 1 mA into each node and 1 mS from each to ground: all at 1 V.
		x := same(side*side, 1e-3)
		f.Solve(x, x)
		if d := off(x, same(side*side, 1)); d > 1e-9 {
			t.Errorf("side %d is off by %g", side, d)
		}
	}
}
