package design

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Carries tells that a current may be declared for the element: it is a resistor or a part whose record is that of a shunt.
func (e Element) Carries() bool {
	return e.Kind() == 'R' && e.Pins() == 2 || e.shunt()
}

// shunt tells an X card whose record is that of a shunt with the ends a and b.
func (e Element) shunt() bool {
	if e.Kind() != 'X' {
		return false
	}
	r := e.Record()
	return r != nil && r.Role() == "shunt" && r.Pin("a") >= 0 && r.Pin("b") >= 0 && len(r.Pins()) == e.Pins()
}

// Ends are the two nets that the current of an element with two ends runs between: the ends a and b of a shunt that has a
// record, the first two pins of any other.
func (e Element) Ends() (a, b circuit.Net) {
	if e.shunt() {
		a, _ = e.PinOf("a", "")
		b, _ = e.PinOf("b", "")
		return a, b
	}
	return e.Pin(0), e.Pin(1)
}

// SenseTerminals are the nets of the sense terminals of a four-terminal shunt, each joined to an end inside; ok is false
// for what has none.
func (e Element) SenseTerminals() (a, b circuit.Net, ok bool) {
	if !e.shunt() {
		return a, b, false
	}
	a, okA := e.PinOf("sense-a", "")
	b, okB := e.PinOf("sense-b", "")
	return a, b, okA && okB
}

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
	switch o := e.d.change(e.ID, Set, Short); {
	case o == nil:
	case o.Op == Short:
		return quantity.Exactly(path, quantity.Ohm, 0)
	default: // another value of the same tolerance
		f := o.Value / c.Nom
		c.Nom = o.Value
		c.Sound = quantity.Interval{Lo: c.Sound.Lo * f, Hi: c.Sound.Hi * f}
		c.Seen = quantity.Interval{Lo: c.Seen.Lo * f, Hi: c.Seen.Hi * f}
	}
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
