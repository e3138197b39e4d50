// Package part reads part records: what a data sheet guarantees about a part, as data.
package part

import (
	"iter"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Record is one part with its gain code applied. It does not change once read.
type Record struct {
	base, code *field.Doc // code is nil for the part without a code
	doubted    bool
}

// Doubted tells that a trouble was reported inside the record: what it says may not be what was meant.
func (r *Record) Doubted() bool { return r.doubted }

// Name is the name of the part with the suffix of its gain code.
func (r *Record) Name() string { return textOf(r.base, "name") + r.Suffix() }

// Suffix is the suffix of the gain code; "" without one.
func (r *Record) Suffix() string { return textOf(r.code, "suffix") }

// Role is what the part is, one of the words of the field "role".
func (r *Record) Role() string { return textOf(r.base, "role") }

// Pins are the pin roles in the order of the nets of the part's card, as written.
func (r *Record) Pins() []string {
	if e := r.base.Get("pins"); e != nil {
		return slices.Clone(e.Names)
	}
	return nil
}

// Pin is the position of a pin role among the nets of the part's card, from 0; -1 when the part has none.
func (r *Record) Pin(role string) int {
	e := r.base.Get("pins")
	if e == nil {
		return -1
	}
	return slices.IndexFunc(e.Names, func(p string) bool { return strings.EqualFold(p, role) })
}

// PinNames are what the ports of the part's .subckt may call the pin of a role, beside the role itself.
func (r *Record) PinNames(role string) []string {
	for e := range r.base.Under("pin-names") {
		if strings.EqualFold(e.Path[1], role) {
			return e.Names
		}
	}
	return nil
}

// A Package is the pins of one of the part's packages.
type Package struct {
	Name  string
	Roles []string // by the package's pins, as written
	At    source.Span
}

// Packages are the packages that the record gives the pins of, in file order.
func (r *Record) Packages() (list []Package) {
	for e := range r.base.Under("packages") {
		list = append(list, Package{e.Path[1], e.Names, e.At})
	}
	return list
}

// Get is what the record says under a key such as "supply.operating": the gain code before the part. It is nil when
// nothing is said.
func (r *Record) Get(key string) *field.Entry {
	path := strings.Split(key, ".")
	if e := r.code.Get(path...); e != nil {
		return e
	}
	return r.base.Get(path...)
}

// Entries yields all that the record says: the part in file order with what its gain code says instead, then what only the
// gain code says.
func (r *Record) Entries() iter.Seq[*field.Entry] {
	return func(yield func(*field.Entry) bool) {
		for e := range r.base.Under() {
			if o := r.code.Get(e.Path...); o != nil {
				e = o
			}
			if !yield(e) {
				return
			}
		}
		for e := range r.code.Under() {
			if r.base.Get(e.Path...) == nil && !yield(e) {
				return
			}
		}
	}
}

// Lookup is the known field of a key; nil when none is.
func (r *Record) Lookup(key string) *field.Field { return Lookup(key) }

// At is the [[part]] header.
func (r *Record) At() source.Span { return r.base.At }

// A Unit is one of several units in a package.
type Unit struct {
	Name string
	Pins map[string]int // pin roles to pins, counted from 1 as in the file; those that units share included
	At   source.Span    // where the unit is first named
}

// Pin is the position of a pin role of the unit among the nets of the part's card, from 0; -1 when it has none.
func (u Unit) Pin(role string) int {
	if n, ok := u.Pins[strings.ToLower(role)]; ok {
		return n - 1
	}
	return -1
}

// Units are the units of a package that has several, in file order; none otherwise. Roles that a unit does not map but
// that stand in the list of pins are shared by all units.
func (r *Record) Units() (units []Unit) {
	for _, name := range r.base.Names("units") {
		u := Unit{Name: name, Pins: map[string]int{}}
		for i, p := range r.Pins() {
			if role := strings.ToLower(p); slices.Contains(Roles, role) && role != noConnection {
				u.Pins[role] = i + 1
			}
		}
		for e := range r.base.Under("units", name) {
			if u.At.None() {
				u.At = e.PathAt[1]
			}
			u.Pins[strings.ToLower(e.Path[2])] = e.Count
		}
		units = append(units, u)
	}
	return units
}

// textOf is the text of a key; "" when nothing is said.
func textOf(d *field.Doc, key string) string {
	if e := d.Get(key); e != nil {
		return e.Text
	}
	return ""
}
