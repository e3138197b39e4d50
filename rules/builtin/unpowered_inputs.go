package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

//go:embed doc/unpowered-inputs.md
var unpoweredInputsPage string

// UnpoweredInputs looks at every declared state in which the amplifier has no supply: what its inputs draw from what they
// watch, what is forced into them, and whether somebody reads its output all the same.
var UnpoweredInputs = &rules.Rule{
	ID:    "unpowered-inputs",
	Title: "inputs are live while the amplifier has no supply",
	Level: rules.Error,
	Page:  unpoweredInputsPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		off, said := false, false
		for _, s := range p.States() {
			if !unpowered(s.Bench) {
				continue
			}
			off = true
			if s.Measuring {
				said = true
				p.Breach(fmt.Sprintf("the output is read while %s, and the supply is at 0 V then", s.Name))
			}
			if holdStandby(p, s) {
				said = true
			}
			for _, l := range []struct {
				pin string
				leg sense.Leg
			}{{"in+", s.Plus}, {"in-", s.Minus}} {
				if holdInjection(p, s, l.pin, l.leg) {
					said = true
				}
			}
		}
		switch {
		case !off:
			p.Skip("no declared state has the supply at 0 V")
		case !said:
			p.Skip("no standby current is declared for a state without supply, and the inputs stand what they see in it")
		}
	},
}

// deadRail is up to which voltage, in V, a rail counts as off: less than any junction needs.
const deadRail = 0.1

// unpowered tells that the rail behind the supply pin is off.
func unpowered(p *rules.Bench) bool {
	if !p.HasSupply {
		return false
	}
	n := p.Supply
	for _, e := range p.SupplySeries {
		n = e.Other(n)
	}
	q, ok := p.Design.Rail(n, design.Operating)
	return ok && n != 0 && q.Known() && q.Sound.Lo >= -deadRail && q.Sound.Hi <= deadRail
}

// holdStandby holds what both inputs draw in a state below what intent allows; false where it allows nothing.
func holdStandby(p *rules.Bench, s rules.State) bool {
	if p.Design.Intent.Get("states", s.Name, "standby-current") == nil {
		return false
	}
	budget := ceilingOf(p.Declared(quantity.Amp, "states", s.Name, "standby-current"))
	c := p.AtMost(drain(s.Bench).Named("current into both inputs while "+s.Name), budget, design.Key("states", s.Name, "standby-current"))
	c.Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Amp, m.Max, m.LimitMax)
		return fmt.Sprintf("the inputs draw %s while %s, %s is allowed", sc.Text(m.Max, quantity.Up), s.Name, sc.Text(m.LimitMax, quantity.Down))
	})
	return true
}

// drain is the current into both inputs without supply, in A: twice what the record says, nothing where both are at 0 V too.
// A resistor-difference stage whose record is silent draws between V / (R1 + R2) and V / R1 through each leg.
func drain(p *rules.Bench) quantity.Quantity {
	plus, minus := p.Voltage("in+", design.Operating), p.Voltage("in-", design.Operating)
	still := func(q quantity.Quantity) bool {
		return !q.Sound.Empty() && q.Sound.Lo >= -deadRail && q.Sound.Hi <= deadRail
	}
	model, _ := p.Amp.Word("input.model")
	switch {
	case still(plus) && still(minus):
		return quantity.Exactly("drain", quantity.Amp, 0)
	case p.Amp.Entry("bias.unpowered") != nil || model != "resistor-difference":
		return ceilingOf(p.Part("bias.unpowered")).Times(2)
	}
	inside := &quantity.Cause{Name: p.Name() + " path without supply", Nom: 1, Sound: quantity.Interval{Lo: 0, Hi: 1}, Seen: quantity.Point(1),
		Needs: []quantity.Need{p.Amp.PartNeed("bias.unpowered")}}
	return quantity.Calc("drain", quantity.Amp, func(x []float64) float64 {
		return (max(x[0], 0) + max(x[1], 0)) / (x[2] * (1 + x[3]*x[4]))
	}, plus, minus, p.Part("input.resistance"), p.Part("gain"), inside.Of())
}

// holdInjection holds the current that is forced through a leg into a pin that conducts to the dead supply; false where
// the pin does not, or nothing stands in the leg that limits the current: then the pin's rating is what breaks.
func holdInjection(p *rules.Bench, s rules.State, pin string, leg sense.Leg) bool {
	if len(resistors(leg.Series)) == 0 || s.Amp.Entry("common-mode.survival") == nil {
		return false
	}
	_, high, _ := s.Limits("common-mode.survival", design.Survival)
	there := quantity.Minus("voltage behind the leg of "+pin, s.Net(leg.Shunt, design.Operating), s.Net(s.Ground, design.Operating))
	if room := quantity.Minus("room", high, there); room.Seen.Empty() || room.Seen.Lo >= 0 {
		return false
	}
	forced := quantity.Calc("current forced into "+pin+" while "+s.Name, quantity.Amp, func(x []float64) float64 { return max(0, x[0]-x[1]) / x[2] },
		there, pinDrop(p), leg.Resistance("series resistance"))
	limit := ceilingOf(p.Part("input.survival-current"))
	both := append(resistors(s.Plus.Series), resistors(s.Minus.Series)...) // one leg alone would not cure the other
	p.AtMost(forced, limit, "input.survival-current").Rating().Raise(both...).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Amp, m.Max, m.LimitMax)
		return fmt.Sprintf("%s is forced into %s while %s, the part survives %s", sc.Text(m.Max, quantity.Up), pin, s.Name, sc.Text(m.LimitMax, quantity.Down))
	})
	return true
}

// pinDrop is the forward drop, in V, of what conducts from an input pin to the supply: what intent says of the amplifier, else
// 0 V to 1.5 V, of which only the gentle end is seen.
func pinDrop(p *rules.Bench) quantity.Quantity {
	if p.Design.Intent.Get("elements", p.Amp.Path(), "drop") != nil {
		return p.Declared(quantity.Volt, "elements", p.Amp.Path(), "drop")
	}
	c := &quantity.Cause{Name: p.Amp.Path() + " drop", Unit: quantity.Volt, Nom: mostPinDrop, Sound: quantity.Interval{Lo: 0, Hi: mostPinDrop}, Seen: quantity.Point(mostPinDrop),
		Grade: quantity.Assumed, Note: fmt.Sprintf("%s: no drop of its input pins declared, 0 V to %.1f V counted", p.Amp.Path(), mostPinDrop)}
	return c.Of()
}

// mostPinDrop is the largest forward drop that is counted where none is declared, in V.
const mostPinDrop = 1.5
