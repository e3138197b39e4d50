package design

import (
	"iter"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
)

// An Element is a handle on one element of the flat circuit: 16 bytes, made on demand.
type Element struct {
	d  *Design
	ID circuit.ID
}

// Element is the handle of an element.
func (d *Design) Element(id circuit.ID) Element { return Element{d, id} }

// Elements yields all elements in netlist order.
func (d *Design) Elements() iter.Seq[Element] {
	return func(yield func(Element) bool) {
		for id := range d.Circuit.Elements {
			if !yield(Element{d, circuit.ID(id)}) {
				return
			}
		}
	}
}

// Find is the element of a path, letter case aside.
func (d *Design) Find(path string) (Element, bool) {
	id, ok := d.Circuit.Find(path)
	return Element{d, id}, ok
}

func (e Element) raw() *circuit.Element { return &e.d.Circuit.Elements[e.ID] }

// Path is the instance path as written: "XA.R3".
func (e Element) Path() string { return e.d.Circuit.Path(e.ID) }

// Card is the card that drew the element.
func (e Element) Card() source.Span { return e.d.Circuit.Card(e.ID) }

// Calls is the chain of X cards that leads to the card, innermost first.
func (e Element) Calls() []source.Span { return e.d.Circuit.Calls(e.ID) }

// Pins is how many pins the element has.
func (e Element) Pins() int { return int(e.raw().N) }

// Pin is the net of a pin, counted from 0 in card order.
func (e Element) Pin(i int) circuit.Net {
	if len(e.d.over) > 0 {
		return e.d.pin(e, i)
	}
	return e.d.Circuit.Pins[e.raw().First+uint32(i)]
}

// Other is the far end of a two-pin element.
func (e Element) Other(n circuit.Net) circuit.Net {
	if e.Pin(0) == n {
		return e.Pin(1)
	}
	return e.Pin(0)
}

// Gone is the Kind of an element that a change has opened or that is not placed.
const Gone byte = 0

// Kind is the card letter; '?' for a card that could not be read, Gone for an element that a change has opened.
func (e Element) Kind() byte {
	if e.d.unplaced[e.ID] || e.d.change(e.ID, Open) != nil {
		return Gone
	}
	return e.raw().Kind
}

// Value is the nominal value in SI units, of all copies together, with changes; NaN when the card has none or it could not
// be evaluated.
func (e Element) Value() float64 {
	switch c := e.d.change(e.ID, Set, Short); {
	case c == nil:
		if e.shunt() {
			return e.ShuntResistance(false).Nom
		}
		return e.raw().Value
	case c.Op == Short:
		return 0
	default:
		return e.d.Circuit.Total(e.ID, c.Value)
	}
}

// Written is the nominal value as its card says it, with changes: that of one copy where a multiplier asks for more.
func (e Element) Written() float64 { return e.d.Circuit.Single(e.ID, e.Value()) }

// Copies is how many copies of what its card says an element stands for, in parallel.
func (e Element) Copies() float64 { return e.d.Circuit.Copies(e.ID) }

// Area is the area factor of a diode or transistor: 1 where the card says none, NaN where it has no value.
func (e Element) Area() float64 {
	if v, given := e.d.Circuit.Given(e.ID, "area"); given {
		return v
	}
	if _, given := e.d.Circuit.Cards.CardValue(e.raw().Card); given {
		return e.Value()
	}
	return 1
}

// warm tells that the value follows the temperature by an expression on the card, which no change has replaced.
func (e Element) warm() bool {
	return e.d.Circuit.Warm(e.ID) && e.d.change(e.ID, Set, Short) == nil
}

// Short tells that the element is a piece of wire: a resistor of 0 ohm, or shorted by a change.
func (e Element) Short() bool {
	if e.d.change(e.ID, Short) != nil {
		return true
	}
	return e.Kind() == 'R' && e.Value() == 0 && !e.warm()
}

// Ref is the model or subcircuit name on the card.
func (e Element) Ref() string { return e.d.Circuit.Ref(e.ID) }

// Model is the .model the card names, or nil.
func (e Element) Model() *circuit.Model { return e.d.Circuit.Model(e.ID) }

// Source is what a V or I card drives, or nil.
func (e Element) Source() *circuit.Source { return e.d.Circuit.Source(e.ID) }

