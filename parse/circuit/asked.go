package circuit

import (
	"fmt"
	"iter"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// asked is what v(a), v(a,b) or i(V1) in an expression asks for.
type asked struct {
	current  bool
	of       ID // the voltage source
	pos, neg Net
}

func (s *summer) file() source.FileID { return s.c.card(s.id).At.File }

// visit marks what moves in an expression and finds what its v() and i() ask for; false where something is not there or
// cannot be asked for.
func (s *summer) visit(x *parse.Expr) bool {
	if s.moves == nil {
		s.moves, s.asks = map[*parse.Expr]bool{}, map[*parse.Expr]*asked{}
	}
	if x.Probe() {
		a, why, closest := s.ask(x)
		if why != "" {
			s.c.eval.trouble(s.env, s.file(), &parse.Trouble{Expr: x, Message: why, Near: closest})
		}
		s.moves[x], s.asks[x] = true, a
		return a != nil
	}
	ok, moves := true, x.Op == parse.Name && x.Live() || x.Op == parse.Call && s.c.eval.liveCall(s.env, x)
	for _, a := range x.Args {
		ok = s.visit(a) && ok
		moves = moves || s.moves[a]
	}
	s.moves[x] = moves
	return ok
}

// ask finds what a v() or i() asks for; nil where that is not known, and why where the reader should hear of it.
func (s *summer) ask(x *parse.Expr) (a *asked, why, closest string) {
	for _, arg := range x.Args {
		if arg.Op != parse.Name {
			return nil, "", ""
		}
	}
	current := strings.EqualFold(x.Text, "i")
	switch n := len(x.Args); {
	case current && n != 1:
		return nil, "asks for a current: expected i(source)", ""
	case !current && n != 1 && n != 2:
		return nil, "asks for a voltage: expected v(node) or v(node,node)", ""
	}
	if current {
		name := x.Args[0].Text
		id, ok := s.c.Find(s.c.instPath(s.inst) + name)
		switch {
		case !ok:
			return nil, fmt.Sprintf("asks for the current of the voltage source %q, which is not there", name),
				s.c.eval.hints.Nearest(name, s.sources())
		case s.c.Elements[id].Kind != 'V':
			return nil, "", "" // some dialects know the current of any element
		}
		return &asked{current: true, of: id}, "", ""
	}
	a = &asked{}
	for i, arg := range x.Args {
		n, ok := s.net(arg.Text)
		if !ok {
			return nil, fmt.Sprintf("asks for the voltage of the node %q, which is not there", arg.Text),
				s.c.eval.near(arg.Text, s.nets())
		}
		if i == 0 {
			a.pos = n
		} else {
			a.neg = n
		}
	}
	return a, "", ""
}

// net is the net that a name means on the source's card: a node, port or global there, else a path into an instance.
func (s *summer) net(name string) (Net, bool) {
	if id, ok := s.c.Cards.NodeID(name); ok {
		if n, ok := s.c.netIn(netName{s.inst, id}); ok {
			return n, true
		}
	}
	return s.c.FindNet(s.c.instPath(s.inst) + name)
}

// nets goes over the node names that can be asked for on the source's card.
func (s *summer) nets() iter.Seq[string] {
	return func(yield func(string) bool) {
		n := s.c.Cards
		for _, list := range [][]parse.NameID{s.c.plan.locals[s.c.card(s.id).Scope], n.Globals} {
			for _, name := range list {
				if !yield(n.Names[name]) {
					return
				}
			}
		}
	}
}

// sources goes over the names of the voltage sources that stand beside the source's card.
func (s *summer) sources() iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, id := range s.c.plan.own[s.c.card(s.id).Scope] {
			if s.c.Cards.Cards[id].Kind == 'V' && !yield(s.c.Cards.CardName(id)) {
				return
			}
		}
	}
}
