package builtin

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// saysStray tells that intent says anything of the stray inductance of the shunt's loop or of the slope of its current.
func saysStray(p *rules.Bench) bool {
	return p.Design.Intent.Get("currents", p.CurrentName(), "stray-inductance") != nil || p.Design.Intent.Get("currents", p.CurrentName(), "slope") != nil
}

// legMoves tells that nothing holds the shunt's net at a leg: a rail or the ground stays where it is declared to be. A net that
// intent says is switched moves, whether or not its switches are drawn.
func legMoves(p *rules.Bench, leg sense.Leg) bool {
	_, held := p.Design.Rail(leg.Shunt, design.Operating)
	return !held || p.Design.Intent.Says("switching", p.Design.Circuit.NetName(leg.Shunt))
}

// strayKick is what the stray inductance adds to an input while the current changes, in volts: L di/dt. Capacitors on the shunt's
// net take the energy of the inductance, L I^2 / 2 = C V^2 / 2, so that they bound it to I sqrt(L / C); then the slope need
// not be known.
func strayKick(p *rules.Bench, leg sense.Leg) quantity.Quantity {
	return strayStep(p, leg).Peak() // one cause beside all those of the pin
}

func strayStep(p *rules.Bench, leg sense.Leg) quantity.Quantity {
	name := p.CurrentName()
	henries := p.Declared(quantity.Henry, "currents", name, "stray-inductance")
	slope := p.Design.Declared(quantity.AmpPerSecond, "currents", name, "slope")
	if q, ok := firstMissing(quantity.Volt, henries); ok {
		return q
	}
	farads, stored := netCapacitance(p.Design, leg.Shunt)
	amps := p.ShuntCurrent(design.Survival)
	swing := quantity.Calc("I sqrt(L/C)", quantity.Volt, func(x []float64) float64 { return math.Abs(x[2]) * math.Sqrt(x[0]/x[1]) }, henries, farads, amps.Peak())
	if _, ok := firstMissing(quantity.Volt, farads, amps); ok {
		stored = false
	}
	switch {
	case !slope.Known() && stored:
		return swing
	case !slope.Known():
		return quantity.Missing(quantity.Volt, slope.Needs[0])
	}
	step := quantity.Calc("L di/dt", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] * x[2] }, henries, slope, p.GroupRatio())
	if tau, change, ok := pinFilter(p, leg, amps); ok {
		step = quantity.Calc("L di/dt", quantity.Volt, func(x []float64) float64 {
			rate := x[1] * x[2]
			if rate*x[3] == 0 {
				return x[0] * rate
			}
			return x[0] * rate * -math.Expm1(-x[4]/(rate*x[3]))
		}, henries, slope, p.GroupRatio(), tau, change)
	}
	if !stored {
		return step
	}
	return quantity.Calc("L di/dt", quantity.Volt, func(x []float64) float64 { return min(x[0], x[1]) }, step, swing)
}

// pinFilter is the time constant, in s, of the resistance of a leg and the capacitors from its pin to something held, and the
// largest change of the current, in amperes: a kick lasts as long as that change takes. Capacitors farther out only slow the
// pin further. ok is false where there is no such filter, or nobody knows the current.
func pinFilter(p *rules.Bench, leg sense.Leg, amps quantity.Quantity) (tau, change quantity.Quantity, ok bool) {
	farads, ok := netCapacitance(p.Design, leg.Pin)
	if !ok || leg.Pin == leg.Shunt || len(resistors(leg.Resistors())) == 0 || !amps.Known() || amps.Sound.Empty() || math.IsInf(amps.Sound.Width(), 0) {
		return tau, change, false
	}
	if q := p.Design.Declared(quantity.Amp, "currents", p.CurrentName(), "step"); q.Known() {
		change = quantity.Calc("step", quantity.Amp, func(x []float64) float64 { return x[0] * x[1] }, ceilingOf(q), p.GroupRatio())
	} else {
		change = quantity.Exactly("largest change of the current", quantity.Amp, max(amps.Sound.Hi, 0)-min(amps.Sound.Lo, 0))
	}
	tau = quantity.Calc("time constant at the pin", quantity.Second, func(x []float64) float64 { return x[0] * x[1] }, leg.Resistance("filter"), farads)
	if _, missing := firstMissing(quantity.Second, tau, change); missing {
		return tau, change, false
	}
	return tau, change, true
}