// Linear is what a controlled source (E, G, F, H, B) drives, with changes; nil for every other element, and where its
// law is not linear or not known.
func (e Element) Linear() *circuit.Linear {
	l := e.d.Circuit.Linear(e.ID)
	set := e.d.change(e.ID, Set)
	switch {
	case l == nil || set == nil:
		return l
	case e.d.Circuit.Law(e.ID) != nil && len(l.Volts)+len(l.Amps) == 0:
		return l // a constant: Drive knows of the change
	case e.d.Circuit.Law(e.ID) != nil || len(l.Volts)+len(l.Amps) == 0:
		return nil // which number is meant, and what does it follow?
	}
	o := &circuit.Linear{Current: l.Current, Volts: slices.Clone(l.Volts), Amps: slices.Clone(l.Amps)}
	gain := e.d.Circuit.Total(e.ID, set.Value)
	for i := range o.Volts {
		o.Volts[i].Gain = gain
	}
	for i := range o.Amps {
		o.Amps[i].Gain = gain
	}
	return o
}

// ModelParam is a parameter of the card's model; NaN where it is given and has no value.
func (e Element) ModelParam(key string) (float64, bool) {
	m := e.Model()
	if m == nil {
		return 0, false
	}
	v, ok := m.Params[key]
	return v, ok
}

// On yields the elements on a net that changes have not opened.
func (d *Design) On(n circuit.Net) iter.Seq[Element] {
	return func(yield func(Element) bool) {
		rewired := d.rewired()
		for _, id := range d.Circuit.On(n) {
			if e := (Element{d, id}); e.Kind() != Gone && (!rewired || e.on(n)) && !yield(e) {
				return
			}
		}
		if !rewired {
			return
		}
		for _, id := range d.moved(n) {
			if e := (Element{d, id}); e.Kind() != Gone && e.on(n) && !slices.Contains(d.Circuit.On(n), id) && !yield(e) {
				return
			}
		}
	}
}

// on tells that a pin of the element stands on a net.
func (e Element) on(n circuit.Net) bool {
	for i := range e.Pins() {
		if e.Pin(i) == n {
			return true
		}
	}
	return false
}

// Record is the part record of an X card by the name of its subcircuit, and that of a diode, switch or transistor by the
// name of its model, which is one of the role that its card has; nil where there is none.
func (e Element) Record() *part.Record {
	role, ok := recordRole(e.raw().Kind)
	if !ok {
		return nil
	}
	name := e.Ref()
	if c := e.d.change(e.ID, Replace); c != nil {
		name = c.Text
	}
	return e.d.record(name, role)
}

// recordRole is the role of the records that cards of a letter take: "" for every role, ok is false for none.
func recordRole(kind byte) (role string, ok bool) {
	switch kind {
	case 'X':
		return "", true
	case 'D':
		return "clamp", true
	case 'M', 'S', 'W', 'Q', 'J', 'Z':
		return "switch", true
	}
	return "", false
}

// Amplifiers are the units of a package that measures a shunt, of a sense amplifier or a digital monitor: "" for one that
// holds a single one, none for what is neither.
func (e Element) Amplifiers() []string {
	if u := e.units("digital-monitor"); u != nil {
		return u
	}
	return e.units("sense-amplifier")
}

// OpAmps are the units of an op amp's package, as Amplifiers are of a sense amplifier's.
func (e Element) OpAmps() []string { return e.units("op-amp") }

// Comparators are the units of a comparator's package, as Amplifiers are of a sense amplifier's.
func (e Element) Comparators() []string { return e.units("comparator") }

func (e Element) units(role string) []string {
	r := e.Record()
	if r == nil || r.Role() != role || e.Kind() != 'X' {
		return nil
	}
	if len(r.Units()) == 0 {
		return []string{""}
	}
	var out []string
	for _, u := range r.Units() {
		out = append(out, u.Name)
	}
	return out
}

// PinOf is the net of a pin by its role. The port names of a .subckt body of the part's name tell the order where they
// are role names, the record's pins otherwise; unit picks one amplifier of a package that holds several, "" otherwise.
func (e Element) PinOf(role, unit string) (circuit.Net, bool) {
	k, ok := e.PinAt(role, unit)
	if !ok {
		return 0, false
	}
	return e.Pin(k), true
}

// PinAt is the position of a pin on the card by its role, counted from 0, as PinOf finds it.
func (e Element) PinAt(role, unit string) (int, bool) {
	r := e.Record()
	if r == nil {
		return 0, false
	}
	k := -1
	if unit == "" {
		for i, p := range e.d.Circuit.Ports(e.Ref()) {
			if strings.EqualFold(p, role) {
				k = i
			}
		}
	}
	if k < 0 {
		k = r.Pin(role)
	}
	for _, u := range r.Units() {
		if u.Name == unit {
			if i := u.Pin(role); i >= 0 {
				k = i
			}
		}
	}
	return k, k >= 0 && k < e.Pins()
}
