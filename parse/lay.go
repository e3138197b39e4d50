package parse

import (
	"slices"

	"github.com/alecthomas/participle/v2/lexer"

	"github.com/shuntwright/shuntwright/parse/source"
)

// expect makes room for what a large file will bring.
func (r *reader) expect(bytes int) {
	const large, perCard = 1 << 20, 24
	if cards := bytes / perCard; bytes > large {
		r.n.Cards = slices.Grow(r.n.Cards, cards)
		r.n.Nodes = slices.Grow(r.n.Nodes, 2*cards)
		r.n.table.expect(cards)
	}
}

// layPlain lays down plain cards from one to before another.
func (r *reader) layPlain(b *batch, from, to int) {
	if from == to || r.passing() {
		return
	}
	r.lib.outside = r.lib.outside || r.lib.at.None()
	n, scope := r.n, r.scope()
	if from == 0 {
		b.touched = n.table.touch(b.names[firstLocal:])
	}
	guard := r.guard()
	for i := from; i < to; i++ {
		p := &b.plains[i]
		c := Card{At: source.Span{Pos: source.Pos{File: r.id, Byte: p.at}, Len: p.length}, Name: uint32(p.name), Scope: scope,
			First: uint32(len(n.Nodes)), N: uint32(p.n), Digits: p.digits, Wide: p.wide, Value: p.value, Kind: p.kind, tidy: p.tidy}
		for _, k := range b.nodes[p.first : p.first+uint32(p.n)] {
			n.Nodes = append(n.Nodes, r.numbered(b, k))
		}
		if p.ref != 0 {
			c.Ref = r.numbered(b, p.ref)
		}
		if p.paired > 0 {
			c.Extra = uint32(len(n.Extras))
			n.Extras = append(n.Extras, Extra{Params: r.pairs(b.pairs[p.params : p.params+uint32(p.paired)])})
		}
		if p.kind == 'M' {
			r.counted = append(r.counted, CardID(len(n.Cards)))
		}
		if guard != 0 {
			r.mark(CardID(len(n.Cards)))
		}
		n.Cards = append(n.Cards, c)
	}
}

// numbered is the number in the netlist of a name of a batch.
func (r *reader) numbered(b *batch, k uint32) NameID {
	l := &b.names[k]
	if l.known {
		return l.id
	}
	text := b.text[l.from:l.to]
	if l.known = true; !l.ref && (len(text) == 3 || len(text) == 4) && isGround(string(text)) {
		l.id = r.node(&name{Value: string(text), Pos: lexer.Position{Offset: int(l.from)}}, r.id)
	} else {
		l.id = r.n.number(text, l.hash, l.ref)
	}
	return l.id
}

func (r *reader) pairs(list []plainParam) []Param {
	params := make([]Param, len(list))
	for i, p := range list {
		name, ok := r.keys[string(r.text[p.name:p.nameEnd])]
		if !ok {
			name = string(r.text[p.name:p.nameEnd])
			r.keys[name] = name
		}
		params[i] = Param{Name: name, Value: Value{Number: p.number, At: r.place(p.digits, p.end)}}
	}
	return params
}

// recount counts the nodes of plain M cards now that all models are known: their fourth node may be a model.
func (r *reader) recount() {
	for _, id := range r.counted {
		c := &r.n.Cards[id]
		if c.N == 4 && !r.known(r.n.Names[r.n.Nodes[c.First+3]]) || c.N == 3 && r.known(r.n.Names[c.Ref]) {
			continue
		}
		tokens := scan(r.again(c.At))
		s, err := parseCard(tokens)
		if err != nil {
			continue // it was a card before
		}
		*c = Card{At: c.At, Name: c.Name, Scope: c.Scope, Kind: c.Kind, Value: nan}
		r.undecided = append(r.undecided, undecided{id, s, tokens})
	}
}
