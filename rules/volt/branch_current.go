package volt

import (
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
		return unsaid(name, quantity.Amp, needs)
	}
	return p.is.bound(name, quantity.Amp, p.reading)
}

func currentName(e design.Element) string { return "current of " + e.Path() }

// declaredCurrent is the current that intent declares for a resistor, from its first to its second node, where its implied
// source has a place to stand.
func (s *Solver) declaredCurrent(e design.Element, r design.Regime) (q quantity.Quantity, ok bool) {
	is := &island{s: s, regime: r}
	c, ok := is.declared(e)
	if !ok {
		return q, false
	}
	if a, _ := e.Ends(); c.From == a {
		return c.Value, true
	}
	return c.Value.Times(-1), true
}

// A probe reads one number off the solution of an island.
type probe struct {
	is *island
	reading
	start int    // the node from which the path that sets it begins
	asked string // the element whose current it is; "" where it is a sum of voltages
}

// volts are the nodes whose voltages are asked for.
func (p probe) volts() reading {
	if p.asked != "" {
		return nil
	}
	return p.reading
}

// branch is the island around an element with a probe of its current; what is missing where there is none. It is built once:
// the island remembers in which state an end was found.
func (s *Solver) branch(e design.Element, r design.Regime) (probe, []quantity.Need) {
	key := occasion{e.ID, r}
	b, ok := s.branches[key]
	if !ok {
		b.probe, b.needs = s.probeOf(e, r)
		s.branches[key] = b
	}
	return b.probe, b.needs
}

// A branched is what branch found.
type branched struct {
	probe
	needs []quantity.Need
}

func (s *Solver) probeOf(e design.Element, r design.Regime) (p probe, needs []quantity.Need) {
	p.asked = e.Path()
	one, other := e.Ends()
	nobody := []quantity.Need{{In: "netlist", Key: "the current through " + e.Path(), At: e.Card()}}
	row, drives := -1, -1
	var through meter
	draw := func(is *island) {
		if e.Kind() == 'V' {
			through, _ = is.meterOf(e)
			return
		}
		n := len(is.resistors)
		is.visit(e, one)
		if row = -1; len(is.resistors) == n+1 || e.Kind() == 'X' && len(is.resistors) > n {
			row, drives = n, len(is.inputs)-1 // what an inductor drives on is the last that it adds
			is.coils[row] = true
		}
	}
	if k := e.Kind(); k != 'R' && k != 'L' && k != 'V' && !e.Carries() {
		return p, nobody
	}
	p.is = s.buildWith([]circuit.Net{one, other}, r, draw)
	a, b := p.is.place(one), p.is.place(other)
	if p.start = a; a < 0 {
		p.start = b
	}
	switch {
	case len(p.is.unknowns) > 0:
		return p, p.is.unknowns
	case e.Kind() == 'V':
		p.reading = reading{{at: p.is.row(through), times: 1}}
	case row < 0, p.is.resistors[row].ohms < 0 && p.is.bypassed(meter{true, row}, e):
		return p, nobody
	default:
		p.reading = reading{{at: p.is.work.rowOf[row], times: 1}}
		if state := p.is.resistors[row].state; state >= 0 {
			p.reading = append(p.reading, tap{at: ^drives, times: 1, idle: 1 + state})
		}
	}
	for _, n := range []int{a, b} { // where nothing limits a node, where its current goes is anybody's guess
		if n >= 0 {
			p.reading = append(p.reading, tap{at: n})
		}
	}
	return p, nil
}
