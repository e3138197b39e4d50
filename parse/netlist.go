// Package parse turns netlist text into cards. The language is that of the Berkeley SPICE3 manual with the everyday
// extensions (parameters, expressions, includes, globals); grammar.go is its definition. Reading never fails as a
// whole: a card that cannot be read is a diagnostic and stays in the netlist as something unknown on every name it
// mentions.
package parse

import (
	"context"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

type (
	// A CardID counts element cards in the order they were read.
	CardID uint32
	// A SubID counts .subckt definitions; 0 is the top of the netlist.
	SubID uint32
	// A NameID is a name in a Netlist's table. Nodes and references (models, subcircuits, elements named by other
	// elements) are tabled apart, so each keeps the letters it was first written with. 0 is ground, and "none" where a
	// reference is meant.
	NameID uint32
)

// A Card is one element card. It holds no pointers: a netlist has millions of them. What only some cards carry
// (parameters, source functions, expressions) stands in side tables.
type Card struct {
	At     source.Span // raw bytes from its first to its last token, continuation marks included
	Name   uint32      // its name is the first Name bytes of At
	Scope  SubID       // the subcircuit it stands in
	First  uint32      // first of its N node names in Netlist.Nodes
	Ref    NameID      // model or subcircuit it names
	Extra  uint32      // index in Netlist.Extras; 0 when it carries nothing more
	Digits uint32      // where its value was written: bytes from the start of At ...
	Wide   uint32      // ... and how many of them; 0 when there is none
	Value  float64     // a literal value; NaN when there is none or it is an expression
	N      uint32      // how many nodes
	Kind   byte        // element letter, upper case; '?' when the card could not be read
	tidy   bool        // its value is written so that nobody can misread it
}

// A Value is a number, or an expression that yields one.
type Value struct {
	Number float64 // NaN when Expr is set
	Expr   *Expr
	At     source.Span
}

// Literal tells that the value is a plain number.
func (v Value) Literal() bool { return v.Expr == nil }

// A Param is one name=value. More holds the rest of a list such as IC=0.6, 5.0.
type Param struct {
	Name string // as written
	Value
	More  []Value
	Guard GuardID // on .param cards
}

// A Drive is what an independent source is told to do.
type Drive struct {
	DC       *Value
	AC       bool
	Phasor   []Value // magnitude and phase behind AC, as far as given
	Function string  // PULSE, SIN, EXP, PWL, SFFM; "" for none
	Args     []Value
	At       source.Span // the function
}

// A Law is how a controlled source follows the circuit when it is more than one constant gain.
type Law struct {
	Form      string  // VALUE, V, I, POLY, TABLE, ... upper case
	Expr      *Expr   // nil where the form holds no expression
	Dimension int     // of a POLY: how many voltages between nodes of the card, or currents of Extra.Names, it follows
	Args      []Value // coefficients of a POLY in order; x and y of the points of a TABLE in turn
}

// An Extra is what only some cards carry.
type Extra struct {
	Value  *Expr // the value where it is an expression
	Params []Param
	Flags  []string // lower case
	Drive  *Drive
	Law    *Law
	Names  []NameID // the sources that F, H and W follow; the inductors of a K
}

// A Sub is one .subckt definition. Entry 0 of Netlist.Subs is the top of the netlist.
type Sub struct {
	At         source.Span // its .subckt card
	Name       NameID
	Up         SubID // where it was defined; only there it can be called
	Ports      []NameID
	Params     []Param // defaults on the .subckt card
	Locals     []Param // .param cards in its body
	Functions  []Function
	First, End CardID // its body, cards of nested definitions included
	Broken     bool   // its .subckt card could not be read: the body cannot be placed
	Guard      GuardID
}

// A Function is one .func card, or name(x)=... on a .param card.
type Function struct {
	Name  string // as written
	Args  []string
	Body  *Expr
	At    source.Span // the body
	Guard GuardID
}

// A GuardID counts the branches of conditional cards; 0 stands for cards that are always there.
type GuardID uint32

// A Guard is one branch of .if ... .endif: its cards are there where the branches before it are not and its own condition
// is true, within a branch around it.
type Guard struct {
	At     source.Span // the .if, .elseif or .else card
	Scope  SubID
	Up     GuardID
	Not    []*Expr // the conditions of the branches before
	If     *Expr   // nil for .else
	Broken bool    // a condition could not be read
}

// A Model is one .model card.
type Model struct {
	At     source.Span
	Name   NameID
	Base   NameID // the model it is a kind of (AKO); 0 for none
	Type   string // upper case; "" when only its base says
	Scope  SubID
	Params []Param
	Guard  GuardID
}

// An Ignored card says nothing about the drawn circuit: an analysis, an option, a print request.
type Ignored struct {
	At   source.Span
	Word string // as written, ".tran"

	scope SubID // where it stands
	guard GuardID
}

// A Netlist is what was written, in order.
type Netlist struct {
	Src   *source.Set
	File  source.FileID
	Title source.Span // none when the first line is a dot card
	// TitleCalls is what the title would call if it were an X card, where no such subcircuit is defined.
	TitleCalls string
	Cards      []Card
	Nodes      []NameID
	Names      []string // as first written
	Extras     []Extra
	Subs       []Sub
	Models     []Model

	Guards []Guard // entry 0 is no guard

	Globals     []NameID
	Pragmas     []source.Span // what follows "* shuntwright:", one span a line
	Ignored     []Ignored
	GroundAlias source.Span // the first "gnd": it is node 0

	Tnom   float64 // the temperature in degC at which values hold; NaN where an option says it unreadably
	Limits Limits  // what it was read with; none is 0

	ctx     context.Context // nil: nothing stops the work
	table   nameTable
	guarded map[CardID]GuardID
	doubted map[string]bool // names in dot cards that could not be read: missing them again is no second trouble
}

// node numbers the name of a node, ref that of a model, a subcircuit or a referenced element.
func (n *Netlist) node(name string) NameID { return n.number([]byte(name), NameHash(name), false) }

func (n *Netlist) ref(name string) NameID { return n.number([]byte(name), NameHash(name), true) }

func (n *Netlist) number(name []byte, hash uint32, ref bool) NameID {
	id := n.table.number(name, hash, ref)
	n.Names = n.table.names
	return id
}

// NodeID finds a node name, in any case; the names of ground are all 0.
func (n *Netlist) NodeID(name string) (NameID, bool) {
	if name == "0" || isGround(name) {
		return 0, true
	}
	id := n.table.find(name, false)
	return id, id != 0
}

// RefID finds the name of a model, subcircuit or referenced element, in any case.
func (n *Netlist) RefID(name string) (NameID, bool) {
	id := n.table.find(name, true)
	return id, id != 0
}

// CardName is the element's name as written.
func (n *Netlist) CardName(id CardID) string {
	return string(n.nameBytes(id))
}

func (n *Netlist) nameBytes(id CardID) []byte {
	c := &n.Cards[id]
	return n.Src.File(c.At.File).Text[c.At.Byte : c.At.Byte+c.Name]
}

// CardHash is the NameHash of the element's name.
func (n *Netlist) CardHash(id CardID) uint32 {
	if h, ok := nameHash(n.nameBytes(id)); ok {
		return h
	}
	return NameHash(n.CardName(id))
}

// CardNamed tells that a card bears a name, letter case aside.
func (n *Netlist) CardNamed(id CardID, name string) bool { return sameFolded(name, n.nameBytes(id)) }

// CardNodes are the names of the card's nodes in pin order.
func (n *Netlist) CardNodes(id CardID) []NameID {
	c := &n.Cards[id]
	return n.Nodes[c.First : c.First+c.N]
}

// CardGuard is the branch of conditional cards that a card stands in.
func (n *Netlist) CardGuard(id CardID) GuardID {
	if len(n.guarded) == 0 {
		return 0
	}
	return n.guarded[id]
}

// CardExtra is what only some cards carry; nil when this one carries nothing more.
func (n *Netlist) CardExtra(id CardID) *Extra {
	if e := n.Cards[id].Extra; e != 0 {
		return &n.Extras[e]
	}
	return nil
}

// CardValue is the card's value as written; ok is false where it has none.
func (n *Netlist) CardValue(id CardID) (v Value, ok bool) {
	c := &n.Cards[id]
	if c.Wide == 0 {
		return Value{Number: math.NaN()}, false
	}
	v.At = source.Span{Pos: source.Pos{File: c.At.File, Byte: c.At.Byte + c.Digits}, Len: c.Wide}
	v.Number = c.Value
	if x := n.CardExtra(id); x != nil {
		v.Expr = x.Value
	}
	return v, true
}

// Doubted tells that the name occurs in a dot card that could not be read, so that its absence was already reported.
func (n *Netlist) Doubted(name string) bool { return n.doubted[strings.ToLower(name)] }
