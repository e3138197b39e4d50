package volt_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A loose network is a network whose values vary by a fraction each.
type loose struct {
	network
	tolerance []float64 // by resistor, then source, then current
}

func drawLoose(t *rapid.T, nodes, uncertain int) loose {
	n := loose{network: drawNetwork(t, nodes)}
	all := len(n.resistors) + len(n.sources) + len(n.currents)
	n.tolerance = make([]float64, all)
	for i := range min(uncertain, all) {
		n.tolerance[i] = float64(rapid.IntRange(0, 20).Draw(t, "%")) / 100
	}
	shift := rapid.IntRange(0, all-1).Draw(t, "shift")
	n.tolerance = append(n.tolerance[shift:], n.tolerance[:shift]...)
	return n
}

func (n loose) names() []string {
	var out []string
	for _, c := range n.cards() {
		out = append(out, c[:strings.IndexByte(c, ' ')])
	}
	return out
}

func (n loose) deck() string {
	var b strings.Builder
	for i, name := range n.names() {
		fmt.Fprintf(&b, "* shuntwright: elements.%s.tolerance = \"%v %%\"\n", name, math.Round(100*n.tolerance[i]))
	}
	return b.String() + strings.Join(n.cards(), "\n")
}

// at is the network with each value at a place of its range, from -1 to 1.
func (n loose) at(place func(i int) float64) network {
	m := n.network
	i := 0
	move := func(list []branch) []branch {
		list = slices.Clone(list)
		for k := range list {
			list[k].value *= 1 + place(i)*n.tolerance[i]
			i++
		}
		return list
	}
	m.resistors, m.sources, m.currents = move(m.resistors), move(m.sources), move(m.currents)
	return m
}

// corners are all corners of the ranges.
func (n loose) corners(yield func(network) bool) {
	var free []int
	for i, t := range n.tolerance {
		if t > 0 {
			free = append(free, i)
		}
	}
	for c := range 1 << len(free) {
		side := make([]float64, len(n.tolerance))
		for k, i := range free {
			side[i] = float64(2*(c>>k&1) - 1)
		}
		if !yield(n.at(func(i int) float64 { return side[i] })) {
			return
		}
	}
}

// The node voltage of a linear network is a monotone function of each single value, so its extremes stand at corners.
func TestSeenIsTheHullOfAllCorners(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawLoose(t, 6, 8)
		d := load(t, n.deck(), "")
		want := make([]quantity.Interval, n.nodes+1)
		for k := range want {
			want[k] = quantity.Nothing
		}
		size := 1.0
		for m := range n.corners {
			v := m.solve(t)
			size = max(size, m.size(v))
			for k := range want {
				want[k] = want[k].Union(quantity.Point(v[k]))
			}
		}
		for k := 1; k <= n.nodes; k++ {
			q := voltage(t, d, fmt.Sprint("n", k))
			if math.Abs(q.Seen.Lo-want[k].Lo) > 1e-8*size || math.Abs(q.Seen.Hi-want[k].Hi) > 1e-8*size {
				t.Fatalf("V(n%d) is seen in %v, the corners span %v\n%s", k, q.Seen, want[k], n.deck())
			}
			if !q.Seen.In(q.Sound) || q.Loose {
				t.Fatalf("V(n%d): seen %v, sound %v, loose %v", k, q.Seen, q.Sound, q.Loose)
			}
		}
	})
}

// Many uncertain values are searched, not enumerated: no state may lie outside all the same, and both ends are attained
// by their witness.
func TestStatesLieInsideSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawLoose(t, 8, 30)
		d := load(t, n.deck(), "")
		node := rapid.IntRange(1, n.nodes).Draw(t, "node")
		q := voltage(t, d, fmt.Sprint("n", node))
		for range 40 {
			corner := rapid.Bool().Draw(t, "corner")
			m := n.at(func(int) float64 {
				if corner {
					return float64(2*rapid.IntRange(0, 1).Draw(t, "side") - 1)
				}
				return rapid.Float64Range(-1, 1).Draw(t, "place")
			})
			v := m.solve(t)
			if x := v[node]; x < q.Sound.Lo-1e-8*m.size(v) || x > q.Sound.Hi+1e-8*m.size(v) {
				t.Fatalf("V(n%d) = %v is possible, outside %v\n%s", node, x, q.Sound, n.deck())
			}
		}
		names := n.names()
		for _, high := range []bool{false, true} {
			place := map[int]float64{}
			for _, s := range q.Witness(high) {
				if i := slices.Index(names, s.Name); i >= 0 && s.Nom != 0 {
					place[i] = (s.Value/s.Nom - 1) / max(n.tolerance[i], 1e-300)
				}
			}
			v := n.at(func(i int) float64 { return place[i] }).solve(t)
			end := q.Seen.Lo
			if high {
				end = q.Seen.Hi
			}
			if math.Abs(v[node]-end) > 1e-7*n.size(v) {
				t.Fatalf("the witness %v gives V(n%d) = %v, not %v\n%s", q.Witness(high), node, v[node], end, n.deck())
			}
		}
	})
}
