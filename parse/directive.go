package parse

import (
	"fmt"
	"maps"
	"math"
	"slices"
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
	".step": true, ".title": true, ".end": true, ".endc": true,
	".lib": true, ".endl": true, ".func": true, ".data": true, ".enddata": true, ".alter": true,
}

// defining are the idle words that do define something: what they would bring is missing.
var defining = map[string]bool{".lib": true, ".endl": true, ".func": true, ".alter": true, ".data": true, ".enddata": true}

// Harmless tells that an ignored card is known to say nothing about the drawn circuit.
func (c Ignored) Harmless() bool {
	word := strings.ToLower(c.Word)
	return (idle[word] || word == ".control") && !defining[word]
}

var choices = map[string]bool{".if": true, ".elseif": true, ".else": true, ".endif": true}

// other handles a dot card that is not part of the language.
func (r *reader) other(head *lexer.Token, whole source.Span) {
	word := strings.ToLower(head.Value)
	switch {
	case choices[word]:
		r.report(source.Diagnostic{At: whole, Rule: ruleCard,
			Message: "conditional cards are not understood: " + word + " is left out and every branch is read"})
		return
	case !idle[word]:
		if near := source.Nearest(word, maps.Keys(dotWords)); near != "" {
			r.refuse(r.retold(whole), whole, &refusal{at: head, message: `unknown dot card "` + head.Value + `"`, near: near})
			return
		}
	}
	r.n.Ignored = append(r.n.Ignored, Ignored{whole, head.Value})
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
func (r *reader) passing() bool { return !r.control.None() }

// skipped passes over a block of commands to a program, which are no cards.
func (r *reader) skipped(head *lexer.Token, whole source.Span) bool {
	word := strings.ToLower(head.Value)
	switch {
	case !r.control.None():
		if word == ".endc" {
			r.control = source.Span{}
		}
		return true
	case word == ".control":
		r.control = whole
		r.n.Ignored = append(r.n.Ignored, Ignored{whole, head.Value})
		return true
	}
	return false
}

func (r *reader) include(s *include, whole source.Span) {
	path := s.Path.Value
	fail := func(rule, message string, related ...source.Related) {
		r.report(source.Diagnostic{At: whole, Rule: rule, Message: message, Related: related})
	}
	r.files++
	switch {
	case r.opt.Include == nil:
		fail(ruleInclude, fmt.Sprintf("%q is not read: includes are not allowed here", path))
		return
	case len(r.chain) > maxChain:
		fail(ruleInclude, fmt.Sprintf("%q is not read: includes nest deeper than %d", path, maxChain), r.includers()...)
		return
	case r.files > maxInclusions:
		if r.files == maxInclusions+1 {
			fail(ruleLimit, fmt.Sprintf("more than %d files are included", maxInclusions))
		}
		return
	}
	text, shown, err := r.opt.Include(path, r.id)
	if err != nil {
		fail(ruleInclude, fmt.Sprintf("%q cannot be included: %v", path, err))
		return
	}
	if k := slices.Index(r.chain, shown); k >= 0 {
		circle := append(slices.Clone(r.chain[k:]), shown)
		fail(ruleInclude, fmt.Sprintf("%q includes itself: %s", path, strings.Join(circle, " -> ")), r.includers()...)
		return
	}
	r.file(r.n.Src.Add(shown, text, whole), false)
}

// includers are the include cards that lead to the file being read.
func (r *reader) includers() (list []source.Related) {
	for _, by := range r.n.Src.Chain(r.id) {
		list = append(list, source.Related{At: by, Message: "included here"})
	}
	return list
}

func (r *reader) place(from, to uint32) source.Span { return r.span(int(from), int(to)) }

func (r *reader) subckt(s *subckt, whole source.Span) {
	n := r.n
	sub := Sub{At: whole, Name: n.ref(s.Name.Value), Up: r.scope(), First: CardID(len(n.Cards)),
		Params: paramsOf(s.Tail, r.place)}
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
			near := source.Nearest(name, slices.Values(r.openNames()))
			fail(fmt.Sprintf(".ends %s closes no open subcircuit: it was taken to close %s", name, r.n.Names[inner]), near)
		}
	case k < len(r.open)-1:
		inner := r.n.Subs[r.open[len(r.open)-1]]
		fail(fmt.Sprintf(".ends %s also closes %s, which is still open", name, r.n.Names[inner.Name]), "")
	}
	r.close(k)
}

func (r *reader) openNames() (names []string) {
	for _, id := range r.open {
		names = append(names, r.n.Names[r.n.Subs[id].Name])
	}
	return names
}

// close ends the open subcircuits from the k-th on.
func (r *reader) close(k int) {
	for k = max(k, 0); len(r.open) > k; r.open = r.open[:len(r.open)-1] {
		r.n.Subs[r.scope()].End = CardID(len(r.n.Cards))
	}
}

func (r *reader) params(s *params) {
	sub := &r.n.Subs[r.scope()]
	for i := range s.List {
		d := &s.List[i]
		v := Value{Number: math.NaN(), Expr: d.Expr, At: r.place(d.Expr.From, d.Expr.To)}
		if d.Expr.Op == Literal {
			v.Number, v.Expr = d.Expr.Number, nil
		}
		sub.Locals = append(sub.Locals, Param{Name: d.Name.Value, Value: v})
	}
}

func (r *reader) model(s *model, whole source.Span) {
	r.models[strings.ToLower(s.Name.Value)] = true
	r.n.Models = append(r.n.Models, Model{At: whole, Name: r.n.ref(s.Name.Value),
		Type: strings.ToUpper(s.Type.Value), Scope: r.scope(), Params: paramsOf(s.Tail, r.place)})
}

func (r *reader) global(s *global) {
	for i := range s.Names {
		if id := r.node(&s.Names[i], r.id); id != 0 && !r.shared[id] {
			r.shared[id] = true
			r.n.Globals = append(r.n.Globals, id)
		}
	}
}
