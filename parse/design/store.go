package design

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// storePolicy is the tolerance counted for capacitors and inductors that declare none: common practice for ceramic
// capacitors of class 2 and for wound parts, with no source.
const storePolicy = 0.20

// Capacitance is the value of a C card over its tolerance, in farad; what a ceramic loses with its voltage is not in it.
func (e Element) Capacitance() quantity.Quantity { return e.stored(quantity.Farad, "capacitors") }

// Inductance is the value of an L card over its tolerance, in henry.
func (e Element) Inductance() quantity.Quantity { return e.stored(quantity.Henry, "") }

// stored is the value of a card over the tolerance that intent or the card gives it, else intent gives all of its kind.
func (e Element) stored(u quantity.Unit, kind string) quantity.Quantity {
	path, nom := e.Path(), e.Value()
	if !(nom > 0) {
		return quantity.Missing(u, quantity.Need{In: "netlist", Key: "the value of " + path, At: e.Card()})
	}
	c := &quantity.Cause{Name: path, Unit: u, Nom: nom, At: e.Card(), Seen: quantity.Point(nom)}
	t := e.d.Intent.Get("elements", path, "tolerance")
	drawn, own := e.d.Circuit.Given(e.ID, "tol")
	if t == nil && !own && kind != "" {
		t = e.d.Intent.Get("tolerances", kind)
	}
	switch {
	case t != nil:
		c.Seen = widen(c.Seen, t.Written.Range.Hi)
		c.Sound = c.Seen
	case own && drawn != drawn:
		return quantity.Missing(u, need("elements", path, "tolerance"))
	case own:
		c.Seen = widen(c.Seen, drawn)
		c.Sound = c.Seen
	default:
		c.Sound = widen(c.Seen, storePolicy)
		c.Grade, c.Note = quantity.Assumed, fmt.Sprintf("%s: no tolerance declared, %.0f %% counted", path, 100*storePolicy)
	}
	return c.Of()
}
