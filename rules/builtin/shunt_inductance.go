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

//go:embed doc/shunt-inductance.md
var shuntInductancePage string

// ShuntInductance holds what the shunt's inductance adds at a step of the current, as far as the input filter leaves it,
// below the level where the output clips, and what is left of it when the converter samples below a third of the goal.
var ShuntInductance = &rules.Rule{
	ID:    "shunt-inductance",
	Title: "inductance of the shunt makes steps of the current too large",
	Level: rules.Warning,
	Page:  shuntInductancePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		name := p.CurrentName()
		slope := p.Declared(quantity.AmpPerSecond, "currents", name, "slope")
		switch {
		case !slope.Known():
			p.Skip("no slope of the current is declared (" + design.Key("currents", name, "slope") + ")")
			return
		case len(p.Block.Shunt) == 0:
			p.ShuntOhms()
			return
		}
		together := p.GroupRatio()
		ofAll := func(q quantity.Quantity) quantity.Quantity { // intent tells of one of parallel shunts
			q = ceilingOf(q)
			return quantity.Calc(q.Name, q.Unit, func(x []float64) float64 { return x[0] * x[1] }, q, together)
		}
		s := currentStep{size: p.Declared(quantity.Amp, "currents", name, "step"), slope: ofAll(slope), ohms: p.ShuntOhms(), henry: inductance(p), filter: filterTime(p)}
		if s.size.Known() {
			s.size = ofAll(s.size)
		} else { // no step is larger than the range
			i := p.ShuntCurrent(design.Operating)
			s.size = quantity.Exactly("width of the range", quantity.Amp, i.Sound.Width())
			if !i.Known() || math.IsInf(i.Sound.Width(), 0) {
				s.size = i
			}
		}
		s.clips(p)
		s.left(p)
	},
}

// A currentStep is a step of the current: how large in A, how steep in A/s, over a shunt of some ohm and henry, behind a filter of a time
// constant in s.
type currentStep struct{ size, slope, ohms, henry, filter quantity.Quantity }

// overshoot is by how much, in V, the filtered voltage exceeds the final one at the end of a step. A ramp of slope s that
// lasts T makes R s t + L s; a first-order filter leaves of it, beyond R s T, s (L - R tau)(1 - exp(-T/tau)).
func overshoot(size, slope, ohms, henry, tau float64) float64 {
	over := slope * (henry - ohms*tau)
	if tau > 0 {
		over *= 1 - math.Exp(-size/slope/tau)
	}
	return max(0, over)
}

func (s currentStep) overshoot() quantity.Quantity {
	return quantity.Calc("overshoot at the input", quantity.Volt, func(x []float64) float64 { return overshoot(x[0], x[1], x[2], x[3], x[4]) },
		s.size, s.slope, s.ohms, s.henry, s.filter)
}

// inductance is that of the shunt's elements, by intent or record, in parallel.
func inductance(p *rules.Bench) quantity.Quantity {
	var in []quantity.Quantity
	for _, e := range p.Block.Shunt {
		q := p.Design.Declared(quantity.Henry, "elements", e.Path(), "inductance")
		if !q.Known() && e.Entry("inductance") != nil {
			q = p.PartOf(e, "inductance")
		}
		in = append(in, q)
	}
	return quantity.Calc("inductance", quantity.Henry, func(x []float64) float64 {
		sum := 0.0
		for _, l := range x {
			if l == 0 {
				return 0
			}
			sum += 1 / l
		}
		return 1 / sum
	}, in...)
}

// filterTime is the time constant of the input filter for a voltage between its ends: the resistors of both legs, beside
// them what the input leaves of it (k), times the capacitance between the pins. One from a pin elsewhere counts as a
// quarter, so that one at each of two equal legs counts as a half.
func filterTime(p *rules.Bench) quantity.Quantity {
	in := []quantity.Quantity{p.Factor(false), p.Plus.Resistance("Rf+"), p.Minus.Resistance("Rf-")}
	var share []float64
	seen := map[circuit.ID]bool{}
	for _, pin := range []circuit.Net{p.Plus.Pin, p.Minus.Pin} {
		for e := range p.Design.On(pin) {
			if e.Kind() != 'C' || e.Pins() != 2 || seen[e.ID] || e.Pin(0) == e.Pin(1) {
				continue
			}
			seen[e.ID] = true
			in = append(in, e.Capacitance())
			if o := e.Other(pin); o == p.Plus.Pin || o == p.Minus.Pin {
				share = append(share, 1)
			} else {
				share = append(share, 0.25)
			}
		}
	}
	return quantity.Calc("time constant of the filter", quantity.Second, func(x []float64) float64 {
		c := 0.0
		for i, f := range share {
			c += f * x[3+i]
		}
		return x[0] * (x[1] + x[2]) * c
	}, in...)
}

// advice names the filter that takes the overshoot away.
func (s currentStep) advice() string {
	return fmt.Sprintf("a filter with the shunt's own time constant, L/R = %s", quantity.Show(s.henry.Nom/s.ohms.Nom, quantity.Second))
}

