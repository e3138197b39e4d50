package builtin

import "github.com/shuntwright/shuntwright/parse/quantity"

// ceilingOf is the largest value of a declared "at most", as a limit or a load that is really there: one number.
func ceilingOf(q quantity.Quantity) quantity.Quantity {
	if !q.Known() {
		return q
	}
	c := *q.Causes()[0]
	c.Name = "largest " + c.Name
	c.Nom, c.Sound, c.Seen = c.Sound.Hi, quantity.Point(c.Sound.Hi), quantity.Point(c.Sound.Hi)
	return c.Of().Named(q.Name)
}
