package circuit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A multiplier M=m asks for m copies in parallel. On an X card every element inside stands for m times as many. The SPICE3f3
// User's Manual does not have it; dialects agree on what it does to the elements below.

// multiplied are the letters whose own card may carry a multiplier.
const multiplied = "RCLDMQJZX"

func isMultiplier(q parse.Param) bool { return strings.EqualFold(q.Name, "m") }

// multiplier is the multiplier of an X card; nil where it has none, and where m is a parameter of the body.
func multiplier(n *parse.Netlist, call parse.CardID, body parse.SubID) *parse.Param {
	x := n.CardExtra(call)
	if x == nil {
		return nil
	}
	i := slices.IndexFunc(x.Params, isMultiplier)
	s := &n.Subs[body]
	if i < 0 || slices.ContainsFunc(s.Params, isMultiplier) || slices.ContainsFunc(s.Locals, isMultiplier) {
		return nil
	}
	return &x.Params[i]
}

// copies is how many copies of a body an X card asks for, in all the copies of the instance it stands in; 0 where that
// is not known.
func (f *flattener) copies(call parse.CardID, body parse.SubID, inst Inst, e *env) float64 {
	outer := f.c.insts[inst].copies
	p := multiplier(f.p.n, call, body)
	if p == nil {
		return outer
	}
	own := f.c.eval.steadyParam(e, p)
	total := outer * own
	switch {
	case !f.sensible(call, own):
		return 0
	case total == 0 || math.IsInf(total, 0):
		f.endless(call, inst, own)
		return 0
	}
	return total
}

// sensible reports a multiplier that is none.
func (f *flattener) sensible(id parse.CardID, m float64) bool {
	if m > 0 && !math.IsInf(m, 0) {
		return true
	}
	what := fmt.Sprintf("the multiplier m=%.6g, which is not above 0", m)
	if math.IsNaN(m) {
		what = "a multiplier m without a value"
	}
	f.c.eval.report(source.Diagnostic{At: f.p.n.Cards[id].At, Rule: ruleCard, Message: f.p.n.CardName(id) + " has " + what})
	return false
}

// multiply scales an element to all of its copies.
func (f *flattener) multiply(id ID, e *env) {
	c := f.c
	el := &c.Elements[id]
	m := c.insts[el.Inst].copies
	if p := c.find(id, "m"); p != nil && !f.ownName(el) {
		own := c.eval.steadyParam(e, p)
		switch {
		case own == 1:
		case strings.IndexByte(multiplied, el.Kind) < 0:
			c.eval.report(source.Diagnostic{At: c.Card(id), Rule: ruleCard, Message: fmt.Sprintf(
				"%s has a multiplier m, which only %s cards may have: draw the copies one by one", c.Cards.CardName(el.Card), letterList(multiplied))})
			f.spoil(id)
			return
		case !f.sensible(el.Card, own):
			f.spoil(id)
			return
		}
		m *= own
	}
	switch {
	case m == 1:
		return
	case el.Kind == 'X':
		c.eval.report(source.Diagnostic{At: c.Card(id), Rule: ruleSubcircuit, Related: f.calls(el.Inst), Message: fmt.Sprintf(
			"%s stands for %.6g copies in parallel by a multiplier m, and %s is taken as one part: draw the copies one by one",
			c.Cards.CardName(el.Card), m, c.Ref(id))})
		f.spoil(id)
		return
	}
	was := el.Value
	s := c.sources[id]
	if el.Kind != 'B' || s != nil && s.Current {
		el.Value = scale(el.Kind, was, m)
	}
	if s != nil && s.Current {
		for _, v := range []*float64{&s.DC, &s.Levels[0], &s.Levels[1]} {
			*v *= m
		}
	}
	if math.IsInf(el.Value, 0) || el.Value == 0 && was != 0 {
		f.endless(el.Card, el.Inst, m)
		f.spoil(id)
	}
}

// endless reports copies that no number holds.
func (f *flattener) endless(id parse.CardID, inst Inst, m float64) {
	f.c.eval.report(source.Diagnostic{At: f.p.n.Cards[id].At, Rule: ruleCard, Related: f.calls(inst),
		Message: fmt.Sprintf("%.6g copies of %s in parallel have no finite value", m, f.p.n.CardName(id))})
}

// ownName tells that m on an X card is a parameter of the body that exists under the part's name.
func (f *flattener) ownName(el *Element) bool {
	card := &f.p.n.Cards[el.Card]
	if el.Kind != 'X' {
		return false
	}
	body, ok := lexical(f.p, f.p.subs, card.Scope, card.Ref)
	return ok && multiplier(f.p.n, el.Card, body) == nil
}

// spoil makes an element one of which nobody knows what it does: a passive one keeps its place without a value.
func (f *flattener) spoil(id ID) {
	el := &f.c.Elements[id]
	el.Value = math.NaN()
	delete(f.c.sources, id)
	delete(f.c.warm, id)
	if !passive(el.Kind) {
		el.Kind = '?'
	}
}

// letterList is "A, B and C".
func letterList(letters string) string {
	last := len(letters) - 1
	return strings.Join(strings.Split(letters[:last], ""), ", ") + " and " + letters[last:]
}

// scale is what m copies of an element in parallel have for a value. The current of a voltage source inside a multiplied
// instance is that of all its copies: an F that follows it keeps its gain, and an H yields 1/m of it for each ampere.
func scale(kind byte, v, m float64) float64 {
	switch kind {
	case 'R', 'L', 'H':
		return v / m
	case 'C', 'G', 'I', 'B':
		return v * m
	}
	return v
}

// Copies is how many copies in parallel an element stands for: the multiplier of its own card times those of the X cards
// that lead to it.
func (c *Circuit) Copies(id ID) float64 {
	m := c.insts[c.Elements[id].Inst].copies
	if strings.IndexByte(multiplied, c.Elements[id].Kind) >= 0 {
		if own, ok := c.Given(id, "m"); ok {
			m *= own
		}
	}
	return m
}

// Total is the value of an element, of all its copies together, whose card says v.
func (c *Circuit) Total(id ID, v float64) float64 { return scale(c.Elements[id].Kind, v, c.Copies(id)) }

// Single is what the card of an element says that has the value v with all its copies together.
func (c *Circuit) Single(id ID, v float64) float64 {
	return scale(c.Elements[id].Kind, v, 1/c.Copies(id))
}
