package parse

import (
	"bytes"
	"cmp"
	"context"
	"slices"

	"github.com/alecthomas/participle/v2/lexer"

	"github.com/shuntwright/shuntwright/parse/source"
)

// Options say how a netlist is read.
type Options struct {
	// Include opens what an .include card names: its text and the path to print for it. The caller decides which files
	// may be opened; nil refuses every include.
	Include func(path string, from source.FileID) (text []byte, shown string, err error)

	// FirstIsCard reads the first line like any other; by the standard it is the title, whatever it says.
	FirstIsCard bool

	// GrammarOnly leaves every card to the grammar. It is far slower and reads the same.
	GrammarOnly bool

	Limits  Limits          // on the work, expansion included
	Context context.Context // ends it early; nil: nothing does
}

// The rule ids of what can be wrong with a netlist's text.
const (
	ruleCard       = "netlist-card"
	ruleTitle      = "netlist-title"
	ruleInclude    = "netlist-include"
	ruleLimit      = "netlist-limit"
	ruleSubcircuit = "netlist-subcircuit"
	ruleExpression = "netlist-expression"
)

// Read reads a netlist from a file of the set, and what it includes. It never fails as a whole: what could not be read
// is a diagnostic, in the order of the text.
func Read(set *source.Set, file source.FileID, opt Options) (*Netlist, []source.Diagnostic) {
	n := &Netlist{Src: set, File: file, Subs: []Sub{{}}, Extras: []Extra{{}}, Limits: opt.Limits.OrStandard(), ctx: opt.Context,
		Tnom: nominalCelsius, table: newNameTable(), doubted: map[string]bool{}, Guards: []Guard{{}}, guarded: map[CardID]GuardID{}}
	n.Names = n.table.names
	r := &reader{n: n, opt: opt, models: map[string]bool{}, subs: map[string]bool{}, shared: map[NameID]bool{},
		keys: map[string]string{}, hints: source.Hints{Left: 2_000_000}}
	r.file(file, "", true)
	if err := n.Stopped(); err != nil {
		r.close(0)
		n.Subs[0].End = CardID(len(n.Cards))
		r.report(source.Diagnostic{At: source.Span{Pos: source.Pos{File: file}}, Rule: ruleLimit,
			Message: "the netlist was not read to its end: " + err.Error()})
		return n, r.diags
	}
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
	chain   []string // paths of the files being read, with the section where only one is
	total   int      // bytes of all inclusions
	files   int
	control source.Span // the .control card whose block is being skipped
	data    source.Span // the .data card whose rows are being skipped
	altered bool        // what follows describes other runs
	lib     library
	ifs     []choice
	levels  *levels
	full    bool // there are too many cards
	hints   source.Hints
	title   logical

	models, subs map[string]bool // lower case: defined anywhere
	shared       map[NameID]bool // the names of Globals
	undecided    []undecided
	counted      []CardID          // plain M cards, whose nodes are counted again when all models are known
	keys         map[string]string // names of parameters, each kept once
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

func (r *reader) report(d source.Diagnostic) { r.diags = source.Report(r.diags, d, ruleLimit) }

func (r *reader) span(from, to int) source.Span {
	return source.Span{Pos: source.Pos{File: r.id, Byte: uint32(from)}, Len: uint32(to - from)}
}

func (r *reader) tokenSpan(t *lexer.Token) source.Span {
	return r.span(t.Pos.Offset, t.Pos.Offset+len(t.Value))
}

// file reads one file from its start to its end or its .end card, or one section of it.
func (r *reader) file(id source.FileID, section string, main bool) {
	f := r.n.Src.File(id)
	if why := r.tooLong(f); why != nil {
		at := f.By
		if at.None() {
			at = source.Span{Pos: source.Pos{File: id}}
		}
		r.report(source.Diagnostic{At: at, Rule: ruleLimit, Message: why.Error()})
		return
	}
	outerID, outerText, outerLib := r.id, r.text, r.lib
	r.id, r.text, r.lib = id, f.Text, library{want: section}
	r.chain = append(r.chain, link(f.Path, section))
	ifs := len(r.ifs)
	defer func() {
		r.id, r.text, r.lib, r.chain = outerID, outerText, outerLib, r.chain[:len(r.chain)-1]
	}()

	start := 0
	if bytes.HasPrefix(f.Text, []byte("\ufeff")) {
		start = 3
	}
	if main && !r.opt.FirstIsCard {
		start = r.readTitle(start)
	}
	r.expect(len(f.Text))
	batches(f.Text, start, batch{slow: r.opt.GrammarOnly, limits: r.n.Limits}, r.lay)
	r.unclosed(&r.control, ".control has no .endc: what follows it was not read")
	r.unclosed(&r.data, ".data has no .enddata: what follows it was not read")
	r.unclosed(&r.lib.at, "the section "+r.lib.name+" has no .endl")
	r.closeIfs(ifs)
	r.wanted(f)
}

// readTitle takes the first line for the title, unless it is a dot card, and returns where the cards start.
func (r *reader) readTitle(start int) int {
	l := &liner{text: r.text, at: start}
	from, to, ok := l.line()
	if !ok {
		return start
	}
	for from < to && blank(l.text[from]) {
		from++
	}
	for from < to && blank(l.text[to-1]) {
		to--
	}
	if to-from > 1 && l.text[from] == '.' && 'a' <= lower(l.text[from+1]) && lower(l.text[from+1]) <= 'z' {
		return start
	}
	r.n.Title = r.span(from, to)
	if from < to && l.text[from] == '*' {
		if s, ok := pragma(l.text, from+1, to); ok {
			r.n.Pragmas = append(r.n.Pragmas, r.span(s.From, s.To))
		}
		return l.at
	}
	if s := l.trim(from, to); s.From < s.To {
		r.title = logical{s}
	}
	return l.at
}

// lay lays down what was read from a batch; it returns false behind the .end card.
func (r *reader) lay(b *batch) bool {
	if r.overfull(b) {
		return false
	}
	done := 0
	for i := range b.events {
		e := &b.events[i]
		if r.n.Stopped() != nil {
			return false
		}
		r.layPlain(b, done, e.after)
		done = e.after
		if e.card == nil {
			r.n.Pragmas = append(r.n.Pragmas, r.span(e.pragma.From, e.pragma.To))
		} else if r.card(e) {
			return false
		}
	}
	r.layPlain(b, done, len(b.plains))
	return r.n.Stopped() == nil
}

// overfull tells, with one report, that the netlist has more cards than its flat circuit may have elements.
func (r *reader) overfull(b *batch) bool {
	if most := r.n.Limits.Elements; len(r.n.Cards) > most && !r.full {
		r.full = true
		why := &LimitError{Elements, most, "what follows is not read: there are more than", "cards"}
		r.report(source.Diagnostic{At: r.span(b.from, b.from), Rule: ruleLimit, Message: why.Error()})
	}
	return r.full
}

// card lays down a card that the grammar read; it returns true for the .end card.
func (r *reader) card(e *event) (end bool) {
	card, tokens, s := e.card, e.tokens, e.syntax
	head := &tokens[0]
	whole := r.span(card[0].From, card[len(card)-1].To)
	if last := card[len(card)-1]; last.From == last.To {
		whole = r.span(card[0].From, lastByte(tokens)) // an empty "+" line says nothing
	}
	if r.skipped(head, whole) {
		return false
	}
	if head.Type != tLib && head.Type != tEndl {
		r.lib.outside = r.lib.outside || r.lib.at.None()
	}
	if e.why == nil && e.err != nil {
		e.why = explain(tokens, e.err)
	}
	if e.why != nil {
		r.refuse(tokens, whole, e.why)
		return false
	}
	switch {
	case s.End:
		return true
	case s.Other:
		r.other(head, whole)
	case s.Include != nil:
		r.include(s.Include.Path.Value, "", whole)
	case s.Subckt != nil:
		r.subckt(s.Subckt, whole)
	case s.Ends != nil:
		r.ends(s.Ends, whole)
	case s.Params != nil:
		r.params(s.Params)
	case s.Model != nil:
		r.model(s.Model, whole)
	case s.Global != nil:
		r.global(s.Global, whole)
	case s.Func != nil:
		r.define(&s.Func.Name, s.Func.Args, s.Func.Expr)
	case s.Lib != nil:
		r.library(s.Lib, whole)
	case s.Endl != nil:
		r.endl(s.Endl, whole)
	case s.If != nil:
		r.choose(whole, s.If, false)
	case s.Elseif != nil:
		r.chooseElse(whole, s.Elseif, false)
	case s.Else:
		r.chooseElse(whole, nil, false)
	case s.Endif:
		r.endif(whole)
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
