package design

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/intent"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Variant is one way in which the drawing is assembled.
type Variant struct {
	Name           string
	absent, placed []string // elements and instances
	changes        []Change // of values, wires and parts
}

// Variants are the assembly variants that intent declares, in its order.
func (d *Design) Variants() []Variant { return d.variants }

// Unplaced are the paths of the elements that are drawn and not placed, in netlist order.
func (d *Design) Unplaced() (paths []string) {
	ids := make([]circuit.ID, 0, len(d.unplaced))
	for id := range d.unplaced {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, id := range ids {
		paths = append(paths, d.Circuit.Path(id))
	}
	return paths
}

// placeable are the elements that a name stands for where it is about being placed: one, or those of an instance of a
// subcircuit; none where the netlist has neither.
func (d *Design) placeable(name string) []circuit.ID {
	if id, ok := d.Circuit.Find(name); ok {
		return []circuit.ID{id}
	}
	return d.inside[strings.ToLower(name)]
}

// namedInstances are the names that intent places or leaves out and that are no element.
func (d *Design) namedInstances() (names []string) {
	for _, ref := range d.Intent.References() {
		if _, ok := d.Circuit.Find(ref.Name); ref.Kind == intent.Placeable && !ok {
			names = append(names, ref.Name)
		}
	}
	return names
}

// leaveOut are the elements that are not placed: those of which intent says so, else those whose card, or an X card that
// leads to them, has dnp=1.
func (d *Design) leaveOut() map[circuit.ID]bool {
	out := map[circuit.ID]bool{}
	for _, id := range d.Circuit.Marked("dnp") {
		out[id] = true
	}
	for _, name := range d.Intent.Names("elements") {
		said := d.Intent.Get("elements", name, "placed")
		if said == nil {
			continue
		}
		for _, id := range d.placeable(name) {
			if out[id] = true; said.Flag {
				delete(out, id)
			}
		}
	}
	if len(out) == 0 {
		return nil
	}
	return out
}

// readVariants takes in what intent says of variants, and reports what cannot be meant.
func (d *Design) readVariants() (diags []source.Diagnostic) {
	for _, name := range d.Intent.Names("variants") {
		if len(d.variants) == intent.MostVariants {
			break
		}
		v := Variant{Name: name}
		for e := range d.Intent.Under("variants", name) {
			if trouble := d.readVariant(&v, e); trouble != nil {
				diags = append(diags, *trouble)
			}
		}
		d.variants = append(d.variants, v)
	}
	return diags
}

// readVariant takes one entry into a variant. Names that the netlist does not have are reported with the others.
func (d *Design) readVariant(v *Variant, e *field.Entry) *source.Diagnostic {
	fail := func(rule, near, format string, args ...any) *source.Diagnostic {
		return &source.Diagnostic{At: e.ValueAt, Rule: rule, Near: near, Message: e.Key() + ": " + fmt.Sprintf(format, args...)}
	}
	switch e.Path[2] {
	case "absent":
		v.absent = e.Names
	case "placed":
		v.placed = e.Names
	case "wires":
		for _, name := range e.Names {
			el, ok := d.Find(name)
			switch {
			case ok && el.Pins() != 2:
				return fail("intent-field", "", "%s has %d pins, and a wire has two", name, el.Pins())
			case ok:
				v.changes = append(v.changes, Change{Op: Short, Target: el.Path()})
			}
		}
	case "values":
		el, ok := d.Find(e.Path[3])
		if !ok {
			return nil
		}
		u, valued := valueUnit(el.raw().Kind)
		if !valued {
			return fail("intent-field", "", "the value of %s is no number that a variant changes; those of resistors, capacitors, inductors and sources are", el.Path())
		}
		w, err := quantity.ReadWritten(e.Text, u)
		switch {
		case err != nil:
			return fail("intent-field", "", "%s", err)
		case w.Form != quantity.Bare && w.Form != quantity.Exact:
			return fail("intent-field", "", "this is the value alone; how far it may be off stands in %s", Key("elements", el.Path(), "tolerance"))
		case w.Nom < 0 && u != quantity.Volt && u != quantity.Amp:
			return fail("intent-field", "", "%s has no negative value", el.Path())
		}
		v.changes = append(v.changes, Change{Op: Set, Target: el.Path(), Value: w.Nom, Unit: u})
	case "parts":
		el, ok := d.Find(e.Path[3])
		if !ok {
			return nil
		}
		role, takes := recordRole(el.raw().Kind)
		if !takes {
			return fail("intent-field", "", "%s takes no part record", el.Path())
		}
		if r, tie := d.match(e.Text, role); r == nil && tie == nil {
			return fail("intent-name", source.Nearest(e.Text, d.recordNames(role)), "there is no part record named %q", source.Clip(e.Text, 80))
		}
		v.changes = append(v.changes, Change{Op: Replace, Target: el.Path(), Text: e.Text})
	}
	return nil
}

// As is the drawing assembled as one of its variants: what the variant leaves out is not placed, what it places or says
// more of is, and its values, wires and parts are changes laid over it. d is untouched.
func (d *Design) As(v Variant) *Design {
	o := d.With(v.changes...)
	o.varied = true
	o.unplaced = maps.Clone(d.unplaced)
	if o.unplaced == nil {
		o.unplaced = map[circuit.ID]bool{}
	}
	for _, name := range v.absent {
		for _, id := range d.placeable(name) {
			o.unplaced[id] = true
		}
	}
	for _, name := range v.placed {
		for _, id := range d.placeable(name) {
			delete(o.unplaced, id)
		}
	}
	for _, c := range v.changes {
		if id, ok := d.Circuit.Find(c.Target); ok {
			delete(o.unplaced, id)
		}
	}
	return o
}

// valueUnit is the unit of the value on a card of a letter.
func valueUnit(kind byte) (u quantity.Unit, ok bool) {
	switch kind {
	case 'R':
		return quantity.Ohm, true
	case 'C':
		return quantity.Farad, true
	case 'L':
		return quantity.Henry, true
	case 'V':
		return quantity.Volt, true
	case 'I':
		return quantity.Amp, true
	}
	return u, false
}

// recordNames yields the names of the records of a role; "" stands for every role.
func (d *Design) recordNames(role string) func(func(string) bool) {
	return func(yield func(string) bool) {
		for _, r := range d.Parts.Records() {
			if (role == "" || r.Role() == role) && !yield(r.Name()) {
				return
			}
		}
	}
}

// Variant is the drawing as a variant of that name is assembled, letter case aside; ok is false where there is none.
func (d *Design) Variant(name string) (v Variant, ok bool) {
	i := slices.IndexFunc(d.variants, func(v Variant) bool { return strings.EqualFold(v.Name, name) })
	if i < 0 {
		return v, false
	}
	return d.variants[i], true
}
