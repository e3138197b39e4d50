package rules

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A fault current that a supply drives through the shunt ends with the supply: with the supply at 0 V a short cannot take
// the far side of the shunt below ground. Only what the load took before may flow on in its own inductance, which is the
// working current.

// shorted is a voltage that follows an end of the shunt in events without what no short can do.
func (p *Bench) shorted(end circuit.Net, q quantity.Quantity) quantity.Quantity {
	c, ok := p.Current(design.Survival)
	if !ok || len(p.Shunt) == 0 || end != c.To || !q.Known() || p.Design.Intent.Get("currents", p.CurrentName(), "fault") == nil {
		return q
	}
	feed, held := p.Design.Rail(c.From, design.Survival)
	if !held || !feed.Known() || feed.Sound.Lo < 0 || c.From == 0 {
		return q
	}
	all, ohms := p.ShuntCurrent(design.Survival), p.ShuntOhms()
	if !all.Known() || !ohms.Known() || feed.Sound.Lo >= max(-all.Sound.Lo, all.Sound.Hi)*ohms.Sound.Hi || p.pulled(c.To) {
		return q
	}
	most := max(0, p.Design.Intent.Get("currents", p.CurrentName(), "range").Written.Range.Hi)
	sign := p.Sign()
	return quantity.Calc(q.Name, quantity.Volt, func(x []float64) float64 {
		at, from, one, all, ohms := x[0], x[1], x[2], sign*x[3], x[4]
		if one <= most {
			return at
		}
		far := from - all*ohms
		return at + max(0, min(0, from-most*all/one*ohms)-far)
	}, q, feed, c.Value, all, ohms)
}

// pulled tells that something may take a net below ground: a rail on it, a coil, a supply below ground anywhere.
func (p *Bench) pulled(n circuit.Net) bool {
	below := func(n circuit.Net) bool {
		r, held := p.Design.Rail(n, design.Survival)
		return held && (!r.Known() || r.Sound.Lo < 0)
	}
	if _, held := p.Design.Rail(n, design.Survival); held {
		return true
	}
	for e := range p.Design.On(n) {
		if e.Kind() == 'L' {
			return true
		}
	}
	for _, name := range p.Design.Intent.Names("rails") {
		if n, ok := p.Design.Net(name); ok && below(n) {
			return true
		}
	}
	left := 4096 // where more is drawn nobody looks for sources that are no declared rail
	for e := range p.Design.Elements() {
		if left--; left == 0 {
			return true
		}
		if e.Kind() == 'V' && e.Pins() == 2 && (below(e.Pin(0)) || below(e.Pin(1))) {
			return true
		}
	}
	return false
}
