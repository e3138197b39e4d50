package field

import (
	"github.com/shuntwright/shuntwright/parse/source"
)

// An opening is a table of a document that a header or braces opened.
type opening struct {
	doc  *Doc
	path string
}

// A mark tells where a table was opened and whether braces closed it.
type mark struct {
	at     source.Span
	closed bool
}

// open notes that a table is opened, by a header or by braces. A table is opened once.
func (r *reader) open(doc *Doc, k key, own int, braces bool) bool {
	if !r.outside(doc, k, own, len(k.path)) {
		return false
	}
	this := opening{doc, fold(k.path)}
	if before, ok := r.opened[this]; ok {
		r.twice(k.span(own), "the table "+JoinKey(k.path)+" stands twice", before.at)
		return false
	}
	r.opened[this] = mark{at: k.span(own), closed: braces}
	return true
}

// outside tells that none of the tables on the way, beyond the first few components, was closed by its braces.
func (r *reader) outside(doc *Doc, k key, from, to int) bool {
	for n := from + 1; n <= to; n++ {
		if before, ok := r.opened[opening{doc, fold(k.path[:n])}]; ok && before.closed {
			r.twice(k.span(from), JoinKey(k.path[:n])+" was closed by its braces; what belongs to it stands inside them",
				before.at)
			return false
		}
	}
	return true
}

// twice reports something that stands a second time.
func (r *reader) twice(at source.Span, message string, first source.Span) {
	r.report(source.Diagnostic{At: at, Message: message,
		Related: []source.Related{{At: first, Message: "first here"}}})
}

// add puts an entry into a document that has nothing yet at its path, above it or below it.
func (r *reader) add(doc *Doc, e *Entry) {
	path := fold(e.Path)
	if before := doc.index[path]; before != nil {
		r.twice(e.At, e.Key()+" is said twice", before.At)
		return
	}
	if below := doc.inner[path]; below != nil {
		r.twice(e.At, e.Key()+" is one value here and a table elsewhere", below.At)
		return
	}
	for n := 1; n < len(e.Path); n++ {
		if above := doc.index[fold(e.Path[:n])]; above != nil {
			r.twice(e.At, above.Key()+" is a table here and one value elsewhere", above.At)
			return
		}
	}
	doc.entries = append(doc.entries, e)
	doc.index[path] = e
	for n := range len(e.Path) {
		if inner := fold(e.Path[:n]); doc.inner[inner] == nil {
			doc.inner[inner] = e
		}
	}
}
