package builtin

import (
	_ "embed" // the page
	"fmt"
	"slices"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/clamp-leakage.md
var clampLeakagePage string

// ClampLeakage holds the voltage across a clamp while the circuit works below its breakdown and its standoff voltage, and
// what its leakage makes of the resistance between it and the shunt below a share of the part's offset.
var ClampLeakage = &rules.Rule{
	ID:    "clamp-leakage",
	Title: "clamp conducts or leaks in normal use",
	Level: rules.Warning,
	Page:  clampLeakagePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		found := turnedAround(p)
		leaks := map[string][]quantity.Quantity{}
		legs := map[string][]design.Element{}
		for _, c := range blockClamps(p) {
			if c.over || !c.isInput() && c.pin != "supply" {
				continue
			}
			found = true
			blocksWorking(p, c)
			if outer := resistors(c.outer); c.isInput() && !c.between && p.Network == nil && len(outer) > 0 {
				ohms := seriesOhms(p, "resistance from "+c.Path()+" to the shunt", outer)
				leaks[c.pin] = append(leaks[c.pin], quantity.Calc(c.Path(), quantity.Volt, func(x []float64) float64 { return x[0] * x[1] }, c.leakage(p), ohms))
				legs[c.pin] = append(legs[c.pin], outer...)
			}
		}
		if !found {
			p.Skip("no clamp with a part record stands at the inputs or the supply")
			return
		}
		for _, pin := range []string{"in+", "in-"} {
			if len(leaks[pin]) == 0 {
				continue
			}
			// nothing says that the other leg leaks alike, so that nothing is taken off
			offset := quantity.Calc("offset by clamp leakage at "+pin, quantity.Volt, func(x []float64) float64 {
				sum := 0.0
				for _, v := range x {
					sum += v
				}
				return sum
			}, leaks[pin]...)
			p.AtMost(offset, offsetShare(p), "20 % of offset.max").Lower(slices.Concat(legs["in+"], legs["in-"])...).
				Advise("put the clamp on the shunt's side of the resistance, or take one that leaks less").
				Fails(func(m rules.Measure) string {
					sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
					return fmt.Sprintf("%s is up to %s, more than a fifth of the part's own", m.Name, sc.Text(m.Max, quantity.Up))
				})
		}
	},
}

// blocksWorking holds the working voltage of a clamp below what it begins to conduct at, and what it only leaks up to.
func blocksWorking(p *rules.Bench, c clamp) {
	across := p.Across(c.high, c.low, design.Operating).Named("voltage across " + c.Path())
	if c.both {
		across = across.Peak().Named("voltage across " + c.Path())
	}
	standoff, breakdown := c.Entry("clamp.standoff"), c.Entry("clamp.breakdown")
	if breakdown != nil {
		p.AtMost(across, c.breakdown(p), "breakdown over temperature").At(rules.Error).On(c.Element).Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
			return fmt.Sprintf("%s conducts while the circuit works: it sees up to %s and breaks down from %s", c.Path(),
				sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
		})
	}
	if standoff != nil || breakdown == nil {
		p.AtMost(across, p.PartOf(c.Element, "clamp.standoff"), "clamp.standoff").At(rules.Warning).On(c.Element).Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
			return fmt.Sprintf("%s sees up to %s while the circuit works, its record says what it leaks only up to %s", c.Path(),
				sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
		})
	}
}

// leakage is the current of a clamp below its standoff voltage, anything up to what the record allows at the hottest, in
// amperes.
func (c clamp) leakage(p *rules.Bench) quantity.Quantity {
	const key = "clamp.leakage"
	e := c.Entry(key)
	if e == nil {
		return p.PartOf(c.Element, key)
	}
	share := (&quantity.Cause{Name: c.Path() + " share of " + key, Unit: quantity.Ratio, Nom: 1, Sound: quantity.Interval{Hi: 1}, Seen: quantity.Interval{Hi: 1}, At: e.At}).Of()
	copies := c.Copies()
	if len(e.Points) == 0 {
		amps := quantity.Exactly(c.Path()+" largest leakage", quantity.Amp, e.Written.Range.Hi*copies)
		return quantity.Calc(c.Path()+" leakage", quantity.Amp, func(x []float64) float64 { return x[0] * x[1] }, share, amps)
	}
	t := p.Declared(quantity.Celsius, "temperature")
	if !t.Known() { // at no end of the curve, wherever that is
		return quantity.Missing(quantity.Amp, t.Needs[0])
	}
	if hot := t.Sound.Hi; hot > e.Points[len(e.Points)-1][0].Nom {
		n := c.PartNeed(key)
		n.Key += " up to " + quantity.Show(hot, quantity.Celsius)
		return quantity.Missing(quantity.Amp, n)
	}
	return quantity.Calc(c.Path()+" leakage", quantity.Amp, func(x []float64) float64 {
		y, ok := onCurve(e, x[1], byTemperature)
		if !ok { // colder than the record tells: not more than there
			y = e.Points[0][1].Range.Hi
		}
		return x[0] * y * copies
	}, share, t)
}
