package builtin

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// openShunt is what intent asks of the block when its shunt burns open, and the weight of a breach. ok is false where
// nobody asks anything.
func openShunt(p *rules.Bench) (level rules.Level, ok bool) {
	e := p.Design.Intent.Get("currents", p.CurrentName(), "open-shunt")
	switch {
	case e == nil || e.Text == "accepted":
		return 0, false
	case e.Text == "safe":
		return rules.Error, true
	}
	return rules.Warning, true
}

// openVolts is what may stand across an open shunt, in volts: one side stays where it works, the other goes to ground. Where one
// stands on ground already, the load lifts the other to what drives it.
func openVolts(p *rules.Bench) quantity.Quantity {
	if lowSide(p) {
		return drivingVolts(p)
	}
	side := func(name string, leg sense.Leg) quantity.Quantity {
		return p.Across(leg.Shunt, p.Ground, design.Operating).Named(name).Peak()
	}
	return quantity.Calc("voltage across the open shunt", quantity.Volt, func(x []float64) float64 { return max(x[0], x[1]) },
		side("shunt at in+", p.Plus), side("shunt at in-", p.Minus))
}

// drivingVolts is what drives the current of a low-side shunt, in volts: declared, else what its net comes to with the shunt
// taken out.
func drivingVolts(p *rules.Bench) quantity.Quantity {
	name := p.CurrentName()
	if p.Design.Intent.Get("currents", name, "fault-voltage") != nil {
		return ceilingOf(p.Declared(quantity.Volt, "currents", name, "fault-voltage"))
	}
	moves := p.Plus.Shunt
	if grounded(p, moves) {
		moves = p.Minus.Shunt
	}
	var open []design.Change
	for _, e := range p.Block.Shunt {
		open = append(open, design.Change{Op: design.Open, Target: e.Path()})
	}
	if v := p.With(open...); v != nil {
		if q := v.Across(moves, p.Ground, design.Operating); q.Known() && !q.Sound.Empty() && !math.IsInf(q.Sound.Width(), 0) {
			return q.Named("shunt taken out").Peak()
		}
	}
	return quantity.Missing(quantity.Volt, quantity.Need{In: "intent", Key: design.Key("currents", name, "fault-voltage")})
}

// filterResistors are the resistors between the shunt and both inputs.
func filterResistors(p *rules.Bench) []design.Element {
	return append(resistors(p.Plus.Resistors()), resistors(p.Minus.Resistors())...)
}

// filterOhms is the resistance between the shunt and both inputs, in ohm.
func filterOhms(p *rules.Bench) quantity.Quantity {
	return seriesOhms(p, "Rf+ + Rf-", append(resistors(p.Plus.Series), resistors(p.Minus.Series)...))
}
