package part

import (
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Library is the records of any number of files. The zero Library is empty and ready; a nil one has no records.
type Library struct {
	records []*Record
	byName  map[string]*Record
}

// Records are all records in the order read: each part, then its gain codes.
func (l *Library) Records() []*Record {
	if l == nil {
		return nil
	}
	return slices.Clone(l.records)
}

// Get is the record of a name, suffix included; nil when there is none. Case does not count.
func (l *Library) Get(name string) *Record {
	if l == nil {
		return nil
	}
	return l.byName[strings.ToLower(name)]
}

// Read adds the records of a file. What it cannot use it reports under record-field; a record that lacks its name, its
// role or its pins is left out.
func (l *Library) Read(set *source.Set, id source.FileID) []source.Diagnostic {
	at := source.Span{Pos: source.Pos{File: id}, Len: uint32(len(set.File(id).Text))}
	doc, diags := field.ReadTable(set, at, rule, file)
	for _, d := range doc.Array("part") {
		found := check(d)
		diags = append(diags, found...)
		if d.Get("name") == nil || d.Get("role") == nil || d.Get("pins") == nil {
			continue
		}
		diags = l.add(&Record{base: d}, d.Get("name").ValueAt, diags)
		for _, code := range d.Array("code") {
			if e := code.Get("suffix"); e != nil {
				diags = l.add(&Record{base: d, code: code}, e.ValueAt, diags)
			}
		}
	}
	slices.SortStableFunc(diags, func(a, b source.Diagnostic) int { return int(a.At.Byte) - int(b.At.Byte) })
	l.doubt(id, diags)
	return diags
}

// doubt marks the records of a file that a trouble stands in: nothing that rests on them can pass.
func (l *Library) doubt(id source.FileID, diags []source.Diagnostic) {
	for _, d := range diags {
		var in *field.Doc
		for _, r := range l.records {
			if r.base.At.File == id && r.base.At.Byte <= d.At.Byte && (in == nil || r.base.At.Byte >= in.At.Byte) {
				in = r.base
			}
		}
		for _, r := range l.records {
			if r.base == in && in != nil {
				r.doubted = true
			}
		}
	}
}

// add takes a record in unless its name is taken.
func (l *Library) add(r *Record, at source.Span, diags []source.Diagnostic) []source.Diagnostic {
	if l.byName == nil {
		l.byName = map[string]*Record{}
	}
	key := strings.ToLower(r.Name())
	if before := l.byName[key]; before != nil {
		first := before.base.Get("name").ValueAt
		if before.code != nil {
			first = before.code.Get("suffix").ValueAt
		}
		return append(diags, source.Diagnostic{At: at, Rule: rule, Message: "there are two records named " + quote(r.Name()),
			Related: []source.Related{{At: first, Message: "first here"}}})
	}
	l.byName[key] = r
	l.records = append(l.records, r)
	return diags
}
