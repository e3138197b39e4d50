package design

import (
	"strings"

	"github.com/shuntwright/shuntwright/parse/envelope"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// workingRail is what a rail stays in while it works: what is declared of it, else what its envelope says. It is nil where
// neither is there.
func (d *Design) workingRail(name string) *quantity.Cause {
	if e := d.Intent.Get("rails", name, "operating"); e != nil {
		return d.declaredRail(name, e, Operating).Causes()[0]
	}
	e, env := d.envelope(name)
	if env == nil {
		return nil
	}
	c := &quantity.Cause{Name: e.Key(), Unit: quantity.Volt, At: e.At, Nom: env.Middle(), Sound: quantity.Interval{Lo: env.Low, Hi: env.High}}
	c.Seen = c.Sound
	if env.Status == envelope.Memory {
		fromMemory(c, e.Key()+": "+env.Name)
		c.Seen = quantity.Point(c.Nom) // a number that nobody confirmed proves no failure
	}
	return c
}

// envelope is the envelope of a rail and where it is named; env is nil where there is none of that name.
func (d *Design) envelope(rail string) (e *field.Entry, env *envelope.Envelope) {
	if e = d.Intent.Get("rails", rail, "envelope"); e == nil {
		return nil, nil
	}
	return e, envelope.Find(e.Text)
}

// fromMemory marks what rests on a row that was not confirmed: it is never better than review.
func fromMemory(c *quantity.Cause, what string) {
	c.Grade, c.Note = quantity.Soft, what+" is from memory, not confirmed"
}

// survivalKey is the key that would say what a rail survives: the events of its envelope, where it has any and works as
// the envelope says.
func (d *Design) survivalKey(rail string) string {
	if _, env := d.envelope(rail); env != nil && len(env.Events) > 0 {
		return Key("rails", rail, "events")
	}
	return Key("rails", rail, "survival")
}

// eventRail is what a rail reaches in its working range and the named events of its envelope; work is nil where its working
// range is not known.
func (d *Design) eventRail(rail string, work *quantity.Cause) quantity.Quantity {
	said := d.Intent.Get("rails", rail, "events")
	e, env := d.envelope(rail)
	switch {
	case env == nil:
		return quantity.Missing(quantity.Volt, need("rails", rail, "envelope"))
	case work == nil || said == nil:
		return quantity.Missing(quantity.Volt, need("rails", rail, "events"))
	}
	c := *work
	c.Name, c.At = said.Key(), said.At
	var unsure []string
	for _, name := range said.Names {
		ev, ok := env.Event(name)
		if !ok {
			return quantity.Missing(quantity.Volt, need("rails", rail, "events"))
		}
		levels := quantity.Interval{Lo: ev.Low, Hi: ev.High}
		c.Sound = c.Sound.Union(levels)
		if ev.Status == envelope.Memory {
			unsure = append(unsure, ev.Name)
			continue
		}
		c.Seen = c.Seen.Union(levels)
	}
	if unsure != nil && work.Grade != quantity.Soft {
		fromMemory(&c, e.Key()+": "+strings.Join(unsure, ", ")+" of "+env.Name)
	}
	return c.Of()
}
