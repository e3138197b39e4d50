package builtin

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// longest is how many nets a route is looked for over.
const longest = 256

// resistiveRoute is the way of least resistance from a net to another over resistors and inductors. It does not pass a net that
// something holds, where a current or a pulse ends, but may begin and end at one. ok is false where there is none.
func resistiveRoute(d *design.Design, from, to circuit.Net) (over []design.Element, ok bool) {
	if from == to {
		return nil, true
	}
	type step struct {
		net  circuit.Net
		over design.Element
		from int
		ohms float64
		done bool
	}
	steps := []step{{net: from, from: -1}}
	for {
		at := -1
		for i := range steps {
			if !steps[i].done && (at < 0 || steps[i].ohms < steps[at].ohms) {
				at = i
			}
		}
		switch {
		case at < 0 || len(steps) > longest:
			return nil, false
		case steps[at].net == to:
			for i := at; steps[i].from >= 0; i = steps[i].from {
				over = append([]design.Element{steps[i].over}, over...)
			}
			return over, true
		}
		steps[at].done = true
		if _, held := d.Rail(steps[at].net, design.Operating); held && at > 0 {
			continue
		}
		for e := range d.On(steps[at].net) {
			if k := e.Kind(); (k != 'R' && k != 'L') || e.Pins() != 2 {
				continue
			}
			next := step{net: e.Other(steps[at].net), over: e, from: at, ohms: steps[at].ohms}
			if e.Kind() == 'R' && e.Value() > 0 {
				next.ohms += e.Value()
			}
			known := false
			for i := range steps {
				if known = steps[i].net == next.net; known {
					if !steps[i].done && next.ohms < steps[i].ohms {
						steps[i] = next
					}
					break
				}
			}
			if !known && (next.net != 0 || to == 0) {
				steps = append(steps, next)
			}
		}
	}
}

// wiredTo tells that a net follows another one: less than 1 ohm of resistors and inductors stand between them.
func wiredTo(d *design.Design, from, to circuit.Net) bool {
	over, ok := resistiveRoute(d, from, to)
	sum := 0.0
	for _, e := range resistors(over) {
		sum += e.Value()
	}
	return ok && sum < 1
}

// seriesOhms is the resistance of elements in series, in ohm, each with those beside it; inductors have none.
func seriesOhms(p *rules.Bench, name string, series []design.Element) quantity.Quantity {
	var in []quantity.Quantity
	var ends []int // of the elements side by side
	for _, e := range resistors(series) {
		for _, o := range sideBySide(p, e) {
			in = append(in, o.Resistance())
		}
		ends = append(ends, len(in))
	}
	return quantity.Calc(name, quantity.Ohm, func(x []float64) float64 {
		sum, from := 0.0, 0
		for _, to := range ends {
			if to == from+1 {
				sum += x[from]
			} else {
				sum += inParallel(x[from:to])
			}
			from = to
		}
		return sum
	}, in...)
}

// sideBySide are a resistor and those that lead from where it begins to where it ends: on the same two nets, or on the same
// side of shunts with sense terminals.
func sideBySide(p *rules.Bench, e design.Element) []design.Element {
	out := []design.Element{e}
	add := func(o design.Element) {
		if !slices.ContainsFunc(out, func(x design.Element) bool { return x.ID == o.ID }) {
			out = append(out, o)
		}
	}
	if !p.Whole() {
		for _, l := range []sense.Leg{p.Plus, p.Minus} {
			if len(l.Beside) > 0 && l.Series[0].ID == e.ID {
				for _, o := range l.Beside {
					add(o)
				}
			}
		}
	}
	a, b := e.Pin(0), e.Pin(1)
	if len(p.Design.Circuit.On(a)) > len(p.Design.Circuit.On(b)) {
		a, b = b, a
	}
	if len(p.Design.Circuit.On(a)) > mostOnNet { // a rail on both ends: no leg of a block
		return out
	}
	for o := range p.Design.On(a) {
		if o.Kind() == 'R' && o.Pins() == 2 && o.Value() > 0 && o.Other(a) == b {
			add(o)
		}
	}
	return out
}

// netCapacitance is that of a net's own capacitors to nets that something holds, in farads; ok is false where there are none.
func netCapacitance(d *design.Design, n circuit.Net) (q quantity.Quantity, ok bool) {
	var in []quantity.Quantity
	for e := range d.On(n) {
		if e.Kind() != 'C' || e.Pins() != 2 || e.Other(n) == n {
			continue
		}
		if _, held := d.Rail(e.Other(n), design.Operating); held {
			in = append(in, e.Capacitance())
		}
	}
	return quantity.Calc("capacitance of "+d.Circuit.NetName(n), quantity.Farad, func(x []float64) float64 {
		sum := 0.0
		for _, v := range x {
			sum += v
		}
		return sum
	}, in...), len(in) > 0
}

// firstMissing is the missing one of some quantities, in the unit asked for; ok is false where all are known. What an end of an
// unlimited range does to a formula says nothing of what lies between, so that a formula is not asked.
func firstMissing(u quantity.Unit, in ...quantity.Quantity) (q quantity.Quantity, ok bool) {
	for _, x := range in {
		if !x.Known() {
			return quantity.Missing(u, x.Needs[0]), true
		}
	}
	return q, false
}
