package field

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"github.com/pelletier/go-toml/v2/unstable"
	"github.com/shuntwright/shuntwright/parse/source"
)

// maxDiagnostics bounds what one region can complain about.
const maxDiagnostics = 100

// maxDepth bounds the components of a key.
const maxDepth = 12

// Read reads a region of a file against a list of fields. It returns every entry it understood and a diagnostic, under
// the given rule, for each it did not. The first trouble with the TOML itself ends reading; what stands before it
// survives.
func Read(set *source.Set, at source.Span, rule string, known []Field) (*Doc, []source.Diagnostic) {
	return ReadTable(set, at, rule, &Table{Fields: known})
}

// ReadTable is Read for a file that also holds arrays of tables.
func ReadTable(set *source.Set, at source.Span, rule string, known *Table) (*Doc, []source.Diagnostic) {
	doc := newDoc(at)
	return doc, ReadInto(doc, set, at, rule, known)
}

// ReadInto adds what a region says to a document. A key that the document already has is a diagnostic that names both
// places.
func ReadInto(doc *Doc, set *source.Set, at source.Span, rule string, known *Table) []source.Diagnostic {
	text := []byte(strings.TrimSuffix(set.Text(at), "\r"))
	r := &reader{rule: rule, root: doc, base: at.Pos, text: text, opened: map[opening]mark{}}
	if skip := len(text) - len(strings.TrimPrefix(string(text), "\ufeff")); skip > 0 {
		r.text = text[skip:]
		r.base.Byte += uint32(skip)
	}
	if r.newer() {
		return r.diags
	}
	r.walk(place{doc: doc, table: known})
	return r.diags
}

// A reader walks one region.
type reader struct {
	rule   string
	base   source.Pos
	text   []byte
	parser unstable.Parser
	diags  []source.Diagnostic
	root   *Doc
	format source.Span
	opened map[opening]mark
}

// A place is a table being filled.
type place struct {
	doc    *Doc
	table  *Table
	prefix key
}

// A key is a path and where each of its components stands.
type key struct {
	path   []string
	at     []source.Span
	quoted []bool
}

func (k key) add(name string, at source.Span, quoted bool) key {
	n := len(k.path)
	return key{append(k.path[:n:n], name), append(k.at[:n:n], at), append(k.quoted[:n:n], quoted)}
}

func (k key) head(n int) key { return key{k.path[:n], k.at[:n], k.quoted[:n]} }
func (k key) tail(n int) key { return key{k.path[n:], k.at[n:], k.quoted[n:]} }

// span covers the components from one on.
func (k key) span(from int) source.Span {
	first, last := k.at[from], k.at[len(k.at)-1]
	first.Len = last.Byte + last.Len - first.Byte
	return first
}

func (r *reader) span(n unstable.Range) source.Span {
	return source.Span{Pos: source.Pos{File: r.base.File, Byte: r.base.Byte + n.Offset}, Len: n.Length}
}

func (r *reader) report(d source.Diagnostic) {
	d.Rule = r.rule
	if len(r.diags) == maxDiagnostics {
		d = source.Diagnostic{At: d.At, Rule: r.rule, Message: "too many errors; the rest is not shown"}
	}
	if len(r.diags) <= maxDiagnostics {
		r.diags = append(r.diags, d)
	}
}

func (r *reader) fail(at source.Span, format string, args ...any) {
	r.report(source.Diagnostic{At: at, Message: fmt.Sprintf(format, args...)})
}

// walk reads all expressions of the region.
func (r *reader) walk(top place) {
	now, skip := top, false
	r.parser.Reset(r.text)
	for len(r.diags) <= maxDiagnostics && r.parser.NextExpression() {
		n := r.parser.Expression()
		switch n.Kind {
		case unstable.Table, unstable.ArrayTable:
			now, skip = r.header(top, r.keyOf(key{}, n), n.Kind == unstable.ArrayTable)
		case unstable.KeyValue:
			if !skip {
				r.put(now, now.prefix, n)
			}
		}
	}
	r.syntax(r.parser.Error())
}