// clips: the overshoot beyond each end of the range stays inside where the output clips. What clips without it is
// output-headroom's and reference-bias's; where the range ends at 0 A the reading only stays at nothing a little longer.
func (s currentStep) clips(p *rules.Bench) {
	if w, _ := p.Amp.Word("input.model"); w == "current-output" {
		return
	}
	out, over := p.Out(design.Operating), s.overshoot()
	up, down := true, false
	if rng := p.Design.Intent.Get("currents", p.CurrentName(), "range"); rng != nil {
		least, most := rng.Written.Range.Lo, rng.Written.Range.Hi
		if p.Polarity()*p.Sign() < 0 {
			least, most = -most, -least
		}
		up, down = most > 0, least < 0
		if p.Design.Intent.Get("currents", p.CurrentName(), "from") == nil {
			up, down = true, least < 0 && most > 0
		}
	}
	for _, end := range []struct {
		judged bool
		sign   float64
		name   string
		level  string
	}{{up, 1, "output at the end of a step", "output.high"}, {down, -1, "output at the end of a step downwards", "output.low"}} {
		level := p.Level(end.level, design.Operating, end.sign > 0)
		margin := quantity.Calc("margin", quantity.Volt, func(x []float64) float64 { return end.sign * (x[0] - x[1]) }, level, out)
		if !end.judged || margin.Seen.Lo < 0 {
			continue
		}
		peak := quantity.Calc(end.name, quantity.Volt, func(x []float64) float64 { return x[0] + end.sign*x[1]*x[2] }, out, p.Part("gain"), over)
		var c *rules.Check
		if end.sign > 0 {
			c = p.AtMost(peak, level, end.level)
		} else {
			c = p.AtLeast(peak, level, end.level)
		}
		c.Advise(s.advice()).Fails(func(m rules.Measure) string {
			reaches, limit := m.Max, m.LimitMax
			if !m.AtHigh {
				reaches, limit = m.Min, m.LimitMin
			}
			return fmt.Sprintf("a step of %s at %s overshoots by %s at the input: the output would reach %s and clips at %s",
				quantity.Show(s.size.Seen.Hi, quantity.Amp), quantity.Show(s.slope.Seen.Hi, quantity.AmpPerSecond), quantity.Show(over.Seen.Hi, quantity.Volt),
				quantity.Show(reaches, quantity.Volt), quantity.Show(limit, quantity.Volt))
		})
	}
}

// left: what remains of the overshoot when the converter samples, of the step.
func (s currentStep) left(p *rules.Bench) {
	reads, ok := p.Converter()
	if !ok {
		return
	}
	goal, text := goalOr(p, "what is left of a step when it is sampled")
	limit := goal.Times(1. / 3)
	q := s.rest("overshoot of a step", quantity.Exactly("at once", quantity.Second, 0))
	if !(quantity.Minus("margin", limit, q).Sound.Lo >= 0) {
		q = s.rest("overshoot left at the sample", p.Declared(quantity.Second, "converters", reads.Name, "sample-after"))
	}
	p.AtMost(q, limit, "1/3 of the "+text).Advise(s.advice()).Fails(func(m rules.Measure) string {
		return fmt.Sprintf("a step of %s is sampled %s too large, which the shunt's inductance makes", quantity.Show(s.size.Seen.Hi, quantity.Amp), percent(m.Max, quantity.Up))
	})
}

// rest is what is left of the overshoot some time after the step, of the step. A slower filter makes less of it and keeps
// it longer, so that between the ends of the time constant there may be more: where nothing is said otherwise the decay
// is that of the slowest one.
func (s currentStep) rest(name string, after quantity.Quantity) quantity.Quantity {
	with := func(decay quantity.Quantity) quantity.Quantity {
		return quantity.Calc(name, quantity.Ratio, func(x []float64) float64 {
			v := overshoot(x[0], x[1], x[2], x[3], x[4]) / (x[0] * x[2])
			switch {
			case x[0] == 0 || x[2] == 0:
				return 0
			case v == 0, x[5] <= 0:
				return v
			case x[6] <= 0:
				return 0
			}
			return v * math.Exp(-x[5]/x[6])
		}, s.size, s.slope, s.ohms, s.henry, s.filter, after, decay)
	}
	q := with(s.filter)
	if !q.Known() || math.IsInf(s.filter.Sound.Hi, 0) {
		return q
	}
	most := with(quantity.Exactly("slowest filter", quantity.Second, s.filter.Sound.Hi)).Sound.Hi
	if most <= q.Sound.Hi*(1+1e-12) {
		return q
	}
	c := &quantity.Cause{Name: name, Unit: quantity.Ratio, Nom: q.Nom, Sound: quantity.Interval{Lo: q.Sound.Lo, Hi: most}, Seen: q.Seen, Grade: q.Grade, Basis: q.Causes()}
	out := c.Of()
	out.Loose = true
	return out
}
