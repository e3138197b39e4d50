package parse

import (
	"fmt"
	"maps"
	"math"
	"strings"

	"github.com/alecthomas/participle/v2/lexer"

	"github.com/shuntwright/shuntwright/parse/source"
)

// idle are dot words that say nothing about the drawn circuit. A word that is near none of these but near a word that
// does is taken for a slip of the pen.
var idle = map[string]bool{
	".ac": true, ".dc": true, ".tran": true, ".op": true, ".tf": true, ".sens": true, ".noise": true, ".pz": true,
	".disto": true, ".four": true, ".temp": true, ".options": true, ".option": true, ".ic": true, ".nodeset": true,
	".print": true, ".plot": true, ".save": true, ".width": true, ".measure": true, ".meas": true, ".probe": true,
	".lin": true, ".env": true, ".hb": true, ".sp": true, ".mc": true, ".wcase": true, ".stb": true, ".net": true, ".fft": true, ".load": true, ".backanno": true,
	".title": true, ".end": true, ".endc": true, ".protect": true, ".unprotect": true,
	".step": true, ".data": true, ".enddata": true, ".alter": true,
}

// further are the idle words that ask for more runs with other values.
var further = map[string]bool{".step": true, ".data": true, ".alter": true}

// Harmless tells that an ignored card is known to say nothing about the drawn circuit.
func (c Ignored) Harmless() bool {
	word := strings.ToLower(c.Word)
	return idle[word] || word == ".control"
}

// Further tells that an ignored card asks for more runs with other values, which are not judged.
func (c Ignored) Further() bool { return further[strings.ToLower(c.Word)] }

// other handles a dot card that is not part of the language.
func (r *reader) other(head *lexer.Token, whole source.Span) {
	word := strings.ToLower(head.Value)
	switch {
	case word == ".alter":
		r.altered = true
	case word == ".data":
		r.data = whole
	case word == ".options", word == ".option":
		r.options(whole)
	case !idle[word]:
		if near := source.Nearest(word, maps.Keys(dotWords)); near != "" {
			r.refuse(r.retold(whole), whole, &refusal{at: head, message: `unknown dot card "` + head.Value + `"`, near: near})
			return
		}
	}
	r.ignore(head, whole)
}

func (r *reader) ignore(head *lexer.Token, whole source.Span) {
	r.n.Ignored = append(r.n.Ignored, Ignored{whole, head.Value, r.scope(), r.guard()})
}

// retold cuts a card into words after all, because they may name nodes.
func (r *reader) retold(whole source.Span) []lexer.Token {
	text, card := r.again(whole)
	s := &scanner{text: text, card: card, at: int(whole.Byte), head: tStray}
	s.words()
	return append(s.tokens, lexer.EOFToken(lexer.Position{Offset: len(text)}))
}

// again cuts out a card that was read before.
func (r *reader) again(whole source.Span) (text []byte, card logical) {
	text = r.n.Src.File(whole.File).Text[:whole.Byte+whole.Len]
	l := &liner{text: text, at: int(whole.Byte), comment: func(int, int) {}}
	card, _ = l.next()
	return text, card
}

// passing tells that cards are being passed over.
func (r *reader) passing() bool {
	return r.altered || !r.control.None() || !r.data.None() || r.lib.elsewhere()
}

// skipped passes over what is no card of the circuit: commands to a program, rows of numbers, sections of a library that
// nobody asked for, and changes for further runs.
func (r *reader) skipped(head *lexer.Token, whole source.Span) bool {
	word := strings.ToLower(head.Value)
	switch {
	case !r.control.None():
		if word == ".endc" {
			r.control = source.Span{}
		}
		return true
	case !r.data.None():
		if word == ".enddata" {
			r.data = source.Span{}
		}
		return true
	case r.altered:
		return word != ".end"
	case r.lib.elsewhere():
		return head.Type != tLib && head.Type != tEndl
	case word == ".control":
		r.control = whole
		r.ignore(head, whole)
		return true
	}
	return false
}

// unclosed reports a block that the end of its file leaves open.
func (r *reader) unclosed(at *source.Span, message string) {
	if !at.None() && at.File == r.id {
		r.report(source.Diagnostic{At: *at, Rule: ruleCard, Message: message})
		*at = source.Span{}
	}
}

func (r *reader) place(from, to uint32) source.Span { return r.span(int(from), int(to)) }

func (r *reader) subckt(s *subckt, whole source.Span) {
	n := r.n
	sub := Sub{At: whole, Name: n.ref(s.Name.Value), Up: r.scope(), First: CardID(len(n.Cards)),
		Params: paramsOf(s.Tail, r.place), Guard: r.guard()}
	if n.Guards[sub.Guard].Scope != 0 {
		// Which body a call means would differ from instance to instance.
		r.report(source.Diagnostic{At: whole, Rule: ruleSubcircuit, Message: fmt.Sprintf(
			"subcircuit %s is defined under a condition inside another subcircuit, which is not understood", s.Name.Value)})
		sub.Broken = true
	}
	seen := map[NameID]bool{}
	for i := range s.Ports {
		t := &s.Ports[i]
		port := r.node(t, r.id)
		why := ""
		switch {
		case port == 0:
			why = "ground is no port of a subcircuit: it is the same node everywhere"
		case seen[port]:
			why = fmt.Sprintf("port %q of subcircuit %s is named twice", t.Value, s.Name.Value)
		}
		if why != "" && !sub.Broken {
			r.report(source.Diagnostic{At: r.tokenSpan((*lexer.Token)(t)), Rule: ruleSubcircuit, Message: why})
			sub.Broken = true
		}
		seen[port] = true
		sub.Ports = append(sub.Ports, port)
	}
	r.subs[strings.ToLower(s.Name.Value)] = true
	r.open = append(r.open, SubID(len(n.Subs)))
	n.Subs = append(n.Subs, sub)
}

