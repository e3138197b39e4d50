package field

import (
	"cmp"
	"iter"
	"maps"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Doc is what one table says: a whole file, or one table of an array. A nil Doc says nothing.
type Doc struct {
	At   source.Span // the region read, or the header of the table
	Path []string    // of the array that the table is one of, as written; nil for a region

	entries []*Entry
	index   map[string]*Entry // by folded path
	inner   map[string]*Entry // folded paths that lead to entries: the first below
	arrays  map[string][]*Doc // by folded path
	refused map[string]bool   // folded paths whose value was reported instead of read
	order   int               // among tables with one header
}

func newDoc(at source.Span) *Doc {
	return &Doc{At: at, index: map[string]*Entry{}, inner: map[string]*Entry{}, arrays: map[string][]*Doc{},
		refused: map[string]bool{}}
}

// Clone is a copy that can be read into without changing d. The clone of a nil Doc is an empty one.
func (d *Doc) Clone() *Doc {
	if d == nil {
		return newDoc(source.Span{})
	}
	c := &Doc{d.At, d.Path, slices.Clone(d.entries), maps.Clone(d.index), maps.Clone(d.inner), maps.Clone(d.arrays), maps.Clone(d.refused), d.order}
	for path, docs := range c.arrays {
		c.arrays[path] = slices.Clip(docs) // a table added to one is not added to the other
	}
	return c
}

// fold makes paths comparable: case does not tell two names apart.
func fold(path []string) string { return strings.ToLower(strings.Join(path, "\x00")) }

// Get is the entry of a key, given by its components with the names in place of stars; case does not count in names.
// It is nil when nothing was said.
func (d *Doc) Get(path ...string) *Entry {
	if d == nil {
		return nil
	}
	return d.index[fold(path)]
}

// Says tells that anything is said at or below a path.
func (d *Doc) Says(path ...string) bool {
	return d != nil && (d.inner[fold(path)] != nil || d.index[fold(path)] != nil)
}

// Refused tells that a key stands in the text with a value that was reported instead of read: it is not missing.
func (d *Doc) Refused(path ...string) bool { return d != nil && d.refused[fold(path)] }

// Under yields the entries whose path begins with the prefix, in file order. Without a prefix it yields all.
func (d *Doc) Under(prefix ...string) iter.Seq[*Entry] {
	return func(yield func(*Entry) bool) {
		if d == nil {
			return
		}
		if !d.Says(prefix...) {
			return
		}
		for _, e := range d.entries {
			if e.begins(prefix) && !yield(e) {
				return
			}
		}
	}
}

func (e *Entry) begins(prefix []string) bool {
	if len(e.Path) < len(prefix) {
		return false
	}
	for i, p := range prefix {
		if !strings.EqualFold(e.Path[i], p) {
			return false
		}
	}
	return true
}

// Names are the names that stand for a star right after the prefix: once each, in file order, as first written.
func (d *Doc) Names(prefix ...string) (names []string) {
	seen := map[string]bool{}
	for e := range d.Under(prefix...) {
		if at := len(prefix); len(e.Path) > at && e.stars()[at] {
			name := e.Path[at]
			if key := strings.ToLower(name); !seen[key] {
				seen[key] = true
				names = append(names, name)
			}
		}
	}
	return names
}

// stars tells which components of the path are names.
func (e *Entry) stars() []bool {
	parts := strings.Split(e.Field.Key, ".")
	are := make([]bool, len(parts))
	for i, p := range parts {
		are[i] = p == "*"
	}
	return are
}

// Array is the tables of an array, in file order; the path has names in place of stars.
func (d *Doc) Array(path ...string) []*Doc {
	if d == nil {
		return nil
	}
	return d.arrays[fold(path)]
}

// Tables are the tables of all arrays of the document whose path begins with the prefix, in file order.
func (d *Doc) Tables(prefix ...string) (tables []*Doc) {
	if d == nil {
		return nil
	}
	for path, docs := range d.arrays {
		if strings.HasPrefix(path+"\x00", fold(prefix)+"\x00") {
			tables = append(tables, docs...)
		}
	}
	slices.SortFunc(tables, func(a, b *Doc) int {
		return cmp.Or(cmp.Compare(a.At.File, b.At.File), cmp.Compare(a.At.Byte, b.At.Byte), cmp.Compare(a.order, b.order))
	})
	return tables
}

// Amended is d with the number of one entry replaced by a range; d itself where there is no such entry.
func (d *Doc) Amended(r quantity.Interval, path ...string) *Doc {
	old := d.Get(path...)
	if old == nil {
		return d
	}
	e := *old
	e.Written.Range, e.Written.Nom, e.Written.Form = r, (r.Lo+r.Hi)/2, quantity.Ranged
	c := d.Clone()
	c.entries[slices.Index(c.entries, old)] = &e
	for _, index := range []map[string]*Entry{c.index, c.inner} {
		for path, o := range index {
			if o == old {
				index[path] = &e
			}
		}
	}
	return c
}
