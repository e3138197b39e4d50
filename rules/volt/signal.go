package volt

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Factor is the part of a small change of the shunt's voltage that arrives between the input pins, at DC: 1 where no
// resistance stands in series, less where the input draws a current through it. a and b are the shunt's two ends on the
// side of in+ and in-. It is found by solving the input network with the ends moved apart by 1 V and every other
// source at rest. tracked leaves out initial tolerances: what a gain calibration leaves is how the resistances drift
// apart with temperature.
func (s *Solver) Factor(amp design.Element, unit string, a, b circuit.Net, tracked bool) quantity.Quantity {
	name := "input factor of " + amp.Path()
	p, okP := amp.PinOf("in+", unit)
	m, okM := amp.PinOf("in-", unit)
	if !okP || !okM {
		return unsaid(name, quantity.Volt, []quantity.Need{amp.PartNeed("pins")})
	}
	key := fmt.Sprint("factor", p, m, a, b, tracked)
	is, ok := s.islands[key]
	if !ok {
		is = s.buildWith([]circuit.Net{p, m}, design.Operating, func(is *island) { is.tracked = tracked }, map[circuit.Net]float64{a: 0.5, b: -0.5})
		s.islands[key] = is
	}
	if len(is.unknowns) > 0 {
		return unsaid(name, quantity.Volt, is.unknowns)
	}
	at, from := is.place(p), is.place(m)
	return is.bound(name, quantity.Ratio, reading{{at: at, times: 1}, {at: from, times: -1}})
}

// Transfer is the part of a small change of one net's voltage that arrives at another, at DC, with every other source at
// rest and nothing ahead of the first net looked at: what an output network leaves of an output.
func (s *Solver) Transfer(from, to circuit.Net) quantity.Quantity {
	const name = "transfer"
	if from == to {
		return quantity.Exactly(name, quantity.Ratio, 1)
	}
	key := fmt.Sprint(name, from, to)
	is, ok := s.islands[key]
	if !ok {
		is = s.buildWith([]circuit.Net{to}, design.Operating, func(*island) {}, map[circuit.Net]float64{from: 1})
		s.islands[key] = is
	}
	if len(is.unknowns) > 0 {
		return unsaid(name, quantity.Ratio, is.unknowns)
	}
	return is.bound(name, quantity.Ratio, reading{{at: is.place(to), times: 1}})
}

// still tells that an element does nothing to a small signal: sources at rest that carry no signal current, diodes and
// switches that stand open across the input.
func (is *island) still(e design.Element) bool {
	if is.signal == nil {
		return false
	}
	switch e.Kind() {
	case 'R', 'L', 'V', 'X', 'E', 'G', 'F', 'H', 'B', 'T':
		return false
	case 'C', 'K', 'I', 'D', 'M', 'S', 'W', 'Q', 'J', 'Z':
		return true
	}
	return false
}

// resistance is that of a resistor in this island.
func (is *island) resistance(e design.Element) quantity.Quantity {
	if is.tracked {
		return e.TrackedResistance()
	}
	return e.Resistance()
}

// inner is an amplifier's internal input resistance in this island, in ohm.
func (is *island) inner(e design.Element) quantity.Quantity {
	r := e.Part("input.resistance")
	if !is.tracked || !r.Known() {
		return r
	}
	return quantity.Calc(r.Name, quantity.Ohm, func(x []float64) float64 { return x[0] * (1 + x[1]*(x[2]-25)) },
		nominal(r), bothSigns(e.Part("input.temperature-coefficient")), is.s.d.Temperature())
}

// bothSigns is a magnitude that may have either sign.
func bothSigns(q quantity.Quantity) quantity.Quantity {
	if !q.Known() {
		return q
	}
	c := &quantity.Cause{Name: q.Name + ", either sign", Unit: q.Unit, At: q.Causes()[0].At, Sound: quantity.Interval{Lo: -q.Sound.Hi, Hi: q.Sound.Hi}}
	c.Seen = c.Sound
	return c.Of()
}
