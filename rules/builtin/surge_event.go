package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

//go:embed doc/surge-event.md
var surgeEventPage string

// SurgeEvent holds what a declared surge leaves in a clamp within the clamp's pulse rating, and what it does to an input
// that no clamp holds, or that is held only one way, within what the input survives.
var SurgeEvent = &rules.Rule{
	ID:    "surge-event",
	Title: "a declared surge is more than clamp or input take",
	Level: rules.Error,
	Page:  surgeEventPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		list, all := declaredSurges(p), blockClamps(p)
		judged := false
		for _, name := range p.Design.Intent.Names("surges") {
			if p.Design.Intent.Get("surges", name, "at") == nil { // it may enter anywhere
				judged = true
				p.Lacks("", quantity.Need{In: "intent", Key: design.Key("surges", name, "at")})
			}
		}
		for _, c := range all {
			if c.over {
				continue
			}
			reached := surgesReaching(p, list, c.high)
			for _, s := range reached {
				judged = true
				for _, turned := range []bool{false, true} {
					if turned && (!c.both || !(s.volts.Sound.Lo < 0)) || !turned && !(s.volts.Sound.Hi > 0) {
						continue
					}
					clampAbsorbs(p, c, s, turned)
				}
				if !c.both && s.volts.Sound.Lo < 0 {
					clampForwards(p, c, s)
				}
			}
			if _, held := p.Design.Rail(c.high, design.Operating); len(reached) == 0 && held && c.isInput() && !c.asleep(p) {
				judged = true
				p.Lacks(fmt.Sprintf("%s clamps %s, and nothing says which surges it has to take", c.Path(), p.Design.Circuit.NetName(c.high)),
					surgeNeed(p, c.high)).On(c.Element)
			}
		}
		for _, s := range list {
			judged = bareInput(p, all, "in+", p.Plus, s) || judged
			judged = bareInput(p, all, "in-", p.Minus, s) || judged
		}
		if !judged {
			p.Skip("no clamp with a part record takes surges here, and no declared surge reaches the inputs")
		}
	},
}

// clampAbsorbs holds the power and the energy that a surge leaves in a clamp within its pulse rating.
func clampAbsorbs(p *rules.Bench, c clamp, s surge, turned bool) {
	k, told := c.curve()
	name := c.Path() + " in " + s.name
	bv, share := c.breakdown(p), c.share()
	if q, ok := firstMissing(quantity.Watt, s.volts, s.ohms, s.duration, bv); ok {
		p.Lacks("", q.Needs...).On(c.Element)
		return
	}
	if !told {
		p.Lacks("", c.PartNeed("clamp.level")).On(c.Element)
		return
	}
	sign := turnSign(turned)
	watts := quantity.Calc("peak power of "+name, quantity.Watt, func(x []float64) float64 {
		v, r := sign*x[0], x[1]
		i := k.load(v, r, x[2], x[3])
		switch {
		case i == 0:
			return 0
		case math.IsInf(i, 0):
			return i
		}
		return (v - r*i) * i
	}, s.volts, s.ohms, bv, share)
	// Between corners of the clamp's voltage the power has its peak where the clamp takes half of the source's.
	if half := max(sign*s.volts.Sound.Lo, sign*s.volts.Sound.Hi) / 2; half > bv.Sound.Lo && half < bv.Sound.Hi+k.rise(k.rated) {
		watts = quantity.Calc("peak power of "+name, quantity.Watt, func(x []float64) float64 { return x[0] * x[0] / 4 / x[1] }, s.volts, s.ohms)
	}
	if watts.Known() && watts.Sound.Hi == 0 {
		p.Holds(s.name + " stays below the breakdown of " + c.Path())
		return
	}
	power, energy := c.Entry("clamp.pulse-power"), c.Entry("clamp.pulse-energy")
	t, copies := s.duration.Sound.Hi, c.Copies()
	if power == nil && energy == nil {
		p.Lacks("", c.PartNeed("clamp.pulse-power")).On(c.Element)
	}
	if power != nil {
		most, ok := onCurve(power, t, byTime)
		if first := power.Points; !ok && len(first) > 0 && t < first[0][0].Nom { // shorter is milder
			most, ok = first[0][1].Range.Hi, true
		}
		if !ok {
			p.Lacks("", atDuration(c.PartNeed("clamp.pulse-power"), t)).On(c.Element)
		} else {
			p.AtMost(watts, quantity.Exactly("pulse power of "+c.Path(), quantity.Watt, most*copies), "clamp.pulse-power").On(c.Element).
				Advise("a larger clamp, or more resistance before it").Fails(overPulse(s.name, c.Path()))
		}
	}
	if energy != nil {
		most, ok := onCurve(energy, t, byTime)
		if !ok {
			p.Lacks("", atDuration(c.PartNeed("clamp.pulse-energy"), t)).On(c.Element)
			return
		}
		f := s.filling(p)
		joules := quantity.Calc("energy of "+name, quantity.Joule, func(x []float64) float64 { return x[0] * x[1] * f }, watts, s.duration)
		p.AtMost(joules, quantity.Exactly("pulse energy of "+c.Path(), quantity.Joule, most*copies), "clamp.pulse-energy").On(c.Element).
			Advise("a larger clamp, or more resistance before it").Fails(overPulse(s.name, c.Path()))
	}
}

