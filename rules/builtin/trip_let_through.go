package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/trip-let-through.md
var tripLetThroughPage string

// TripLetThrough holds what a fault current rises to before a trip has stopped it below what does damage, and looks at what
// else a comparator needs to trip when it should and only then.
var TripLetThrough = &rules.Rule{
	ID:    "trip-let-through",
	Title: "fault current runs away before the trip has stopped it, or the comparator does not do its part",
	Level: rules.Warning,
	Page:  tripLetThroughPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		list, missing := trips(p)
		if len(list) == 0 && len(missing) == 0 {
			p.Skip("no comparator follows the output and no trip is declared on it")
			return
		}
		if len(p.Block.Shunt) == 0 {
			p.ShuntOhms()
			return
		}
		for _, n := range missing {
			p.Lacks("", n)
		}
		said := len(missing) > 0
		for _, t := range list {
			damage := p.Design.Intent.Get("currents", p.CurrentName(), "damage") != nil
			if damage {
				holdPeak(p, t)
			}
			if t.comparator != nil {
				holdInputs(p, t)
				holdHysteresis(p, t)
				holdPullUp(p, t)
			}
			glitch := t.get(p, "glitch") != nil
			if glitch {
				holdBlanking(p, t)
			}
			said = said || damage || glitch || t.comparator != nil
		}
		if !said {
			p.Skip("no current that does damage is declared, and no comparator is drawn")
		}
	},
}

// holdPeak holds Ipeak = Itrip + V / L * t below the current that does damage, on the side of the trip.
func holdPeak(p *rules.Bench, t trip) {
	name := p.CurrentName()
	for _, key := range []string{"from", "range"} {
		if p.Design.Intent.Get("currents", name, key) == nil {
			p.Lacks("", quantity.Need{In: "intent", Key: design.Key("currents", name, key)})
			return
		}
	}
	amps := t.tripping(p).amps
	sign := 1.0
	if amps.Nom < 0 {
		sign = -1
	}
	lasts := reaction(p, t)
	volts := ceilingOf(p.Declared(quantity.Volt, "currents", name, "fault-voltage"))
	coil := p.Declared(quantity.Henry, "currents", name, "fault-inductance")
	peak := quantity.Calc("fault current let through by "+t.name, quantity.Amp, func(x []float64) float64 { return sign*x[0] + x[1]/x[2]*x[3]/x[4] },
		amps, volts, coil, lasts, p.GroupRatio())
	en := p.Design.Intent.Get("currents", name, "damage")
	c := p.AtMost(peak, limitOf(en, en.Written.Range.Hi), en.Key()).At(rules.Error).Rating()
	if max(math.Abs(amps.Seen.Lo), math.Abs(amps.Seen.Hi)) >= en.Written.Range.Hi { // the threshold alone is too high
		c.SameAs(TripWindow.ID)
	}
	c.Shows(func(bool) string {
		return fmt.Sprintf("%s + %s / %s x %s", quantity.Show(max(math.Abs(amps.Seen.Lo), math.Abs(amps.Seen.Hi)), quantity.Amp),
			quantity.Show(volts.Seen.Hi, quantity.Volt), quantity.Show(coil.Seen.Lo, quantity.Henry), quantity.Show(lasts.Seen.Hi, quantity.Second))
	}).
		Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Amp, m.Max, m.LimitMax)
			if unlimited(m.Max) {
				return fmt.Sprintf("nothing holds a fault back before %s has stopped it, %s does damage", t.name, sc.Text(m.LimitMax, quantity.Down))
			}
			return fmt.Sprintf("a fault rises to %s before %s has stopped it, %s does damage", sc.Text(m.Max, quantity.Up), t.name, sc.Text(m.LimitMax, quantity.Down))
		})
}

// holdInputs holds the threshold, at which both inputs stand when it trips, inside the common mode of the comparator.
func holdInputs(p *rules.Bench, t trip) {
	const key = "common-mode.operating"
	c := t.resting(p, t.signal == "in-").Of(*t.comparator, t.unit)
	lo, hi, text := c.Limits(key, design.Operating)
	level := c.Voltage(t.other, design.Operating)
	if t.get(p, "threshold") != nil {
		ground, _ := t.comparator.PinOf("ground", t.unit)
		level = quantity.Minus("threshold", p.Declared(quantity.Volt, "trips", t.name, "threshold"), p.Net(ground, design.Operating))
	}
	level = level.Named("threshold at " + t.name)
	p.Within(level, lo, hi, text).On(*t.comparator).Fails(reaches(level.Name, "the comparator compares"))
}

