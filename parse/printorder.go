package parse

import (
	"cmp"
	"iter"
	"slices"

	"github.com/shuntwright/shuntwright/parse/source"
)

// A printItem is one thing that a card said.
type printItem struct {
	what  int
	index int // in the table of its kind
	at    source.Pos
	scope SubID   // of a pragma unknown
	guard GuardID // the branch around it
}

// The kinds of printItem.
const (
	printedPragma = iota
	printedSubckt
	printedGuard
	printedCard
	printedParam
	printedFunction
	printedModel
	printedIgnored
)

// sequence is all that the netlist holds, in the order in which it was read.
func (p *printer) sequence() iter.Seq[printItem] {
	n := p.n
	var list []printItem
	add := func(what, index int, at source.Span, scope SubID, guard GuardID) {
		list = append(list, printItem{what, index, at.Pos, scope, guard})
	}
	for i, at := range n.Pragmas {
		if t := n.Title; at.File != t.File || at.Byte < t.Byte || at.Byte+at.Len > t.Byte+t.Len { // else the title says it
			add(printedPragma, i, at, 0, 0)
		}
	}
	for i := range n.Subs {
		s := &n.Subs[i]
		if i > 0 {
			add(printedSubckt, i, s.At, s.Up, s.Guard)
		}
		for j := range s.Locals {
			add(printedParam, j, s.Locals[j].At, SubID(i), s.Locals[j].Guard)
		}
		for j := range s.Functions {
			add(printedFunction, j, s.Functions[j].At, SubID(i), s.Functions[j].Guard)
		}
	}
	for i := 1; i < len(n.Guards); i++ {
		add(printedGuard, i, n.Guards[i].At, n.Guards[i].Scope, n.Guards[i].Up)
	}
	for i := range n.Models {
		add(printedModel, i, n.Models[i].At, n.Models[i].Scope, n.Models[i].Guard)
	}
	for i := range n.Ignored {
		c := n.Ignored[i]
		add(printedIgnored, i, c.At, c.scope, c.guard)
	}
	order := placeOrder{n.Src, map[source.FileID][]uint32{}}
	slices.SortStableFunc(list, func(a, b printItem) int {
		return cmp.Or(order.compare(a.at, b.at), cmp.Compare(a.what, b.what))
	})
	return func(yield func(printItem) bool) {
		for id := range n.Cards {
			c := &n.Cards[id]
			for len(list) > 0 && order.compare(list[0].at, c.At.Pos) <= 0 { // a card that could not be read opens what it should
				if !yield(list[0]) {
					return
				}
				list = list[1:]
			}
			if !yield(printItem{printedCard, id, c.At.Pos, c.Scope, n.CardGuard(CardID(id))}) {
				return
			}
		}
		for _, it := range list {
			if !yield(it) {
				return
			}
		}
	}
}

// A placeOrder compares places of different files by the cards that include them.
type placeOrder struct {
	src   *source.Set
	above map[source.FileID][]uint32 // where the files stand that lead to a file, outermost first
}

func (o placeOrder) path(file source.FileID) []uint32 {
	path, ok := o.above[file]
	if !ok {
		for _, by := range o.src.Chain(file) {
			path = append(path, by.Byte)
		}
		slices.Reverse(path)
		o.above[file] = path
	}
	return path
}

func (o placeOrder) compare(a, b source.Pos) int {
	if a.File == b.File {
		return cmp.Compare(a.Byte, b.Byte)
	}
	x, y := o.path(a.File), o.path(b.File)
	return slices.Compare(append(x[:len(x):len(x)], a.Byte), append(y[:len(y):len(y)], b.Byte))
}

// A level is a subcircuit or a branch of a choice that is being printed.
type level struct {
	sub    SubID // 0 where it is a branch
	branch GuardID
	quoted bool // it could not be read, and is left as a comment
}

func (l level) is(m level) bool { return l.sub == m.sub && l.branch == m.branch }

// quoted tells that all that is printed now is a comment.
func (p *printer) quoted() bool {
	return slices.ContainsFunc(p.open, func(l level) bool { return l.quoted })
}

// enter closes what an item does not stand in. A branch goes on where the one before it ends.
func (p *printer) enter(it printItem) {
	around := p.around(it.scope, it.guard)
	depth := 0
	for depth < len(p.open) && depth < len(around) && p.open[depth].is(around[depth]) {
		depth++
	}
	if it.what == printedGuard && len(p.n.Guards[it.index].Not) > 0 && depth < len(p.open) && p.open[depth].sub == 0 {
		depth++
	}
	p.close(depth)
}

// around are the subcircuits and branches around a place, outermost first.
func (p *printer) around(s SubID, g GuardID) (list []level) {
	for {
		switch {
		case g != 0 && p.n.Guards[g].Scope == s:
			list = append(list, level{branch: g})
			g = p.n.Guards[g].Up
		case s != 0:
			list = append(list, level{sub: s})
			s, g = p.n.Subs[s].Up, p.n.Subs[s].Guard
		default:
			slices.Reverse(list)
			return list
		}
	}
}

// close ends what is open down to a depth.
func (p *printer) close(depth int) {
	for k := len(p.open) - 1; k >= depth; k-- {
		if s := p.open[k].sub; s == 0 {
			p.endif(k)
		} else if p.open[k].quoted {
			p.line(".ends")
		} else {
			p.card(printedWord{".ends"}, p.name(p.n.Subs[s].Name, 'X'))
		}
		p.open = p.open[:k]
	}
}

// endif ends a choice. Where its first condition could not be read, all of it is a comment.
func (p *printer) endif(k int) {
	if p.open[k].quoted && len(p.n.Guards[p.open[k].branch].Not) > 0 {
		p.open[k].quoted = false
	}
	p.line(".endif")
}

// guard starts a branch.
func (p *printer) guard(id GuardID) {
	g := &p.n.Guards[id]
	k := len(p.open) - 1
	further := k >= len(p.around(g.Scope, g.Up)) // the branch before is still open
	if further {
		p.open[k].quoted = false
	}
	if g.Broken {
		// The card that could not be read comes next.
	} else if word := map[bool]string{true: ".elseif", false: ".if"}[further]; g.If != nil {
		p.card(printedWord{word}, printedWord(g.If.pieces()).enclose("(", ")"))
	} else {
		p.line(".else")
	}
	if now := (level{branch: id, quoted: g.Broken}); further {
		p.open[k] = now
	} else {
		p.open = append(p.open, now)
	}
}
