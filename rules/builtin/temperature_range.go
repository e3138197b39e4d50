package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/temperature-range.md
var temperatureRangePage string

// TemperatureRange holds the declared ambient temperature inside the one over which the record's numbers are guaranteed,
// and the junction below its limit; it asks what a number stated at one condition is at the others.
var TemperatureRange = &rules.Rule{
	ID:    "temperature-range",
	Title: "part used outside its rated temperature",
	Level: rules.Error,
	Page:  temperatureRangePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		const key = "rated.ambient"
		ambient := p.Declared(quantity.Celsius, "temperature")
		lo, hi, text := p.Limits(key, design.Operating)
		p.Within(ambient.Named("ambient temperature"), lo, hi, text).Fails(reaches("the ambient temperature", "the part is rated")).Widen(key)
		junction(p, ambient)
		conditions(p, ambient)
	},
}

// junction holds the junction's temperature below its limit, where the record says one or a thermal resistance.
func junction(p *rules.Bench, ambient quantity.Quantity) {
	if p.Amp.Entry("rated.junction") == nil && p.Amp.Entry("rated.theta-ja") == nil {
		return
	}
	power := dissipated(p)
	theta := ceilingOf(p.Part("rated.theta-ja"))
	at := quantity.Calc("junction temperature", quantity.Celsius, func(x []float64) float64 { return x[0] + x[1]*x[2] }, ambient, theta, power)
	p.AtMost(at, ceilingOf(p.Part("rated.junction")), "rated.junction").Fails(func(m rules.Measure) string {
		return fmt.Sprintf("the junction reaches %s with %s in the part, %s is rated", quantity.Show(math.Ceil(m.Max*10-1e-6)/10, quantity.Celsius),
			quantity.Show(power.Seen.Hi, quantity.Watt), quantity.Show(m.LimitMax, quantity.Celsius))
	}).Shows(func(bool) string {
		return fmt.Sprintf("%s + %s x %s", quantity.Show(ambient.Seen.Hi, quantity.Celsius), quantity.Show(theta.Nom, quantity.KelvinPerWatt), quantity.Show(power.Seen.Hi, quantity.Watt))
	})
}

// dissipated is the power in the amplifier: its supply current, its input currents at the common mode, and what the loads
// at its output can make in it, which is largest at half the supply; each of them is taken to return to the ground pin.
func dissipated(p *rules.Bench) quantity.Quantity {
	vs := p.Voltage("supply", design.Operating)
	common := quantity.Calc("larger input", quantity.Volt, func(x []float64) float64 { return max(math.Abs(x[0]), math.Abs(x[1])) },
		p.Voltage("in+", design.Operating).Peak(), p.Voltage("in-", design.Operating).Peak())
	var bias quantity.Quantity
	if w, _ := p.Amp.Word("input.model"); w == "resistor-difference" {
		bias = stageCurrent(p)
	} else {
		bias = p.BiasPeak()
	}
	in := []quantity.Quantity{vs, ceilingOf(p.Part("supply.current")), common, bias}
	if p.Output.Pin != 0 {
		for e := range p.Design.On(p.Output.Pin) {
			if far := e.Other(p.Output.Pin); e.Kind() == 'R' && e.Pins() == 2 && e.Value() > 0 && far != p.Output.Pin {
				through := p.Transfer(far) // a filter that nothing loads carries nothing
				if !through.Known() {
					through = quantity.Exactly("transfer", quantity.Ratio, 0)
				}
				in = append(in, e.Resistance(), through)
			}
		}
	}
	return quantity.Calc("power", quantity.Watt, func(x []float64) float64 {
		loads := 0.0
		for k := 4; k < len(x); k += 2 {
			loads += (1 - x[k+1]) / x[k]
		}
		return x[0]*x[1] + 2*x[2]*x[3] + x[0]*x[0]/4*loads
	}, in...)
}

// How far from where a number is stated it is still taken to hold: common practice, with no source.
const (
	nearKelvin = 5   // K
	nearCommon = 1   // V
	nearSupply = 0.2 // V
)

// conditions asks for what says how a number that is stated at one condition moves away from it.
func conditions(p *rules.Bench, ambient quantity.Quantity) {
	for _, c := range []struct {
		at, what string
		by       []string
		seen     func() quantity.Quantity
		unit     quantity.Unit
		near     float64
	}{
		{"offset.at.temperature", "ambient temperature", []string{"offset.drift"}, func() quantity.Quantity { return ambient }, quantity.Celsius, nearKelvin},
		{"offset.at.common-mode", "common mode", []string{"cmrr.min", "cmrr.typical"}, func() quantity.Quantity { return p.Voltage("in+", design.Operating) }, quantity.Volt, nearCommon},
		{"offset.at.supply", "supply", []string{"psrr.max", "psrr.typical"}, func() quantity.Quantity { return p.Voltage("supply", design.Operating) }, quantity.Volt, nearSupply},
	} {
		en, said := p.Amp.Entry(c.at), false
		for _, key := range c.by {
			said = said || p.Amp.Entry(key) != nil
		}
		if en == nil || said {
			continue
		}
		stated := en.Written.Range
		if r := c.seen(); !r.Seen.Empty() && (r.Seen.Lo < stated.Lo-c.near || r.Seen.Hi > stated.Hi+c.near) {
			sc := quantity.ScaleFor(c.unit, r.Seen.Lo, r.Seen.Hi)
			p.HoldsIf(fmt.Sprintf("offset.max is stated for a %s of %s, and no %s says what it is over %s .. %s", c.what, quantity.Show(en.Written.Nom, c.unit),
				c.by[0], sc.Text(r.Seen.Lo, quantity.Down), sc.Text(r.Seen.Hi, quantity.Up)))
		}
	}
}
