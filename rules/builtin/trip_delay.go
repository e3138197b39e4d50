package builtin

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// A product is a resistance times a capacitance by their numbers in a list of quantities.
type product struct{ r, c int }

// A lag collects what a network of resistors and capacitors adds to the delay of a ramp: the sum of products that is known
// as Elmore's delay, towards which the lag of a ramp rises.
type lag struct {
	in    []quantity.Quantity
	place map[circuit.ID]int
}

func (l *lag) of(e design.Element) int {
	if i, ok := l.place[e.ID]; ok {
		return i
	}
	if l.place == nil {
		l.place = map[circuit.ID]int{}
	}
	q := e.Resistance
	if e.Kind() == 'C' {
		q = e.Capacitance
	}
	l.in = append(l.in, q())
	l.place[e.ID] = len(l.in) - 1
	return len(l.in) - 1
}

func (l *lag) times(r []design.Element, c design.Element) (out []product) {
	for _, e := range r {
		out = append(out, product{l.of(e), l.of(c)})
	}
	return out
}

func sumOf(x []float64, list []product) float64 {
	s := 0.0
	for _, p := range list {
		s += x[p.r] * x[p.c]
	}
	return s
}

// inputLag is the longest lag of the input filter, in s: capacitors between the legs see the resistors of both, those to
// anywhere else the ones of their leg, and of these the slower leg counts.
func inputLag(p *rules.Bench) quantity.Quantity {
	var l lag
	var across []product
	var own [2][]product
	legs := [2][]design.Element{p.Plus.Series, p.Minus.Series}
	nets := [2][]circuit.Net{p.Plus.Inner, p.Minus.Inner}
	ahead := func(leg, i int) []design.Element { return resistors(legs[leg][i:]) }
	var back []circuit.ID
	if p.Network != nil { // beside the resistor that feeds an op amp back
		for _, t := range p.Network.Stages {
			for c := range p.Design.On(t.Minus) {
				if c.Kind() != 'C' || c.Pins() != 2 || c.Other(t.Minus) != t.Out {
					continue
				}
				back = append(back, c.ID)
				for r := range p.Design.On(t.Minus) {
					if r.Kind() == 'R' && r.Pins() == 2 && r.Other(t.Minus) == t.Out {
						across = append(across, product{l.of(r), l.of(c)})
					}
				}
			}
		}
	}
	for i, n := range nets[0] {
		for e := range p.Design.On(n) {
			if e.Kind() == 'C' && !slices.Contains(back, e.ID) {
				if j := slices.Index(nets[1], e.Other(n)); j >= 0 {
					across = append(across, l.times(append(slices.Clone(ahead(0, i)), ahead(1, j)...), e)...)
				} else if e.Other(n) == p.Minus.Shunt {
					across = append(across, l.times(ahead(0, i), e)...)
				} else if !slices.Contains(nets[0], e.Other(n)) {
					own[0] = append(own[0], l.times(ahead(0, i), e)...)
				}
			}
		}
	}
	for i, n := range nets[1] {
		for e := range p.Design.On(n) {
			if e.Kind() != 'C' || slices.Contains(back, e.ID) || slices.Contains(nets[0], e.Other(n)) || slices.Contains(nets[1], e.Other(n)) {
				continue
			}
			if e.Other(n) == p.Plus.Shunt {
				across = append(across, l.times(ahead(1, i), e)...)
			} else {
				own[1] = append(own[1], l.times(ahead(1, i), e)...)
			}
		}
	}
	return quantity.Calc("lag of the input filter", quantity.Second, func(x []float64) float64 {
		return sumOf(x, across) + max(sumOf(x, own[0]), sumOf(x, own[1]))
	}, l.in...)
}

// outputLag is the longest lag from the output to a net behind it, in s: every capacitor there with the resistance that its
// way and that of the net have in common, and with that of the output, which is its load where it is a current.
func outputLag(p *rules.Bench, to circuit.Net) quantity.Quantity {
	reached := netsBehind(p.Design, p.Output.Pin)
	way := func(i int) (out []design.Element) {
		for ; i > 0; i = reached[i].from {
			out = append(out, reached[i].over)
		}
		return out
	}
	target := way(reachedAt(reached, to))
	var l lag
	var list []product
	source := -1
	if p.CurrentOutput() {
		l.in, source = append(l.in, p.OutputLoad()), 0
	} else if p.Amp.Entry("output.resistance") != nil {
		l.in, source = append(l.in, p.Part("output.resistance")), 0
	}
	for i, s := range reached {
		for e := range p.Design.On(s.net) {
			if e.Kind() != 'C' || reachedAt(reached, e.Other(s.net)) >= 0 {
				continue
			}
			common := slices.DeleteFunc(way(i), func(e design.Element) bool {
				return !slices.ContainsFunc(target, func(o design.Element) bool { return o.ID == e.ID })
			})
			list = append(list, l.times(resistors(common), e)...)
			if source >= 0 {
				list = append(list, product{source, l.of(e)})
			}
		}
	}
	return quantity.Calc("lag of the output filter", quantity.Second, func(x []float64) float64 { return sumOf(x, list) }, l.in...)
}

// ownLag is the longest delay of the amplifier, in s: as its record says it, else the time constant of its bandwidth.
func ownLag(p *rules.Bench) quantity.Quantity {
	if p.Amp.Entry("delay") == nil && p.Amp.Entry("bandwidth") != nil {
		return quantity.Calc("lag of the amplifier", quantity.Second, func(x []float64) float64 { return 1 / (2 * math.Pi * x[0]) }, p.Part("bandwidth"))
	}
	return ceilingOf(p.Part("delay"))
}

// reaction is the time from a current that passes the threshold to one that no longer rises, in s.
func reaction(p *rules.Bench, t trip) quantity.Quantity {
	parts := []quantity.Quantity{inputLag(p), ownLag(p), outputLag(p, t.net), ceilingOf(p.Declared(quantity.Second, "trips", t.name, "delay"))}
	if t.comparator != nil {
		parts = append(parts, ceilingOf(p.PartOf(*t.comparator, "delay")))
	}
	if t.get(p, "blanking") != nil {
		parts = append(parts, p.Declared(quantity.Second, "trips", t.name, "blanking"))
	}
	return quantity.Calc("reaction time of "+t.name, quantity.Second, func(x []float64) float64 {
		s := 0.0
		for _, v := range x {
			s += v
		}
		return s
	}, parts...)
}
