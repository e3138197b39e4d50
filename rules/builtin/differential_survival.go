package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/differential-survival.md
var differentialSurvivalPage string

// DifferentialSurvival holds what a fault current puts across the shunt, and what stands across an open one where intent
// asks for it, inside the part's differential rating, or the current through a protection between the inputs at or below
// what they may take.
var DifferentialSurvival = &rules.Rule{
	ID:    "differential-survival",
	Title: "a fault puts more between the inputs than they survive",
	Level: rules.Error,
	Page:  differentialSurvivalPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if p.Network != nil {
			p.Skip("op-amp-input-range judges the pins of an op amp")
			return
		}
		i, ohms := p.ShuntCurrent(design.Survival), p.ShuntOhms()
		if len(p.Block.Shunt) == 0 {
			return
		}
		if q, ok := firstMissing(quantity.Volt, i, ohms); ok {
			survivesApart(p, q.Named("in+ less in- in a fault"), rules.Error)
			return
		}
		fault := quantity.Calc("in+ less in- in a fault", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] }, i, ohms)
		survivesApart(p, fault, rules.Error)
		if p.Design.Intent.Get("currents", p.CurrentName(), "fault") == nil {
			shortCircuit(p, ohms)
		}
		if level, ok := openShunt(p); ok {
			survivesApart(p, openVolts(p).Named("in+ less in- with the shunt open"), level)
		}
	},
}

// survivesApart holds a difference between the two ends of the filter, of either sign where the quantity has it.
func survivesApart(p *rules.Bench, q quantity.Quantity, level rules.Level) {
	const key, clamp = "differential.survival", "input.clamp-voltage"
	if p.Amp.Entry(clamp) != nil {
		into := quantity.Calc("input current with "+q.Name, quantity.Amp, func(x []float64) float64 {
			over := math.Abs(x[0]) - x[1]
			if over <= 0 {
				return 0
			}
			return over / x[2]
		}, q.Peak(), p.Part(clamp), filterOhms(p))
		mayTake(p, into).At(level).Raise(filterResistors(p)...)
		return
	}
	if works := p.Amp.Entry("differential.operating"); p.Amp.Entry(key) == nil && works != nil {
		// what it measures it survives: no rating is asked for
		if r, ok := works.Limits.Constant(); ok && q.Known() && q.Sound.In(r) {
			lo, hi, text := p.Limits("differential.operating", design.Operating)
			p.Within(q, lo, hi, text)
			return
		}
	}
	lo, hi, text := p.Limits(key, design.Survival)
	p.Within(q, lo, hi, text).Rating().At(level).Fails(reaches(q.Name, "the part survives")).Widen(key).
		Advise("a smaller shunt, a limiter that is proven to act sooner, or resistance before a protection between the inputs")
}

// loopBeside is the least resistance of a loop beside its shunt, in ohm: source, fuse, cable and copper (common practice,
// no source).
const loopBeside = 10e-3

// shortCircuit asks for the fault current where a short could put more across the shunt than the inputs survive: what works into
// the shunt with the least that stands in any loop.
func shortCircuit(p *rules.Bench, ohms quantity.Quantity) {
	beside := (&quantity.Cause{Name: "loop beside the shunt", Unit: quantity.Ohm, Nom: loopBeside, Sound: quantity.Point(loopBeside), Seen: quantity.Point(loopBeside),
		Grade: quantity.Assumed, Note: "no fault current of " + p.CurrentName() + " declared: 10 mohm counted for the loop beside the shunt"}).Of()
	q := quantity.Calc("in+ less in- in a short", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] / (x[1] + x[2]) }, openVolts(p), ohms, beside)
	if !q.Known() || q.Sound.Empty() {
		p.Lacks("nothing says what a short drives through "+p.ShuntText(), quantity.Need{In: "intent", Key: design.Key("currents", p.CurrentName(), "fault")})
		return
	}
	var least float64
	if p.Amp.Entry("input.clamp-voltage") != nil {
		least = p.Part("input.clamp-voltage").Sound.Lo
	} else {
		lo, hi, _ := p.Limits("differential.survival", design.Survival)
		if !lo.Known() || !hi.Known() {
			return
		}
		least = min(-lo.Sound.Hi, hi.Sound.Lo)
	}
	if q.Sound.Hi < least {
		p.AtMost(q, quantity.Exactly("what the inputs survive", quantity.Volt, least), "what the inputs survive").Rating()
		return
	}
	rs := quantity.Show(ohms.Sound.Hi, quantity.Ohm)
	p.Lacks(fmt.Sprintf("a short of what stands at %s could put up to %s between the inputs (%s x %s / (%s + 10 mohm)), and no fault current is declared", p.ShuntText(),
		quantity.ScaleFor(quantity.Volt, q.Sound.Hi).Text(q.Sound.Hi, quantity.Up), quantity.Show(openVolts(p).Sound.Hi, quantity.Volt), rs, rs),
		quantity.Need{In: "intent", Key: design.Key("currents", p.CurrentName(), "fault")})
}