// restingPin is what a pin reaches without the kick, in volts: through events where intent says what they are, else in the
// working state. What the events may be is common-mode-survival's question.
func restingPin(p *rules.Bench, pin string) quantity.Quantity {
	if q := p.Voltage(pin, design.Survival); q.Grade == quantity.Firm && q.Known() && !math.IsInf(q.Sound.Width(), 0) {
		return q
	}
	return p.Voltage(pin, design.Operating)
}

// interruptedCoil finds a switch or diode that can interrupt the current of the shunt, and an inductor that drives on what is
// interrupted: the device stands at an end of the shunt that nothing holds, the inductor is reached from there over
// resistors, inductors and sources.
func interruptedCoil(p *rules.Bench) (device, coil design.Element, ok bool) {
	i := p.ShuntCurrent(design.Operating)
	if i.Known() && i.Sound.Lo == 0 && i.Sound.Hi == 0 {
		return device, coil, false
	}
	for _, n := range []circuit.Net{p.Plus.Shunt, p.Minus.Shunt} {
		if _, held := p.Design.Rail(n, design.Operating); held || n == 0 {
			continue
		}
		for e := range p.Design.On(n) {
			if !interruptsAt(e, n) || ok && e.Kind() == 'D' { // of both a switch is named
				continue
			}
			if l, found := inductorFrom(p.Design, n); found {
				device, coil, ok = e, l, true
				if e.Kind() != 'D' {
					return device, coil, true
				}
			}
		}
	}
	return device, coil, ok
}

// interruptsAt tells that an element carries a current at a net and may cease to.
func interruptsAt(e design.Element, n circuit.Net) bool {
	on := func(pins ...int) bool {
		for _, i := range pins {
			if i < e.Pins() && e.Pin(i) == n {
				return true
			}
		}
		return false
	}
	r := e.Record()
	switch e.Kind() {
	case 'D':
		return r == nil // with a record it is a clamp
	case 'S', 'W':
		return on(0, 1)
	case 'M', 'J', 'Q', 'Z':
		return on(0, 2)
	case 'X':
		if r == nil || r.Role() != "switch" {
			return false
		}
		for _, role := range []string{"a", "b", "drain", "source"} {
			if at, ok := e.PinOf(role, ""); ok && at == n {
				return true
			}
		}
	}
	return false
}

// leavesAt are the nets at which a current that enters an element at a net may leave it.
func leavesAt(e design.Element, n circuit.Net) (out []circuit.Net) {
	k := e.Kind()
	switch {
	case (k == 'R' || k == 'V') && e.Pins() == 2:
		return []circuit.Net{e.Other(n)}
	case !interruptsAt(e, n):
		return nil
	}
	for i := range e.Pins() {
		if to := e.Pin(i); to != n && interruptsAt(e, to) {
			out = append(out, to)
		}
	}
	return out
}

// inductorFrom is the first one reached from a net over resistors, inductors, voltage sources, switches and diodes, not past
// what is held.
func inductorFrom(d *design.Design, from circuit.Net) (coil design.Element, ok bool) {
	steps := []circuit.Net{from}
	seen := map[circuit.Net]bool{from: true, 0: true}
	for i := 0; i < len(steps) && i < longest; i++ {
		if _, held := d.Rail(steps[i], design.Operating); held {
			continue
		}
		for e := range d.On(steps[i]) {
			if e.Kind() == 'L' && e.Pins() == 2 {
				return e, true
			}
			for _, to := range leavesAt(e, steps[i]) {
				if !seen[to] {
					seen[to] = true
					steps = append(steps, to)
				}
			}
		}
	}
	return coil, false
}
