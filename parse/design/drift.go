package design

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// ownTemperature is that of an element in degC: TEMP= of the card fixes it, whatever the ambient (SPICE3f3 User's Manual,
// 3.1); else it is the declared ambient with DTEMP= of the card, a dialect's word, on top.
func (e Element) ownTemperature() (q quantity.Quantity) {
	at := func(v float64, name string) quantity.Quantity {
		if math.IsNaN(v) {
			return quantity.Missing(quantity.Celsius, quantity.Need{In: "netlist", Key: "the temperature on the card of " + e.Path(), At: e.Card()})
		}
		return quantity.Exactly(name+" "+e.Path(), quantity.Celsius, v)
	}
	if v, given := e.d.Circuit.Given(e.ID, "temp"); given {
		return at(v, "temperature of")
	}
	q = e.d.Temperature()
	if v, given := e.d.Circuit.Given(e.ID, "dtemp"); given {
		q = quantity.Calc(q.Name, quantity.Celsius, func(x []float64) float64 { return x[0] + x[1] }, q, at(v, "excess temperature of"))
	}
	return q
}

// A coefficient is TC1, TC2 and the temperature they count from, of a card or else of its model.
type coefficient struct {
	tc1, tc2, from float64
	given          bool
}

func (c coefficient) known() bool { return !math.IsNaN(c.tc1 + c.tc2 + c.from) }

func (c coefficient) factor(celsius float64) float64 {
	dt := celsius - c.from
	return 1 + c.tc1*dt + c.tc2*dt*dt // SPICE3f3 User's Manual, 3.1
}

func (e Element) coefficient() coefficient {
	c := coefficient{from: e.d.Circuit.Cards.Tnom}
	if t, ok := e.ModelParam("tnom"); ok {
		c.from = t
	}
	if list := e.d.Circuit.ParamList(e.ID, "tc"); list != nil {
		c.given, c.tc1 = true, list[0]
		if len(list) > 1 {
			c.tc2 = list[1]
		}
		if len(list) > 2 { // a third coefficient is nobody's
			c.tc1 = math.NaN()
		}
		return c
	}
	for key, to := range map[string]*float64{"tc1": &c.tc1, "tc2": &c.tc2} {
		v, ok := e.d.Circuit.Given(e.ID, key)
		if !ok {
			v, ok = e.ModelParam(key)
		}
		if ok {
			c.given, *to = true, v
		}
	}
	return c
}

// drifted lays temperature over a resistance: the expression on its card, then intent's coefficient, of either sign, from
// 25 degC, else the card's own TC1 and TC2 from 27 degC or its model's TNOM. A tracked resistance without any of them is
// missing it.
func (e Element) drifted(r quantity.Quantity, initial bool) quantity.Quantity {
	path := e.Path()
	times := func(f quantity.Quantity) quantity.Quantity {
		return quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] * x[1] }, r, f)
	}
	if tc := e.d.Intent.Get("elements", path, "temperature-coefficient"); tc != nil {
		if e.warm() {
			r = times(e.sampled(coefficient{}))
		}
		k := &quantity.Cause{Name: tc.Key(), Unit: quantity.PerKelvin, At: tc.At}
		k.Sound = quantity.Interval{Lo: -tc.Written.Range.Hi, Hi: tc.Written.Range.Hi}
		k.Seen = k.Sound
		return quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] * (1 + x[1]*(x[2]-25)) }, r, k.Of(), e.ownTemperature())
	}
	own := e.coefficient()
	_, fixed := e.d.Circuit.Given(e.ID, "temp")
	switch {
	case e.Value() == 0:
		return r
	case !own.known():
		return times(quantity.Missing(quantity.Ratio, need("elements", path, "temperature-coefficient")))
	case e.warm() && own.given:
		return times(e.sampled(own))
	case e.warm():
		return e.expression(r, times)
	case !own.given && (initial || fixed):
		return r
	case !own.given:
		return quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] * (1 + x[1]) },
			r, quantity.Missing(quantity.PerKelvin, need("elements", path, "temperature-coefficient")))
	case own.tc2 == 0:
		return quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] * own.factor(x[1]) },
			r, e.ownTemperature())
	}
	return times(e.parabola(own, e.ownTemperature()))
}

// parabola is 1 + TC1 dT + TC2 dT^2, which turns back at dT = -TC1 / (2 TC2).
func (e Element) parabola(own coefficient, t quantity.Quantity) quantity.Quantity {
	if !t.Known() {
		return t
	}
	return quantity.CalcTurning("drift of "+e.Path(), quantity.Ratio, own.factor, own.from-own.tc1/(2*own.tc2), t)
}
