package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Twelve uncertain values: both ends are those of all 4096 corners to nine digits, and nothing is loose.
func TestTwelveUncertainValues(t *testing.T) {
	for seed := range 5 {
		n := rapid.Custom(func(t *rapid.T) loose { return drawLoose(t, 7, 12) }).Example(seed)
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
		d := load(t, n.deck(), "")
		for k := 1; k <= n.nodes; k++ {
			q := voltage(t, d, fmt.Sprint("n", k))
			meets(t, fmt.Sprintf("V(n%d)", k), q.Seen, want[k].Lo, want[k].Hi, 1e-9*size)
			meets(t, fmt.Sprintf("V(n%d), nothing outside,", k), q.Sound, want[k].Lo, want[k].Hi, 1e-9*size)
			if q.Loose {
				t.Errorf("V(n%d) is loose\n%s", k, n.deck())
			}
		}
	}
}

// What must not depend on how a network is written, or must follow from another network.
func TestNetworksThatSayTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawLoose(t, 6, 6)
		node := fmt.Sprint("n", rapid.IntRange(1, n.nodes).Draw(t, "node"))
		q := voltage(t, load(t, n.deck(), ""), node)
		size := n.size([]float64{q.Sound.Lo, q.Sound.Hi})
		same := func(what string, o quantity.Quantity, by float64) {
			for _, p := range [][2]float64{{o.Seen.Lo, by * q.Seen.Lo}, {o.Seen.Hi, by * q.Seen.Hi}, {o.Sound.Lo, by * q.Sound.Lo}, {o.Sound.Hi, by * q.Sound.Hi}} {
				if math.Abs(p[0]-p[1]) > 1e-8*by*size {
					t.Fatalf("%s: V(%s) is %v, %v; was %v, %v\n%s", what, node, o.Seen, o.Sound, q.Seen, q.Sound, n.deck())
				}
			}
		}
		lines := strings.Split(n.deck(), "\n")
		rand.New(rand.NewPCG(1, 2)).Shuffle(len(lines), func(i, j int) { lines[i], lines[j] = lines[j], lines[i] })
		same("cards in another order", voltage(t, load(t, strings.Join(lines, "\n"), ""), node), 1)

		three := n
		three.sources, three.currents = slices.Clone(n.sources), slices.Clone(n.currents)
		for i := range three.sources {
			three.sources[i].value *= 3
		}
		for i := range three.currents {
			three.currents[i].value *= 3
		}
		same("three times the sources", voltage(t, load(t, three.deck(), ""), node), 3)

		r := n.resistors[0]
		name := func(k int) string { return strings.Replace(fmt.Sprintf("n%d ", k), "n0 ", "0 ", 1) }
		metered := strings.Replace(n.deck(), fmt.Sprint("\nR0 ", name(r.a)), "\nVM0 "+name(r.a)+"mid 0\nR0 mid ", 1)
		same("a source of 0 V in series", voltage(t, load(t, metered, ""), node), 1)

		wide := n
		wide.tolerance = slices.Clone(n.tolerance)
		for i := range wide.tolerance {
			wide.tolerance[i] = min(0.5, wide.tolerance[i]+0.02)
		}
		if o := voltage(t, load(t, wide.deck(), ""), node); o.Sound.Lo > q.Sound.Lo+1e-8*size || o.Sound.Hi < q.Sound.Hi-1e-8*size {
			t.Fatalf("wider ranges: %v, was %v", o.Sound, q.Sound)
		}
	})
}

// A hundred thousand allowed states of each topology, by formulas of their own, stay inside; the ends are come near.
func TestAllowedStatesStayInside(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	in := func(lo, hi float64) float64 {
		switch rnd.IntN(4) {
		case 0:
			return lo
		case 1:
			return hi
		}
		return lo + rnd.Float64()*(hi-lo)
	}
	const models = "\n.model d D\n"
	for _, c := range []struct {
		name, deck, net string
		state           func() float64
	}{
		{"high side", `* shuntwright: rails.BATT = "40 V .. 58 V"
* shuntwright: currents.RS = { range = "-20 A .. 60 A", from = "BATT" }
* shuntwright: tolerances.resistors = "2 %"
RS BATT LOAD 10m
RL LOAD 0 1`, "LOAD", func() float64 { return in(40, 58) - in(-20, 60)*in(9.8e-3, 10.2e-3) }},
		{"joined supplies", `* shuntwright: rails.A = "-4 V .. 12 V"
* shuntwright: rails.B = "-3 V .. 10 V"
* shuntwright: elements.D1.drop = "0.3 V .. 0.6 V"
* shuntwright: elements.D2.drop = "0.7 V .. 0.9 V"
* shuntwright: tolerances.resistors = "1 %"
D1 A OUT d
D2 B OUT d
RL OUT 0 1k`, "OUT", func() float64 { return max(in(-4, 12)-in(0.3, 0.6), in(-3, 10)-in(0.7, 0.9), 0) }},
		{"clamped divider", `* shuntwright: rails.A = "-20 V .. 30 V"
* shuntwright: rails.C = "4.5 V .. 5.5 V"
* shuntwright: elements.D1.drop = "0.3 V .. 0.6 V"
* shuntwright: elements.D2.drop = "0.5 V .. 0.8 V"
* shuntwright: tolerances.resistors = "5 %"
R1 A N 1k
R2 N 0 2k
D1 N C d
D2 0 N d`, "N", func() float64 {
			r1, r2 := in(950, 1050), in(1900, 2100)
			return max(min(in(-20, 30)*r2/(r1+r2), in(4.5, 5.5)+in(0.3, 0.6)), -in(0.5, 0.8))
		}},
	} {
		q := voltage(t, load(t, c.deck+models, ""), c.net)
		seen := quantity.Nothing
		for range 100_000 {
			v := c.state()
			if v < q.Sound.Lo-1e-6 || v > q.Sound.Hi+1e-6 {
				t.Fatalf("%s: %v is possible, outside %v", c.name, v, q.Sound)
			}
			seen = seen.Union(quantity.Point(v))
		}
		meets(t, c.name+": what was met", seen, q.Seen.Lo, q.Seen.Hi, 1e-3*q.Seen.Width())
	}
}
