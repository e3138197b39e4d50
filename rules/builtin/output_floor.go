package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/output-floor.md
var outputFloorPage string

// OutputFloor asks from which current on a one-way channel reads: below it the output stands on its floor. Of a current
// that flows both ways the floor is reference-bias's; the lower end of the converter is judged here for all.
var OutputFloor = &rules.Rule{
	ID:    "output-floor",
	Title: "small currents are lost on the output's floor",
	Level: rules.Error,
	Page:  outputFloorPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		c, ok := chained(p)
		if !ok {
			return
		}
		bottom, text := p.Level("output.low", design.Operating, false), "output.low"
		if c.converted {
			if lo, _, said := p.ConverterLimits(c.reads, "range", design.Operating); said {
				level := quantity.Calc("output at the lower end of the converter's range", quantity.Volt, func(x []float64) float64 { return (x[0]-x[1])/x[2] - x[3] },
					lo, p.Rest(c.reads.Net, design.Operating), p.Transfer(c.reads.Net), p.Net(p.Ground, design.Operating))
				key := design.Key("converters", c.reads.Name, "range")
				if c.least < 0 && c.most > 0 && !(level.Sound.Hi <= bottom.Sound.Lo) { // above where the output stops itself
					p.AtLeast(p.Arriving(c.out, c.reads.Net, design.Operating).Named("voltage at "+c.reads.Name), lo, key).Fails(func(m rules.Measure) string {
						return fmt.Sprintf("the converter on %s reads down to %s, the output arrives as low as %s", c.reads.Name,
							quantity.Show(m.LimitMin, quantity.Volt), quantity.Show(m.Min, quantity.Volt))
					})
					return
				}
				bottom, text = higher(bottom, level), "output.low and "+key
			}
		}
		switch {
		case c.least < 0 && c.most > 0:
			p.Skip("the current flows both ways: reference-bias judges the lower end")
		case !c.known:
			c.eitherWay(p, bottom, text)
		case c.most <= 0:
			c.falling(p, bottom, text)
		default:
			c.rising(p, bottom, text)
		}
	},
}

// higher is the higher of two levels.
func higher(a, b quantity.Quantity) quantity.Quantity {
	return quantity.Calc("lowest level that is read", quantity.Volt, func(x []float64) float64 { return max(x[0], x[1]) }, a, b)
}

// eitherWay: without the direction only an output that stays above its floor both ways holds.
func (c chain) eitherWay(p *rules.Bench, bottom quantity.Quantity, text string) {
	if out := c.out.Named("output at the lowest end"); quantity.Minus("margin", out, bottom).Sound.Lo >= 0 {
		p.AtLeast(out, bottom, text)
		return
	}
	p.Lacks("", quantity.Need{In: "intent", Key: design.Key("currents", p.CurrentName(), "from")})
}

// falling: the largest current puts the output lowest. On its floor nothing more is read.
func (c chain) falling(p *rules.Bench, bottom quantity.Quantity, text string) {
	stops := c.at(p, "current at which the output meets its floor", bottom)
	k := p.AtLeast(c.out.Named("output at the lowest end"), bottom, text).Lower(p.Block.Shunt...).Fails(func(rules.Measure) string {
		intended := quantity.Show(c.signed(c.least), quantity.Amp) + " is intended"
		if v := stops.Seen.Hi; !stops.Seen.Empty() && !unlimited(v) && v < 0 {
			return fmt.Sprintf("the output falls with the current and meets its floor at %s, %s", three(c.signed(v), c.up > 0), intended)
		}
		return "the output falls with the current and stands on its floor from the first ampere, " + intended
	})
	if len(p.References) > 0 {
		k.Drive(p.References[0].Role, c.zero.Nom, true)
	}
	p.Carry(stops)
}

// rising: the smallest currents put the output lowest.
func (c chain) rising(p *rules.Bench, bottom quantity.Quantity, text string) {
	floor := c.at(p, "current from which the output reads", bottom)
	zero := quantity.Exactly("the range begins", quantity.Amp, max(0, c.least))
	if floor.Sound.Hi <= zero.Nom { // a biased reference
		p.AtMost(floor, zero, design.Key("currents", p.CurrentName(), "range"))
		return
	}
	reads := func() string {
		v := floor.Seen.Hi
		if floor.Seen.Empty() || unlimited(v) {
			return "the output stands on its floor"
		}
		return "reads only from " + three(c.signed(v), c.up > 0) + " on"
	}
	lift := func(k *rules.Check) {
		k.Raise(p.Block.Shunt...)
		if len(p.References) > 0 {
			k.Drive(p.References[0].Role, c.zero.Nom, true)
		}
	}
	goal, least := p.Goal(), p.Declared(quantity.Amp, "currents", p.CurrentName(), "least")
	switch {
	case goal.Declared:
		lift(p.AtMost(floor, magnitude(goal.From), "the goal begins").Fails(func(m rules.Measure) string {
			return fmt.Sprintf("%s, the goal begins at %s", reads(), quantity.Show(m.LimitMax, quantity.Amp))
		}))
	case least.Known():
		lift(p.AtMost(floor, magnitude(least), design.Key("currents", p.CurrentName(), "least")).At(rules.Note).Fails(func(m rules.Measure) string {
			return fmt.Sprintf("%s, currents from %s are of interest", reads(), quantity.Show(m.LimitMax, quantity.Amp))
		}))
	default:
		p.AtMost(floor, zero, design.Key("currents", p.CurrentName(), "range")).At(rules.Note).Fails(func(m rules.Measure) string {
			return fmt.Sprintf("%s, the range begins at %s", reads(), quantity.Show(m.LimitMax, quantity.Amp))
		})
	}
}

// magnitude is a declared current without its sign.
func magnitude(q quantity.Quantity) quantity.Quantity {
	if !q.Known() || q.Sound.Lo >= 0 {
		return q
	}
	return q.Times(-1)
}
