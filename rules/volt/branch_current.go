package volt

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Current is what the current of a resistor, an inductor or a voltage source can be in a regime, from its first to its
// second node, in amperes. A declared current is what intent says. Of any other element it is missing.
func (s *Solver) Current(e design.Element, r design.Regime) quantity.Quantity {
	name := currentName(e)
	if q, ok := s.declaredCurrent(e, r); ok {
		return q.Named(name)
	}
	p, needs := s.branch(e, r)
	if len(needs) > 0 {
		return inAmps(unsaid(name, needs))
	}
	return inAmps(p.is.bound(name, p.value))
}

func currentName(e design.Element) string { return "current of " + e.Path() }

// inAmps gives a bound, which counts in volts, the unit of a current.
func inAmps(q quantity.Quantity) quantity.Quantity {
	q.Unit = quantity.Amp
	return q
}

// declaredCurrent is the current that intent declares for a resistor, from its first to its second node, where its implied
// source has a place to stand.
func (s *Solver) declaredCurrent(e design.Element, r design.Regime) (q quantity.Quantity, ok bool) {
	is := &island{s: s, regime: r}
	c, ok := is.declared(e)
	if !ok {
		return q, false
	}
	if c.From == e.Pin(0) {
		return c.Value, true
	}
	return c.Value.Times(-1), true
}

// A probe reads one number off the solution of an island.
type probe struct {
	is    *island
	value func(x []float64) float64
	start int    // the node from which the path that sets it begins
	asked string // the element whose current it is; "" where it is a sum of voltages
	terms []weighted
}

// weighted is a node and how often it counts.
type weighted struct {
	node   int
	weight float64
}

// branch is the island around an element with a probe of its current; what is missing where there is none.
func (s *Solver) branch(e design.Element, r design.Regime) (p probe, needs []quantity.Need) {
	p.asked = e.Path()
	nobody := []quantity.Need{{In: "netlist", Key: "the current through " + e.Path(), At: e.Card()}}
	// read draws the element and finds its current, nil where it has none; own tells that the element drives it itself.
	var read func(is *island) (amps func(x []float64) (i float64, own bool))
	wire := -1
	switch e.Kind() {
	case 'R', 'L':
		read = func(is *island) func(x []float64) (float64, bool) {
			row := len(is.resistors)
			is.visit(e, e.Pin(0))
			if len(is.resistors) != row+1 {
				return nil
			}
			is.coils[row] = true
			if is.resistors[row].ohms < 0 {
				wire = row
			}
			state, drives := is.resistors[row].state, len(is.inputs)-1 // what an inductor drives on is the last that it adds
			return func(x []float64) (float64, bool) {
				i := is.current(row, x)
				if state >= 0 && x[state] == 0 && !math.IsNaN(i) {
					return x[drives], true
				}
				return i, false
			}
		}
	case 'V':
		read = func(is *island) func(x []float64) (float64, bool) {
			m, _ := is.meterOf(e)
			return func(x []float64) (float64, bool) { return is.solve(x)[is.row(m)], false }
		}
	default:
		return p, nobody
	}
	var amps func(x []float64) (float64, bool)
	p.is = s.buildWith([]circuit.Net{e.Pin(0), e.Pin(1)}, r, func(is *island) { amps = read(is) })
	a, b := p.is.place(e.Pin(0)), p.is.place(e.Pin(1))
	p.value = func(x []float64) float64 { return p.is.flowing(a, b, x, amps) }
	if p.start = a; a < 0 {
		p.start = b
	}
	switch {
	case len(p.is.unknowns) > 0:
		return p, p.is.unknowns
	case amps == nil, wire >= 0 && p.is.bypassed(meter{true, wire}, e):
		return p, nobody
	}
	return p, nil
}

// flowing is the current of a branch between two nodes: NaN where these inputs are no state, without end where nothing
// limits a node that it reaches, since where the current goes is then anybody's guess but for what drives it. Where the
// nodes merely float it does not matter where they stand.
func (is *island) flowing(a, b int, x []float64, amps func(x []float64) (float64, bool)) float64 {
	answer := is.solve(x)
	i, own := amps(x)
	for _, n := range []int{a, b} {
		switch {
		case n < 0:
		case math.IsNaN(answer[n]) && !is.work.floats[n]:
			return math.NaN()
		case math.IsInf(answer[n], 0) && !own:
			return answer[n]
		}
	}
	return i
}
