package circuit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// maxPins is how many pins one Element can have. A card that could not be read may mention more names: it becomes
// several elements.
const maxPins = math.MaxUint8

// pinsEach is how many pins there may be for each element that there may be: far more than any circuit has, and few enough
// that wide elements take no more memory than many.
const pinsEach = 32

// Elaborate flattens a netlist. part tells which subcircuits are parts with a record: their X cards stay one element of
// kind 'X' even where a body exists, as do X cards whose subcircuit is nowhere defined. What cannot be expanded or
// computed is a diagnostic, and stays in the circuit as an element of kind '?' or of value NaN. The netlist's limits and
// context bound the work.
func Elaborate(n *parse.Netlist, part func(subckt string) bool) (*Circuit, []source.Diagnostic) {
	most := n.Limits.OrStandard()
	c := &Circuit{Cards: n, names: []netName{{}}, globals: map[parse.NameID]Net{}, sources: map[ID]*Source{},
		linear: map[ID]*Linear{}, models: map[modelKey]*Model{}}
	c.eval = newEvaluator(n)
	top := &env{}
	p := newPlan(n, part, func(g parse.GuardID) truth { return c.eval.holds(top, g) })
	c.plan = p
	f := &flattener{c: c, p: p, most: most, nowhere: map[parse.NameID]bool{},
		taken: map[parse.SubID]map[string]bool{}}
	c.insts = []instance{{env: top, copies: 1}}
	c.eval.all(top)
	f.expand(0, 0, top, f.frame(0), 0, 0)
	f.joinInner()
	c.lazily()
	c.linearise()
	c.seek()
	diags := append(p.diags, c.eval.diags...)
	if err := n.Stopped(); err != nil {
		diags = append(diags, source.Diagnostic{At: source.Span{Pos: source.Pos{File: n.File}}, Rule: ruleLimit,
			Message: "the netlist was not expanded to its end: " + err.Error()})
	}
	c.eval.quiet = true
	slices.SortStableFunc(diags, func(a, b source.Diagnostic) int {
		return cmp.Or(cmp.Compare(a.At.File, b.At.File), cmp.Compare(a.At.Byte, b.At.Byte))
	})
	return c, diags
}

type flattener struct {
	c       *Circuit
	p       *plan
	most    parse.Limits
	arena   []Net // the nets of the instances being expanded, one frame each
	nowhere map[parse.NameID]bool
	full    bool
	spent   int                             // what instances take beside their elements
	taken   map[parse.SubID]map[string]bool // by body

	nested   map[parse.SubID][]parse.SubID
	modelled map[parse.SubID][]int
}

// unmade marks a slot whose net is not made yet.
const unmade = Net(math.MaxUint32)

// frame makes room for the nets of one instance and returns where it starts.
func (f *flattener) frame(s parse.SubID) int {
	base := len(f.arena)
	for range f.p.locals[s] {
		f.arena = append(f.arena, unmade)
	}
	f.arena[base] = 0
	return base
}

// net is the net of a place in Netlist.Nodes within an instance.
func (f *flattener) net(node uint32, base int, inst Inst) Net {
	slot := f.p.slots[node]
	if slot&isGlobal != 0 {
		name := f.p.n.Nodes[node]
		g, ok := f.c.globals[name]
		if !ok {
			g = f.make(0, name)
			f.c.globals[name] = g
		}
		return g
	}
	if f.arena[base+int(slot)] == unmade {
		f.arena[base+int(slot)] = f.make(inst, f.p.n.Nodes[node])
	}
	return f.arena[base+int(slot)]
}

func (f *flattener) make(inst Inst, name parse.NameID) Net {
	f.c.names = append(f.c.names, netName{inst, name})
	return Net(len(f.c.names) - 1)
}

