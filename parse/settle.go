package parse

import (
	"fmt"
	"iter"
	"maps"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// settle does what waits until every card is read.
func (r *reader) settle() {
	for _, id := range r.open {
		sub := &r.n.Subs[id]
		r.report(source.Diagnostic{At: sub.At, Rule: ruleCard, Message: fmt.Sprintf("subcircuit %s has no .ends", r.subName(sub))})
	}
	r.close(0)
	r.n.Subs[0].End = CardID(len(r.n.Cards))
	r.recount()
	r.decide()
	r.suspectTitle()
	r.twins()
	r.named()
	r.spread()
}

func (r *reader) subName(s *Sub) string {
	if s.Name == 0 {
		return "without a name"
	}
	return r.n.Names[s.Name]
}

func (r *reader) known(name string) bool { return r.models[strings.ToLower(name)] }

// decide counts the nodes of cards that waited for the models.
func (r *reader) decide() {
	for _, u := range r.undecided {
		c := &r.n.Cards[u.id]
		sh, why := shapeOf(u.syntax, &u.tokens[0], r.known)
		if why == nil {
			r.fill(u.id, sh)
			continue
		}
		r.report(source.Diagnostic{At: c.At, Rule: ruleCard, Message: why.message, Near: why.near})
		c.Kind = '?'
		r.unread = append(r.unread, unread{u.id, u.tokens})
	}
}

// suspectTitle warns of a first line that is the title by rule and was meant as a card.
func (r *reader) suspectTitle() {
	if r.title == nil {
		return
	}
	tokens := scan(r.n.Src.File(r.n.File).Text, r.title)
	head := &tokens[0]
	if _, element := forms[head.Type]; !element || head.Value[0] == '.' {
		return
	}
	s, err := parseCard(tokens)
	if err != nil {
		return
	}
	sh, why := shapeOf(s, head, r.known)
	if why != nil || sh == nil {
		return
	}
	last := tokens[len(tokens)-2].Value
	switch defined := r.known(last) || r.subs[strings.ToLower(last)]; {
	case !defined && head.Type == tX:
		r.n.TitleCalls = last
	case defined || isNumber(last):
		r.report(r.n.TitleSuspected())
	}
}

// TitleSuspected says that the title looks like an element card.
func (n *Netlist) TitleSuspected() source.Diagnostic {
	return source.Diagnostic{At: n.Title, Rule: ruleTitle, Message: fmt.Sprintf("the first line is the title by rule, but %q looks like an "+
		"element card and is not in the circuit: put a title line above it, or read it with --first-line card", n.Src.Text(n.Title))}
}

// named checks that the elements which others name are there.
func (r *reader) named() {
	n := r.n
	want := map[byte]string{'F': "V", 'H': "V", 'W': "V", 'K': "L"}
	var have map[SubID]map[string]bool
	for id := range n.Cards {
		c := &n.Cards[id]
		letter := want[c.Kind]
		if letter == "" || c.Extra == 0 {
			continue
		}
		if have == nil {
			have = r.namesByScope()
		}
		for _, ref := range n.Extras[c.Extra].Names {
			name := n.Names[ref]
			if strings.Contains(name, ".") {
				continue // inside of an instance: looked for when all are expanded
			}
			if key := strings.ToLower(name); have[c.Scope][key] && strings.EqualFold(key[:1], letter) {
				continue
			}
			what := "voltage source"
			if letter == "L" {
				what = "inductor"
			}
			r.report(source.Diagnostic{At: c.At, Rule: ruleCard,
				Message: fmt.Sprintf("%s names the %s %q, which is not there", n.CardName(CardID(id)), what, name),
				Near:    r.hints.Nearest(name, only(have[c.Scope], letter))})
		}
	}
}

// only hands out the names that start with a letter.
func only(names map[string]bool, letter string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for name := range maps.Keys(names) {
			if strings.EqualFold(name[:1], letter) && !yield(name) {
				return
			}
		}
	}
}

func (r *reader) namesByScope() map[SubID]map[string]bool {
	have := map[SubID]map[string]bool{}
	for id := range r.n.Cards {
		scope := r.n.Cards[id].Scope
		if have[scope] == nil {
			have[scope] = map[string]bool{}
		}
		if name := r.n.CardName(CardID(id)); name != "" {
			have[scope][strings.ToLower(name)] = true
		}
	}
	return have
}