// clampForwards holds the power that a surge below the clamp's other end leaves in it while it conducts forwards: within its
// pulse rating, or, beyond the longest pulse that its record tells of, within what it makes continuously.
func clampForwards(p *rules.Bench, c clamp, s surge) {
	drop := c.drop(p)
	if q, ok := firstMissing(quantity.Watt, s.volts, s.ohms, s.duration, drop); ok {
		p.Lacks("", q.Needs...).On(c.Element)
		return
	}
	watts := quantity.Calc("power of "+c.Path()+" conducting forwards in "+s.name, quantity.Watt, func(x []float64) float64 {
		if over := -x[0] - x[2]; over > 0 {
			return over / x[1] * x[2]
		}
		return 0
	}, s.volts, s.ohms, drop)
	t, text := s.duration.Sound.Hi, "clamp.pulse-power"
	most, ok := 0.0, false
	if e := c.Entry(text); e != nil {
		if most, ok = onCurve(e, t, byTime); !ok && len(e.Points) > 0 && t < e.Points[0][0].Nom { // shorter is milder
			most, ok = e.Points[0][1].Range.Hi, true
		}
	}
	if e := c.Entry("clamp.pulse-energy"); !ok && e != nil && t > 0 {
		var joules float64
		if joules, ok = onCurve(e, t, byTime); ok {
			most, text = joules/t/s.filling(p), "clamp.pulse-energy"
		}
	}
	if e := c.Entry("power"); e != nil && (!ok || e.Written.Range.Hi > most) {
		most, ok, text = e.Written.Range.Hi, true, "power"
	}
	if !ok {
		n := c.PartNeed("power")
		if c.Entry("clamp.pulse-power") == nil && c.Entry("clamp.pulse-energy") == nil {
			n = c.PartNeed("clamp.pulse-power")
		}
		p.Lacks(fmt.Sprintf("%s conducts forwards in %s, and its record does not say what it takes for %s", c.Path(), s.name, quantity.Show(t, quantity.Second)), n).On(c.Element)
		return
	}
	p.AtMost(watts, quantity.Exactly("forward power of "+c.Path(), quantity.Watt, most*c.Copies()), text).On(c.Element).
		Advise("what blocks a reversed supply before the clamp, or more resistance").Fails(overPulse(s.name, c.Path()))
}

// filling is the energy of a pulse over that of a rectangle of its peak and duration; an exponential one lasts to a half.
func (s surge) filling(p *rules.Bench) float64 {
	e := p.Design.Intent.Get("surges", s.name, "shape")
	if e == nil {
		return 1
	}
	switch e.Text {
	case "exponential":
		return 1 / math.Ln2
	case "half-sine":
		return 2 / math.Pi
	case "triangular":
		return 0.5
	}
	return 1
}

func atDuration(n quantity.Need, t float64) quantity.Need {
	n.Key += " at " + quantity.Show(t, quantity.Second)
	return n
}

func overPulse(surge, clamp string) func(rules.Measure) string {
	return func(m rules.Measure) string {
		if unlimited(m.Max) {
			return fmt.Sprintf("nothing limits what %s leaves in %s, its record allows %s", surge, clamp, quantity.ScaleFor(m.Unit, m.LimitMax).Text(m.LimitMax, quantity.Down))
		}
		sc := quantity.ScaleFor(m.Unit, m.Max, m.LimitMax)
		return fmt.Sprintf("%s leaves up to %s in %s, its record allows %s", surge, sc.Text(m.Max, quantity.Up), clamp, sc.Text(m.LimitMax, quantity.Down))
	}
}

