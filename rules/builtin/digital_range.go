package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/digital-range.md
var digitalRangePage string

// DigitalRange holds the voltage at the inputs of a digital monitor inside the range that it is set to, a trip inside that
// range and the register it is written into, and the rail that pulls its bus up inside what the pins survive.
var DigitalRange = &rules.Rule{
	ID:    "digital-range",
	Title: "current or trip beyond a digital monitor's range",
	Level: rules.Error,
	Page:  digitalRangePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if !p.Digital() {
			p.Skip("the part is no digital monitor")
			return
		}
		ranges := p.Amp.Entry("digital.ranges")
		if ranges == nil || len(ranges.Points) == 0 {
			p.Need(p.Amp.PartNeed("digital.ranges"))
			return
		}
		direction, said := p.Word("direction")
		if !said {
			return
		}
		scale, step, ok := selectedRange(p, ranges)
		if !ok {
			return
		}
		floor := 0.0
		if direction == "bidirectional" {
			floor = -1
		}
		low := quantity.Calc("full scale downwards", quantity.Volt, func(x []float64) float64 { return floor * x[0] }, scale)
		sense := quantity.Calc("voltage between the inputs", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] * x[2] },
			p.ShuntCurrent(design.Operating), p.ShuntOhms(), p.Factor(false))
		const text = "full scale of the selected range"
		p.Within(sense, low, scale, text).Lower(p.Block.Shunt...).Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Volt, m.Min, m.Max, m.LimitMax)
			if !m.AtHigh && direction != "bidirectional" {
				return fmt.Sprintf("in+ falls to %s below in-, the monitor reads one direction only", sc.Text(-m.Min, quantity.Up))
			}
			end := m.Max
			if !m.AtHigh {
				end = m.Min
			}
			return fmt.Sprintf("the shunt makes %s between the inputs, the selected range ends at %s", sc.Text(end, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
		})
		monitorTrip(p, scale, step, direction)
		monitorBus(p)
	},
}

// selectedRange is the full scale, in volts, that intent selects for a digital monitor, and the step of its numbers; where intent
// says none, each of the record's may be meant. ok is false where intent selects one that the record does not have.
func selectedRange(p *rules.Bench, ranges *field.Entry) (scale, step quantity.Quantity, ok bool) {
	c := &quantity.Cause{Name: p.Name() + " range", Unit: quantity.Volt, At: ranges.At, Sound: quantity.Nothing}
	for _, pt := range ranges.Points {
		c.States = append(c.States, pt[0].Nom)
		c.Labels = append(c.Labels, p.Name()+" at "+quantity.Show(pt[0].Nom, quantity.Volt))
		c.Sound = c.Sound.Union(quantity.Point(pt[0].Nom))
	}
	c.Nom, c.Seen = c.States[0], c.Sound
	e := p.Design.Intent.Get("monitors", p.Name(), "range")
	switch {
	case e != nil:
		k := slices.IndexFunc(ranges.Points, func(pt [2]quantity.Written) bool {
			return math.Abs(pt[0].Nom-e.Written.Nom) <= 1e-6*math.Abs(pt[0].Nom)
		})
		if k < 0 {
			p.Breach(fmt.Sprintf("the intent sets a range of %s, which the part does not have", quantity.Show(e.Written.Nom, quantity.Volt)))
			return scale, step, false
		}
		v := c.States[k]
		c = &quantity.Cause{Name: c.Name, Unit: quantity.Volt, At: e.At, Nom: v, Sound: quantity.Point(v), Seen: quantity.Point(v)}
	case len(c.States) > 1:
		c.Seen = quantity.Nothing
		c.Needs = []quantity.Need{{In: "intent", Key: design.Key("monitors", p.Name(), "range")}}
	}
	scale = c.Of()
	step = quantity.Calc("step", quantity.Volt, func(x []float64) float64 {
		for _, pt := range ranges.Points {
			if pt[0].Nom == x[0] {
				return pt[1].Nom
			}
		}
		return math.NaN()
	}, scale)
	return scale, step, true
}

