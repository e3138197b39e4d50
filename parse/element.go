package parse

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/alecthomas/participle/v2/lexer"

	"github.com/shuntwright/shuntwright/parse/source"
)

// element files an element card.
func (r *reader) element(s *syntax, tokens []lexer.Token, whole source.Span) {
	head := &tokens[0]
	id := CardID(len(r.n.Cards))
	if s.Device != nil || s.Diode != nil || s.Fet != nil || s.Passive != nil && s.Passive.modelFirst() {
		// Its place in the order of cards is kept; what it is waits for the models.
		r.n.Cards = append(r.n.Cards, r.bare(head, whole))
		r.mark(id)
		r.undecided = append(r.undecided, undecided{id, s, tokens})
		return
	}
	sh, why := shapeOf(s, head, func(string) bool { return false })
	if why != nil {
		r.refuse(tokens, whole, why)
		return
	}
	r.n.Cards = append(r.n.Cards, r.bare(head, whole))
	r.mark(id)
	r.fill(id, sh)
}

// bare is a card of which only place, name and letter are known.
func (r *reader) bare(head *lexer.Token, whole source.Span) Card {
	kind := lower(head.Value[0]) - 'a' + 'A'
	return Card{At: whole, Name: uint32(len(head.Value)), Scope: r.scope(), Kind: kind, Value: math.NaN()}
}

// fill tables what a card says.
func (r *reader) fill(id CardID, sh *shape) {
	n := r.n
	c := &n.Cards[id]
	at := func(from, to uint32) source.Span {
		return source.Span{Pos: source.Pos{File: c.At.File, Byte: from}, Len: to - from}
	}
	c.First, c.N = uint32(len(n.Nodes)), uint32(len(sh.nodes))
	for i := range sh.nodes {
		n.Nodes = append(n.Nodes, r.node(&sh.nodes[i], c.At.File))
	}
	if sh.ref != nil {
		c.Ref = n.ref(sh.ref.Value)
	}
	var x Extra
	if v := sh.value; v != nil {
		c.Value, x.Value = v.Number, v.Expr
		if v.Expr != nil {
			c.Value = math.NaN()
		}
		c.Digits, c.Wide = v.From-c.At.Byte, v.To-v.From
	}
	x.Params = paramsOf(sh.assigns, at)
	x.Flags, x.Law = sh.flags, sh.law
	for i := range sh.args {
		x.Law.Args = append(x.Law.Args, sh.args[i].value(at))
	}
	for i := range sh.names {
		x.Names = append(x.Names, n.ref(sh.names[i].Value))
	}
	if p := sh.drive; p != nil {
		x.Drive = &Drive{AC: p.ac}
		if p.dc != nil {
			v := p.dc.value(at)
			x.Drive.DC = &v
		}
		for i := range p.phasor {
			x.Drive.Phasor = append(x.Drive.Phasor, p.phasor[i].value(at))
		}
		if p.wave != nil {
			x.Drive.Function = waves[strings.ToLower(p.wave.Value)]
			x.Drive.At = at(extent(p.wave))
			for i := range p.args {
				x.Drive.Args = append(x.Drive.Args, p.args[i].value(at))
			}
		}
	}
	if x.Value != nil || x.Params != nil || x.Flags != nil || x.Law != nil || x.Names != nil || x.Drive != nil {
		c.Extra = uint32(len(n.Extras))
		n.Extras = append(n.Extras, x)
	}
}

// isGround tells a name that stands for node 0 besides "0" itself.
func isGround(name string) bool {
	return strings.EqualFold(name, "gnd") || strings.EqualFold(name, "gnd!")
}

// node tables a node name. "gnd" is node 0; the first one is noted, so that it can be said once.
func (r *reader) node(t *name, file source.FileID) NameID {
	if isGround(t.Value) {
		at := source.Span{Pos: source.Pos{File: file, Byte: uint32(t.Pos.Offset)}, Len: uint32(len(t.Value))}
		if was := r.n.GroundAlias; was.None() || was.File == at.File && at.Byte < was.Byte {
			r.n.GroundAlias = at // some cards are tabled late
		}
		return 0
	}
	if t.Value == "0" {
		return 0
	}
	return r.n.node(t.Value)
}

func paramsOf(list []assign, at func(from, to uint32) source.Span) (out []Param) {
	for i := range list {
		a := &list[i]
		v := operand(a.Value)
		p := Param{Name: a.Name.Value, Value: v.value(at)}
		for j := range a.More {
			p.More = append(p.More, a.More[j].value(at))
		}
		for j := range a.Rest {
			p.More = append(p.More, (*operand)(&a.Rest[j]).value(at))
		}
		slices.SortStableFunc(p.More, func(a, b Value) int { return int(a.At.Byte) - int(b.At.Byte) })
		out = append(out, p)
	}
	return out
}

// refuse reports a card that cannot be read, once, and keeps it as something unknown.
func (r *reader) refuse(tokens []lexer.Token, whole source.Span, why *refusal) {
	d := source.Diagnostic{At: whole, Rule: cmp.Or(why.rule, ruleCard), Message: why.message, Near: why.near}
	if why.at != nil {
		d.At = r.tokenSpan(why.at)
	}
	r.report(d)
	head := &tokens[0]
	switch head.Type {
	case tSubckt:
		r.brokenSubckt(tokens, whole)
	case tEnds:
		r.close(len(r.open) - 1)
	case tIf:
		r.choose(whole, nil, true)
	case tElseif, tElse:
		r.chooseElse(whole, nil, true)
	}
	if head.Value != "" && head.Value[0] == '.' {
		for i := range tokens[1:] {
			r.n.doubted[strings.ToLower(tokens[i+1].Value)] = true
		}
	}
	c := Card{At: whole, Name: uint32(len(head.Value)), Scope: r.scope(), Kind: '?', Value: math.NaN()}
	r.mark(CardID(len(r.n.Cards)))
	r.unread = append(r.unread, unread{CardID(len(r.n.Cards)), tokens})
	r.n.Cards = append(r.n.Cards, c)
}