// holdHysteresis holds the distance of both thresholds at the compared net above noise and ripple, unless the trip stays.
func holdHysteresis(p *rules.Bench, t trip) {
	if t.flag(p, "latched") {
		return
	}
	var gap quantity.Quantity
	if t.fedBack(p) && t.get(p, "threshold") == nil {
		// With the output before a trip and after it, whichever way it trips.
		gap = quantity.Minus("hysteresis of "+t.name, t.threshold(t.resting(p, t.signal == "in-"), true), t.threshold(t.resting(p, t.signal == "in+"), false))
	} else {
		gap = p.PartOf(*t.comparator, "hysteresis").Named("hysteresis of " + t.name)
	}
	noise := ceilingOf(p.Declared(quantity.Volt, "trips", t.name, "noise"))
	p.AtLeast(gap, noise, t.key("noise")).On(*t.comparator).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Volt, m.Min, m.LimitMin)
		return fmt.Sprintf("%s may chatter: its hysteresis is %s, noise and ripple are %s", t.name, sc.Text(m.Min, quantity.Down), sc.Text(m.LimitMin, quantity.Up))
	})
}

// holdPullUp asks an output that only pulls down for what pulls it up.
func holdPullUp(p *rules.Bench, t trip) {
	out, ok := t.comparator.PinOf("out", t.unit)
	if !ok || t.pulledUp(p, out) || t.flag(p, "pull-up") {
		return
	}
	kind, known := t.comparator.Word("output.type")
	switch {
	case !known:
		p.Lacks("", t.comparator.PartNeed("output.type")).On(*t.comparator)
	case kind != "open-drain":
	case elsewhere(p, out, t):
		p.HoldsIf(fmt.Sprintf("%s pulls its output only down: it works if what reads it pulls it up (%s = true)", t.name, t.key("pull-up"))).On(*t.comparator)
	default:
		p.Breach(fmt.Sprintf("%s pulls its output only down, and nothing pulls it up", t.name)).On(*t.comparator).
			Advise("a resistor from " + p.Design.Circuit.NetName(out) + " to the supply of what reads it")
	}
}

// pulledUp tells that a net is held, or that resistors lead from it to something held other than ground, past no input of
// the comparator: what feeds an output back pulls nothing up.
func (t trip) pulledUp(p *rules.Bench, n circuit.Net) bool {
	if _, held := p.Design.Rail(n, design.Operating); held {
		return true
	}
	other, _ := t.comparator.PinOf(t.other, t.unit)
	steps := netsBehind(p.Design, n)
	aside := func(i int) bool {
		for ; i >= 0; i = steps[i].from {
			if steps[i].net == t.net || steps[i].net == other {
				return true
			}
		}
		return false
	}
	for i, s := range steps {
		if aside(i) {
			continue
		}
		for e := range p.Design.On(s.net) {
			if e.Kind() != 'R' || e.Pins() != 2 {
				continue
			}
			if to := e.Other(s.net); to != 0 && to != p.Ground {
				if _, held := p.Design.Rail(to, design.Operating); held {
					return true
				}
			}
		}
	}
	return false
}

// elsewhere tells that something besides passive parts and the comparator itself is on a net: it may pull it up.
func elsewhere(p *rules.Bench, n circuit.Net, t trip) bool {
	for e := range p.Design.On(n) {
		if k := e.Kind(); e.ID != t.comparator.ID && k != 'R' && k != 'C' && k != 'L' {
			return true
		}
	}
	return false
}

// holdBlanking holds the time for which a trip waits above the longest disturbance that it must ride through.
func holdBlanking(p *rules.Bench, t trip) {
	glitch := ceilingOf(p.Declared(quantity.Second, "trips", t.name, "glitch"))
	p.AtLeast(p.Declared(quantity.Second, "trips", t.name, "blanking").Named("blanking of "+t.name), glitch, t.key("glitch")).Fails(func(m rules.Measure) string {
		return fmt.Sprintf("%s waits %s, disturbances last %s", t.name, quantity.Show(m.Min, quantity.Second), quantity.Show(m.LimitMin, quantity.Second))
	})
}
