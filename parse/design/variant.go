package design

import (
	"fmt"
	"math"
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
	Name    string
	Changes []Change // from the drawing
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

// leaveOut are the elements that are not placed: those of which intent says so, else those whose card has dnp=1.
func (d *Design) leaveOut() map[circuit.ID]bool {
	out := map[circuit.ID]bool{}
	for id := range d.Circuit.Elements {
		if v, given := d.Circuit.Given(circuit.ID(id), "dnp"); given && v != 0 && v == v {
			out[circuit.ID(id)] = true
		}
	}
	for _, name := range d.Intent.Names("elements") {
		if said := d.Intent.Get("elements", name, "placed"); said != nil {
			if id, ok := d.Circuit.Find(name); ok {
				out[id] = !said.Flag
				if said.Flag {
					delete(out, id)
				}
			}
		}
	}
	if len(out) == 0 {
		return nil
	}
	return out
}

// readVariants makes changes of what intent says of variants, and reports what cannot be meant.
func (d *Design) readVariants() (diags []source.Diagnostic) {
	for _, name := range d.Intent.Names("variants") {
		if len(d.variants) == intent.MostVariants {
			break
		}
		v := Variant{Name: name}
		for e := range d.Intent.Under("variants", name) {
			changes, trouble := d.variantChanges(e)
			v.Changes = append(v.Changes, changes...)
			if trouble != nil {
				diags = append(diags, *trouble)
			}
		}
		d.variants = append(d.variants, v)
	}
	return diags
}

// variantChanges are the changes that one entry of a variant says. Names that the netlist does not have are reported with
// the others.
func (d *Design) variantChanges(e *field.Entry) (changes []Change, trouble *source.Diagnostic) {
	fail := func(rule, near, format string, args ...any) {
		trouble = &source.Diagnostic{At: e.ValueAt, Rule: rule, Near: near, Message: e.Key() + ": " + fmt.Sprintf(format, args...)}
	}
	switch e.Path[2] {
	case "absent":
		for _, name := range e.Names {
			changes = append(changes, Change{Op: Open, Target: name})
		}
	case "placed":
		for _, name := range e.Names {
			changes = append(changes, Change{Op: Place, Target: name})
		}
	case "wires":
		for _, name := range e.Names {
			el, ok := d.Find(name)
			if ok && el.Pins() != 2 {
				fail("intent-field", "", "%s has %d pins, and a wire has two", name, el.Pins())
				return nil, trouble
			}
			changes = append(changes, Change{Op: Place, Target: name}, Change{Op: Short, Target: name})
		}
	case "values":
		el, ok := d.Find(e.Path[3])
		if !ok {
			return nil, nil
		}
		u, valued := valueUnit(el.raw().Kind)
		if !valued {
			fail("intent-field", "", "the value of %s is no number that a variant changes; those of resistors, capacitors, inductors and sources are", el.Path())
			return nil, trouble
		}
		w, err := quantity.ReadWritten(e.Text, u)
		switch {
		case err != nil:
			fail("intent-field", "", "%s", err)
			return nil, trouble
		case w.Form != quantity.Bare && w.Form != quantity.Exact:
			fail("intent-field", "", "this is the value alone; how far it may be off stands in %s", Key("elements", el.Path(), "tolerance"))
			return nil, trouble
		case w.Nom < 0 && u != quantity.Volt && u != quantity.Amp || math.IsInf(w.Nom, 0):
			fail("intent-field", "", "%s has no negative value", el.Path())
			return nil, trouble
		}
		changes = append(changes, Change{Op: Place, Target: el.Path()}, Change{Op: Set, Target: el.Path(), Value: w.Nom, Unit: u})
	case "parts":
		el, ok := d.Find(e.Path[3])
		if !ok {
			return nil, nil
		}
		role, takes := recordRole(el.raw().Kind)
		if !takes {
			fail("intent-field", "", "%s takes no part record", el.Path())
			return nil, trouble
		}
		if r, tie := d.match(e.Text, role); r == nil && tie == nil {
			fail("intent-name", source.Nearest(e.Text, d.recordNames(role)), "there is no part record named %q", source.Clip(e.Text, 80))
			return nil, trouble
		}
		changes = append(changes, Change{Op: Place, Target: el.Path()}, Change{Op: Replace, Target: el.Path(), Text: e.Text})
	}
	return changes, nil
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
