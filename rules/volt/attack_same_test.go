package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Networks with diodes and switches that say the same, or that follow from each other.
func TestWildNetworksThatSayTheSame(t *testing.T) {
	for seed := range uint64(80) {
		r := rand.New(rand.NewPCG(seed, 61))
		w := drawWild(r, ingredients{nodes: 2 + r.IntN(3), resistors: 2, rails: 1, diodes: r.IntN(4), switches: r.IntN(2), spanning: true, tolerance: 0.4})
		node := wildNode(1 + r.IntN(w.nodes))
		bound := func(w wild) quantity.Quantity { return voltage(t, load(t, w.deck(), ""), node) }
		q := bound(w)
		if !q.Known() {
			continue
		}
		size := max(1, math.Abs(q.Sound.Lo), math.Abs(q.Sound.Hi))
		same := func(what string, o quantity.Quantity, by float64) {
			t.Helper()
			for _, p := range [][2]float64{{o.Seen.Lo, by * q.Seen.Lo}, {o.Seen.Hi, by * q.Seen.Hi}, {o.Sound.Lo, by * q.Sound.Lo}, {o.Sound.Hi, by * q.Sound.Hi}} {
				if math.Abs(p[0]-p[1]) > 1e-8*by*size {
					t.Errorf("seed %d, %s: V(%s) is %v, %v; was %v, %v\n%s", seed, what, node, o.Seen, o.Sound, q.Seen, q.Sound, w.deck())
					return
				}
			}
		}
		changed := func(f func(e *element)) wild {
			c := wild{w.nodes, slices.Clone(w.elements)}
			for i := range c.elements {
				f(&c.elements[i])
			}
			return c
		}
		lines := strings.Split(w.deck(), "\n")
		r.Shuffle(len(lines), func(i, j int) { lines[i], lines[j] = lines[j], lines[i] })
		same("in another order", voltage(t, load(t, strings.Join(lines, "\n"), ""), node), 1)

		same("all voltages and currents three times", bound(changed(func(e *element) {
			if e.kind != 'R' && e.kind != 'S' {
				e.nom, e.lo, e.hi = 3*e.nom, 3*e.lo, 3*e.hi
			}
		})), 3)
		same("all resistances twice, currents half", bound(changed(func(e *element) {
			switch e.kind {
			case 'R', 'S':
				e.nom, e.lo, e.hi = 2*e.nom, 2*e.lo, 2*e.hi
			case 'I':
				e.nom, e.lo, e.hi = e.nom/2, e.lo/2, e.hi/2
			}
		})), 1)

		// A source of 0 V in series with each resistor, and a ring of three of them beside the node.
		metered := changed(func(*element) {})
		for i, e := range w.elements {
			if e.kind == 'R' {
				metered.nodes++
				metered.elements[i].a = metered.nodes
				metered.elements = append(metered.elements, element{kind: 'V', a: e.a, b: metered.nodes})
			}
		}
		same("with meters", bound(metered), 1)
		ring := w.deck() + fmt.Sprintf("\nVX1 %s x1 0\nVX2 x1 x2 0\nVX3 x2 %s 0\nRX x1 x2 1k", node, node)
		same("with a ring of sources of 0 V", voltage(t, load(t, ring, ""), node), 1)

		// What does not vary may be split; what varies may vary more then.
		split := changed(func(*element) {})
		exact := true
		for i, e := range w.elements {
			if e.kind != 'R' {
				continue
			}
			split.nodes++
			half := e
			half.nom, half.lo, half.hi = e.nom/2, e.lo/2, e.hi/2
			split.elements[i] = half
			split.elements[i].b = split.nodes
			half.a = split.nodes
			split.elements = append(split.elements, half)
			exact = exact && e.lo == e.hi
		}
		o := bound(split)
		if o.Sound.Lo > q.Sound.Lo+1e-8*size || o.Sound.Hi < q.Sound.Hi-1e-8*size || math.Abs(o.Nom-q.Nom) > 1e-8*size {
			t.Errorf("seed %d, split: V(%s) is %v, %v; was %v, %v\n%s", seed, node, o.Nom, o.Sound, q.Nom, q.Sound, w.deck())
		}
		if exact {
			same("split", o, 1)
		}
		wider := bound(changed(func(e *element) {
			switch {
			case e.kind == 'R':
				by := min(0.9, (e.hi-e.nom)/e.nom+0.03)
				*e = spread(*e, by)
			case e.kind == 'D':
				e.lo, e.hi = e.lo*0.9, e.hi+0.1
			case e.rail:
				e.lo, e.hi = e.lo-0.5, e.hi+0.5
			}
		}))
		if wider.Known() && (wider.Sound.Lo > q.Sound.Lo+1e-8*size || wider.Sound.Hi < q.Sound.Hi-1e-8*size) {
			t.Errorf("seed %d, wider: V(%s) is %v; was %v\n%s", seed, node, wider.Sound, q.Sound, w.deck())
		}
	}
}
