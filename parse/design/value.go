package design

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Declared is a number of intent, or missing.
func (d *Design) Declared(u quantity.Unit, path ...string) quantity.Quantity {
	e := d.Intent.Get(path...)
	if e == nil {
		return quantity.Missing(u, need(path...))
	}
	return read(e.Key(), "", e, u)
}

// Temperature is the declared ambient range in degC, or missing.
func (d *Design) Temperature() quantity.Quantity { return d.Declared(quantity.Celsius, "temperature") }

// Resistance is that of an R card, or of a part whose record is that of a shunt, over tolerance and temperature, in ohm.
func (e Element) Resistance() quantity.Quantity {
	if e.shunt() {
		return e.ShuntResistance(false)
	}
	return e.resistance(true)
}

// TrackedResistance is the resistance with its initial tolerance calibrated away: only temperature moves it.
func (e Element) TrackedResistance() quantity.Quantity {
	if e.shunt() {
		return e.ShuntResistance(true)
	}
	return e.resistance(false)
}

func (e Element) resistance(initial bool) quantity.Quantity {
	path, nom := e.Path(), e.Value()
	if nom != nom {
		return quantity.Missing(quantity.Ohm, quantity.Need{In: "netlist", Key: "the value of " + path, At: e.Card()})
	}
	if nom == 0 && e.warm() { // a tolerance of nothing says nothing about other temperatures
		return quantity.Missing(quantity.Ohm, quantity.Need{In: "netlist", Key: "a value of " + path + " other than 0 ohm at 27 degC", At: e.Card()})
	}
	c := &quantity.Cause{Name: path, Unit: quantity.Ohm, Nom: nom, At: e.Card()}
	c.Seen = quantity.Interval{Lo: nom, Hi: nom}
	c.Sound = c.Seen
	t := e.d.Intent.Get("elements", path, "tolerance")
	if t == nil {
		t = e.d.Intent.Get("tolerances", "resistors")
	}
	drawn, own := e.d.Circuit.Given(e.ID, "tol")
	switch {
	case !initial || nom == 0:
	case t != nil && (t.Path[0] == "elements" || !own):
		c.Sound = widen(c.Seen, t.Written.Range.Hi)
		c.Seen = c.Sound
	case own && drawn != drawn:
		return quantity.Missing(quantity.Ohm, need("elements", path, "tolerance"))
	case own:
		c.Sound = widen(c.Seen, drawn)
		c.Seen = c.Sound
	default:
		c.Sound = widen(c.Seen, policy)
		c.Grade, c.Note = quantity.Assumed, path+": no tolerance declared, 5 % counted"
	}
	return e.drifted(c.Of(), initial)
}

// Part is a numeric field of the element's record, or missing. Each instance varies by itself.
func (e Element) Part(key string) quantity.Quantity {
	r := e.Record()
	f := part.Lookup(key)
	if r == nil {
		return quantity.Missing(f.Unit, quantity.Need{In: "part records", Key: "a record for " + e.Ref(), At: e.Card()})
	}
	en := e.Entry(key)
	if en == nil {
		return quantity.Missing(f.Unit, e.PartNeed(key))
	}
	return read(e.Path()+" "+key, key, en, f.Unit)
}

// PartNeed names a field that the element's record lacks.
func (e Element) PartNeed(key string) quantity.Need {
	r := e.Record()
	if r == nil {
		return quantity.Need{In: "part records", Key: "a record for " + e.Ref(), At: e.Card()}
	}
	return quantity.Need{In: "part record", Key: r.Name() + " " + key, At: r.At()}
}

// Entry is a field of the element's record as written, with changes; nil when the record lacks it.
func (e Element) Entry(key string) *field.Entry {
	r := e.Record()
	if r == nil {
		return nil
	}
	en := r.Get(key)
	for i := len(e.d.over) - 1; i >= 0; i-- {
		if c := &e.d.over[i]; c.Op == Field && c.Key == key && c.Target == e.Path() && en != nil {
			o := *en
			o.Text = c.Text
			if l, err := quantity.ReadLimits(c.Text, en.Field.Unit); err == nil {
				o.Limits = l
			}
			if w, err := quantity.ReadWritten(c.Text, en.Field.Unit); err == nil {
				o.Written, o.Points = w, nil // one number in place of a curve
			}
			return &o
		}
	}
	return en
}

// Word is a field that picks a branch.
func (e Element) Word(key string) (string, bool) {
	if en := e.Entry(key); en != nil {
		return en.Text, true
	}
	return "", false
}

func read(name, what string, e *field.Entry, u quantity.Unit) quantity.Quantity {
	c := &quantity.Cause{Name: name, Unit: u, Nom: e.Written.Nom, Sound: e.Written.Range, Seen: e.Written.Range, At: e.At}
	switch e.Field.Shape {
	case field.AtMost: // a fact: anything up to it happens
		c.Nom = e.Written.Range.Hi
		if e.Written.Form != quantity.Ranged {
			c.Sound = quantity.Interval{Lo: min(0, e.Written.Range.Lo), Hi: max(0, e.Written.Range.Hi)}
			c.Seen = c.Sound
		}
	case field.AtLeast:
		c.Sound = quantity.Interval{Lo: e.Written.Range.Lo, Hi: e.Written.Range.Lo}
		c.Seen = c.Sound
	case field.Typical:
		c.Grade, c.Note = quantity.Soft, fmt.Sprintf("%s is a typical value", what)
	}
	if e.Typical {
		c.Grade, c.Note = quantity.Soft, fmt.Sprintf("%s is a typical value", what)
	}
	return c.Of()
}
