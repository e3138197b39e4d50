package volt_test

import (
	"math"
	"math/rand/v2"
)

// ingredients are what a wild network is drawn of.
type ingredients struct {
	nodes, resistors, rails, diodes, switches, controls int
	meters                                              int     // sources of 0 V, some in series with a resistor, some across two nodes of it
	floating                                            int     // nodes that only diodes lead to
	spanning                                            bool    // rails from one sign to the other
	tolerance                                           float64 // most
}

func drawWild(r *rand.Rand, g ingredients) wild {
	w := wild{nodes: g.nodes}
	add := func(e ...element) { w.elements = append(w.elements, e...) }
	round := func(v, to float64) float64 { return math.Round(v/to) * to }
	pair := func() (int, int) {
		a, b := r.IntN(w.nodes+1), r.IntN(w.nodes)
		if b >= a {
			b++
		}
		return a, b
	}
	ohms := func() float64 { return round(math.Pow(10, 6*r.Float64()), 0.01) }
	by := func() float64 {
		if r.IntN(4) == 0 {
			return 0
		}
		return round(r.Float64()*g.tolerance, 0.01)
	}
	for k := 1; k <= g.nodes; k++ {
		add(spread(element{kind: 'R', a: k, b: r.IntN(k), nom: ohms()}, by()))
	}
	for range g.resistors {
		a, b := pair()
		add(spread(element{kind: 'R', a: a, b: b, nom: ohms()}, by()))
	}
	for _, k := range r.Perm(g.nodes)[:min(g.rails, g.nodes)] {
		hi := 1 + math.Round(r.Float64()*20)
		lo := 0.8 * hi
		if g.spanning && r.IntN(3) > 0 {
			lo = -hi
		}
		add(element{kind: 'V', a: k + 1, nom: (hi + lo) / 2, lo: lo, hi: hi, rail: true})
	}
	if r.IntN(2) == 0 {
		a, b := pair()
		add(spread(element{kind: 'I', a: a, b: b, nom: round(r.Float64()*1e-3, 1e-6)}, by()))
	}
	for range g.meters {
		a, b := pair()
		if k := r.IntN(2 * len(w.elements)); k < len(w.elements) && w.elements[k].kind == 'R' { // in series with that
			w.nodes++
			a, w.elements[k].a = w.elements[k].a, w.nodes
			b = w.nodes
		}
		add(element{kind: 'V', a: a, b: b})
	}
	for range g.switches {
		a, b := pair()
		add(element{kind: 'S', a: a, b: b, lo: 1, hi: 1 + float64(r.IntN(3))})
	}
	for range g.controls {
		a, b := pair()
		c, d := pair()
		if r.IntN(2) == 0 {
			add(element{kind: 'G', a: a, b: b, c: c, d: d, nom: round(2e-3*(r.Float64()-0.5), 1e-6)})
			continue
		}
		w.nodes++ // behind a resistor of its own
		add(element{kind: 'E', a: w.nodes, b: b, c: c, d: d, nom: round(4*(r.Float64()-0.5), 0.01)}, spread(element{kind: 'R', a: w.nodes, b: a, nom: ohms()}, by()))
	}
	drop := func(a, b int) {
		lo := round(r.Float64(), 0.1)
		add(element{kind: 'D', a: a, b: b, lo: lo, hi: lo + round(r.Float64()/2, 0.1)})
	}
	for range g.diodes {
		drop(pair())
	}
	solid := w.nodes
	for range g.floating {
		w.nodes++
		for range 2 + r.IntN(2) {
			a, b := r.IntN(solid+1), w.nodes
			if r.IntN(2) == 0 {
				a, b = b, a
			}
			drop(a, b)
		}
	}
	return w
}
