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

//go:embed doc/shunt-pulse-energy.md
var shuntPulseEnergyPage string

// ShuntPulseEnergy holds what a declared fault or inrush leaves in each element of the shunt below its pulse rating.
var ShuntPulseEnergy = &rules.Rule{
	ID:    "shunt-pulse-energy",
	Title: "a declared pulse is more than the shunt is rated for",
	Level: rules.Warning,
	Page:  shuntPulseEnergyPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		name := p.CurrentName()
		fault := p.Design.Intent.Get("currents", name, "fault")
		inrush := p.Design.Intent.Says("currents", name, "inrush")
		switch {
		case len(p.Block.Shunt) == 0:
			p.ShuntOhms()
			return
		case fault == nil && !inrush:
			p.Skip("neither a fault nor an inrush of " + name + " is declared")
			return
		}
		list, at := shuntOhms(p), declaredAt(p)
		for k, e := range p.Block.Shunt {
			if fault != nil {
				energy, lasts := faultPulse(fault, list, at, k, e.Copies())
				holdPulse(p, e, energy.Named("energy of a fault in "+e.Path()), lasts, "a fault")
			}
			if inrush {
				energy, lasts := inrushPulse(p, name, list, k, e.Copies())
				holdPulse(p, e, energy.Named("energy of the inrush in "+e.Path()), lasts, "the inrush")
			}
		}
	},
}

// faultPulse is what a fault that is declared of one element leaves in another, or in itself, counted as flowing in full all the time, in J, and how long
// it lasts, in s.
func faultPulse(fault *field.Entry, list []quantity.Quantity, at, k int, copies float64) (energy, lasts quantity.Quantity) {
	point := func(name string, u quantity.Unit, v float64) quantity.Quantity {
		return (&quantity.Cause{Name: fault.Key() + " " + name, Unit: u, Nom: v, Sound: quantity.Point(v), Seen: quantity.Point(v), At: fault.At}).Of()
	}
	r := fault.Written.Range
	amps := point("current", quantity.Amp, max(math.Abs(r.Lo), math.Abs(r.Hi)))
	lasts = point("duration", quantity.Second, fault.Duration.Range.Hi)
	return quantity.Calc("energy", quantity.Joule, func(x []float64) float64 {
		v := x[0] * x[2+at]
		return v * v / x[2+k] * x[1] / copies
	}, append([]quantity.Quantity{amps, lasts}, list...)...), lasts
}

// inrushPulse is what a capacitance that charges through the shunt leaves in one element, in J: half C V squared is lost in
// the loop, each resistance takes its part. It lasts as long as a pulse of the first power with the same energy, in s.
func inrushPulse(p *rules.Bench, name string, list []quantity.Quantity, k int, copies float64) (energy, lasts quantity.Quantity) {
	c := ceilingOf(p.Declared(quantity.Farad, "currents", name, "inrush", "capacitance"))
	v := ceilingOf(p.Declared(quantity.Volt, "currents", name, "inrush", "voltage"))
	share := shuntShare(p, name, list)
	energy = quantity.Calc("energy", quantity.Joule, func(x []float64) float64 {
		return x[0] * x[1] * x[1] / 2 * x[2] * inParallel(x[3:]) / x[3+k] / copies
	}, append([]quantity.Quantity{c, v, share}, list...)...)
	lasts = quantity.Calc("duration of the inrush", quantity.Second, func(x []float64) float64 {
		return inParallel(x[2:]) / x[1] * x[0] / 2
	}, append([]quantity.Quantity{c, share}, list...)...)
	return energy, lasts
}

