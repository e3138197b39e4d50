package parse

import (
	"strings"

	"github.com/alecthomas/participle/v2/lexer"
)

// spread lays each card that could not be read on all the names it mentions. Words that look like numbers, keys or
// parts of expressions count only where something else stands on a node of that name.
func (r *reader) spread() {
	if len(r.unread) == 0 {
		return
	}
	type node struct {
		scope SubID
		id    NameID
	}
	n := r.n
	used := map[node]bool{}
	for id := range n.Cards {
		for _, nd := range n.CardNodes(CardID(id)) {
			used[node{n.Cards[id].Scope, nd}] = true
		}
	}
	for i := range n.Subs {
		for _, p := range n.Subs[i].Ports {
			used[node{SubID(i), p}] = true
		}
	}
	global := map[NameID]bool{}
	for _, g := range n.Globals {
		global[g] = true
	}
	for _, u := range r.unread {
		c := &n.Cards[u.id]
		c.First = uint32(len(n.Nodes))
		seen := map[NameID]bool{}
		add := func(word string, sure bool, at *lexer.Token) {
			if word == "" {
				return
			}
			if !sure {
				id, tabled := n.NodeID(word)
				sure = tabled && (id == 0 || global[id] || used[node{c.Scope, id}])
			}
			if !sure {
				return
			}
			id := r.node(&name{Value: word, Pos: at.Pos}, c.At.File)
			if !seen[id] {
				seen[id] = true
				n.Nodes = append(n.Nodes, id)
			}
		}
		dotted := strings.HasPrefix(u.tokens[0].Value, ".") // its words are rather not nodes
		start := 1
		if u.tokens[0].Type == tOrphan {
			start = 0
		}
		for i := start; i < len(u.tokens)-1; i++ {
			t := &u.tokens[i]
			switch t.Type {
			case tWord, tString:
				add(t.Value, !dotted && !isNumber(t.Value), t)
			case tTail, tBad, tPath:
				for _, w := range strings.FieldsFunc(t.Value, func(c rune) bool { return c < 128 && delimiter(byte(c)) }) {
					add(w, false, t)
				}
			default:
				add(t.Value, false, t)
			}
		}
		c.N = uint32(len(n.Nodes)) - c.First
	}
}
