package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/clamp-current.md
var clampCurrentPage string

// ClampCurrent holds what flows into an input pin through the resistance behind a clamp, where the clamp lets the net beyond
// the pin's rating, at or below the current that the pin may take.
var ClampCurrent = &rules.Rule{
	ID:    "clamp-current",
	Title: "too little resistance between a clamp and an input",
	Level: rules.Error,
	Page:  clampCurrentPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		skip := "no clamp with a part record stands behind a resistance at the inputs"
		for _, c := range blockClamps(p) {
			switch {
			case !c.isInput() || len(c.behind()) == 0 || p.Network != nil: // op-amp-input-range judges the pins of an op amp
				continue
			case len(surgesReaching(p, declaredSurges(p), c.high)) == 0 && c.asleep(p):
				skip = "what is declared of " + p.Design.Circuit.NetName(c.high) + " stays below the breakdown of " + c.Path()
				continue
			}
			skip = ""
			lo, hi, _ := p.Limits(c.key(), design.Survival)
			ohms := seriesOhms(p, "resistance behind "+c.Path(), c.behind())
			for _, l := range c.levels(p) {
				volts := c.fromGround(p, l.volts)
				i := intoPin(c.pin+" current with "+c.Path()+" "+l.event, volts, lo, hi, ohms)
				mayTake(p, i).Raise(filterResistors(p)...).On(c.Element).Shows(func(high bool) string {
					x, ok := i.Corner(high, []quantity.Quantity{volts, lo, hi, ohms})
					switch {
					case !ok || !(x[0] > x[2] || x[0] < x[1]):
						return ""
					case x[0] > x[2]:
						return fmt.Sprintf("(%s - %s) / %s", quantity.Show(x[0], quantity.Volt), quantity.Show(x[2], quantity.Volt), quantity.Show(x[3], quantity.Ohm))
					}
					return fmt.Sprintf("(%s - %s) / %s", quantity.Show(x[1], quantity.Volt), quantity.Show(x[0], quantity.Volt), quantity.Show(x[3], quantity.Ohm))
				})
				c.exceeded(p, l)
			}
		}
		if skip != "" {
			p.Skip(skip)
		}
	},
}

// intoPin is the current through a resistance into a pin that conducts beyond its rating, in amperes: what is beyond the
// rating stands across the resistance.
func intoPin(name string, volts, lo, hi, ohms quantity.Quantity) quantity.Quantity {
	return quantity.Calc(name, quantity.Amp, func(x []float64) float64 {
		return max(0, x[0]-x[2], x[1]-x[0]) / x[3]
	}, volts, lo, hi, ohms)
}

// mayTake holds a current into an input pin at or below what its record allows. Where no current flows the record need not
// say it.
func mayTake(p *rules.Bench, i quantity.Quantity) *rules.Check {
	const key = "input.survival-current"
	if i.Known() && i.Sound.Hi == 0 {
		return p.AtMost(i, quantity.Exactly("no current", quantity.Amp, 0), "the pin's rating")
	}
	return p.AtMost(i, ceilingOf(p.Part(key)), key).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Amp, m.Max, m.LimitMax)
		if unlimited(m.Max) {
			return fmt.Sprintf("%s is not limited, the pin takes %s", m.Name, sc.Text(m.LimitMax, quantity.Down))
		}
		return fmt.Sprintf("%s is up to %s, the pin takes %s", m.Name, sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
	})
}
