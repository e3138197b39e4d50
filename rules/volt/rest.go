package volt

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// rest adds the state in which the load of a declared current draws nothing because its path is open. The load that is
// drawn, through resistors, inductors and sources, then ties the far end of the shunt to what holds the load's own: a load
// to ground takes the node behind an open high-side switch to 0 V, one to the supply that above a low-side switch to the
// supply. A diode in the path of a load without a coil ties nothing, so that where the node then stands is asked for. Where
// no path is drawn at all, or only through other switches, the state is left out.
func (is *island) rest(b *balance, c design.Current, free, far circuit.Net) {
	path := c.Element.Path()
	level, ohms, ok := is.s.resting(free, c.Element, is.regime, false)
	if !ok && b.drive == stops {
		if level, ohms, ok = is.s.resting(free, c.Element, is.regime, true); ok {
			name := is.s.d.Circuit.NetName(far)
			at := &quantity.Cause{Name: "where " + name + " stands while no current flows", Unit: quantity.Volt, Nom: level.Nom, Seen: level.Seen, Sound: quantity.Everything,
				Needs: []quantity.Need{{In: "intent (or what holds " + name + " in every state, in the netlist)", Key: design.Key("rails", name)}}}
			level = at.Of()
		}
	}
	if !ok {
		return
	}
	state := &quantity.Cause{Name: "load of " + path, Sound: quantity.Interval{Lo: 0, Hi: 1}, Seen: quantity.Interval{Lo: 0, Hi: 1},
		States: []float64{0, 1}, Labels: []string{"load of " + path + " drawing", "load of " + path + " at rest"}}
	st := state.Of()
	b.amps = is.input(quantity.Calc(c.Value.Name, quantity.Amp, func(x []float64) float64 { return x[0] * (1 - x[1]) }, c.Value, st))
	own := &quantity.Cause{Name: "resistance of the load of " + path, Unit: quantity.Ohm, Nom: ohms.Nom, Seen: quantity.Point(ohms.Nom),
		Sound: quantity.Interval{Lo: 0, Hi: ohms.Sound.Hi}, Grade: ohms.Grade, At: c.Element.Card()} // other paths may help it
	end := is.node("load of " + path)
	is.sources = append(is.sources, branch{end, ^is.ground(), is.input(level), "load of " + path})
	is.ties[len(is.resistors)] = len(is.balanced)
	is.resistors = append(is.resistors, resistor{is.place(far), end, is.input(own.Of()), is.input(st), "load of " + path})
}

// A rung is a step of the search for where a load rests: from another net over an element.
type rung struct {
	net  circuit.Net
	over design.Element
	from int
}

// resting is where a net stands through what is drawn on it, an element left out, when that carries no current, and the
// largest resistance that this goes through; anywhere between them where there are several places. Diodes are passed
// where asked for. ok is false where nothing held is reached.
func (s *Solver) resting(n circuit.Net, without design.Element, r design.Regime, diodes bool) (level, ohms quantity.Quantity, ok bool) {
	steps := []rung{{net: n, from: -1}}
	seen := map[circuit.Net]bool{n: true}
	ohms = quantity.Exactly("load", quantity.Ohm, 0)
	var ends []quantity.Quantity
	var list []way
	for at := 0; at < len(steps) && at < 256; at++ {
		here := steps[at].net
		if v, held := s.d.Rail(here, r); held && at > 0 {
			for k := at; steps[k].from >= 0; k = steps[k].from {
				if e := steps[k].over; e.Kind() == 'V' {
					sign := 1.0
					if e.Pin(0) == steps[k].net {
						sign = -1
					}
					v = quantity.Calc("load", quantity.Volt, func(x []float64) float64 { return x[0] + sign*x[1] }, v, e.Drive(r))
				}
			}
			ends, ohms = append(ends, v), s.longer(ohms, steps, at)
			continue
		}
		for e := range s.d.On(here) {
			if e.ID == without.ID {
				continue
			}
			list = ways(list[:0], e)
			for _, w := range list {
				if to, ok := w.end(here); ok && !seen[to] && w.how != switches && (diodes || w.how != rectifies) {
					seen[to] = true
					steps = append(steps, rung{to, e, at})
				}
			}
		}
	}
	switch len(ends) {
	case 0:
		return level, ohms, false
	case 1:
		return ends[0], ohms, true
	}
	share := &quantity.Cause{Name: "where the load of " + without.Path() + " rests", Sound: quantity.Interval{Lo: 0, Hi: 1}, Seen: quantity.Interval{Lo: 0, Hi: 1}, Nom: 0.5}
	return quantity.Calc("load", quantity.Volt, func(x []float64) float64 {
		low, high := slices.Min(x[1:]), slices.Max(x[1:])
		return low + x[0]*(high-low)
	}, append([]quantity.Quantity{share.Of()}, ends...)...), ohms, true
}

// longer is the larger of a resistance and that of a way found.
func (s *Solver) longer(most quantity.Quantity, steps []rung, at int) quantity.Quantity {
	way := quantity.Exactly("load", quantity.Ohm, 0)
	for k := at; steps[k].from >= 0; k = steps[k].from {
		var r quantity.Quantity
		switch e := steps[k].over; e.Kind() {
		case 'R':
			r = e.Resistance()
		case 'X':
			r = e.ShuntResistance(false)
		default:
			continue
		}
		way = quantity.Calc("load", quantity.Ohm, func(x []float64) float64 { return x[0] + x[1] }, way, r)
	}
	if way.Sound.Hi > most.Sound.Hi {
		return way
	}
	return most
}
