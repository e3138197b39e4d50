package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/trip-window.md
var tripWindowPage string

// TripWindow holds each trip where the output reaches it, beyond the working current and before the one that does damage.
var TripWindow = &rules.Rule{
	ID:    "trip-window",
	Title: "trip out of reach, too early or too late",
	Level: rules.Error,
	Page:  tripWindowPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		list, missing := trips(p)
		name := p.CurrentName()
		from, rng := p.Design.Intent.Get("currents", name, "from"), p.Design.Intent.Get("currents", name, "range")
		switch {
		case len(list) == 0 && len(missing) == 0:
			p.Skip("no comparator follows the output and no trip is declared on it")
			return
		case len(p.Block.Shunt) == 0:
			p.ShuntOhms()
			return
		}
		for _, n := range missing {
			p.Lacks("", n)
		}
		for _, t := range list {
			if from == nil || rng == nil {
				key := "from"
				if rng == nil {
					key = "range"
				}
				p.Lacks("", quantity.Need{In: "intent", Key: design.Key("currents", name, key)})
				return
			}
			r := t.tripping(p)
			holdReach(p, t, r)
			holdWindow(p, t, r, rng)
		}
	},
}

// holdReach asks whether the output, and the converter where one compares, gets as far as the threshold.
func holdReach(p *rules.Bench, t trip, r tripping) {
	c := p.Within(r.output, p.Level("output.low", design.Operating, false), p.Level("output.high", design.Operating, true), "the swing of the output")
	if t.comparator != nil {
		c.On(*t.comparator)
	}
	c.Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Volt, m.Min, m.Max, m.LimitMin, m.LimitMax)
		if m.AtHigh {
			return fmt.Sprintf("%s may never trip: the output must reach %s, it stops at %s", t.name, sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
		}
		return fmt.Sprintf("%s may never trip: the output must fall to %s, it stops at %s", t.name, sc.Text(m.Min, quantity.Down), sc.Text(m.LimitMin, quantity.Up))
	})
	reads := p.Design.Intent.Get("converters", p.Design.Circuit.NetName(t.net), "range")
	if t.comparator != nil || reads == nil {
		return
	}
	level := p.Declared(quantity.Volt, "trips", t.name, "threshold").Named("threshold of " + t.name)
	p.Within(level, p.OfNets(reads, reads.Limits.Lo, design.Operating), p.OfNets(reads, reads.Limits.Hi, design.Operating), reads.Key()).Fails(func(m rules.Measure) string {
		return fmt.Sprintf("%s may never trip: its threshold lies outside what the converter reads", t.name)
	})
}

// holdWindow holds the trip current beyond what is normal and before what does damage.
func holdWindow(p *rules.Bench, t trip, r tripping, rng *field.Entry) {
	amps := r.amps
	normal, sign := limitOf(rng, max(0, rng.Written.Range.Hi)), 1.0
	if amps.Nom < 0 {
		normal, sign = limitOf(rng, min(0, rng.Written.Range.Lo)), -1
	}
	what := rng.Key()
	if en := t.get(p, "above"); en != nil {
		normal, what = limitOf(en, sign*math.Abs(en.Written.Range.Hi)), en.Key()
	}
	worded := func(words string) func(rules.Measure) string {
		return func(m rules.Measure) string {
			end, limit, round := m.Min, m.LimitMin, quantity.Down
			if m.AtHigh {
				end, limit, round = m.Max, m.LimitMax, quantity.Up
			}
			sc := quantity.ScaleFor(quantity.Amp, end, limit)
			return fmt.Sprintf(words, t.name, sc.Text(end, round), quantity.Show(limit, quantity.Amp))
		}
	}
	early, late := worded("%s trips as early as %s, up to %s is normal"), worded("%s trips as late as %s, by %s it must have tripped")
	last, text := lastCurrent(p, t, sign)
	advice := r.suits(normal.Nom, last.Nom, sign)
	if t.get(p, "above") == nil {
		advice = fmt.Sprintf("%s; where it may trip inside the range, declare %s", advice, t.key("above"))
	}
	if sign > 0 {
		p.AtLeast(amps, normal, what).Fails(early).Shows(r.shows).Advise(advice)
		p.AtMost(amps, last, text).Rating().Fails(late).Shows(r.shows).Advise(advice)
		return
	}
	p.AtMost(amps, normal, what).Fails(early).Shows(r.shows).Advise(advice)
	p.AtLeast(amps, last, text).Rating().Fails(late).Shows(r.shows).Advise(advice)
}

// suits words between which nominal thresholds the trip fits into its window while the threshold itself varies as it does:
// each end of the trip is moved along the slope that it has there.
func (r tripping) suits(normal, last, sign float64) string {
	move := func(high bool, to float64) float64 {
		end := r.amps.Seen.Lo
		if high {
			end = r.amps.Seen.Hi
		}
		slope, ok := r.amps.Corner(high, []quantity.Quantity{r.slope})
		if !ok {
			return math.NaN()
		}
		return (to - end) * slope[0]
	}
	a, b := r.level+move(sign < 0, normal), r.level+move(sign > 0, last)
	if r.slope.Nom*sign < 0 {
		a, b = b, a
	}
	if !(a < b) { // nothing is known, or nothing is left
		return "no threshold fits a trip that varies so much: narrow its spread"
	}
	sc := quantity.ScaleFor(quantity.Volt, a, b)
	return fmt.Sprintf("a nominal threshold between %s and %s", sc.Text(a, quantity.Up), sc.Text(b, quantity.Down))
}

// lastCurrent is the current by which a trip must have come: what intent asks of the trip, else the current that does
// damage, else the declared fault.
func lastCurrent(p *rules.Bench, t trip, sign float64) (limit quantity.Quantity, text string) {
	name := p.CurrentName()
	en := t.get(p, "below")
	for _, key := range []string{"damage", "fault"} {
		if en == nil {
			en = p.Design.Intent.Get("currents", name, key)
		}
	}
	if en == nil {
		key := design.Key("currents", name, "damage")
		return quantity.Missing(quantity.Amp, quantity.Need{In: "intent", Key: key}), key
	}
	r := en.Written.Range
	return limitOf(en, sign*max(math.Abs(r.Lo), math.Abs(r.Hi))), en.Key()
}