// expand lays the cards of a subcircuit down as one instance.
func (f *flattener) expand(inst Inst, s parse.SubID, e *env, base, depth, path int) {
	for _, id := range f.p.own[s] {
		if f.p.n.Stopped() != nil {
			return
		}
		if g := f.p.n.CardGuard(id); g != 0 {
			switch f.c.eval.holds(e, g) {
			case no:
				continue
			case unsure:
				f.lay(id, inst, e, base, '?')
				continue
			}
		}
		body, ok := f.p.target[id]
		copies := 0.0
		if ok && f.overrides(id, body) && f.room(id, body, inst, depth+1, path) {
			copies = f.copies(id, body, inst, e)
		}
		if copies == 0 {
			f.element(id, inst, e, base)
			continue
		}
		c := &f.p.n.Cards[id]
		inner := f.frame(body)
		child := Inst(len(f.c.insts))
		for i := range int(c.N) {
			f.arena[inner+1+i] = f.net(c.First+uint32(i), base, inst)
		}
		env := f.c.eval.enter(e, id, body)
		f.spent += int(weight(&f.p.n.Subs[body]))
		f.c.insts = append(f.c.insts, instance{inst, id, body, env, copies})
		f.expand(child, body, env, inner, depth+1, path+int(c.Name)+1)
		f.arena = f.arena[:inner]
	}
}

// room tells that an X card may be expanded within the limits.
func (f *flattener) room(id parse.CardID, body parse.SubID, inst Inst, depth, path int) bool {
	c := &f.p.n.Cards[id]
	name := f.p.n.CardName(id)
	var why *parse.LimitError
	switch used := len(f.c.Elements) + len(f.c.insts) + f.spent; {
	case depth > f.most.HierarchyDepth:
		why = &parse.LimitError{Name: parse.HierarchyDepth, Limit: f.most.HierarchyDepth, What: name + " is not expanded: subcircuits nest deeper than"}
	case path+int(c.Name) > f.most.PathLength:
		why = &parse.LimitError{Name: parse.PathLength, Limit: f.most.PathLength, Of: "characters",
			What: "an instance is not expanded: its path is longer than"}
	case f.p.size[body] > uint64(max(0, f.most.Elements-used)):
		why = &parse.LimitError{Name: parse.Elements, Limit: f.most.Elements, Of: "elements",
			What: name + " is not expanded: the flat circuit would have more than"}
	case uint64(len(f.c.Pins))+f.p.pins[body] > uint64(f.most.Elements)*pinsEach:
		why = &parse.LimitError{Name: parse.Elements, Limit: f.most.Elements, Of: fmt.Sprintf("elements may have, %d each", pinsEach),
			What: name + " is not expanded: the flat circuit would have more pins than"}
	default:
		return true
	}
	f.c.eval.report(source.Diagnostic{At: c.At, Rule: ruleLimit, Message: why.Error(), Related: f.calls(inst)})
	return false
}

func (f *flattener) calls(i Inst) (list []source.Related) {
	for ; i != 0 && len(list) < 10; i = f.c.insts[i].up {
		list = append(list, source.Related{At: f.p.n.Cards[f.c.insts[i].call].At, Message: "called here"})
	}
	return list
}

// element lays down one card as an element.
func (f *flattener) element(id parse.CardID, inst Inst, e *env, base int) {
	kind := f.p.n.Cards[id].Kind
	_, expandable := f.p.target[id]
	if expandable || f.p.dead[id] {
		kind = '?'
	}
	f.lay(id, inst, e, base, kind)
}

// lay lays down one card as an element of a kind.
func (f *flattener) lay(id parse.CardID, inst Inst, e *env, base int, kind byte) {
	card := &f.p.n.Cards[id]
	if len(f.c.Elements) >= f.most.Elements {
		if !f.full {
			f.full = true
			why := &parse.LimitError{Name: parse.Elements, Limit: f.most.Elements, Of: "elements",
				What: fmt.Sprintf("%s and what follows is left out: the circuit has more than", f.p.n.CardName(id))}
			f.c.eval.report(source.Diagnostic{At: card.At, Rule: ruleLimit, Message: why.Error()})
		}
		return
	}
	if card.N > maxPins && kind != '?' {
		f.c.eval.report(source.Diagnostic{At: card.At, Rule: ruleLimit,
			Message: fmt.Sprintf("%s has more than %d pins, which is all that an element may have", f.p.n.CardName(id), maxPins)})
		kind = '?'
	}
	for from := uint32(0); ; from += maxPins {
		n := min(card.N-from, maxPins)
		el := Element{Card: id, Inst: inst, First: uint32(len(f.c.Pins)), N: uint8(n), Kind: kind, Value: math.NaN()}
		for i := range n {
			f.c.Pins = append(f.c.Pins, f.net(card.First+from+i, base, inst))
		}
		f.c.Elements = append(f.c.Elements, el)
		if from+n >= card.N {
			break
		}
	}
	if kind != '?' {
		f.evaluate(ID(len(f.c.Elements)-1), e)
	}
}

