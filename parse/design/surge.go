package design

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/envelope"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A Surge is a declared source behind a resistance that enters a net for some time. What intent does not say of it is that
// of the pulse it names.
type Surge struct {
	Name     string
	At       circuit.Net
	Voltage  quantity.Quantity // V, the open-circuit peak against ground
	Ohms     quantity.Quantity
	Duration quantity.Quantity // s
}

// Surge is the declared surge of a name; ok is false where no net is said that it enters.
func (d *Design) Surge(name string) (s Surge, ok bool) {
	at := d.Intent.Get("surges", name, "at")
	if at == nil {
		return s, false
	}
	n, ok := d.Net(at.Text)
	if !ok { // reported as a name that is not there
		return s, false
	}
	s = Surge{name, n, d.Declared(quantity.Volt, "surges", name, "voltage"), d.Declared(quantity.Ohm, "surges", name, "resistance"),
		d.Declared(quantity.Second, "surges", name, "duration")}
	named := d.Intent.Get("surges", name, "pulse")
	if named == nil {
		return s, true
	}
	p := envelope.FindPulse(named.Text)
	if p == nil {
		return s, true
	}
	if !s.Voltage.Known() {
		s.Voltage = d.pulsed(n, p, named)
	}
	if !s.Ohms.Known() {
		s.Ohms = row(p, named, quantity.Ohm, "source resistance of "+p.Name, quantity.Interval{Lo: p.Resistance[0], Hi: p.Resistance[1]}).Of()
	}
	if t := p.Duration(); !s.Duration.Known() && t > 0 {
		s.Duration = row(p, named, quantity.Second, "duration of "+p.Name, quantity.Point(t)).Of()
	}
	return s, true
}

// row is a number of a standard's pulse; soft where it is from memory.
func row(p *envelope.Pulse, named *field.Entry, u quantity.Unit, name string, i quantity.Interval) *quantity.Cause {
	c := &quantity.Cause{Name: name, Unit: u, Nom: i.Hi, Sound: i, Seen: i, At: named.At}
	if p.Status == envelope.Memory {
		fromMemory(c, named.Key()+": "+p.Name)
	}
	return c
}

// pulsed is the peak of a pulse that comes on top of what its net works at. That the standard counts its levels so is from
// memory, which makes the sum soft.
func (d *Design) pulsed(n circuit.Net, p *envelope.Pulse, named *field.Entry) quantity.Quantity {
	c := row(p, named, quantity.Volt, "level of "+p.Name, quantity.Point(p.Level))
	if c.Grade != quantity.Soft {
		c.Grade, c.Note = quantity.Soft, fmt.Sprintf("%s: its level is counted on top of the supply, which is from memory, not confirmed", named.Key())
	}
	base, held := d.Rail(n, Operating)
	if !held {
		return c.Of()
	}
	return quantity.Calc("peak of "+p.Name, quantity.Volt, func(x []float64) float64 { return x[0] + x[1] }, base, c.Of())
}
