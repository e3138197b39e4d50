package volt_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// A network is resistors between nodes 0..nodes, voltage sources from a node to ground and current sources, each with
// its value.
type network struct {
	nodes     int
	resistors []branch // ohm
	sources   []branch // V, the node a against node 0
	currents  []branch // A, out of a into b
}

type branch struct {
	a, b  int
	value float64
}

// drawNetwork draws a connected network: a spanning tree of resistors, more of them, one or two grounded sources, up to
// three current sources. No node has two sources.
func drawNetwork(t *rapid.T, most int) network {
	n := network{nodes: rapid.IntRange(2, most).Draw(t, "nodes")}
	ohms := rapid.Custom(func(t *rapid.T) float64 { return math.Pow(10, rapid.Float64Range(-2, 4).Draw(t, "decade")) })
	for k := 1; k <= n.nodes; k++ {
		n.resistors = append(n.resistors, branch{k, rapid.IntRange(0, k-1).Draw(t, "to"), ohms.Draw(t, "ohms")})
	}
	for range rapid.IntRange(0, most).Draw(t, "more") {
		a := rapid.IntRange(1, n.nodes).Draw(t, "a")
		b := rapid.IntRange(0, a-1).Draw(t, "b")
		n.resistors = append(n.resistors, branch{a, b, ohms.Draw(t, "ohms")})
	}
	at := rapid.IntRange(1, n.nodes).Draw(t, "source")
	n.sources = append(n.sources, branch{at, 0, rapid.Float64Range(-50, 50).Draw(t, "V")})
	if other := rapid.IntRange(1, n.nodes).Draw(t, "second source"); other != at {
		n.sources = append(n.sources, branch{other, 0, rapid.Float64Range(-50, 50).Draw(t, "V")})
	}
	for range rapid.IntRange(0, 3).Draw(t, "currents") {
		a, b := rapid.IntRange(0, n.nodes).Draw(t, "from"), rapid.IntRange(0, n.nodes).Draw(t, "into")
		if a != b {
			n.currents = append(n.currents, branch{a, b, rapid.Float64Range(-1e-3, 1e-3).Draw(t, "A")})
		}
	}
	return n
}

func number(v float64) string { return fmt.Sprintf("%.17g", v) }

// cards are the network as a netlist; nodes are called n1, n2.
func (n network) cards() []string {
	name := func(k int) string {
		if k == 0 {
			return "0"
		}
		return fmt.Sprint("n", k)
	}
	var out []string
	for i, r := range n.resistors {
		out = append(out, fmt.Sprintf("R%d %s %s %s", i, name(r.a), name(r.b), number(r.value)))
	}
	for i, v := range n.sources {
		out = append(out, fmt.Sprintf("V%d %s %s %s", i, name(v.a), name(v.b), number(v.value)))
	}
	for i, c := range n.currents {
		out = append(out, fmt.Sprintf("I%d %s %s %s", i, name(c.a), name(c.b), number(c.value)))
	}
	return out
}

// solve is the network's answer by the node equations, assembled here and solved densely: the grounded nodes are taken
// out, so that only conductances and known voltages remain.
func (n network) solve(t need) []float64 {
	t.Helper()
	v := make([]float64, n.nodes+1)
	fixed := make([]bool, n.nodes+1)
	fixed[0] = true
	for _, s := range n.sources {
		v[s.a], fixed[s.a] = s.value, true
	}
	row := map[int]int{}
	for k := range v {
		if !fixed[k] {
			row[k] = len(row)
		}
	}
	if len(row) == 0 {
		return v
	}
	g, i := mat.NewDense(len(row), len(row), nil), mat.NewVecDense(len(row), nil)
	for _, r := range n.resistors {
		for _, p := range [][2]int{{r.a, r.b}, {r.b, r.a}} {
			k, ok := row[p[0]]
			if !ok {
				continue
			}
			g.Set(k, k, g.At(k, k)+1/r.value)
			if j, ok := row[p[1]]; ok {
				g.Set(k, j, g.At(k, j)-1/r.value)
			} else {
				i.SetVec(k, i.AtVec(k)+v[p[1]]/r.value)
			}
		}
	}
	for _, c := range n.currents {
		if k, ok := row[c.a]; ok {
			i.SetVec(k, i.AtVec(k)-c.value)
		}
		if k, ok := row[c.b]; ok {
			i.SetVec(k, i.AtVec(k)+c.value)
		}
	}
	var lu mat.LU
	lu.Factorize(g)
	var x mat.VecDense
	if err := lu.SolveVecTo(&x, false, i); err != nil && lu.Cond() > 1e14 {
		t.Fatalf("%v", err)
	}
	for k, j := range row {
		v[k] = x.AtVec(j)
	}
	return v
}

