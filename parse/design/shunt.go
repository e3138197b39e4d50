package design

import (
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// ShuntResistance is the resistance in ohm, over tolerance and temperature, of an element whose record is that of a shunt.
// A tolerance or temperature coefficient of intent comes before the record's. A tracked one has its initial tolerance
// calibrated away: only temperature moves it.
func (e Element) ShuntResistance(tracked bool) quantity.Quantity {
	path := e.Path()
	r := e.Part("resistance")
	if !r.Known() {
		return r
	}
	c := *r.Causes()[0]
	if t := e.d.Intent.Get("elements", path, "tolerance"); t != nil {
		c.Name, c.At = t.Key(), t.At
		c.Sound = widen(quantity.Point(c.Nom), t.Written.Range.Hi)
		c.Seen = c.Sound
	}
	if tracked {
		c.Sound, c.Seen = quantity.Point(c.Nom), quantity.Point(c.Nom)
	}
	copies := e.Copies()
	r = quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] / copies }, c.Of())
	tc := e.d.Intent.Get("elements", path, "temperature-coefficient")
	if tc == nil {
		tc = e.Entry("temperature-coefficient")
	}
	var k quantity.Quantity
	switch {
	case tc != nil:
		either := &quantity.Cause{Name: path + " temperature-coefficient", Unit: quantity.PerKelvin, At: tc.At}
		either.Sound = quantity.Interval{Lo: -tc.Written.Range.Hi, Hi: tc.Written.Range.Hi}
		either.Seen = either.Sound
		k = either.Of()
	case tracked:
		return quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] * (1 + x[1]) }, r,
			quantity.Missing(quantity.PerKelvin, e.PartNeed("temperature-coefficient")))
	default:
		return r
	}
	return quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] * (1 + x[1]*(x[2]-25)) }, r, k, e.ownTemperature())
}
