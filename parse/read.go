package parse

import (
	"bytes"
	"cmp"
	"slices"

	"github.com/alecthomas/participle/v2/lexer"

	"github.com/shuntwright/shuntwright/parse/source"
)

// Options say how a netlist is read.
type Options struct {
	// Include opens what an .include card names: its text and the path to print for it. The caller decides which files
	// may be opened; nil refuses every include.
	Include func(path string, from source.FileID) (text []byte, shown string, err error)
}

// The rule ids of what can be wrong with a netlist's text.
const (
	ruleCard       = "netlist-card"
	ruleTitle      = "netlist-title"
	ruleInclude    = "netlist-include"
	ruleLimit      = "netlist-limit"
	ruleSubcircuit = "netlist-subcircuit"
)

// maxText bounds one file, so that positions fit, and all inclusions together, so that files that include each other
// twice and twice again end.
const (
	maxText       = 1 << 30
	maxInclusions = 10_000
	maxChain      = 40
)

// Read reads a netlist from a file of the set, and what it includes. It never fails as a whole: what could not be read
// is a diagnostic, in the order of the text.
func Read(set *source.Set, file source.FileID, opt Options) (*Netlist, []source.Diagnostic) {
	n := &Netlist{Src: set, File: file, Names: []string{"0"}, Subs: []Sub{{}}, Extras: []Extra{{}},
		ids: map[string]NameID{"0": 0}, doubted: map[string]bool{}}
	r := &reader{n: n, opt: opt, models: map[string]bool{}, subs: map[string]bool{}, shared: map[NameID]bool{}}
	r.file(file, true)
	r.settle()
	r.diags = append(r.diags, n.notations()...)
	slices.SortStableFunc(r.diags, func(a, b source.Diagnostic) int {
		return cmp.Or(cmp.Compare(a.At.File, b.At.File), cmp.Compare(a.At.Byte, b.At.Byte))
	})
	return n, r.diags
}

// A reader holds what is open while cards are read.
type reader struct {
	n     *Netlist
	opt   Options
	diags []source.Diagnostic

	id      source.FileID
	text    []byte
	open    []SubID  // subcircuits, innermost last
	chain   []string // paths of the files being read
	total   int      // bytes of all inclusions
	files   int
	control source.Span // the .control card whose block is being skipped
	title   logical

	models, subs map[string]bool // lower case: defined anywhere
	shared       map[NameID]bool // the names of Globals
	undecided    []undecided
	unread       []unread
}

// An undecided card is a Q or M whose nodes are counted when all models are known, or one whose model may turn out to
// be a node.
type undecided struct {
	id     CardID
	syntax *syntax
	tokens []lexer.Token
}

// An unread card stands on every name it mentions.
type unread struct {
	id     CardID
	tokens []lexer.Token
}

func (r *reader) scope() SubID {
	if len(r.open) == 0 {
		return 0
	}
	return r.open[len(r.open)-1]
}

func (r *reader) report(d source.Diagnostic) { r.diags = append(r.diags, d) }

func (r *reader) span(from, to int) source.Span {
	return source.Span{Pos: source.Pos{File: r.id, Byte: uint32(from)}, Len: uint32(to - from)}
}

func (r *reader) tokenSpan(t *lexer.Token) source.Span {
	return r.span(t.Pos.Offset, t.Pos.Offset+len(t.Value))
}

// file reads one file from its start to its end or its .end card.
func (r *reader) file(id source.FileID, main bool) {
	f := r.n.Src.File(id)
	if r.total += len(f.Text); len(f.Text) > maxText || r.total > maxText {
		at := f.By
		if at.None() {
			at = source.Span{Pos: source.Pos{File: id}}
		}
		r.report(source.Diagnostic{At: at, Rule: ruleLimit, Message: "the netlist with all it includes is larger than 1 GiB"})
		return
	}
	outerID, outerText := r.id, r.text
	r.id, r.text = id, f.Text
	r.chain = append(r.chain, f.Path)
	defer func() {
		r.id, r.text, r.chain = outerID, outerText, r.chain[:len(r.chain)-1]
	}()

	l := &liner{text: f.Text, comment: func(from, to int) {
		if s, ok := pragma(f.Text, from, to); ok {
			r.n.Pragmas = append(r.n.Pragmas, r.span(s.From, s.To))
		}
	}}
	if bytes.HasPrefix(f.Text, []byte("\ufeff")) {
		l.at = 3
	}
	if main {
		r.readTitle(l)
	}
	for {
		card, ok := l.next()
		if !ok || r.card(card) {
			break
		}
	}
	if !r.control.None() && r.control.File == id {
		r.report(source.Diagnostic{At: r.control, Rule: ruleCard, Message: ".control has no .endc: what follows it was not read"})
		r.control = source.Span{}
	}
}

// readTitle takes the first line for the title, unless it is a dot card.
func (r *reader) readTitle(l *liner) {
	start := l.at
	from, to, ok := l.line()
	if !ok {
		return
	}
	for from < to && blank(l.text[from]) {
		from++
	}
	for from < to && blank(l.text[to-1]) {
		to--
	}
	if to-from > 1 && l.text[from] == '.' && 'a' <= lower(l.text[from+1]) && lower(l.text[from+1]) <= 'z' {
		l.at = start
		return
	}
	r.n.Title = r.span(from, to)
	if from < to && l.text[from] == '*' {
		l.comment(from+1, to)
		return
	}
	if s := l.trim(from, to); s.From < s.To {
		r.title = logical{s}
	}
}

// card reads one card; it returns true for the .end card.
func (r *reader) card(card logical) (end bool) {
	tokens := scan(r.text, card)
	head := &tokens[0]
	whole := r.span(card[0].From, card[len(card)-1].To)
	if last := card[len(card)-1]; last.From == last.To {
		whole = r.span(card[0].From, lastByte(tokens)) // an empty "+" line says nothing
	}
	if r.skipped(head, whole) {
		return false
	}
	s, err := parseCard(tokens)
	if err != nil {
		r.refuse(tokens, whole, explain(tokens, err))
		return false
	}
	switch {
	case s.End:
		return true
	case s.Other:
		r.other(head, whole)
	case s.Include != nil:
		r.include(s.Include, whole)
	case s.Subckt != nil:
		r.subckt(s.Subckt, whole)
	case s.Ends != nil:
		r.ends(s.Ends, whole)
	case s.Params != nil:
		r.params(s.Params)
	case s.Model != nil:
		r.model(s.Model, whole)
	case s.Global != nil:
		r.global(s.Global)
	default:
		r.element(s, tokens, whole)
	}
	return false
}

func lastByte(tokens []lexer.Token) int {
	if len(tokens) < 2 {
		return tokens[0].Pos.Offset
	}
	t := &tokens[len(tokens)-2]
	return t.Pos.Offset + len(t.Value)
}