// brokenSubckt opens a body whose head could not be read, so that its cards do not spill into the netlist.
func (r *reader) brokenSubckt(tokens []lexer.Token, whole source.Span) {
	n := r.n
	sub := Sub{At: whole, Up: r.scope(), First: CardID(len(n.Cards)), Broken: true}
	if t := &tokens[1]; t.Type == tWord || t.Type == tString {
		sub.Name = n.ref(t.Value)
		r.subs[strings.ToLower(t.Value)] = true
	}
	r.open = append(r.open, SubID(len(n.Subs)))
	n.Subs = append(n.Subs, sub)
}

// ends closes subcircuits: without a name all that are open, as the language has it.
func (r *reader) ends(s *ends, whole source.Span) {
	fail := func(message, near string) {
		r.report(source.Diagnostic{At: whole, Rule: ruleCard, Message: message, Near: near})
	}
	switch {
	case len(r.open) == 0:
		fail(".ends closes nothing: no subcircuit is open", "")
		return
	case s.Name == nil && len(r.open) > 1 && r.closesOne(whole):
		r.close(len(r.open) - 1)
		return
	case s.Name == nil:
		r.close(0)
		return
	}
	name := s.Name.Value
	id, _ := r.n.RefID(name)
	k := len(r.open) - 1
	for k >= 0 && (id == 0 || r.n.Subs[r.open[k]].Name != id) {
		k--
	}
	switch {
	case k < 0:
		k = len(r.open) - 1
		if inner := r.n.Subs[r.open[k]].Name; inner != 0 {
			near := r.hints.Nearest(name, r.openNames)
			fail(fmt.Sprintf(".ends %s closes no open subcircuit: it was taken to close %s", name, r.n.Names[inner]), near)
		}
	case k < len(r.open)-1:
		inner := r.n.Subs[r.open[len(r.open)-1]]
		fail(fmt.Sprintf(".ends %s also closes %s, which is still open", name, r.n.Names[inner.Name]), "")
	}
	r.close(k)
}

// closesOne tells that an .ends without a name, by which the manual closes all that is open, was meant for the innermost:
// more cards that close follow in the file than cards that open.
func (r *reader) closesOne(whole source.Span) bool {
	if r.levels == nil || r.levels.file != r.id {
		r.levels = levelsOf(r.id, r.text)
	}
	return r.levels.after(whole.Byte) > 0
}

func (r *reader) openNames(yield func(string) bool) {
	for _, id := range r.open {
		if !yield(r.n.Names[r.n.Subs[id].Name]) {
			return
		}
	}
}

// close ends the open subcircuits from the k-th on.
func (r *reader) close(k int) {
	for k = max(k, 0); len(r.open) > k; r.open = r.open[:len(r.open)-1] {
		first := len(r.ifs)
		for first > 0 && r.ifs[first-1].depth == len(r.open) {
			first--
		}
		r.closeIfs(first)
		r.n.Subs[r.scope()].End = CardID(len(r.n.Cards))
	}
}

func (r *reader) params(s *params) {
	for i := range s.List {
		d := &s.List[i]
		if d.Args != nil {
			if d.Expr.Op == Quoted {
				r.report(source.Diagnostic{At: r.place(d.Expr.From, d.Expr.To), Rule: ruleExpression,
					Message: fmt.Sprintf("function %s is a text in quotes and no expression", d.Name.Value)})
				continue
			}
			r.define(&d.Name, d.Args, (*Expr)(d.Expr))
			continue
		}
		v := Value{Number: math.NaN(), Expr: (*Expr)(d.Expr), At: r.place(d.Expr.From, d.Expr.To)}
		if v.Expr.Op == Literal {
			v.Number, v.Expr = v.Expr.Number, nil
		}
		sub := &r.n.Subs[r.scope()]
		sub.Locals = append(sub.Locals, Param{Name: d.Name.Value, Value: v, Guard: r.guard()})
	}
}

// define files a function.
func (r *reader) define(name *lexer.Token, args *formals, body *Expr) {
	f := Function{Name: name.Value, Body: body, At: r.place(body.From, body.To), Guard: r.guard()}
	seen := map[string]bool{}
	for i := range args.Names {
		arg := args.Names[i].Name.Value
		key := strings.ToLower(arg)
		if seen[key] {
			r.report(source.Diagnostic{At: r.tokenSpan(&args.Names[i].Name), Rule: ruleExpression,
				Message: fmt.Sprintf("function %s names its argument %s twice", f.Name, arg)})
		}
		seen[key] = true
		f.Args = append(f.Args, arg)
	}
	sub := &r.n.Subs[r.scope()]
	sub.Functions = append(sub.Functions, f)
}

func (r *reader) model(s *model, whole source.Span) {
	r.models[strings.ToLower(s.Name.Value)] = true
	m := Model{At: whole, Name: r.n.ref(s.Name.Value), Scope: r.scope(), Params: paramsOf(s.Tail, r.place), Guard: r.guard()}
	if s.Type != nil {
		m.Type = strings.ToUpper(s.Type.Value)
	}
	if s.Base != nil {
		m.Base = r.n.ref(s.Base.Value)
	}
	r.n.Models = append(r.n.Models, m)
}

func (r *reader) global(s *global, whole source.Span) {
	if r.guard() != 0 {
		r.report(source.Diagnostic{At: whole, Rule: ruleCard, Message: "a .global card under a condition is not understood: its nodes are not joined"})
		return
	}
	for i := range s.Names {
		if id := r.node(&s.Names[i], r.id); id != 0 && !r.shared[id] {
			r.shared[id] = true
			r.n.Globals = append(r.n.Globals, id)
		}
	}
}
