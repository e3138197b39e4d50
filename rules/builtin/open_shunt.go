package builtin

import (
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

// openVolts is what may stand across an open shunt, in volts: one side stays where it works, the other goes to ground.
func openVolts(p *rules.Bench) quantity.Quantity {
	side := func(name string, leg sense.Leg) quantity.Quantity {
		return p.Across(leg.Shunt, p.Ground, design.Operating).Named(name).Peak()
	}
	return quantity.Calc("voltage across the open shunt", quantity.Volt, func(x []float64) float64 { return max(x[0], x[1]) },
		side("shunt at in+", p.Plus), side("shunt at in-", p.Minus))
}

// filterResistors are the resistors between the shunt and both inputs.
func filterResistors(p *rules.Bench) []design.Element {
	return append(resistors(p.Plus.Resistors()), resistors(p.Minus.Resistors())...)
}

// filterOhms is the resistance between the shunt and both inputs, in ohm.
func filterOhms(p *rules.Bench) quantity.Quantity {
	return seriesOhms(p, "Rf+ + Rf-", append(resistors(p.Plus.Series), resistors(p.Minus.Series)...))
}
