package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/filter-gain-error.md
var filterGainErrorPage string

// FilterGainError holds what series resistance takes from the gain, and how much that can vary, against the goal: k is
// the part of the shunt's voltage that arrives between the input pins.
var FilterGainError = &rules.Rule{
	ID:    "filter-gain-error",
	Title: "filter resistors spoil the gain",
	Level: rules.Error,
	Page:  filterGainErrorPage,
	Judge: func(p *rules.Bench) {
		model, filter := filtered(p)
		switch {
		case filter == nil:
			return
		case model == "high-impedance":
			p.Skip("the input stage takes no current that follows the signal")
			return
		case model == "current-output":
			p.Skip("the series resistance is part of the gain of a current-output stage")
			return
		}
		k := p.Factor(false)
		goal, spreadLimit := p.Goal().Error, p.Goal().Error.Times(1./3)
		limitText, spreadText := "goal", "goal / 3"
		if !goal.Known() {
			goal = goal.Or(0.005, "no goal declared: 0.5 % used for the gain error of the filter")
			spreadLimit = goal
			limitText, spreadText = "0.5 %, no goal declared", "0.5 %, no goal declared"
		}
		if p.Output.Declared == "" || p.Design.Intent.Get("converters", p.Output.Declared, "scale") == nil {
			loss := quantity.Calc("gain loss 1-k", quantity.Ratio, func(x []float64) float64 { return 1 - x[0] }, k)
			p.AtMost(loss, goal, limitText).At(rules.Warning).Lower(filter...).
				Fails(func(m rules.Measure) string {
					return fmt.Sprintf("the filter takes up to %s of the gain, and no converter scale says that this is known", percent(m.Max, quantity.Up))
				}).Shows(func(bool) string { return lossText(p, k) })
		}
		spread := k
		if p.Calibrated("gain") {
			spread = p.Factor(true)
		}
		p.AtMost(spread.Spread().Named("spread of k"), spreadLimit, spreadText).Lower(filter...).
			Fails(func(m rules.Measure) string {
				return fmt.Sprintf("the gain varies by %s with the input resistance and the filter's tolerance", percent(m.Max, quantity.Up))
			}).Shows(func(bool) string {
			return fmt.Sprintf("(%.5f - %.5f) / 2 / %.5f", spread.Seen.Hi, spread.Seen.Lo, spread.Nom)
		})
		p.Carry(k)
	},
}

func lossText(p *rules.Bench, k quantity.Quantity) string {
	text := fmt.Sprintf("1 - %.5f", k.Seen.Lo)
	if k.Nom > 0 {
		text += fmt.Sprintf(", nominal k %.5f", k.Nom)
	}
	return text
}

func percent(v float64, r quantity.Rounding) string {
	return quantity.ScaleFor(quantity.Ratio, v).Text(v, r)
}
