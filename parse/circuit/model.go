package circuit

import (
	"fmt"
	"iter"
	"maps"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Model is a .model card as one instance sees it.
type Model struct {
	Name, Type string             // the name as written, the type in upper case
	Params     map[string]float64 // by name in lower case; absent where not given; of those that count, NaN without a value
	At         source.Span
}

// modelKey is a model in the environment its parameters are written in.
type modelKey struct {
	model int
	in    *env
}

// candidates are the models of a name from a scope outwards, each with the environment it stands in.
func (c *Circuit) candidates(scope parse.SubID, name parse.NameID, e *env) iter.Seq2[int, *env] {
	return func(yield func(int, *env) bool) {
		for {
			for e.sub != scope {
				e = e.up
			}
			for _, i := range c.plan.modelAt[scoped{scope, name}] {
				if !yield(i, e) {
					return
				}
			}
			if scope == 0 {
				return
			}
			scope = c.Cards.Subs[scope].Up
		}
	}
}

// pick finds the model of a name from a scope outwards, and the environment it stands in. Of several in branches of a
// choice it is the one whose branch is there; where that is not known there is none.
func (c *Circuit) pick(scope parse.SubID, name parse.NameID, e *env) (model int, in *env, ok bool) {
	for i, at := range c.candidates(scope, name, e) {
		if c.eval.holds(at, c.Cards.Models[i].Guard) == yes {
			return i, at, true
		}
	}
	return 0, nil, false
}

// vague tells that whether a model of a name is there is not known, which was reported.
func (c *Circuit) vague(scope parse.SubID, name parse.NameID, e *env) bool {
	for i, at := range c.candidates(scope, name, e) {
		if m := &c.Cards.Models[i]; c.eval.holds(at, m.Guard) == unsure || m.Base != 0 {
			return true
		}
	}
	return false
}

// modelIn finds a model from a scope outwards and evaluates it; nil when there is none.
func (c *Circuit) modelIn(scope parse.SubID, name parse.NameID, e *env) *Model {
	i, e, ok := c.pick(scope, name, e)
	if !ok {
		return nil
	}
	k := modelKey{i, e}
	if done, known := c.models[k]; known {
		return done
	}
	m := &c.Cards.Models[i]
	made := &Model{Name: c.Cards.Names[m.Name], Type: m.Type, Params: make(map[string]float64, len(m.Params)), At: m.At}
	c.models[k] = nil // a model that is a kind of itself
	if m.Base != 0 {
		c.akin++
		ok := c.inherit(made, m, e)
		if c.akin--; !ok {
			return nil
		}
	}
	c.models[k] = made
	for j := range m.Params {
		p := &m.Params[j]
		key := strings.ToLower(p.Name)
		if p.Expr != nil && p.Expr.Op == parse.Quoted {
			continue
		}
		if len(p.More) > 0 {
			c.eval.report(source.Diagnostic{At: p.At, Rule: ruleCard, Message: fmt.Sprintf("model %s has more than one value behind %s=", made.Name, p.Name)})
			made.Params[key] = math.NaN()
			continue
		}
		if counting[key] {
			made.Params[key] = c.eval.steadyParam(e, p)
			continue
		}
		if x := p.Expr; x != nil && x.Op == parse.Name && !c.eval.defined(e, x.Text) {
			continue // a word such as a maker's name says nothing about the circuit
		}
		if v := c.eval.param(e, p); !math.IsNaN(v) {
			made.Params[key] = v
		} else {
			delete(made.Params, key)
		}
	}
	return made
}

// mostAkin bounds how many models may be kinds of each other in a row.
const mostAkin = 100

// inherit takes over what a model does not say itself from the one it is a kind of (AKO).
func (c *Circuit) inherit(made *Model, m *parse.Model, e *env) bool {
	name := c.Cards.Names[m.Base]
	if c.akin > mostAkin {
		c.eval.report(source.Diagnostic{At: m.At, Rule: ruleLimit,
			Message: fmt.Sprintf("model %s is a kind of a kind of a kind ...: more than %d in a row", made.Name, mostAkin)})
		return false
	}
	base := c.modelIn(m.Scope, m.Base, e)
	fail := func(what string, known iter.Seq[string]) bool {
		d := source.Diagnostic{At: m.At, Rule: ruleCard, Message: fmt.Sprintf("model %s is a kind of %q, %s", made.Name, name, what)}
		if known != nil {
			d.Near = c.eval.near(name, known)
		}
		c.eval.report(d)
		return false
	}
	switch {
	case base == nil && !c.plan.model(m.Scope, m.Base):
		return fail("which is nowhere defined", c.plan.modelNames())
	case base == nil:
		return fail("which comes to nothing: it is a kind of itself, or its condition is not known", nil)
	case made.Type == "":
		made.Type = base.Type
	case made.Type != base.Type:
		return fail("whose type "+base.Type+" is another", nil)
	}
	maps.Copy(made.Params, base.Params)
	return true
}

// Model is the model an element names, found from where its card stands outwards; nil when there is none.
func (c *Circuit) Model(id ID) *Model {
	card := c.card(id)
	if card.Ref == 0 || card.Kind == 'X' || card.Kind == '?' {
		return nil
	}
	c.eval.mu.Lock()
	defer c.eval.mu.Unlock()
	i, e, ok := c.pick(card.Scope, card.Ref, c.insts[c.Elements[id].Inst].env)
	if !ok {
		return nil
	}
	return c.models[modelKey{i, e}] // made when the circuit was built
}

// counting are the parameters of models that the bounds rest on: one of them without a value is unknown, not absent.
var counting = map[string]bool{"r": true, "c": true, "l": true, "rsh": true, "defw": true, "narrow": true, "tc1": true, "tc2": true,
	"tnom": true, "cj": true, "cjsw": true, "rs": true, "bv": true, "ron": true}

// Param is a trailing name=value of an element, in any case; ok is false where it is not given or has no value. Of a
// list it is the first.
func (c *Circuit) Param(id ID, name string) (v float64, ok bool) {
	v, given := c.Given(id, name)
	return v, given && !math.IsNaN(v)
}

// Given is a trailing name=value like Param, but NaN where it is given and has no value, or one that makes no sense.
func (c *Circuit) Given(id ID, name string) (v float64, given bool) {
	p := c.find(id, name)
	if p == nil {
		return 0, false
	}
	return c.given(c.insts[c.Elements[id].Inst].env, p), true
}

func (c *Circuit) given(e *env, p *parse.Param) float64 {
	v, ok := percent(p)
	if !ok {
		v = c.later(e, p.Value)
	}
	if isTolerance(p) && !(0 <= v && v < 1) {
		return math.NaN()
	}
	return v
}

// ParamList is a trailing name=value,value,... of an element; NaN stands for what has no value, nil for what is not given.
func (c *Circuit) ParamList(id ID, name string) (list []float64) {
	p := c.find(id, name)
	if p == nil {
		return nil
	}
	e := c.insts[c.Elements[id].Inst].env
	list = append(list, c.later(e, p.Value))
	for _, m := range p.More {
		list = append(list, c.later(e, m))
	}
	return list
}

func (c *Circuit) find(id ID, name string) *parse.Param {
	return parameter(c.extra(id), name)
}

// later evaluates after the circuit was built, when others may be asking too.
func (c *Circuit) later(e *env, o parse.Value) float64 {
	if o.Literal() {
		return o.Number
	}
	c.eval.mu.Lock()
	defer c.eval.mu.Unlock()
	return c.eval.steady(e, o)
}