// evaluate computes what an element's card says.
func (f *flattener) evaluate(id ID, e *env) {
	c := f.c
	strange := false
	el := &c.Elements[id]
	card, x := c.card(id), c.extra(id)
	el.Value = card.Value
	switch el.Kind {
	case 'V', 'I', 'B':
		if s := c.drive(id, e); s != nil && s.Known {
			el.Value = s.DC
		}
	case 'R':
		if x != nil && x.Value != nil {
			el.Value = f.value(id, e, x.Value)
			if c.eval.warm {
				c.follows(id)
			}
		}
	default:
		if x != nil && x.Value != nil {
			el.Value = c.eval.checked(e, card.At.File, x.Value, f.value(id, e, x.Value))
		}
	}
	if x != nil {
		for i := range x.Params {
			strange = f.strange(id, e, &x.Params[i]) || strange
			f.trailing(id, e, &x.Params[i])
		}
	}
	if card.Ref != 0 && el.Kind != 'X' {
		f.model(id, e)
	}
	f.multiply(id, e)
	if strange {
		f.spoil(id)
		if el.Kind == 'C' { // open, unless something bridges it
			el.Kind = '?'
		}
	}
}

// value computes a value that was written as an expression or a bare word.
func (f *flattener) value(id ID, e *env, x *parse.Expr) float64 {
	c := f.c
	card := c.card(id)
	c.eval.warm = false
	if passive(card.Kind) && x.Op == parse.Name && !c.eval.defined(e, x.Text) {
		if name, ok := c.Cards.RefID(x.Text); ok && name == card.Ref {
			return f.byModel(id, e, x)
		}
	}
	return c.eval.value(e, card.At.File, x)
}

// model finds and evaluates the model an element names, holds the element against it, and reports a model that is nowhere.
func (f *flattener) model(id ID, e *env) {
	c := f.c
	card := c.card(id)
	if c.plan.model(card.Scope, card.Ref) {
		switch m := c.modelIn(card.Scope, card.Ref, e); {
		case m != nil && passive(card.Kind):
			f.fit(id, e, m)
		case m != nil:
			f.suits(id, m)
		case !c.vague(card.Scope, card.Ref, e):
			c.eval.report(source.Diagnostic{At: card.At, Rule: ruleCard, Message: fmt.Sprintf(
				"%s names model %q, which stands only under conditions that do not hold", c.Cards.CardName(c.Elements[id].Card), c.Cards.Names[card.Ref])})
		}
		return
	}
	x := c.extra(id)
	if passive(card.Kind) && bareName(x) != nil {
		if ref, ok := c.Cards.RefID(x.Value.Text); ok && ref == card.Ref {
			return // the word is a parameter, or was reported as no value
		}
	}
	if name := c.Cards.Names[card.Ref]; f.p.part != nil && strings.ContainsRune("DMSWQJZ", rune(card.Kind)) && f.p.part(name) {
		return // a record says what the model would
	} else if !f.nowhere[card.Ref] && !c.Cards.Doubted(name) {
		f.nowhere[card.Ref] = true
		c.eval.report(source.Diagnostic{At: card.At, Rule: ruleCard, Near: c.eval.near(name, c.plan.modelNames()),
			Message: fmt.Sprintf("%s names model %q, which is nowhere defined", c.Cards.CardName(c.Elements[id].Card), name)})
	}
}
