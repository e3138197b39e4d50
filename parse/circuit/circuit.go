// Package circuit flattens cards: parameters evaluated, subcircuits expanded, every element and net with the card and
// the instance it came from. Elements are plain arrays without pointers, because netlists have millions of them; what
// is asked for rarely (paths, neighbours) is built when first asked for. A Circuit may be read by many goroutines.
package circuit

import (
	"iter"
	"slices"
	"strings"
	"sync"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

type (
	// An ID is an element.
	ID uint32
	// A Net is a node of the flat circuit; 0 is ground.
	Net uint32
	// An Inst is one expansion of a subcircuit; 0 is the top.
	Inst uint32
)

// An Element is one element of the flat circuit.
type Element struct {
	Card  parse.CardID
	Inst  Inst
	First uint32 // its first pin in Pins
	N     uint8
	Kind  byte // element letter; '?' for a card that could not be read: it may do anything to its nets
	// Value is in ohm, farad, henry, a gain, an area, or the DC value of a source, of all copies that a multiplier asks for
	// together; NaN: none, or it could not be computed. Of one that follows the temperature it is that at 27 degC.
	Value float64
}

// A Circuit is the flat circuit. Nothing in it may be changed.
type Circuit struct {
	Cards    *parse.Netlist
	Elements []Element
	Pins     []Net

	insts   []instance
	names   []netName // by Net
	globals map[parse.NameID]Net
	plan    *plan
	eval    *evaluator
	sources map[ID]*Source
	linear  map[ID]*Linear // of the laws that are linear
	models  map[modelKey]*Model
	akin    int             // how many models that are kinds of each other are being made
	warm    map[ID]bool     // R whose value follows the temperature
	aliases map[netName]Net // names of inner nets as written from outside

	adjacency func() ([]uint32, []ID)
	elements  func() nameIndex
	children  func() nameIndex
	nets      func() netIndex
	couplings func() map[ID]bool
}

// An instance is one expansion of a subcircuit.
type instance struct {
	up   Inst
	call parse.CardID
	sub  parse.SubID
	env  *env

	copies float64 // how many of it stand in parallel, by the multipliers of the X cards that lead to it
}

// A netName is what a net is called, and where.
type netName struct {
	inst Inst
	name parse.NameID
}

// lazily prepares what is built on the first question about it.
func (c *Circuit) lazily() {
	c.couplings = sync.OnceValue(c.couple)
	c.adjacency = sync.OnceValues(c.neighbours)
	c.elements = sync.OnceValue(c.indexElements)
	c.children = sync.OnceValue(c.indexInstances)
	c.nets = sync.OnceValue(c.indexNets)
}

// Nets is how many nets there are, ground included.
func (c *Circuit) Nets() int { return len(c.names) }

// AllNets goes over the nets in order, ground first, with their names.
func (c *Circuit) AllNets() iter.Seq2[Net, string] {
	return func(yield func(Net, string) bool) {
		for n := range c.names {
			if !yield(Net(n), c.NetName(Net(n))) {
				return
			}
		}
	}
}

// On lists the elements with a pin on the net, each once, in order.
func (c *Circuit) On(n Net) []ID {
	start, on := c.adjacency()
	return on[start[n]:start[n+1]:start[n+1]]
}

// ElementPins are the nets of an element in pin order.
func (c *Circuit) ElementPins(id ID) []Net {
	e := &c.Elements[id]
	return c.Pins[e.First : e.First+uint32(e.N)]
}

func (c *Circuit) neighbours() (start []uint32, on []ID) {
	each := func(visit func(Net, ID)) {
		for id := range c.Elements {
			pins := c.ElementPins(ID(id))
			for i, p := range pins {
				if !slices.Contains(pins[:i], p) {
					visit(p, ID(id))
				}
			}
		}
	}
	start = make([]uint32, len(c.names)+1)
	each(func(n Net, _ ID) { start[n+1]++ })
	for i := range start[1:] {
		start[i+1] += start[i]
	}
	on, fill := make([]ID, start[len(start)-1]), slices.Clone(start)
	each(func(n Net, id ID) {
		on[fill[n]] = id
		fill[n]++
	})
	return start, on
}

// Card is the raw card of an element.
func (c *Circuit) Card(id ID) source.Span { return c.card(id).At }

func (c *Circuit) card(id ID) *parse.Card { return &c.Cards.Cards[c.Elements[id].Card] }

func (c *Circuit) extra(id ID) *parse.Extra { return c.Cards.CardExtra(c.Elements[id].Card) }

// Calls is the chain of X cards that leads to an element, innermost first.
func (c *Circuit) Calls(id ID) (calls []source.Span) {
	for i := c.Elements[id].Inst; i != 0; i = c.insts[i].up {
		calls = append(calls, c.Cards.Cards[c.insts[i].call].At)
	}
	return calls
}

// Ref is the model or subcircuit an element names, as written; "" for none. A bare word behind R, C or L that turned
// out to be a parameter is not a model.
func (c *Circuit) Ref(id ID) string {
	card := c.card(id)
	if card.Ref == 0 || card.Kind == '?' {
		return ""
	}
	if passive(card.Kind) {
		if !c.plan.model(card.Scope, card.Ref) && bareName(c.extra(id)) != nil {
			return ""
		}
	}
	return c.Cards.Names[card.Ref]
}

func passive(kind byte) bool { return kind == 'R' || kind == 'C' || kind == 'L' }

// bareName is the word that stands for a value; nil when the value is anything else.
func bareName(x *parse.Extra) *parse.Expr {
	if x == nil || x.Value == nil || x.Value.Op != parse.Name {
		return nil
	}
	return x.Value
}

// Flag tells that a word such as ON or OFF stands on the element's card.
func (c *Circuit) Flag(id ID, word string) bool {
	x := c.extra(id)
	return x != nil && slices.Contains(x.Flags, strings.ToLower(word))
}

// Behavioural tells that the element is a controlled source (E, G, F, H, B) that may drive anything: its law is not
// linear, or not known.
func (c *Circuit) Behavioural(id ID) bool {
	return controlled(c.Elements[id].Kind) && c.Linear(id) == nil
}

// Law is the law of a behavioural source or of a B card as written; nil when it has none.
func (c *Circuit) Law(id ID) *parse.Law {
	if x := c.extra(id); x != nil {
		return x.Law
	}
	return nil
}

// Control is the voltage source whose current an F, H or W follows, the first one of a polynomial.
func (c *Circuit) Control(id ID) (ID, bool) {
	switch c.Elements[id].Kind {
	case 'F', 'H', 'W':
		if named := c.named(id); len(named) > 0 {
			return named[0], true
		}
	}
	return 0, false
}

// Coupled are the inductors a K names; those that are not there are left out.
func (c *Circuit) Coupled(id ID) []ID {
	if c.Elements[id].Kind != 'K' {
		return nil
	}
	return c.named(id)
}

// IsCoupled tells that some K names an inductor.
func (c *Circuit) IsCoupled(id ID) bool { return c.couplings()[id] }

func (c *Circuit) couple() map[ID]bool {
	coupled := map[ID]bool{}
	for id := range c.Elements {
		for _, l := range c.Coupled(ID(id)) {
			coupled[l] = true
		}
	}
	return coupled
}

func (c *Circuit) named(id ID) (list []ID) {
	x := c.extra(id)
	if x == nil {
		return nil
	}
	at := c.instPath(c.Elements[id].Inst)
	for _, name := range x.Names {
		if found, ok := c.Find(at + c.Cards.Names[name]); ok {
			list = append(list, found)
		}
	}
	return list
}

// Ports are the port names of a .subckt of that name as written, one at the top before a nested one; nil if there is
// none or its card could not be read.
func (c *Circuit) Ports(subckt string) (ports []string) {
	n := c.Cards
	name, ok := n.RefID(subckt)
	if !ok {
		return nil
	}
	var found *parse.Sub
	for i := range n.Subs[1:] {
		s := &n.Subs[i+1]
		if s.Name == name && !s.Broken && (found == nil || found.Up != 0 && s.Up == 0) {
			found = s
		}
	}
	if found == nil {
		return nil
	}
	for _, p := range found.Ports {
		ports = append(ports, n.Names[p])
	}
	return ports
}