// size is the largest voltage that can stand anywhere in the network: what rounding is measured against.
func (n network) size(v []float64) float64 {
	most := 1.0
	for _, x := range v {
		most = max(most, math.Abs(x))
	}
	return most
}

func TestNominalIsTheSolutionOfTheNodeEquations(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawNetwork(t, 9)
		d := load(t, strings.Join(n.cards(), "\n"), "")
		want := n.solve(t)
		for k := 1; k <= n.nodes; k++ {
			q := voltage(t, d, fmt.Sprint("n", k))
			if off := math.Abs(q.Nom - want[k]); off > 1e-9*n.size(want) {
				t.Fatalf("V(n%d) = %v, want %v", k, q.Nom, want[k])
			}
			if q.Seen.Lo != q.Seen.Hi || q.Seen.Lo != q.Nom {
				t.Fatalf("V(n%d) is seen as %v without a tolerance, nominal %v", k, q.Seen, q.Nom)
			}
		}
	})
}

// Without current sources no node leaves the range of the sources and ground.
func TestMaximumPrinciple(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawNetwork(t, 8)
		n.currents = nil
		lo, hi := 0.0, 0.0
		for _, s := range n.sources {
			lo, hi = min(lo, 1.05*s.value), max(hi, 1.05*s.value)
		}
		d := load(t, strings.Join(n.cards(), "\n"), "")
		for k := 1; k <= n.nodes; k++ {
			if q := voltage(t, d, fmt.Sprint("n", k)); q.Sound.Lo < lo-1e-6 || q.Sound.Hi > hi+1e-6 {
				t.Fatalf("V(n%d) = %v outside the sources' %v .. %v", k, q.Sound, lo, hi)
			}
		}
	})
}

func TestSuperpositionAndScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawNetwork(t, 7)
		node := fmt.Sprint("n", rapid.IntRange(1, n.nodes).Draw(t, "node"))
		nominal := func(m network) float64 {
			return voltage(t, load(t, strings.Join(m.cards(), "\n"), ""), node).Nom
		}
		whole := nominal(n)
		sum := 0.0
		for k := range len(n.sources) + len(n.currents) {
			m := n
			m.sources, m.currents = append([]branch{}, n.sources...), append([]branch{}, n.currents...)
			for i := range m.sources {
				if i != k {
					m.sources[i].value = 0
				}
			}
			for i := range m.currents {
				if i+len(m.sources) != k {
					m.currents[i].value = 0
				}
			}
			sum += nominal(m)
		}
		size := n.size(n.solve(t))
		if math.Abs(sum-whole) > 1e-7*size {
			t.Fatalf("V(%s) = %v, by superposition %v", node, whole, sum)
		}
		m := n
		m.sources, m.currents = append([]branch{}, n.sources...), append([]branch{}, n.currents...)
		for i := range m.sources {
			m.sources[i].value *= -3
		}
		for i := range m.currents {
			m.currents[i].value *= -3
		}
		if got := nominal(m); math.Abs(got+3*whole) > 1e-7*size {
			t.Fatalf("V(%s) = %v with all sources times -3, want %v", node, got, -3*whole)
		}
		// Impedances times 7 and currents divided by 7 change no voltage.
		m = n
		m.resistors, m.currents = append([]branch{}, n.resistors...), append([]branch{}, n.currents...)
		for i := range m.resistors {
			m.resistors[i].value *= 7
		}
		for i := range m.currents {
			m.currents[i].value /= 7
		}
		if got := nominal(m); math.Abs(got-whole) > 1e-7*size {
			t.Fatalf("V(%s) = %v with all impedances times 7, want %v", node, got, whole)
		}
	})
}

// The order of the cards changes nothing but rounding.
func TestCardOrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawNetwork(t, 5)
		cards := n.cards()
		mixed := rapid.Permutation(cards).Draw(t, "order")
		const tolerance = "* shuntwright: tolerances.resistors = \"3 %\"\n"
		a, b := load(t, tolerance+strings.Join(cards, "\n"), ""), load(t, tolerance+strings.Join(mixed, "\n"), "")
		size := n.size(n.solve(t))
		for k := 1; k <= n.nodes; k++ {
			p, q := voltage(t, a, fmt.Sprint("n", k)), voltage(t, b, fmt.Sprint("n", k))
			for _, x := range [][2]float64{{p.Nom, q.Nom}, {p.Seen.Lo, q.Seen.Lo}, {p.Seen.Hi, q.Seen.Hi}} {
				if math.Abs(x[0]-x[1]) > 1e-7*size {
					t.Fatalf("V(n%d): %v and %v, in another order %v and %v", k, p.Nom, p.Seen, q.Nom, q.Seen)
				}
			}
		}
	})
}
