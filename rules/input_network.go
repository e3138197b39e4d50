package rules

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// Factor is the part of the shunt's voltage that arrives between the input pins, a ratio of 1 or less. tracked counts
// only what temperature does to the resistances.
func (p *Bench) Factor(tracked bool) quantity.Quantity {
	if len(p.Shunt) == 0 {
		return p.ShuntOhms()
	}
	if p.Network != nil { // the gain counts from the shunt
		return quantity.Exactly("input factor", quantity.Ratio, 1)
	}
	return p.note(p.volt.Factor(p.Amp, p.Unit, p.Plus.Shunt, p.Minus.Shunt, tracked)).Named("input factor")
}

// BiasPeak is the largest current into an input pin over the common mode that the pins really see, in amperes.
func (p *Bench) BiasPeak() quantity.Quantity {
	c := volt.Bias(p.Amp)
	en := p.Amp.Entry("bias.max")
	if en == nil {
		en = p.Amp.Entry("bias.typical")
	}
	if en != nil && len(en.Points) >= 2 {
		p.overCommonMode(&c, en.Points)
	}
	return p.note(c.Of()).Peak()
}

// LeastSense is the largest of the record's smallest inputs over the common mode that the pins really see, in volts. ok is
// false where the record states none.
func (p *Bench) LeastSense() (q quantity.Quantity, ok bool) {
	const key = "differential.least"
	en := p.Amp.Entry(key)
	switch {
	case en == nil:
		return q, false
	case len(en.Points) == 0: // one that holds everywhere, at least
		c := &quantity.Cause{Name: p.Amp.Path() + " " + key, Unit: quantity.Volt, Nom: en.Written.Range.Hi, At: en.At}
		c.Sound = quantity.Point(c.Nom)
		c.Seen = c.Sound
		return p.note(c.Of()), true
	}
	c := &quantity.Cause{Name: p.Amp.Path() + " " + key, Unit: quantity.Volt, At: en.At}
	p.overCommonMode(c, en.Points)
	return p.note(c.Of()).Peak().Named(key), true
}

// overCommonMode gives a cause the reach of a curve by common mode over what the pins really see.
func (p *Bench) overCommonMode(c *quantity.Cause, points [][2]quantity.Written) {
	plus, minus := p.Voltage("in+", design.Operating), p.Voltage("in-", design.Operating)
	over := func(i quantity.Interval) quantity.Interval {
		reach := quantity.Nothing
		add := func(x float64) {
			if y, ok := interpolate(points, x); ok {
				reach = reach.Union(quantity.Point(y))
			}
		}
		add(max(i.Lo, points[0][0].Nom))
		add(min(i.Hi, points[len(points)-1][0].Nom))
		for _, pt := range points {
			if i.Contains(pt[0].Nom) {
				reach = reach.Union(quantity.Point(pt[1].Nom))
			}
		}
		return reach
	}
	c.Name += " over the common mode"
	c.Sound = over(plus.Sound.Union(minus.Sound))
	c.Needs = append(append(c.Needs, plus.Needs...), minus.Needs...)
	switch {
	case plus.Seen.Empty() || minus.Seen.Empty():
		c.Seen = quantity.Nothing
	default:
		c.Seen = over(plus.Seen.Union(minus.Seen))
	}
	if c.Sound.Empty() {
		c.Sound = quantity.Everything
	}
	c.Nom = c.Sound.Hi
	c.Basis = append(plus.Causes(), minus.Causes()...)
}

// interpolate reads a curve drawn by points, held at its ends.
func interpolate(points [][2]quantity.Written, x float64) (float64, bool) {
	if math.IsNaN(x) {
		return 0, false
	}
	if x <= points[0][0].Nom {
		return points[0][1].Nom, true
	}
	for k := 1; k < len(points); k++ {
		a, b := points[k-1], points[k]
		if x > b[0].Nom {
			continue
		}
		if b[0].Nom == a[0].Nom {
			return b[1].Nom, true
		}
		return a[1].Nom + (b[1].Nom-a[1].Nom)*(x-a[0].Nom)/(b[0].Nom-a[0].Nom), true
	}
	return points[len(points)-1][1].Nom, true
}
