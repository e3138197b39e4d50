package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

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
		if c.least < 0 && c.most > 0 {
			c.converterBottom(p)
			return
		}
		bottom, text := p.Level("output.low", design.Operating, false), "output.low"
		if lo, key, above := c.converterFloor(p, bottom); above {
			bottom, text = higher(bottom, c.behind(p, lo)), "output.low and "+key
		}
		switch {
		case !c.known:
			c.eitherWay(p, bottom, text)
		case c.most <= 0:
			c.falling(p, bottom, text)
		default:
			c.rising(p, bottom, text)
		}
	},
}

// converterBottom holds, of a current that flows both ways, what arrives at the converter above where that begins to read, in
// every state that measures.
func (c chain) converterBottom(p *rules.Bench) {
	seen, judged := working{}, false
	everyState(p, true, func(v *rules.Bench, state string) {
		c, _ := chained(v)
		lo, key, above := c.converterFloor(v, v.Level("output.low", design.Operating, false))
		if !above {
			return
		}
		judged = true
		q := v.Arriving(c.out, c.reads.Net, design.Operating).Named("voltage at " + c.reads.Name + state)
		if seen.again("converter", state, held{q, lo, lo}) {
			return
		}
		p.AtLeast(q, lo, key).Fails(func(m rules.Measure) string {
			return fmt.Sprintf("the converter on %s reads down to %s, the output arrives as low as %s%s", c.reads.Name,
				quantity.Show(m.LimitMin, quantity.Volt), quantity.Show(m.Min, quantity.Volt), state)
		})
	})
	if !judged {
		p.Skip("the current flows both ways: reference-bias judges the lower end")
	}
}

// converterFloor is the lower end of what the converter reads and its key; above tells that it may stand above where the
// output stops itself.
func (c chain) converterFloor(p *rules.Bench, bottom quantity.Quantity) (lo quantity.Quantity, key string, above bool) {
	if !c.converted || !bottom.Known() {
		return lo, "", false
	}
	lo, _, said := p.ConverterLimits(c.reads, "range", design.Operating)
	return lo, design.Key("converters", c.reads.Name, "range"), said && !(c.behind(p, lo).Sound.Hi <= bottom.Sound.Lo)
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
	c.dead(p, c.at(p, "current from which the output reads", bottom), "the output stands on its floor", func(k *rules.Check) {
		k.Raise(p.Block.Shunt...)
		if len(p.References) > 0 {
			k.Drive(p.References[0].Role, c.zero.Nom, true)
		}
	})
}

// dead holds the size of the current from which a one-way channel reads below where its goal begins, else below what
// intent calls of interest, else where its range begins. what is said where it never reads.
func (c chain) dead(p *rules.Bench, from quantity.Quantity, what string, cures func(*rules.Check)) {
	begins := quantity.Exactly("the range begins", quantity.Amp, min(math.Abs(c.least), math.Abs(c.most)))
	key := design.Key("currents", p.CurrentName(), "range")
	if from.Sound.Hi <= begins.Nom { // a reference that leaves room
		p.AtMost(from, begins, key)
		return
	}
	sign := c.up
	if c.most <= 0 {
		sign = -sign
	}
	reads := func() string {
		v := from.Seen.Hi
		if from.Seen.Empty() || unlimited(v) {
			return what
		}
		return "reads only from " + three(sign*v, sign > 0) + " on"
	}
	hold := func(limit quantity.Quantity, text string, level rules.Level, say string) {
		cures(p.AtMost(from, limit, text).At(level).Fails(func(m rules.Measure) string {
			return fmt.Sprintf(say, reads(), quantity.Show(m.LimitMax, quantity.Amp))
		}))
	}
	goal, least := p.Goal(), p.Smallest()
	switch {
	case goal.Declared:
		hold(goal.From, "the goal begins", rules.Error, "%s, the goal begins at %s")
	case least.Known():
		hold(least, design.Key("currents", p.CurrentName(), "least"), rules.Note, "%s, currents from %s are of interest")
	default:
		cure := cures
		cures = func(k *rules.Check) {
			cure(k)
			k.Advise("say from which current on readings count: " + design.Key("currents", p.CurrentName(), "least"))
		}
		hold(begins, key, rules.Note, "%s, the range begins at %s")
	}
}
