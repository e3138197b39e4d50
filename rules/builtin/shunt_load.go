package builtin

import (
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// eitherWay is a magnitude that may have either sign.
func eitherWay(name string, q quantity.Quantity) quantity.Quantity {
	if !q.Known() {
		return q
	}
	c := *q.Causes()[0]
	c.Name, c.Nom = name, 0
	c.Sound = quantity.Interval{Lo: -c.Sound.Hi, Hi: c.Sound.Hi}
	c.Seen = c.Sound
	return c.Of()
}

// shuntOhms are the resistances of the shunt's elements, in ohm.
func shuntOhms(p *rules.Bench) (out []quantity.Quantity) {
	for _, e := range p.Block.Shunt {
		out = append(out, e.Resistance())
	}
	return out
}

// declaredAt is the place among the shunt's elements of the one whose current intent declares, or would declare.
func declaredAt(p *rules.Bench) int {
	name := p.CurrentName()
	return max(0, slices.IndexFunc(p.Block.Shunt, func(e design.Element) bool { return e.Path() == name }))
}

// inParallel is the resistance of all of them together, in ohm.
func inParallel(ohms []float64) float64 {
	g := 0.0
	for _, r := range ohms {
		g += 1 / r
	}
	return 1 / g
}

// effectiveCurrent is the largest effective current of the element whose current intent declares, in A: what intent declares, else at most the root of the square
// of the largest current of the range and a twelfth of the square of the ripple, which is what a triangle adds. That is a
// bound and no fact: what it would break asks for the effective current.
func effectiveCurrent(p *rules.Bench) quantity.Quantity {
	name := p.CurrentName()
	if p.Design.Intent.Get("currents", name, "rms") != nil {
		return ceilingOf(p.Declared(quantity.Amp, "currents", name, "rms")).Named("effective current")
	}
	c, ok := p.Current(design.Operating)
	if !ok || c.Value.Sound.Empty() || math.IsInf(c.Value.Sound.Width(), 0) {
		return p.ShuntCurrent(design.Operating)
	}
	i := c.Value.Sound
	ripple := 0.0
	if e := p.Design.Intent.Get("currents", name, "ripple"); e != nil {
		ripple = e.Written.Range.Hi
	}
	least, top := 0.0, max(math.Abs(i.Lo), math.Abs(i.Hi))
	if i.Lo > 0 || i.Hi < 0 {
		least = min(math.Abs(i.Lo), math.Abs(i.Hi))
	}
	bound := &quantity.Cause{Name: "effective current of " + name, Unit: quantity.Amp, Nom: least, Seen: quantity.Point(least),
		Sound: quantity.Interval{Lo: least, Hi: math.Sqrt(top*top + ripple*ripple/12)}, Basis: c.Value.Causes(),
		Needs: []quantity.Need{{In: "intent", Key: design.Key("currents", name, "rms")}}}
	if bound.Sound.Hi == least {
		bound.Needs = nil // a current that never changes
	}
	return bound.Of().Named("effective current")
}

// statedOf is what intent says of an element, else its record.
func statedOf(p *rules.Bench, e design.Element, record string, intent ...string) *field.Entry {
	if en := p.Design.Intent.Get(append([]string{"elements", e.Path()}, intent...)...); en != nil {
		return en
	}
	return e.Entry(record)
}

// ratedPower is the power that an element may make at the declared ambient temperature, in W. Where no derating is declared the
// whole power is seen, and what is counted is that of a thick-film chip: all of it up to 70 degC, none at 155 degC.
func ratedPower(p *rules.Bench, e design.Element) quantity.Quantity {
	path := e.Path()
	en := statedOf(p, e, "power", "power")
	if en == nil {
		return quantity.Missing(quantity.Watt, quantity.Need{In: "intent", Key: design.Key("elements", path, "power")})
	}
	full := en.Written.Range.Hi
	if en.Written.Form == quantity.Ranged {
		full = en.Written.Range.Lo
	}
	power := &quantity.Cause{Name: path + " rated power", Unit: quantity.Watt, Nom: full, Sound: quantity.Point(full), Seen: quantity.Point(full), At: en.At}
	edge := func(end string) (c *quantity.Cause, given bool) {
		c = &quantity.Cause{Name: path + " derating " + end, Unit: quantity.Celsius}
		en := statedOf(p, e, "derating."+end, "derating", end)
		if en != nil {
			c.Nom, c.Sound, c.Seen, c.At = en.Written.Nom, en.Written.Range, en.Written.Range, en.At
		}
		return c, en != nil
	}
	from, fromGiven := edge("from")
	to, toGiven := edge("to")
	if !toGiven {
		to.Nom, to.Sound, to.Seen = chipEnd, quantity.Point(chipEnd), quantity.Point(chipEnd)
	}
	last := to.Of()
	switch {
	case !fromGiven:
		from.Nom, from.Seen = to.Sound.Hi, quantity.Point(to.Sound.Hi)
		from.Sound = quantity.Interval{Lo: min(chipFull, to.Sound.Hi), Hi: to.Sound.Hi}
		from.Grade = quantity.Assumed
		from.Note = fmt.Sprintf("%s: no derating declared, full power up to %d degC and none at %s counted", path, chipFull, quantity.Show(to.Nom, quantity.Celsius))
	case !toGiven:
		last = quantity.Missing(quantity.Celsius, quantity.Need{In: "intent", Key: design.Key("elements", path, "derating", "to")})
	}
	return quantity.Calc("rated power of "+path, quantity.Watt, func(x []float64) float64 {
		power, ambient, from, to := x[0], x[1], x[2], x[3]
		switch {
		case ambient <= from:
			return power
		case ambient >= to:
			return 0
		}
		return power * (to - ambient) / (to - from)
	}, power.Of(), p.Declared(quantity.Celsius, "temperature"), from.Of(), last)
}

// The derating of a thick-film chip, in degC, as makers commonly state it.
const chipFull, chipEnd = 70, 155
