package circuit

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A card may name a net inside an instance from outside: x1.n2 is the net n2 of X1. Flattening makes a net of its own of
// such a name, which is then joined with the one meant. The names are rare, and few netlists have any: what is looked up
// here is built only for those.

// An inner is the search for the nets that such names mean.
type inner struct {
	f     *flattener
	calls map[parse.SubID]map[string]parse.CardID // X cards by name in lower case
	child map[call]Inst
	nets  map[parse.SubID]map[parse.NameID]bool
}

// A call is an X card in the instance it stands in.
type call struct {
	inst Inst
	card parse.CardID
}

// joinInner joins each net that was named from outside its instance with the net meant. What names no net of an instance
// that is there is reported, and stays a net of which nobody knows what is on it.
func (f *flattener) joinInner() {
	suspects := f.suspects()
	if len(suspects) == 0 {
		return
	}
	in := &inner{f: f, calls: map[parse.SubID]map[string]parse.CardID{}, child: map[call]Inst{}, nets: map[parse.SubID]map[parse.NameID]bool{}}
	for i := range f.c.insts[1:] {
		at := &f.c.insts[i+1]
		in.child[call{at.up, at.call}] = Inst(i + 1)
	}
	meant, wanted := map[Net]netName{}, map[netName]Net{}
	for n, k := range f.c.names {
		if !suspects[k.name] || f.global(k.name) {
			continue
		}
		if key, ok := in.resolve(Net(n), k); ok {
			meant[Net(n)] = key
			wanted[key] = unmade
		}
	}
	for n, k := range f.c.names {
		if _, ok := wanted[k]; ok && (n == 0 || !f.global(k.name)) {
			wanted[k] = Net(n)
		}
	}
	f.merge(meant, wanted)
}

// suspects are the names that start like a path into an instance.
func (f *flattener) suspects() map[parse.NameID]bool {
	n := f.p.n
	var heads map[string]bool
	var found map[parse.NameID]bool
	for id, name := range n.Names {
		if name == "" || name[0]|0x20 != 'x' {
			continue
		}
		cut := strings.IndexByte(name, '.')
		if cut < 0 {
			continue
		}
		if heads == nil {
			heads, found = map[string]bool{}, map[parse.NameID]bool{}
			for id := range n.Cards {
				if n.Cards[id].Kind == 'X' {
					heads[strings.ToLower(n.CardName(parse.CardID(id)))] = true
				}
			}
		}
		if heads[strings.ToLower(name[:cut])] {
			found[parse.NameID(id)] = true
		}
	}
	return found
}

func (f *flattener) global(name parse.NameID) bool {
	_, ok := f.c.globals[name]
	return ok
}

// resolve finds what the name of a net means, from the instance it was written in or from the top; ok is false where it is
// an ordinary name, or one that leads nowhere.
func (in *inner) resolve(n Net, k netName) (key netName, ok bool) {
	path := in.f.p.n.Names[k.name]
	for _, from := range []Inst{k.inst, 0} {
		head, rest, _ := strings.Cut(path, ".")
		if card, is := in.card(from, head); is {
			return in.walk(n, k, from, card, rest)
		}
	}
	return netName{}, false
}

// walk follows a path behind an X card.
func (in *inner) walk(n Net, k netName, at Inst, card parse.CardID, rest string) (netName, bool) {
	f := in.f
	for {
		inst, expanded := in.child[call{at, card}]
		if !expanded {
			return in.pin(n, k, at, card, rest)
		}
		sub := f.c.insts[inst].sub
		if id, ok := f.p.n.NodeID(rest); ok && in.has(sub, id) {
			return f.outward(netName{inst, id}), true
		}
		head, tail, deeper := strings.Cut(rest, ".")
		next, ok := in.card(inst, head)
		if !deeper || !ok {
			in.lost(n, k, at, card, fmt.Sprintf("subcircuit %s has no net %s", f.p.n.Names[f.p.n.Subs[sub].Name], rest),
				strings.TrimSuffix(f.p.n.Names[k.name], rest), rest, in.known(sub))
			return netName{}, false
		}
		at, card, rest = inst, next, tail
	}
}

// pin is the net of a port of an X card that was not expanded; what lies behind its ports is not in the circuit.
func (in *inner) pin(n Net, k netName, at Inst, card parse.CardID, rest string) (netName, bool) {
	f := in.f
	c := &f.p.n.Cards[card]
	if body, ok := lexical(f.p, f.p.subs, c.Scope, c.Ref); ok && len(f.p.n.Subs[body].Ports) == int(c.N) {
		if id, ok := f.p.n.NodeID(rest); ok {
			if i := slices.Index(f.p.n.Subs[body].Ports, id); i >= 0 {
				return f.outward(netName{at, f.p.n.CardNodes(card)[i]}), true
			}
		}
	}
	in.lost(n, k, at, card, fmt.Sprintf("%s is not expanded", f.p.n.CardName(card)), "", rest, nil)
	return netName{}, false
}

