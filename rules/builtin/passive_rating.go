package builtin

import (
	_ "embed" // the page
	"fmt"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/passive-rating.md
var passiveRatingPage string

// PassiveRating holds capacitors and resistors behind the filter within their working voltage, and the filter resistors
// within their power and voltage when the shunt burns open and intent asks for it.
var PassiveRating = &rules.Rule{
	ID:    "passive-rating",
	Title: "a passive part of the input network beyond its rating",
	Level: rules.Warning,
	Page:  passiveRatingPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		judged := false
		filter := filterResistors(p)
		for _, e := range besideFilter(p, filter) {
			a, b, ok := twoEnds(e)
			if !ok {
				continue
			}
			judged = true
			withinVoltage(p, e, p.Across(a, b, design.Operating).Named("voltage across "+e.Path()).Peak().Named("voltage across "+e.Path()), rules.Warning)
		}
		if level, ok := openShunt(p); ok && len(filter) > 0 && p.Network == nil {
			judged = true
			burnsOpen(p, filter, level)
		}
		if !judged {
			p.Skip("no capacitor or resistor stands behind a filter, and none has to outlive an open shunt")
		}
	},
}

// besideFilter are the capacitors and resistors that stand on the nets behind the filter, each once; of an op amp's network,
// whose resistors are its filter, the capacitors.
func besideFilter(p *rules.Bench, filter []design.Element) (out []design.Element) {
	seen := map[circuit.ID]bool{}
	for _, e := range filter {
		seen[e.ID] = true
	}
	for _, at := range inputPlaces(p) {
		if !slices.ContainsFunc(at.outer, func(e design.Element) bool { return e.Kind() == 'L' || e.Kind() == 'R' && e.Value() > 0 }) {
			continue // the shunt's own net, maybe by another name
		}
		for e := range p.Design.On(at.net) {
			role := ""
			if r := e.Record(); r != nil {
				role = r.Role()
			}
			if !seen[e.ID] && (e.Kind() == 'C' || e.Kind() == 'R' && e.Value() > 0 && p.Network == nil || role == "capacitor") {
				seen[e.ID] = true
				out = append(out, e)
			}
		}
	}
	return out
}

// twoEnds are the nets of a passive part.
func twoEnds(e design.Element) (a, b circuit.Net, ok bool) {
	if e.Kind() != 'X' {
		return e.Pin(0), e.Pin(1), e.Pins() == 2
	}
	a, okA := e.PinOf("a", "")
	b, okB := e.PinOf("b", "")
	return a, b, okA && okB
}

// What the smallest parts on boards stand, in volts: ceramic capacitors of a filter's size (common practice, no source), and
// chip resistors down to the size 0402 (secondary data).
const (
	leastCapacitor = 16
	leastResistor  = 50
)

// withinVoltage holds a voltage within the working voltage of a part. One that every part stands is no question.
func withinVoltage(p *rules.Bench, e design.Element, q quantity.Quantity, level rules.Level) {
	limit, text := p.Design.Declared(quantity.Volt, "elements", e.Path(), "voltage"), "elements.voltage"
	if !limit.Known() && e.Entry("voltage") != nil {
		limit, text = p.PartOf(e, "voltage"), "voltage"
	}
	least, kind := float64(leastCapacitor), "capacitor"
	if e.Kind() == 'R' {
		least, kind = leastResistor, "resistor"
	}
	if !limit.Known() && q.Known() && q.Sound.Hi <= least {
		limit = limit.Or(least, fmt.Sprintf("%s: no working voltage declared, %s counted for a %s", e.Path(), quantity.Show(least, quantity.Volt), kind))
		text = "the least working voltage of a " + kind
	}
	p.AtMost(q, ceilingOf(limit), text).At(level).On(e).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
		return fmt.Sprintf("%s reaches %s, it is made for %s", m.Name, sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
	})
}

// burnsOpen holds each filter resistor within its power and voltage while what stands across the open shunt drives a current
// through the filter and the inputs. Inputs that stand the voltage let none through.
func burnsOpen(p *rules.Bench, filter []design.Element, level rules.Level) {
	volts, ohms := openVolts(p), filterOhms(p)
	clamp := quantity.Exactly("no protection", quantity.Volt, 0)
	if p.Amp.Entry("input.clamp-voltage") != nil {
		clamp = p.Part("input.clamp-voltage")
	} else if p.Amp.Entry("differential.survival") == nil {
		p.Lacks("", p.Amp.PartNeed("differential.survival"))
		return
	} else if lo, hi, _ := p.Limits("differential.survival", design.Survival); volts.Known() && lo.Known() && hi.Known() &&
		volts.Sound.Hi < min(-lo.Sound.Hi, hi.Sound.Lo) {
		p.Holds("the inputs stand what an open shunt leaves between them")
		return
	}
	for _, e := range filter {
		across := quantity.Calc("voltage across "+e.Path()+" with the shunt open", quantity.Volt, func(x []float64) float64 {
			return max(0, x[0]-x[1]) * x[3] / x[2]
		}, volts, clamp, ohms, seriesOhms(p, e.Path()+" and those beside it", []design.Element{e}))
		watts := quantity.Calc("power of "+e.Path()+" with the shunt open", quantity.Watt, func(x []float64) float64 { return x[0] * x[0] / x[1] }, across, e.Resistance())
		p.AtMost(watts, ceilingOf(p.Declared(quantity.Watt, "elements", e.Path(), "power")), "elements.power").At(level).On(e).
			Advise("filter resistors that burn open safely, or a shunt that does not").Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Watt, m.Max, m.LimitMax)
			return fmt.Sprintf("%s is up to %s, it is made for %s", m.Name, sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
		})
		withinVoltage(p, e, across, level)
	}
}