// shuntShare is the shunt's part of the resistance of the charging loop: at most all of it where nobody says what is beside it.
func shuntShare(p *rules.Bench, name string, list []quantity.Quantity) quantity.Quantity {
	if p.Design.Intent.Get("currents", name, "inrush", "resistance") == nil {
		unsaid := &quantity.Cause{Name: "share of the shunt", Nom: math.NaN(), Sound: quantity.Interval{Lo: 1e-9, Hi: 1}, Seen: quantity.Nothing,
			Needs: []quantity.Need{{In: "intent", Key: design.Key("currents", name, "inrush", "resistance")}}}
		return unsaid.Of()
	}
	return quantity.Calc("share of the shunt", quantity.Ratio, func(x []float64) float64 {
		rs := inParallel(x[1:])
		return rs / (rs + x[0])
	}, append([]quantity.Quantity{p.Declared(quantity.Ohm, "currents", name, "inrush", "resistance")}, list...)...)
}

func holdPulse(p *rules.Bench, e design.Element, energy, lasts quantity.Quantity, what string) {
	p.AtMost(energy, pulseRating(p, e, energy, lasts), "pulse rating").Rating().On(e).Lower(p.Block.Shunt...).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Joule, m.Max, m.LimitMax)
		return fmt.Sprintf("%s leaves %s in %s, which takes %s in %s", what, sc.Text(m.Max, quantity.Up), e.Path(),
			sc.Text(m.LimitMax, quantity.Down), quantity.Show(lasts.Seen.Hi, quantity.Second))
	})
}

// pulseRating is the energy that one pulse of a duration may leave in an element, in J: what its pulse rating says, and
// never less than its continuous power over that time. Where that is enough no pulse rating is asked for.
func pulseRating(p *rules.Bench, e design.Element, energy, lasts quantity.Quantity) quantity.Quantity {
	path := e.Path()
	name := "pulse rating of " + path
	steady := quantity.Calc(name, quantity.Joule, func(x []float64) float64 { return x[0] * x[1] }, ratedPower(p, e), lasts)
	var curve quantity.Quantity
	if en := statedOf(p, e, "pulse.energy", "pulse-energy"); en != nil {
		curve = along(name, en, lasts, false)
	} else if en = statedOf(p, e, "pulse.power", "pulse-power"); en != nil {
		curve = along(name, en, lasts, true)
	} else if steady.Known() && quantity.Minus("margin", steady, energy).Sound.Lo > 0 {
		return steady
	} else {
		return quantity.Missing(quantity.Joule, quantity.Need{In: "intent", Key: design.Key("elements", path, "pulse-energy")})
	}
	if !steady.Known() {
		return curve
	}
	return quantity.Calc(name, quantity.Joule, func(x []float64) float64 { return max(x[0], x[1]) }, curve, steady)
}

// along is the energy that an entry allows in a pulse of a duration, in J. Between two points it follows the straight line
// of double logarithmic paper, on which makers print such curves. Before the first point the power stays as it is there,
// after the last one the energy does: neither promises more than the maker.
func along(name string, en *field.Entry, lasts quantity.Quantity, power bool) quantity.Quantity {
	type point struct{ s, j float64 }
	var curve []point
	for _, pt := range en.Points {
		j := pt[1].Range.Lo
		if power {
			j *= pt[0].Nom
		}
		curve = append(curve, point{pt[0].Nom, j})
	}
	one := (&quantity.Cause{Name: name + " as stated", Nom: 1, Sound: quantity.Point(1), Seen: quantity.Point(1), At: en.At}).Of()
	return quantity.Calc(name, quantity.Joule, func(x []float64) float64 {
		s := x[1]
		switch {
		case len(curve) == 0 && power:
			return x[0] * en.Written.Range.Lo * s
		case len(curve) == 0:
			return x[0] * en.Written.Range.Lo
		case s <= curve[0].s:
			return x[0] * curve[0].j * s / curve[0].s
		}
		for i := 1; i < len(curve); i++ {
			a, b := curve[i-1], curve[i]
			if s <= b.s && b.s > a.s && a.s > 0 && a.j > 0 && b.j > 0 {
				return x[0] * a.j * math.Pow(s/a.s, math.Log(b.j/a.j)/math.Log(b.s/a.s))
			}
		}
		return x[0] * curve[len(curve)-1].j
	}, one, lasts)
}