// lost reports a name that leads nowhere. Its net is given to the X card it leads to, as something unknown.
func (in *inner) lost(n Net, k netName, at Inst, card parse.CardID, why, before, rest string, known iter.Seq[string]) {
	f := in.f
	name := f.p.n.Names[k.name]
	d := source.Diagnostic{Rule: ruleCard, Related: []source.Related{{At: f.p.n.Cards[card].At, Message: "the instance"}}}
	for _, id := range f.p.own[f.c.insts[k.inst].sub] {
		if slices.Contains(f.p.n.CardNodes(id), k.name) {
			d.At = f.p.n.Cards[id].At
			d.Message = fmt.Sprintf("%s names node %q, but %s", f.p.n.CardName(id), name, why)
			break
		}
	}
	if known != nil {
		if close := f.c.eval.near(rest, known); close != "" {
			d.Near = before + close
		}
	}
	f.c.eval.report(d)
	f.c.Elements = append(f.c.Elements, Element{Card: card, Inst: at, First: uint32(len(f.c.Pins)), N: 1, Kind: '?', Value: math.NaN()})
	f.c.Pins = append(f.c.Pins, n)
}

// card is the X card of a name in an instance.
func (in *inner) card(at Inst, name string) (parse.CardID, bool) {
	f := in.f
	sub := f.c.insts[at].sub
	m := in.calls[sub]
	if m == nil {
		m = map[string]parse.CardID{}
		for _, id := range f.p.own[sub] {
			if f.p.n.Cards[id].Kind != 'X' {
				continue
			}
			key := strings.ToLower(f.p.n.CardName(id))
			if _, twice := m[key]; !twice {
				m[key] = id
			}
		}
		in.calls[sub] = m
	}
	id, ok := m[strings.ToLower(name)]
	return id, ok
}

// has tells that a body has a net of a name.
func (in *inner) has(sub parse.SubID, name parse.NameID) bool {
	m := in.nets[sub]
	if m == nil {
		m = map[parse.NameID]bool{0: true}
		for _, id := range in.f.p.locals[sub] {
			m[id] = true
		}
		in.nets[sub] = m
	}
	return m[name] || in.f.global(name)
}

func (in *inner) known(sub parse.SubID) iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, id := range in.f.p.locals[sub] {
			if id != 0 && !yield(in.f.p.n.Names[id]) {
				return
			}
		}
	}
}

// outward is a net under the name it was made with: that of a port is the net it is connected to.
func (f *flattener) outward(k netName) netName {
	for k.inst != 0 && k.name != 0 {
		at := &f.c.insts[k.inst]
		port := slices.Index(f.p.n.Subs[at.sub].Ports, k.name)
		if port < 0 {
			break
		}
		k = netName{at.up, f.p.n.CardNodes(at.call)[port]}
	}
	if k.name == 0 {
		return netName{}
	}
	return k
}

// merge joins nets with those they mean, and numbers what is left anew.
func (f *flattener) merge(meant map[Net]netName, wanted map[netName]Net) {
	c := f.c
	to := make([]Net, len(c.names))
	for n := range to {
		to[n] = Net(n)
	}
	root := func(n Net) Net {
		for to[n] != n {
			n = to[n]
		}
		return n
	}
	joined := false
	for n := range c.names { // in order, so that what remains does not depend on a map's
		key, ok := meant[Net(n)]
		if !ok {
			continue
		}
		goal := wanted[key]
		if g, ok := c.globals[key.name]; ok && key.name != 0 {
			goal = g
		}
		if goal != unmade && root(goal) != Net(n) {
			to[n] = root(goal)
			joined = true
		}
	}
	if !joined {
		return
	}
	left := c.names[:0:0]
	number := make([]Net, len(to))
	for n, k := range c.names {
		if to[n] == Net(n) {
			number[n] = Net(len(left))
			left = append(left, k)
		}
	}
	c.aliases = map[netName]Net{}
	for n, k := range c.names {
		if to[n] != Net(n) {
			number[n] = number[root(Net(n))]
			c.aliases[k] = number[n]
		}
	}
	for i, n := range c.Pins {
		c.Pins[i] = number[n]
	}
	for name, n := range c.globals {
		c.globals[name] = number[n]
	}
	c.names = left
}
