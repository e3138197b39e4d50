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

// Resistance is the value of an R card over tolerance and temperature, in ohm.
func (e Element) Resistance() quantity.Quantity { return e.resistance(true) }

// TrackedResistance is the resistance with its initial tolerance calibrated away: only temperature moves it.
func (e Element) TrackedResistance() quantity.Quantity { return e.resistance(false) }

func (e Element) resistance(initial bool) quantity.Quantity {
	path, nom := e.Path(), e.Value()
	if nom != nom {
		return quantity.Missing(quantity.Ohm, quantity.Need{In: "netlist", Key: "the value of " + path, At: e.Card()})
	}
	c := &quantity.Cause{Name: path, Unit: quantity.Ohm, Nom: nom, At: e.Card()}
	c.Seen = quantity.Interval{Lo: nom, Hi: nom}
	c.Sound = c.Seen
	t := e.d.Intent.Get("elements", path, "tolerance")
	if t == nil {
		t = e.d.Intent.Get("tolerances", "resistors")
	}
	drawn, own := e.d.Circuit.Param(e.ID, "tol")
	switch {
	case !initial || nom == 0:
	case t != nil && (t.Path[0] == "elements" || !own):
		c.Sound = widen(c.Seen, t.Written.Range.Hi)
		c.Seen = c.Sound
	case own:
		c.Sound = widen(c.Seen, drawn)
		c.Seen = c.Sound
	default:
		c.Sound = widen(c.Seen, policy)
		c.Grade, c.Note = quantity.Assumed, path+": no tolerance declared, 5 % counted"
	}
	return e.drifted(c.Of(), initial)
}

// drifted lays temperature over a resistance: intent's coefficient, of either sign, from 25 degC; else the card's own
// TC1 and TC2 from 27 degC (SPICE3f3 User's Manual, 3.1.1). A tracked resistance without any coefficient is missing it.
func (e Element) drifted(r quantity.Quantity, initial bool) quantity.Quantity {
	path := e.Path()
	if tc := e.d.Intent.Get("elements", path, "temperature-coefficient"); tc != nil {
		k := &quantity.Cause{Name: tc.Key(), Unit: quantity.PerKelvin, At: tc.At}
		k.Sound = quantity.Interval{Lo: -tc.Written.Range.Hi, Hi: tc.Written.Range.Hi}
		k.Seen = k.Sound
		return quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] * (1 + x[1]*(x[2]-25)) },
			r, k.Of(), e.d.Temperature())
	}
	own := e.d.Circuit.ParamList(e.ID, "tc")
	if len(own) == 0 {
		for _, key := range []string{"tc1", "tc2"} {
			v, ok := e.d.Circuit.Param(e.ID, key)
			if !ok {
				v, ok = e.ModelParam(key)
			}
			if ok || len(own) > 0 {
				own = append(own, v)
			}
		}
	}
	switch {
	case len(own) == 0 && initial, e.Value() == 0:
		return r
	case len(own) == 0:
		return quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] * (1 + x[1]) },
			r, quantity.Missing(quantity.PerKelvin, need("elements", path, "temperature-coefficient")))
	case len(own) == 1 || own[1] == 0:
		return quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] * (1 + own[0]*(x[1]-27)) },
			r, e.d.Temperature())
	}
	return quantity.Calc(path, quantity.Ohm, func(x []float64) float64 { return x[0] * x[1] }, r, e.parabola(own[0], own[1]))
}

// parabola is 1 + TC1 dT + TC2 dT^2 over the declared temperatures, its turning point included. It no longer moves with
// the other temperatures, which makes bounds over it loose, not wrong.
func (e Element) parabola(tc1, tc2 float64) quantity.Quantity {
	t := e.d.Temperature()
	if !t.Known() {
		return t
	}
	at := func(t float64) float64 { return 1 + tc1*(t-27) + tc2*(t-27)*(t-27) }
	c := &quantity.Cause{Name: "drift of " + e.Path(), Nom: at(t.Nom), At: e.Card()}
	c.Sound = quantity.Point(at(t.Sound.Lo)).Union(quantity.Point(at(t.Sound.Hi)))
	if turn := 27 - tc1/(2*tc2); t.Sound.Contains(turn) {
		c.Sound = c.Sound.Union(quantity.Point(at(turn)))
	}
	c.Seen = c.Sound
	return c.Of()
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
				o.Written = w
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
	return c.Of()
}
