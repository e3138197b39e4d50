package builtin

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// kicksUp holds each input pin below its rating while the declared stray inductance lifts it. What is missing for that is
// input-undershoot's question, and what fails without it is told already.
func kicksUp(p *rules.Bench, key string) {
	if len(p.Block.Shunt) == 0 || !saysStray(p) {
		return
	}
	for _, pin := range []string{"in+", "in-"} {
		leg := p.Plus
		if pin == "in-" {
			leg = p.Minus
		}
		if !legMoves(p, leg) {
			continue
		}
		up, rest := strayKick(p, leg), restingPin(p, pin)
		_, hi, text := p.Limits(key, design.Survival)
		alone := quantity.Minus("margin", hi, rest)
		if !up.Known() || !rest.Known() || !hi.Known() || alone.Seen.Empty() || alone.Seen.Lo <= 0 {
			continue
		}
		q := quantity.Calc(pin+" while the current changes", quantity.Volt, func(x []float64) float64 { return x[0] + x[1] }, rest, up)
		p.AtMost(q, hi, text).Rating().Band(0.1).Fails(reaches(q.Name, "the part survives")).Widen(key)
	}
}

// plugsIn holds the inputs that a hot plug reaches, maybe the wrong way around, within their rating: the step of the supply rings with the inductance of
// the cable and the capacitors that it charges.
func plugsIn(p *rules.Bench, key string) {
	for _, name := range p.Design.Intent.Names("hot-plug") {
		if e := p.Design.Intent.Get("hot-plug", name, "ramped"); e != nil && e.Flag {
			continue
		}
		n, ok := p.Design.Net(name)
		if !ok { // reported as a name that is not there
			continue
		}
		for _, pin := range []string{"in+", "in-"} {
			leg := p.Plus
			if pin == "in-" {
				leg = p.Minus
			}
			to, way, reached := plugReaches(p, name, n, leg.Shunt)
			if !reached {
				continue
			}
			lo, hi, text := p.Limits(key, design.Survival)
			q := heldDown(p, to, hotPlugPeak(p, name, to, way), hotPlugInrush(p, name, to, way)).Named(pin + " as " + p.Design.Circuit.NetName(n) + " is plugged in")
			p.Within(q, lo, hi, text).Rating().Band(0.1).Fails(reaches(q.Name, "the part survives")).Widen(key).
				Advise("a precharge or inrush limiter, a clamp, or a lossy capacitor across the input")
		}
	}
}

// plugReaches is the net whose capacitors a hot plug charges, and the resistance on the way there: the net that is plugged, where
// the shunt's follows it, or one of the shunt's own behind a resistance, where the plugged one has no capacitor by itself.
func plugReaches(p *rules.Bench, name string, n, shunt circuit.Net) (to circuit.Net, way []design.Element, ok bool) {
	if wiredTo(p.Design, n, shunt) {
		return n, nil, true
	}
	_, own := netCapacitance(p.Design, n)
	if own || p.Design.Intent.Get("hot-plug", name, "capacitance") != nil || lowSide(p) {
		return n, nil, false
	}
	for _, to = range []circuit.Net{p.Plus.Shunt, p.Minus.Shunt} {
		if _, behind := netCapacitance(p.Design, to); behind && feeds(p, n, to) && wiredTo(p.Design, to, shunt) {
			over, _ := resistiveRoute(p.Design, n, to)
			return to, resistors(over), true
		}
	}
	return n, nil, false
}

// hotPlugPeak is the highest voltage of a capacitance that is charged from 0 V over an inductance and a resistance by a step: with
// zeta = (R/2) sqrt(C/L) below 1 it is V (1 + exp(-pi zeta / sqrt(1 - zeta^2))), else V.
func hotPlugPeak(p *rules.Bench, name string, n circuit.Net, way []design.Element) quantity.Quantity {
	volts, henries, ohms, farads := plugged(p, name, n, way)
	if q, ok := firstMissing(quantity.Volt, volts, henries, ohms, farads); ok {
		return q
	}
	return quantity.Calc("voltage at a hot plug", quantity.Volt, func(x []float64) float64 { return x[0] * (1 + stepOvershoot(x[1], x[2], x[3])) },
		volts, henries, ohms, farads)
}

// plugged is what intent says of a hot plug: the step in volts, and the series circuit in henry, ohm and farad.
func plugged(p *rules.Bench, name string, n circuit.Net, way []design.Element) (volts, henries, ohms, farads quantity.Quantity) {
	said := func(u quantity.Unit, key string) quantity.Quantity { return p.Declared(u, "hot-plug", name, key) }
	farads, ok := netCapacitance(p.Design, n)
	if p.Design.Intent.Get("hot-plug", name, "capacitance") != nil || !ok {
		farads = said(quantity.Farad, "capacitance")
	}
	ohms = said(quantity.Ohm, "resistance")
	if len(way) > 0 {
		ohms = quantity.Calc(ohms.Name, quantity.Ohm, func(x []float64) float64 { return x[0] + x[1] }, ohms, seriesOhms(p, "way to "+p.Design.Circuit.NetName(n), way))
	}
	return said(quantity.Volt, "voltage"), said(quantity.Henry, "inductance"), ohms, farads
}

// hotPlugInrush is more than what flows at a hot plug, in amperes: the peak without any resistance, V sqrt(C / L).
func hotPlugInrush(p *rules.Bench, name string, n circuit.Net, way []design.Element) quantity.Quantity {
	volts, henries, _, farads := plugged(p, name, n, way)
	if q, ok := firstMissing(quantity.Amp, volts, henries, farads); ok {
		return q
	}
	return quantity.Calc("inrush", quantity.Amp, func(x []float64) float64 { return math.Abs(x[0]) * math.Sqrt(x[2]/x[1]) }, volts, henries, farads)
}

// heldDown is a peak where a clamp with a record on the net holds it down: to its level at no more than the inrush, as long as
// the record tells that.
func heldDown(p *rules.Bench, n circuit.Net, peak, amps quantity.Quantity) quantity.Quantity {
	for _, c := range blockClamps(p) {
		k, told := c.curve()
		bv := c.breakdown(p)
		if c.over || c.between || !c.isInput() || c.low != p.Ground || !wiredTo(p.Design, n, c.high) ||
			!told || !bv.Known() || !amps.Known() || amps.Sound.Hi > k.rated {
			continue
		}
		peak = quantity.Calc(peak.Name, quantity.Volt, func(x []float64) float64 { return min(x[0], x[1]+x[3]*k.rise(x[2])) }, peak, bv, amps, c.share())
	}
	return peak
}

// stepOvershoot is by how much of the step a series circuit overshoots.
func stepOvershoot(l, r, c float64) float64 {
	zeta := r / 2 * math.Sqrt(c/l)
	switch {
	case !(zeta < 1): // aperiodic, or nothing to charge over
		return 0
	case zeta == 0:
		return 1
	}
	return math.Exp(-math.Pi * zeta / math.Sqrt(1-zeta*zeta))
}
