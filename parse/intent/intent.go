// Package intent reads what the designer promises about the world: rails, currents, switching, temperature, accuracy
// goals, converters.
package intent

import (
	"fmt"
	"iter"
	"slices"

	"github.com/shuntwright/shuntwright/parse/envelope"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// rule is the id under which troubles with intent are reported.
const rule = "intent-field"

// Intent is what one design intends. It does not change once read; a nil Intent says nothing.
type Intent struct{ doc *field.Doc }

// Read reads an intent file. What it cannot use it reports under intent-field.
func Read(set *source.Set, id source.FileID) (*Intent, []source.Diagnostic) {
	at := source.Span{Pos: source.Pos{File: id}, Len: uint32(len(set.File(id).Text))}
	doc, diags := field.ReadTable(set, at, rule, card)
	for e := range doc.Under() {
		if slices.ContainsFunc(CardFields, func(f field.Field) bool { return f.Key == e.Field.Key }) {
			diags = append(diags, source.Diagnostic{At: e.At, Rule: rule,
				Message: e.Key() + " stands only in a comment card of a netlist"})
		}
	}
	diags = append(diags, check(doc)...)
	slices.SortStableFunc(diags, func(a, b source.Diagnostic) int { return int(a.At.Byte) - int(b.At.Byte) })
	return &Intent{doc}, diags
}

// ReadPragmas adds what comment cards say, each region one line of TOML, to an intent that may be nil; into itself
// does not change. A key that the file or an earlier card has is reported with both places. Acceptances, which stand
// in such cards too, are left to who judges them.
func ReadPragmas(set *source.Set, into *Intent, pragmas []source.Span) (*Intent, []source.Diagnostic) {
	var before *field.Doc
	if into != nil {
		before = into.doc
	}
	doc := before.Clone()
	var diags []source.Diagnostic
	for _, at := range pragmas {
		if field.Leads([]byte(set.Text(at))) != "accept" {
			diags = append(diags, field.ReadInto(doc, set, at, rule, pragma)...)
		}
	}
	known := map[source.Span]bool{}
	for _, d := range check(before) {
		known[d.At] = true
	}
	for _, d := range check(doc) {
		if !known[d.At] {
			diags = append(diags, d)
		}
	}
	return &Intent{doc}, diags
}

// Get is the entry of a key, given by its components with names in place of stars: Get("rails", "V5", "operating").
// Case does not count in names. It is nil when nothing was said.
func (i *Intent) Get(path ...string) *field.Entry {
	if i == nil {
		return nil
	}
	return i.doc.Get(path...)
}

// Names are the names used right after a prefix: Names("rails") are the rails, once each, in order.
func (i *Intent) Names(prefix ...string) []string {
	if i == nil {
		return nil
	}
	return i.doc.Names(prefix...)
}

// Says tells that anything is said at or below a key.
func (i *Intent) Says(path ...string) bool {
	return i != nil && i.doc.Says(path...)
}

// Amended is i with the number of one entry replaced by a range; i itself where there is no such entry.
func (i *Intent) Amended(r quantity.Interval, path ...string) *Intent {
	if i == nil || i.Get(path...) == nil {
		return i
	}
	return &Intent{i.doc.Amended(r, path...)}
}

// Under yields the entries whose path begins with the prefix, in order.
func (i *Intent) Under(prefix ...string) iter.Seq[*field.Entry] {
	if i == nil {
		return (*field.Doc)(nil).Under()
	}
	return i.doc.Under(prefix...)
}

// Expectations are what comment cards say that the rules find: by rule a text that a finding holds, and the rules that
// find nothing.
func (i *Intent) Expectations() (finds map[string]string, silent []string) {
	finds = map[string]string{}
	for e := range i.Under("finds") {
		finds[e.Path[1]] = e.Text
	}
	if e := i.Get("silent"); e != nil {
		silent = slices.Clone(e.Names)
	}
	return finds, silent
}

// check finds what an intent says that does not go together.
func check(d *field.Doc) (diags []source.Diagnostic) {
	fail := func(at source.Span, related source.Span, why string, format string, args ...any) {
		diag := source.Diagnostic{At: at, Rule: rule, Message: fmt.Sprintf(format, args...)}
		if !related.None() {
			diag.Related = []source.Related{{At: related, Message: why}}
		}
		diags = append(diags, diag)
	}
	for e := range d.Under() {
		switch e.Field.Key {
		case "rails.*.follows":
			for _, other := range []string{"operating", "survival", "envelope", "events"} {
				if o := d.Get("rails", e.Path[1], other); o != nil {
					fail(o.At, e.At, "it follows a net here", "%s: a rail that follows another has no range of its own", o.Key())
				}
			}
		case "rails.*.within":
			if d.Get("rails", e.Path[1], "follows") == nil {
				fail(e.At, source.Span{}, "", "%s: this wants the net that the rail follows, as in follows = \"VADC\"", e.Key())
			}
		case "rails.*.envelope":
			if envelope.Find(e.Text) == nil {
				diags = append(diags, unknownEnvelope(e))
			}
		case "surges.*.pulse":
			if envelope.FindPulse(e.Text) == nil {
				diags = append(diags, unknownPulse(e))
			}
		case "rails.*.events":
			diags = append(diags, checkEvents(d, e)...)
		case "switching.*.between":
			if len(e.Names) != 2 {
				fail(e.ValueAt, source.Span{}, "", "%s: a net is switched between two nets, and this names %d", e.Key(), len(e.Names))
			}
		case "converters.*.bits":
			if e.Count < 1 || e.Count > 64 {
				fail(e.ValueAt, source.Span{}, "", "%s: a converter has 1 to 64 bits", e.Key())
			}
		case "goals.*.at":
			if e.Written.Nom == 0 {
				fail(e.ValueAt, source.Span{}, "", "%s: an error at no current is no share of it", e.Key())
			}
		}
	}
	return append(diags, checkVariants(d)...)
}
