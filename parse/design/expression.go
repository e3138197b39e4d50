package design

import (
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// samples is at how many temperatures an expression is computed.
const samples = 257

// expression is a resistance whose card says it by an expression of the temperature. A straight line moves with the other
// temperatures; of anything else only the reach is known, since what several such curves do together may turn inside.
func (e Element) expression(r quantity.Quantity, times func(quantity.Quantity) quantity.Quantity) quantity.Quantity {
	t := e.d.Temperature()
	if !t.Known() || math.IsInf(t.Sound.Width(), 0) {
		return times(e.sampled(coefficient{}))
	}
	lo, hi := e.relative(t.Sound.Lo), e.relative(t.Sound.Hi)
	slope := 0.0
	if t.Sound.Lo < t.Sound.Hi {
		slope = (hi - lo) / (t.Sound.Hi - t.Sound.Lo)
	}
	line := func(celsius float64) float64 { return lo + slope*(celsius-t.Sound.Lo) }
	for i := range samples {
		at := sample(t.Sound, i)
		if !(math.Abs(e.relative(at)-line(at)) <= 1e-12*max(math.Abs(lo), math.Abs(hi))) {
			return times(e.sampled(coefficient{}))
		}
	}
	return quantity.Calc(e.Path(), quantity.Ohm, func(x []float64) float64 { return x[0] * line(x[1]) }, r, t)
}

// sampled is the expression on a card over the declared temperatures, with the card's coefficients, as a part of its value
// at 27 degC. Seen are its values at many temperatures; what lies between two of them is counted as far out again as any
// two neighbours are apart.
func (e Element) sampled(own coefficient) quantity.Quantity {
	t := e.d.Temperature()
	if !t.Known() {
		return t
	}
	path := e.Path()
	missing := quantity.Missing(quantity.Ratio, quantity.Need{In: "netlist", Key: "the value of " + path + " at every declared temperature", At: e.Card()})
	if math.IsInf(t.Sound.Width(), 0) {
		return missing
	}
	offset, fixed := 0.0, math.NaN()
	if v, given := e.d.Circuit.Given(e.ID, "temp"); given {
		if fixed = v; math.IsNaN(v) {
			return missing
		}
	} else if v, given := e.d.Circuit.Given(e.ID, "dtemp"); given {
		offset = v
	}
	f := func(celsius float64) float64 {
		if at := fixed; own.given && !math.IsNaN(at) {
			return e.relative(celsius) * own.factor(at)
		} else if own.given {
			return e.relative(celsius) * own.factor(celsius+offset)
		}
		return e.relative(celsius)
	}
	c := &quantity.Cause{Name: "drift of " + path, Nom: f(t.Nom), At: e.Card(), Seen: quantity.Nothing, Grade: quantity.Assumed,
		Note: fmt.Sprintf("%s: its expression was computed at %d temperatures", path, samples)}
	step, before := 0.0, math.NaN()
	for i := range samples {
		v := f(sample(t.Sound, i))
		if math.IsNaN(v) {
			return missing
		}
		c.Seen = c.Seen.Union(quantity.Point(v))
		if i > 0 {
			step = max(step, math.Abs(v-before))
		}
		before = v
	}
	c.Sound = quantity.Interval{Lo: c.Seen.Lo - step, Hi: c.Seen.Hi + step}
	return c.Of()
}

// sample is one of the temperatures at which an expression is computed, from one end to the other.
func sample(t quantity.Interval, i int) float64 {
	return t.Lo + (t.Hi-t.Lo)*float64(i)/(samples-1)
}

// relative is the value at a temperature as a part of that at 27 degC.
func (e Element) relative(celsius float64) float64 {
	return e.d.Circuit.ValueAt(e.ID, celsius) / e.Value()
}
