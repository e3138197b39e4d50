package quantity

import "math"

// summed is a cause of its own that sums up a quantity: between 0 and its largest possible value, that value seen.
// It is for what is "the most it can be" of something (a spread, a peak), where the ends of the original no longer
// move with anything else.
func (q Quantity) summed(name string, u Unit, most func(Interval) float64) Quantity {
	c := &Cause{Name: name, Unit: u, Grade: q.Grade, Needs: q.Needs, Basis: q.Causes(),
		Sound: Interval{0, math.Inf(1)}, Seen: Nothing, Nom: math.NaN()}
	if m := most(q.Sound); !q.Sound.Empty() && !math.IsNaN(m) {
		c.Sound.Hi = m
	}
	if m := most(q.Seen); !q.Seen.Empty() && !math.IsNaN(m) {
		c.Seen, c.Nom = Interval{m, m}, m
		c.Sound.Lo, c.Sound.Hi = m, max(m, c.Sound.Hi)
	}
	s := c.Of()
	s.Why, s.Loose = q.Why, q.Loose
	return s
}

// Spread is half the width the quantity can have, relative to its nominal.
func (q Quantity) Spread() Quantity {
	return q.summed("spread of "+q.Name, Ratio, func(i Interval) float64 { return (i.Hi - i.Lo) / 2 / math.Abs(q.Nom) })
}

// Peak is the largest magnitude the quantity can have.
func (q Quantity) Peak() Quantity {
	return q.summed("largest "+q.Name, q.Unit, func(i Interval) float64 { return max(math.Abs(i.Lo), math.Abs(i.Hi)) })
}