// keyOf extends a key by that of a node.
func (r *reader) keyOf(k key, n *unstable.Node) key {
	for it := n.Key(); it.Next() && len(k.path) <= maxDepth; { // one more than may be tells that it is too deep
		at := r.span(it.Node().Raw)
		c := r.text[at.Byte-r.base.Byte]
		k = k.add(string(it.Node().Data), at, c == '"' || c == '\'')
	}
	return k
}

// sane refuses keys that are too deep, and names with control characters, which nothing has.
func (r *reader) sane(k key, own int) bool {
	if len(k.path) > maxDepth {
		r.fail(k.span(own), "tables are nested more than %d deep", maxDepth)
		return false
	}
	for _, name := range k.path[own:] {
		if strings.ContainsFunc(name, unicode.IsControl) {
			r.fail(k.span(own), "the name %s holds a control character", clip(strconv.Quote(name)))
			return false
		}
	}
	return true
}

// header finds the table that a header opens; skip tells that it is not known, and has been reported.
func (r *reader) header(now place, k key, array bool) (_ place, skip bool) {
	whole := k
	if !r.sane(k, 0) {
		return now, true
	}
	for n := 1; n <= len(k.path); n++ {
		sub, ok := now.table.array(k.path[:n])
		if !ok {
			continue
		}
		name := fold(k.path[:n])
		switch docs := now.doc.arrays[name]; {
		case n == len(k.path) && array:
			doc := newDoc(whole.span(0))
			doc.Path = k.path
			now.doc.arrays[name] = append(docs, doc)
			return place{doc: doc, table: sub}, false
		case n == len(k.path):
			r.fail(whole.span(0), "there may be several of these: write [[%s]]", JoinKey(whole.path))
			return now, true
		case len(docs) == 0:
			r.fail(whole.span(0), "[%s] stands before any [[%s]]", JoinKey(whole.path),
				JoinKey(whole.path[:len(whole.path)-len(k.path)+n]))
			return now, true
		default:
			now = place{doc: docs[len(docs)-1], table: sub}
			k = k.tail(n)
			n = 0
		}
	}
	switch {
	case !now.table.leads(k.path):
		r.unknown(now, k, 0, false)
		return now, true
	case array:
		r.fail(whole.span(0), "there is only one of these: write [%s]", JoinKey(whole.path))
		return now, true
	case !r.open(now.doc, k, 0, false):
		return now, true
	}
	now.prefix = k
	return now, false
}

// put reads one key and its value into a table.
func (r *reader) put(now place, prefix key, kv *unstable.Node) {
	k := r.keyOf(prefix, kv)
	own := len(prefix.path)
	if !r.sane(k, own) {
		return
	}
	v := kv.Value()
	if now.doc == r.root && len(k.path) == 1 && k.path[0] == "format" && !r.format.None() {
		if at := k.span(0); at != r.format {
			r.twice(at, "format is said twice", r.format)
		}
		return
	}
	if sub, ok := now.table.array(k.path); ok {
		r.putArray(now, sub, k, own, v)
		return
	}
	if v.Kind == unstable.InlineTable && now.table.leads(k.path) {
		if r.open(now.doc, k, own, true) {
			for it := v.Children(); it.Next(); {
				r.put(now, k, it.Node())
			}
		}
		return
	}
	f := now.table.find(k.path)
	if f == nil {
		r.unknown(now, k, own, v.Kind != unstable.InlineTable)
		return
	}
	if !r.outside(now.doc, k, own, len(k.path)) {
		return
	}
	e := &Entry{Field: f, Path: k.path, PathAt: k.at, At: k.span(own), ValueAt: r.valueSpan(kv)}
	if r.value(e, v) {
		r.add(now.doc, e)
	} else {
		now.doc.refused[fold(k.path)] = true
	}
}