// bareInput holds an input that a surge reaches and no clamp holds, or that a clamp which conducts forwards lets go below its
// other end. What intent promises of a rail in every event stands, and is common-mode-survival's. It tells whether there
// was anything to judge.
func bareInput(p *rules.Bench, all []clamp, pin string, leg sense.Leg, s surge) bool {
	way := surgesReaching(p, []surge{s}, leg.Shunt)
	if len(way) == 0 {
		return false
	}
	if p.Network != nil { // op-amp-input-range judges the pins of an op amp, with what the net reaches in events
		clamped := slices.ContainsFunc(all, func(c clamp) bool { return c.isInput() && len(surgesReaching(p, []surge{s}, c.high)) > 0 })
		if clamped || railPromised(p, s.at) || railPromised(p, leg.Shunt) || lowSide(p) || !feeds(p, s.at, leg.Shunt) {
			return false
		}
		p.Lacks(fmt.Sprintf("%s reaches the network of an op amp, and nothing says how far it lifts %s", s.name, p.Design.Circuit.NetName(leg.Shunt)),
			quantity.Need{In: "intent", Key: design.Key("rails", p.Design.Circuit.NetName(leg.Shunt), "survival")})
		return true
	}
	s = way[0]
	volts, inner, what := s.volts, leg.Series, pin+" in "+s.name
	var forward *clamp
	for i, c := range all {
		if c.pin != pin || c.between || len(surgesReaching(p, []surge{s}, c.high)) == 0 {
			continue // what clamps one input behind its filter leaves the other one bare
		}
		if c.both { // clamp-level and clamp-current know its level both ways
			return false
		}
		if forward == nil {
			forward = &all[i]
		}
	}
	switch {
	case forward != nil && !(s.volts.Sound.Lo < 0):
		return false
	case forward != nil:
		volts = forward.fromGround(p, quantity.Calc(what, quantity.Volt, func(x []float64) float64 { return -x[0] }, forward.drop(p)))
		inner = forward.inner
	case railPromised(p, s.at), railPromised(p, leg.Shunt):
		return false
	case !wiredTo(p.Design, s.at, leg.Shunt): // how much of it arrives depends on what else draws there
		lo, hi, _ := p.Limits("common-mode.survival", design.Survival)
		stands := s.volts.Known() && lo.Known() && hi.Known() && s.volts.Sound.Lo > lo.Sound.Hi && s.volts.Sound.Hi < hi.Sound.Lo
		if stands || lowSide(p) || !feeds(p, s.at, leg.Shunt) {
			return false // all of it does nothing, or an end of the shunt stands still
		}
		p.Lacks(fmt.Sprintf("%s reaches %s over a resistance, and nothing says how far it lifts %s", s.name, pin, p.Design.Circuit.NetName(leg.Shunt)),
			quantity.Need{In: "intent", Key: design.Key("rails", p.Design.Circuit.NetName(leg.Shunt), "survival")})
		return true
	default:
		volts = s.charged(p, leg.Shunt)
	}
	lo, hi, text := p.Limits("common-mode.survival", design.Survival)
	if behind := resistors(inner); len(behind) > 0 {
		mayTake(p, intoPin(pin+" current in "+s.name, volts, lo, hi, seriesOhms(p, "resistance at "+pin, behind))).Raise(behind...)
		return true
	}
	p.Within(volts.Named(what), lo, hi, text).Rating().Fails(reaches(what, "the part survives")).Widen("common-mode.survival").
		Advise("a clamp at the net that the surge enters")
	return true
}

// feeds tells that a way from a net to another one is not more than carries the current of a load.
func feeds(p *rules.Bench, from, to circuit.Net) bool {
	over, ok := resistiveRoute(p.Design, from, to)
	sum := 0.0
	for _, e := range resistors(over) {
		sum += e.Value()
	}
	return ok && sum <= carryOhms
}

// railPromised tells that intent says what a net reaches in every event.
func railPromised(p *rules.Bench, n circuit.Net) bool {
	name := p.Design.Circuit.NetName(n)
	return p.Design.Intent.Get("rails", name) != nil || p.Design.Intent.Get("rails", name, "survival") != nil
}

// drop is the forward drop of a clamp, in volts; the policy range where nobody said it.
func (c clamp) drop(p *rules.Bench) quantity.Quantity {
	if p.Design.Intent.Get("elements", c.Path(), "drop") != nil {
		return p.Declared(quantity.Volt, "elements", c.Path(), "drop")
	}
	if c.Entry("drop") != nil {
		return p.PartOf(c.Element, "drop")
	}
	return (&quantity.Cause{Name: "drop of " + c.Path(), Unit: quantity.Volt, Nom: 0.7, Sound: quantity.Interval{Hi: 1.5}, Seen: quantity.Point(0.7),
		Grade: quantity.Assumed, Note: c.Path() + ": no drop declared, 0.7 V seen, up to 1.5 V counted"}).Of()
}

// charged is what a surge charges a net to, in volts: all of its own, or what capacitors to ground, where it enters or at the
// net, let it reach from where the net works.
func (s surge) charged(p *rules.Bench, n circuit.Net) quantity.Quantity {
	farads, ok := netCapacitance(p.Design, s.at)
	if !ok {
		farads, ok = netCapacitance(p.Design, n)
	}
	if !ok {
		return s.volts
	}
	from := p.Across(n, p.Ground, design.Operating)
	if q, ok := firstMissing(quantity.Volt, s.volts, s.ohms, s.duration, farads, from); ok {
		return q
	}
	return quantity.Calc("charged", quantity.Volt, func(x []float64) float64 {
		v, r, t, c, was := x[0], x[1], x[2], x[3], x[4]
		if r*c == 0 {
			return v
		}
		return was + (v-was)*-math.Expm1(-t/(r*c))
	}, s.volts, s.ohms, s.duration, farads, from)
}
