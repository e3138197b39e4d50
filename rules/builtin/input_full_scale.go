package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/input-full-scale.md
var inputFullScalePage string

// InputFullScale holds what the shunt's voltage makes between the input pins inside the range in which the part is linear.
var InputFullScale = &rules.Rule{
	ID:    "input-full-scale",
	Title: "shunt voltage beyond the part's linear input range",
	Level: rules.Error,
	Page:  inputFullScalePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if p.Network != nil { // feedback holds the inputs of an op amp together: op-amp-input-range judges each of them
			p.Skip("the block is made of op amps")
			return
		}
		const key = "differential.operating"
		switch {
		case p.Network != nil:
			p.Skip("an op amp holds its inputs together: op-amp-input-range judges where they stand")
			return
		case p.Digital() && p.Amp.Entry(key) == nil:
			p.Skip("digital-range judges what a digital monitor reads")
			return
		}
		v := sensed(p).Named("in+ less in-")
		if len(p.Block.Shunt) == 0 {
			return
		}
		lo, hi, text := p.Limits(key, design.Operating)
		c := p.Within(v, lo, hi, text)
		c.Fails(func(m rules.Measure) string {
			end, limit, round := m.Max, m.LimitMax, quantity.Up
			if !m.AtHigh {
				end, limit, round = m.Min, m.LimitMin, quantity.Down
			}
			sc := quantity.ScaleFor(quantity.Volt, end, limit)
			return fmt.Sprintf("the shunt makes %s between the inputs, the part is linear to %s", sc.Text(end, round), sc.Text(limit, quantity.Near))
		}).Lower(p.Block.Shunt...).Widen(key)
		lowerGains(p, c)
	},
}

// sensed is the part of the shunt's voltage that arrives between the input pins over the whole declared current, in volts,
// positive where in+ is the higher.
func sensed(p *rules.Bench) quantity.Quantity {
	return quantity.Calc("in+ less in-", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] * x[2] },
		p.ShuntCurrent(design.Operating), p.ShuntOhms(), p.Factor(false))
}
