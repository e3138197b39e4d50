package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// wide draws resistors from 1 ohm to 1 Mohm of up to 90 % and sources of up to 50 %, count of them uncertain.
func wide(r *rand.Rand, nodes, count int) wild {
	w := wild{nodes: nodes}
	ohms := func() float64 { return math.Round(math.Pow(10, 6*r.Float64())*100) / 100 }
	resistor := func(a, b int) {
		by := 0.0
		if count > 0 {
			by = float64(1+r.IntN(90)) / 100
			count--
		}
		w.elements = append(w.elements, spread(element{kind: 'R', a: a, b: b, nom: ohms()}, by))
	}
	for _, k := range r.Perm(nodes)[:1+r.IntN(2)] {
		w.elements = append(w.elements, spread(element{kind: 'V', a: k + 1, nom: math.Round(40*r.Float64()-20) + 0.5}, float64(r.IntN(50))/100))
		if w.elements[len(w.elements)-1].lo < w.elements[len(w.elements)-1].hi {
			count--
		}
	}
	if a, b := r.IntN(nodes+1), r.IntN(nodes+1); a != b {
		w.elements = append(w.elements, spread(element{kind: 'I', a: a, b: b, nom: 1e-4}, 0.25))
		count--
	}
	for k := 1; k <= nodes; k++ {
		resistor(k, r.IntN(k))
	}
	for count > 0 {
		if a, b := r.IntN(nodes+1), r.IntN(nodes+1); a != b {
			resistor(a, b)
		}
	}
	return w
}

// Twelve values over six decades: the bounds of a node and of a current are the ranges over all 4096 corners, exactly.
func TestTwelveWideValues(t *testing.T) {
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(seed, 21))
		w := wide(r, 3+r.IntN(4), 12)
		if n := len(w.free()); n != 12 {
			t.Fatalf("%d values", n)
		}
		free := w.free()
		volts, through, size := make([]quantity.Interval, w.nodes+1), make([]quantity.Interval, len(w.elements)), 1.0
		for k := range volts {
			volts[k] = quantity.Nothing
		}
		for k := range through {
			through[k] = quantity.Nothing
		}
		place := make(map[int]float64)
		for c := range 1 << len(free) {
			for b, i := range free {
				place[i] = float64(c >> b & 1)
			}
			for _, o := range w.outcomes(w.at(func(i int) float64 { return place[i] }), 0) {
				size = max(size, o.size)
				for k, v := range o.volts {
					volts[k] = volts[k].Union(quantity.Point(v))
				}
				for k, i := range o.amps {
					through[k] = through[k].Union(quantity.Point(i))
				}
			}
		}
		d := load(t, w.deck(), "")
		exact := func(what string, q quantity.Quantity, want quantity.Interval, within float64) {
			meets(t, fmt.Sprintf("seed %d, %s, seen,", seed, what), q.Seen, want.Lo, want.Hi, within)
			meets(t, fmt.Sprintf("seed %d, %s, sound,", seed, what), q.Sound, want.Lo, want.Hi, within)
			if q.Loose {
				t.Errorf("seed %d: %s is loose", seed, what)
			}
		}
		for k := 1; k <= w.nodes; k++ {
			exact(wildNode(k), voltage(t, d, wildNode(k)), volts[k], 1e-9*size)
		}
		a, b := 1+r.IntN(w.nodes), 1+r.IntN(w.nodes)
		if a != b && r.IntN(3) > 0 {
			across(t, d, wildNode(a), wildNode(b)) // solved again from its witness decks
		}
		for i, e := range w.elements {
			if e.kind == 'R' && i%3 == 0 || e.kind == 'V' {
				exact("I("+w.name(i)+")", amps(t, d, w.name(i)), through[i], 1e-8*max(math.Abs(through[i].Lo), math.Abs(through[i].Hi), 1e-6))
			}
		}
		if t.Failed() {
			t.Fatal(w.deck())
		}
	}
}

// Twenty to sixty uncertain values: no state lies outside.
func TestSixtyWideValues(t *testing.T) {
	loose, all := [2]int{}, [2]int{}
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 22))
		w := wide(r, 6+r.IntN(10), 20+r.IntN(41))
		if seed%2 == 0 { // of a few per cent, as in a design
			for i, e := range w.elements {
				if e.kind == 'R' {
					w.elements[i] = spread(e, (e.hi-e.nom)/e.nom/20)
				}
			}
		}
		d := load(t, w.deck(), "")
		node := 1 + r.IntN(w.nodes)
		q := voltage(t, d, wildNode(node))
		if all[seed%2]++; q.Loose {
			loose[seed%2]++
		}
		if breach := w.breach(q, func(o outcome) float64 { return o.volts[node] }, r, 200); breach != "" {
			t.Fatalf("seed %d, V(n%d): %s\n%s", seed, node, breach, w.deck())
		}
	}
	t.Logf("loose: %v of %v, few per cent and many", loose, all)
}
