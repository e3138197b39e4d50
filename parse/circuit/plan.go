package circuit

import (
	"fmt"
	"iter"
	"maps"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// The rule ids of what can be wrong with a netlist's structure.
const (
	ruleCard       = "netlist-card"
	ruleSubcircuit = "netlist-subcircuit"
	ruleExpression = "netlist-expression"
	ruleLimit      = "netlist-limit"
)

// A scoped name is a definition's name and where it was defined.
type scoped struct {
	scope parse.SubID
	name  parse.NameID
}

// A plan is what can be said about the cards before any subcircuit is expanded.
type plan struct {
	n       *parse.Netlist
	part    func(name string) bool // may be nil
	diags   []source.Diagnostic
	subs    map[scoped]parse.SubID
	modelAt map[scoped][]int             // several where they stand in branches of a choice
	own     [][]parse.CardID             // the cards that stand in each subcircuit itself
	target  map[parse.CardID]parse.SubID // the body an X card expands to
	circles int
	dead    map[parse.CardID]bool // X cards that cannot be expanded: they may be anything
	vague   map[parse.SubID]bool  // bodies that cannot be placed
	slots   []uint32              // by place in Netlist.Nodes: 0 ground, else the slot of its scope, or a global
	locals  [][]parse.NameID      // by scope: the name of each slot, ports first; slot 0 is unused
	size    []uint64              // by scope: elements and instances of one full expansion
	pins    []uint64              // by scope: the pins of these elements
}

// isGlobal marks a slot that is an index of Netlist.Globals.
const isGlobal = 1 << 31

// newPlan plans the expansion. there tells which branches of conditional cards at the top are there.
func newPlan(n *parse.Netlist, part func(string) bool, there func(parse.GuardID) truth) *plan {
	p := &plan{n: n, part: part, subs: map[scoped]parse.SubID{}, modelAt: map[scoped][]int{}, own: make([][]parse.CardID, len(n.Subs)),
		target: map[parse.CardID]parse.SubID{}, dead: map[parse.CardID]bool{}, vague: map[parse.SubID]bool{}}
	for i := len(n.Subs) - 1; i > 0; i-- { // backwards, so that the first of a name holds
		s := &n.Subs[i]
		if s.Name == 0 || n.Guards[s.Guard].Scope == 0 && there(s.Guard) == no {
			continue
		}
		p.subs[scoped{s.Up, s.Name}] = parse.SubID(i)
		if s.Broken || n.Guards[s.Guard].Scope == 0 && there(s.Guard) == unsure {
			p.vague[parse.SubID(i)] = true
		}
	}
	for i := range n.Models {
		k := scoped{n.Models[i].Scope, n.Models[i].Name}
		p.modelAt[k] = append(p.modelAt[k], i)
	}
	for id := range n.Cards {
		s := n.Cards[id].Scope
		p.own[s] = append(p.own[s], parse.CardID(id))
	}
	p.aim(part)
	p.breakCircles()
	p.assignSlots()
	p.measure()
	return p
}

func (p *plan) report(d source.Diagnostic) { p.diags = append(p.diags, d) }

// model tells that a model of that name may be there, from a scope outwards.
func (p *plan) model(scope parse.SubID, name parse.NameID) bool {
	_, ok := lexical(p, p.modelAt, scope, name)
	return ok
}

func lexical[T any](p *plan, table map[scoped]T, scope parse.SubID, name parse.NameID) (found T, ok bool) {
	for {
		if found, ok = table[scoped{scope, name}]; ok || scope == 0 {
			return found, ok
		}
		scope = p.n.Subs[scope].Up
	}
}

// aim finds the body of each X card. A part stays an element even where a body of its name exists.
func (p *plan) aim(part func(string) bool) {
	parts := map[parse.NameID]bool{}
	for id := range p.n.Cards {
		c := &p.n.Cards[id]
		if c.Kind != 'X' {
			continue
		}
		is, asked := parts[c.Ref]
		if !asked {
			is = part != nil && part(p.n.Names[c.Ref])
			parts[c.Ref] = is
		}
		body, ok := lexical(p, p.subs, c.Scope, c.Ref)
		if is || !ok {
			continue
		}
		s := &p.n.Subs[body]
		switch {
		case p.vague[body]:
			p.dead[parse.CardID(id)] = true // its .subckt card was reported
		case int(c.N) != len(s.Ports):
			p.dead[parse.CardID(id)] = true
			p.report(source.Diagnostic{At: c.At, Rule: ruleSubcircuit, Message: fmt.Sprintf("%s gives %s to subcircuit %s, which has %s",
				p.n.CardName(parse.CardID(id)), count(int(c.N), "node"), p.n.Names[s.Name], count(len(s.Ports), "port")),
				Related: []source.Related{{At: s.At, Message: "defined here"}}})
		default:
			p.target[parse.CardID(id)] = body
		}
	}
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// breakCircles finds subcircuits that contain themselves and makes the X card that closes each circle dead.
func (p *plan) breakCircles() {
	const (
		unseen = iota
		open
		done
	)
	state := make([]byte, len(p.n.Subs))
	var path []parse.CardID // X cards from the first subcircuit of the search inwards
	var visit func(parse.SubID)
	visit = func(s parse.SubID) {
		state[s] = open
		for _, id := range p.own[s] {
			body, ok := p.target[id]
			if !ok {
				continue
			}
			path = append(path, id)
			switch {
			case len(path) > mostNested:
				p.tooDeep(id)
			case state[body] == unseen:
				visit(body)
			case state[body] == open:
				p.circle(path, body)
				delete(p.target, id)
				p.dead[id] = true
			}
			path = path[:len(path)-1]
		}
		state[s] = done
	}
	for s := range p.n.Subs {
		if state[s] == unseen {
			visit(parse.SubID(s))
		}
	}
}

// mostNested is how deep subcircuits may call each other, whatever the limits: far deeper than any can be expanded, and
// what a walk over them may take of the stack.
const mostNested = 20_000

// tooDeep makes an X card dead at which a walk over the subcircuits turns back.
func (p *plan) tooDeep(id parse.CardID) {
	delete(p.target, id)
	p.dead[id] = true
	p.report(source.Diagnostic{At: p.n.Cards[id].At, Rule: ruleLimit, Message: fmt.Sprintf(
		"%s is not expanded: subcircuits nest deeper than %d, and no deeper can be expanded", p.n.CardName(id), mostNested)})
}

// circle reports a subcircuit that contains itself.
func (p *plan) circle(path []parse.CardID, body parse.SubID) {
	const most = 100 // the cards that close circles are more of the same
	if p.circles++; p.circles > most {
		return
	}
	n := p.n
	start := len(path) - 1
	for start > 0 && n.Cards[path[start]].Scope != body {
		start--
	}
	names := []string{n.Names[n.Subs[body].Name]}
	var related []source.Related
	ring := path[start:]
	for i, id := range ring {
		switch long := len(ring) > 11; { // a circle through thousands is not printed whole
		case long && i == 5:
			names = append(names, "...")
		case !long || i < 5 || i > len(ring)-6:
			names = append(names, n.Names[n.Cards[id].Ref])
		}
		if len(related) < 11 {
			related = append(related, source.Related{At: n.Cards[id].At, Message: "calls " + n.Names[n.Cards[id].Ref]})
		}
	}
	last, chain := path[len(path)-1], names
	p.report(source.Diagnostic{At: n.Cards[last].At, Rule: ruleSubcircuit,
		Message: fmt.Sprintf("subcircuit %s contains itself: %s", names[0], strings.Join(chain, " -> ")), Related: related})
}

// assignSlots numbers the node names of each subcircuit, so that expanding it needs no table of names.
func (p *plan) assignSlots() {
	n := p.n
	globals := map[parse.NameID]uint32{}
	for i, g := range n.Globals {
		globals[g] = isGlobal | uint32(i)
	}
	p.slots = make([]uint32, len(n.Nodes))
	p.locals = make([][]parse.NameID, len(n.Subs))
	slotOf, seenIn := make([]uint32, len(n.Names)), make([]parse.SubID, len(n.Names)) // by name; seenIn counts from 1
	for s := range n.Subs {
		p.locals[s] = []parse.NameID{0}
		seen := func(name parse.NameID) bool { return seenIn[name] == parse.SubID(s+1) }
		take := func(name parse.NameID) uint32 {
			if !seen(name) {
				seenIn[name], slotOf[name] = parse.SubID(s+1), uint32(len(p.locals[s]))
				p.locals[s] = append(p.locals[s], name)
			}
			return slotOf[name]
		}
		for _, port := range n.Subs[s].Ports {
			take(port)
		}
		for _, id := range p.own[s] {
			c := &n.Cards[id]
			for i := c.First; i < c.First+c.N; i++ {
				name := n.Nodes[i]
				if name == 0 {
					continue
				}
				if g, global := globals[name]; len(globals) > 0 && global && !seen(name) {
					p.slots[i] = g
				} else {
					p.slots[i] = take(name)
				}
			}
		}
	}
}

// weight is what an instance takes beside its elements: a parameter takes more room than an element.
func weight(s *parse.Sub) uint64 {
	if n := len(s.Params) + len(s.Locals); n > 0 {
		return uint64(4 * (n + 2))
	}
	return 0
}

// measure counts what a full expansion of each subcircuit holds, without expanding anything.
func (p *plan) measure() {
	const tooMany = 1 << 40
	p.size, p.pins = make([]uint64, len(p.n.Subs)), make([]uint64, len(p.n.Subs))
	done := make([]bool, len(p.n.Subs))
	var visit func(parse.SubID)
	visit = func(s parse.SubID) {
		if done[s] {
			return
		}
		size, pins := weight(&p.n.Subs[s]), uint64(0)
		for _, id := range p.own[s] {
			n := uint64(p.n.Cards[id].N)
			size += n/maxPins + 1
			if body, ok := p.target[id]; ok {
				visit(body)
				size, pins = size+p.size[body], pins+p.pins[body]
			} else {
				pins += n
			}
			size, pins = min(size, tooMany), min(pins, tooMany)
		}
		done[s], p.size[s], p.pins[s] = true, size, pins
	}
	for s := range p.n.Subs {
		visit(parse.SubID(s))
	}
}

// modelNames goes over the names of all models.
func (p *plan) modelNames() iter.Seq[string] {
	return func(yield func(string) bool) {
		for k := range maps.Keys(p.modelAt) {
			if !yield(p.n.Names[k.name]) {
				return
			}
		}
	}
}
