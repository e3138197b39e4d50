package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/shunt-power.md
var shuntPowerPage string

// ShuntPower holds the continuous power of each element of the shunt below what it may make at the ambient temperature.
var ShuntPower = &rules.Rule{
	ID:    "shunt-power",
	Title: "shunt makes more heat than it is rated for",
	Level: rules.Error,
	Page:  shuntPowerPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if len(p.Block.Shunt) == 0 {
			p.ShuntOhms()
			return
		}
		amps, list, at := effectiveCurrent(p), shuntOhms(p), declaredAt(p)
		for k, e := range p.Block.Shunt {
			path, copies := e.Path(), e.Copies()
			if statedOf(p, e, "power", "power") == nil { // the first thing to know: only with it does the current's shape matter
				p.Lacks("", quantity.Need{In: "intent", Key: design.Key("elements", path, "power")}).On(e)
				continue
			}
			// The voltage is common to all of them, and the declared current is that of one: each makes V^2 / R, a copy its
			// part of that.
			power := quantity.Calc("power of "+path, quantity.Watt, func(x []float64) float64 {
				v := x[0] * x[1+at]
				return v * v / x[1+k] / copies
			}, append([]quantity.Quantity{amps}, list...)...)
			p.AtMost(power, ratedPower(p, e), "rated power at the highest ambient").Band(0.4).On(e).Lower(p.Block.Shunt...).
				Fails(func(m rules.Measure) string {
					sc := quantity.ScaleFor(quantity.Watt, m.Max, m.LimitMax)
					makes, may := sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down)
					if m.Margin >= 0 {
						return fmt.Sprintf("%s makes %s, more than 60 %% of the %s that it may make at the highest ambient", path, makes, may)
					}
					return fmt.Sprintf("%s makes %s, it may make %s at the highest ambient", path, makes, may)
				})
		}
	},
}
