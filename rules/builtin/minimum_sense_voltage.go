package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/minimum-sense-voltage.md
var minimumSenseVoltagePage string

// MinimumSenseVoltage holds what the smallest current that counts makes between the inputs above the smallest input at
// which the record guarantees its accuracy, at the common mode that the pins really see.
var MinimumSenseVoltage = &rules.Rule{
	ID:    "minimum-sense-voltage",
	Title: "smallest current below the input at which the part is accurate",
	Level: rules.Error,
	Page:  minimumSenseVoltagePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		goal, least := p.Goal(), p.Smallest()
		limit, said := p.LeastSense()
		switch {
		case !said:
			p.Skip("the record states no smallest input (differential.least)")
			return
		case !goal.Declared && !least.Known():
			p.Skip("neither a goal nor a smallest current of interest is declared")
			return
		}
		from := func(i quantity.Quantity, level rules.Level, what string) {
			v := quantity.Calc("input at "+what, quantity.Volt, func(x []float64) float64 { return x[0] * x[1] * x[2] },
				i, p.ShuntOhms(), p.Factor(false))
			p.AtLeast(v, limit, "differential.least").At(level).Raise(p.Block.Shunt...).Fails(func(m rules.Measure) string {
				sc := quantity.ScaleFor(quantity.Volt, m.Min, m.LimitMin)
				return fmt.Sprintf("%s makes %s between the inputs, the part is accurate from %s on at this common mode",
					quantity.Show(i.Seen.Lo, quantity.Amp), sc.Text(m.Min, quantity.Down), sc.Text(m.LimitMin, quantity.Up))
			})
		}
		if goal.Declared {
			from(goal.From, rules.Error, "the current where the goal begins")
		}
		if least.Known() && (!goal.Declared || goal.From.Known() && least.Nom < goal.From.Nom) {
			from(least, rules.Warning, design.Key("currents", p.CurrentName(), "least"))
		}
	},
}
