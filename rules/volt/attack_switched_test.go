package volt_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// Rectifiers, OR-ing and clippers as they come, with nodes that only diodes lead to, switches, meters and controlled
// sources: no state lies outside, both ends are attained, and what is not loose is exact. Voltages and currents in turn.
func TestWildNetworksStayInside(t *testing.T) {
	for _, c := range []struct {
		name string
		g    ingredients
	}{
		{"diodes", ingredients{diodes: 8}},
		{"diodes and switches", ingredients{diodes: 4, switches: 3}},
		{"floating middles", ingredients{diodes: 1, switches: 1, floating: 2}},
		{"meters", ingredients{diodes: 2, meters: 3}},
		{"controlled sources", ingredients{controls: 2, meters: 1}},
		{"controlled sources and diodes", ingredients{controls: 2, diodes: 2, switches: 1}},
	} {
		known, loose := 0, 0
		for seed := range uint64(60) {
			r := rand.New(rand.NewPCG(seed, 31))
			g := c.g
			g.nodes, g.resistors, g.rails, g.spanning, g.tolerance = 2+r.IntN(4), r.IntN(4), 1+r.IntN(2), true, 0.5
			w := drawWild(r, g)
			d, diags := bind(w.deck(), "")
			if len(diags) > 0 { // two sources on one net
				continue
			}
			what, of := "", func(outcome) float64 { return 0 }
			k := 1 + r.IntN(g.nodes)
			what, of = wildNode(k), func(o outcome) float64 { return o.volts[k] }
			q := voltage(t, d, what)
			if seed%4 == 0 {
				i := w.of('R')[r.IntN(len(w.of('R')))]
				what, of = w.name(i), func(o outcome) float64 { return o.amps[i] }
				q = amps(t, d, what)
			}
			if breach := w.breach(q, of, r, 60); breach != "" {
				t.Errorf("%s, seed %d, %s: %s\n%s", c.name, seed, what, breach, w.deck())
			}
			if q.Known() {
				known++
			}
			if q.Loose {
				loose++
			}
		}
		t.Log(fmt.Sprintf("%s: %d known, %d loose", c.name, known, loose))
	}
}
