package volt

import (
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// looped tells that diodes which conduct without any resistance close a ring with each other, with sources, declared
// currents and what is held, over resistors that are none at these inputs (without inputs, that are none at any): that is
// a state only where their voltages add up to exactly nothing, and the states beside it say the same.
func (is *island) looped(x []float64) bool {
	w := is.work
	g := w.rings
	g.reset()
	held := len(g) - 1
	node := func(n int) int {
		if n < 0 {
			return held
		}
		return n
	}
	for i, b := range is.sources {
		if !is.exact[i] {
			g.join(b.a, b.b)
		}
	}
	for _, c := range is.controls {
		if !c.current {
			g.join(c.a, c.b)
		}
	}
	for _, c := range is.clips {
		g.join(c.out, -1)
	}
	for _, b := range is.balanced {
		g.join(b.from, b.to)
	}
	for _, r := range is.resistors {
		if is.isWire(r, x) {
			g.join(r.a, r.b)
		}
	}
	for k, d := range is.diodes {
		if !w.on[k] || d.ohms >= 0 || d.anode < 0 && d.cathode < 0 || d.anode == d.cathode {
			continue
		}
		if g.find(node(d.anode)) == g.find(node(d.cathode)) {
			return true
		}
		g.join(d.anode, d.cathode)
	}
	return false
}

// isWire tells a resistor without any resistance.
func (is *island) isWire(r resistor, x []float64) bool {
	switch {
	case x == nil && r.state >= 0:
		return false
	case r.state >= 0 && x[r.state] == 0:
		return false
	case r.ohms < 0:
		return true
	case x == nil:
		return is.inputs[r.ohms].Sound == quantity.Interval{}
	}
	return x[r.ohms] == 0
}

// shorted tells a state in which such a ring carries a current without measure: sources against each other.
func (is *island) shorted(x []float64) bool {
	const beyondMeasure = 1e6 // A
	if !is.looped(x) {
		return false
	}
	for k := range is.diodes {
		if is.work.on[k] && math.Abs(is.work.x[is.work.diodeRow+k]) > beyondMeasure {
			return true
		}
	}
	return false
}

// judgeSources finds voltage sources that fix one voltage twice, at different values: a loop of sources, which has no
// solution (SPICE3f3 User's Manual, 2.5, on loops of voltage sources). Where intent declares a rail of the loop it wins,
// and the netlist's source is reported as a disagreement.
func (is *island) judgeSources() {
	if is.signal != nil {
		return
	}
	at := map[int]potential{}
	first := func(n int) potential {
		if n < 0 {
			return potential{root: -1, volts: is.inputs[^n].Nom}
		}
		p := potential{root: n}
		for {
			up, ok := at[p.root]
			if !ok {
				return p
			}
			p.root, p.volts = up.root, p.volts+up.volts
			if p.root < 0 {
				return p
			}
		}
	}
	for _, b := range is.sources {
		p, n := first(b.a), first(b.b)
		volts := is.inputs[b.volts].Nom
		switch off := p.volts - n.volts - volts; {
		case p.root != n.root && p.root >= 0:
			at[p.root] = potential{n.root, n.volts + volts - p.volts}
		case p.root != n.root:
			at[n.root] = potential{p.root, p.volts - volts - n.volts}
		case math.Abs(off) > 1e-9*max(1, math.Abs(p.volts), math.Abs(volts)):
			is.unknown(quantity.Need{In: "netlist", Key: fmt.Sprintf("one source less around %s: with others it closes a loop in which %s is left over", b.what, quantity.Show(math.Abs(off), quantity.Volt))})
		}
	}
}

// A potential is how far a node stands above the root of what sources join it with; below 0 the root is what is held.
type potential struct {
	root  int
	volts float64
}

// polish solves a settled state again without the tiny resistances that keep rings of diodes solvable, where none of the
// diodes that conduct closes one: what they drop would show in the answer. Where that contradicts a diode by rounding, the
// answer stays.
func (is *island) polish(x []float64) {
	w := is.work
	ideal := false
	for k, d := range is.diodes {
		ideal = ideal || w.on[k] && d.ohms < 0 && (d.anode >= 0 || d.cathode >= 0)
	}
	if !ideal || is.looped(x) {
		return
	}
	was := append([]float64(nil), w.x...)
	w.least = 0
	if !is.assemble(x) || is.contradiction(x) >= 0 {
		copy(w.x, was)
	}
	w.least = least
}