// monitorTrip holds the current at which the alert is raised inside the selected range and inside the register.
func monitorTrip(p *rules.Bench, scale, step quantity.Quantity, direction string) {
	amps := p.Design.Declared(quantity.Amp, "monitors", p.Name(), "trip")
	if !amps.Known() {
		return // no alert is used
	}
	sign := p.Sign()
	sense := quantity.Calc("voltage at the trip", quantity.Volt, func(x []float64) float64 { return sign * x[0] * x[1] * x[2] }, amps, p.ShuntOhms(), p.Factor(false))
	floor := 0.0
	if direction == "bidirectional" {
		floor = -1
	}
	low := quantity.Calc("full scale downwards", quantity.Volt, func(x []float64) float64 { return floor * x[0] }, scale)
	p.Within(sense, low, scale, "full scale of the selected range").Lower(p.Block.Shunt...).Fails(func(m rules.Measure) string {
		end := m.Max
		if !m.AtHigh {
			end = m.Min
		}
		sc := quantity.ScaleFor(quantity.Volt, end, m.LimitMax)
		return fmt.Sprintf("the trip asks for %s between the inputs, the selected range ends at %s: the alert is never raised", sc.Text(end, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
	})
	if p.Amp.Entry("digital.alert-step") != nil {
		step = p.Part("digital.alert-step")
	}
	bits := p.Amp.Entry("digital.alert-bits")
	if bits == nil {
		p.Lacks("", p.Amp.PartNeed("digital.alert-bits"))
		return
	}
	// The register holds the number that the nominal shunt makes of the trip.
	code := quantity.Calc("number of the trip", quantity.Ratio, func(x []float64) float64 { return sign * x[0] * x[1] / x[2] },
		quantity.Exactly("trip", quantity.Amp, amps.Nom), quantity.Exactly("nominal shunt", quantity.Ohm, p.ShuntOhms().Nom), step)
	most, least := math.Pow(2, float64(bits.Count))-1, 0.0
	if direction == "bidirectional" {
		most, least = math.Pow(2, float64(bits.Count-1))-1, -math.Pow(2, float64(bits.Count-1))
	}
	p.Within(code, quantity.Exactly("lowest number", quantity.Ratio, least), quantity.Exactly("highest number", quantity.Ratio, most), "digital.alert-bits").
		Fails(func(m rules.Measure) string {
			end := m.Max
			if !m.AtHigh {
				end = m.Min
			}
			return fmt.Sprintf("the trip is the number %.0f, the register of %d bits holds %.0f to %.0f", end, bits.Count, least, most)
		})
}

// monitorBus looks at the pins clock, data and alert: the rails that pull them up stay inside what the pins survive, and something
// does pull them up where everything on their nets is known.
func monitorBus(p *rules.Bench) {
	tripped := p.Design.Intent.Get("monitors", p.Name(), "trip") != nil
	for _, role := range []string{"clock", "data", "alert"} {
		n, ok := p.Pin(role)
		if !ok {
			continue
		}
		if _, held := p.Design.Rail(n, design.Operating); held {
			if role != "alert" || tripped {
				p.Breach(fmt.Sprintf("the %s pin is tied to %s: nothing can move it", role, p.Design.Circuit.NetName(n))).At(rules.Warning)
			}
			continue
		}
		var pulls []design.Element
		others, known := 0, true
		for e := range p.Design.On(n) {
			switch k := e.Kind(); {
			case e.ID == p.Amp.ID:
			case k == 'R' && e.Pins() == 2:
				others++
				if up := e.Other(n); up != 0 {
					if _, held := p.Design.Rail(up, design.Operating); held {
						pulls = append(pulls, e)
					} else {
						known = false // it leads further
					}
				}
			case k == 'C', k == 'D', k == 'X' && len(e.Amplifiers()) > 0:
				others++
			default:
				others++
				known = false
			}
		}
		for _, e := range pulls {
			up := e.Other(n)
			lo, hi, text := p.Limits("digital.survival", design.Survival)
			q := pullUpRail(p, up).Named(role + " pulled up to " + p.Design.Circuit.NetName(up))
			p.Within(q, lo, hi, text).Rating().Fails(reaches(q.Name, "the pin survives")).Widen("digital.survival")
		}
		switch {
		case len(pulls) > 0, !known:
		case others == 0 && (role != "alert" || !tripped): // the bus is not in this netlist, or the alert not used
		case others == 0:
			p.Breach("a trip is declared, but nothing is on the net of the alert pin").At(rules.Warning)
		default:
			p.Breach(fmt.Sprintf("nothing pulls the net of the %s pin up", role)).At(rules.Warning)
		}
	}
}

// pullUpRail is a rail against the ground pin in every event.
func pullUpRail(p *rules.Bench, n circuit.Net) quantity.Quantity {
	g, _ := p.Pin("ground")
	return quantity.Minus("pull-up", p.Net(n, design.Survival), p.Net(g, design.Survival))
}
