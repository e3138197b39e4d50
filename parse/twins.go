package parse

import (
	"fmt"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// A definedName is a name in lower case and the scope it was given in.
type definedName struct {
	scope SubID
	name  string
}

// twins reports what is defined twice in one scope. The same text twice is no trouble: libraries get included twice.
func (r *reader) twins() {
	r.twinCards()
	r.twinModels()
	r.twinSubcircuits()
	r.twinParameters()
}

func (r *reader) twinCards() {
	n := r.n
	cards := make(map[definedName]CardID, len(n.Cards))
	for id := range n.Cards {
		c := &n.Cards[id]
		if c.Kind == '?' {
			continue
		}
		k := definedName{c.Scope, strings.ToLower(n.CardName(CardID(id)))}
		first, twice := cards[k]
		if !twice {
			cards[k] = CardID(id)
			continue
		}
		r.report(source.Diagnostic{At: c.At, Rule: ruleCard,
			Message: fmt.Sprintf("the name %s is used twice; both elements stay in the circuit", n.CardName(CardID(id))),
			Related: []source.Related{{At: n.Cards[first].At, Message: "first used here"}}})
	}
}

func (r *reader) twinModels() {
	n := r.n
	models := map[definedName]int{}
	for i := range n.Models {
		m := &n.Models[i]
		k := definedName{m.Scope, strings.ToLower(n.Names[m.Name])}
		first, twice := models[k]
		if !twice {
			models[k] = i
			continue
		}
		was := n.Models[first].At
		if n.Src.Text(was) != n.Src.Text(m.At) {
			r.report(source.Diagnostic{At: m.At, Rule: ruleCard,
				Message: fmt.Sprintf("model %s is defined twice; the first one holds", n.Names[m.Name]),
				Related: []source.Related{{At: was, Message: "first defined here"}}})
		}
	}
}

func (r *reader) twinSubcircuits() {
	n := r.n
	subs := map[definedName]*Sub{}
	for i := range n.Subs[1:] {
		s := &n.Subs[i+1]
		k := definedName{s.Up, strings.ToLower(n.Names[s.Name])}
		first := subs[k]
		if first == nil || s.Name == 0 {
			subs[k] = s
			continue
		}
		if !r.sameBody(first, s) {
			r.report(source.Diagnostic{At: s.At, Rule: ruleSubcircuit,
				Message: fmt.Sprintf("subcircuit %s is defined twice; the first one holds", n.Names[s.Name]),
				Related: []source.Related{{At: first.At, Message: "first defined here"}}})
		}
	}
}

func (r *reader) twinParameters() {
	n := r.n
	for i := range n.Subs {
		list := n.Subs[i].Locals
		seen := map[string]int{}
		for j := range list {
			name := strings.ToLower(list[j].Name)
			if k, twice := seen[name]; twice && n.Src.Text(list[k].At) != n.Src.Text(list[j].At) {
				r.report(source.Diagnostic{At: list[j].At, Rule: ruleCard,
					Message: fmt.Sprintf("parameter %s is defined twice; the last one holds", list[j].Name),
					Related: []source.Related{{At: list[k].At, Message: "first defined here"}}})
			}
			seen[name] = j
		}
	}
}

// sameBody tells that two subcircuits were written with the same cards.
func (r *reader) sameBody(a, b *Sub) bool {
	n := r.n
	if n.Src.Text(a.At) != n.Src.Text(b.At) || a.End-a.First != b.End-b.First {
		return false
	}
	if len(a.Locals) != len(b.Locals) {
		return false
	}
	for i := range a.Locals {
		if n.Src.Text(a.Locals[i].At) != n.Src.Text(b.Locals[i].At) {
			return false
		}
	}
	for i := range a.End - a.First {
		if n.Src.Text(n.Cards[a.First+i].At) != n.Src.Text(n.Cards[b.First+i].At) {
			return false
		}
	}
	return true
}
