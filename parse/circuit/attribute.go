package circuit

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// bearing are the trailing parameters by which dialects change what an element does at DC, and which are not understood, by
// letter: an element that has one is unknown, unless it has the value at which it changes nothing. Of sources it is any. All
// others are attributes: a capacitor's series resistance carries nothing, and what bridges an inductor is bridged by it.
var bearing = map[byte]map[string]float64{
	'R': {"rser": 0, "series": 0, "scale": 1, "mult": 1, "rpar": 0, "parallel": 0},
	'C': {"rpar": 0, "rleak": 0, "rlshunt": 0, "gpar": 0, "parallel": 0},
	'V': {"rser": 0, "cpar": 0, "scale": 1}, 'I': {"rpar": 0, "cpar": 0, "scale": 1},
}

// lists are the trailing parameters that may have several values.
var lists = []string{"tc", "ic"}

// strange reports a trailing parameter that makes the element something unknown.
func (f *flattener) strange(id ID, e *env, p *parse.Param) bool {
	el := &f.c.Elements[id]
	name := strings.ToLower(p.Name)
	card := f.c.Cards.CardName(el.Card)
	report := func(message string) bool {
		f.c.eval.report(source.Diagnostic{At: p.At, Rule: ruleCard, Message: message})
		return true
	}
	if len(p.More) > 0 && !slices.Contains(lists, name) {
		return report(fmt.Sprintf("%s has more than one value behind %s=", card, p.Name))
	}
	neutral, bears := bearing[el.Kind][name]
	source := el.Kind == 'V' || el.Kind == 'I'
	quoted := p.Expr != nil && p.Expr.Op == parse.Quoted
	switch {
	case !bears && (!source || name == "tol" || name == "m" || quoted), p.Expr == nil && bears && p.Number == neutral:
		return false
	}
	return report(fmt.Sprintf("%s has %s=, which is not understood: draw what it does as an element of its own", card, p.Name))
}

// overrides reports what an X card gives to a subcircuit that has no such parameter, and lists where one value belongs.
// It returns false where the instance would not be what the card says.
func (f *flattener) overrides(call parse.CardID, body parse.SubID) bool {
	x := f.p.n.CardExtra(call)
	if x == nil {
		return true
	}
	ok := true
	for i := range x.Params {
		p := &x.Params[i]
		if len(p.More) > 0 {
			ok = false
			f.c.eval.report(source.Diagnostic{At: p.At, Rule: ruleCard,
				Message: fmt.Sprintf("%s has more than one value behind %s=", f.p.n.CardName(call), p.Name)})
		}
		// One that is near none of them is an attribute of the instance.
		if name := strings.ToLower(p.Name); name != "m" && !f.takes(body)[name] {
			near := f.c.eval.hints.Nearest(name, maps.Keys(f.takes(body)))
			if near == "" {
				continue
			}
			f.c.eval.report(source.Diagnostic{At: f.p.n.Cards[call].At, Rule: ruleSubcircuit, Near: near,
				Message: fmt.Sprintf("%s gives %s= to subcircuit %s, which has no such parameter", f.p.n.CardName(call), p.Name, f.p.n.Names[f.p.n.Subs[body].Name]),
				Related: []source.Related{{At: f.p.n.Subs[body].At, Message: "defined here"}}})
		}
	}
	return ok
}

// takes are the names that a body has as parameters or uses in expressions, those nested in it included.
func (f *flattener) takes(body parse.SubID) map[string]bool {
	if names := f.taken[body]; names != nil {
		return names
	}
	names := map[string]bool{}
	f.taken[body] = names
	n := f.p.n
	s := &n.Subs[body]
	for _, list := range [][]parse.Param{s.Params, s.Locals} {
		for j := range list {
			names[strings.ToLower(list[j].Name)] = true
			used(names, list[j].Expr)
		}
	}
	for _, fn := range s.Functions {
		used(names, fn.Body)
	}
	for _, id := range f.p.own[body] {
		f.usedBy(names, id)
	}
	nested, models := f.within()
	for _, m := range models[body] {
		for _, p := range n.Models[m].Params {
			used(names, p.Expr)
		}
	}
	for _, inner := range nested[body] {
		maps.Copy(names, f.takes(inner))
	}
	return names
}

// within are the subcircuits and the models that stand in each subcircuit.
func (f *flattener) within() (nested map[parse.SubID][]parse.SubID, models map[parse.SubID][]int) {
	if f.nested == nil {
		f.nested, f.modelled = map[parse.SubID][]parse.SubID{}, map[parse.SubID][]int{}
		for i := range f.p.n.Subs[1:] {
			up := f.p.n.Subs[i+1].Up
			f.nested[up] = append(f.nested[up], parse.SubID(i+1))
		}
		for i := range f.p.n.Models {
			at := f.p.n.Models[i].Scope
			f.modelled[at] = append(f.modelled[at], i)
		}
	}
	return f.nested, f.modelled
}

func (f *flattener) usedBy(names map[string]bool, id parse.CardID) {
	x := f.p.n.CardExtra(id)
	if g := f.p.n.CardGuard(id); g != 0 {
		guard := &f.p.n.Guards[g]
		used(names, guard.If)
		for _, c := range guard.Not {
			used(names, c)
		}
	}
	if x == nil {
		return
	}
	used(names, x.Value)
	value := func(v parse.Value) { used(names, v.Expr) }
	for _, p := range x.Params {
		value(p.Value)
		for _, m := range p.More {
			value(m)
		}
	}
	if x.Law != nil {
		used(names, x.Law.Expr)
		for _, a := range x.Law.Args {
			value(a)
		}
	}
	if x.Drive != nil {
		if x.Drive.DC != nil {
			value(*x.Drive.DC)
		}
		for _, a := range x.Drive.Args {
			value(a)
		}
	}
}

func used(names map[string]bool, x *parse.Expr) {
	if x == nil {
		return
	}
	if x.Op == parse.Name {
		names[strings.ToLower(x.Text)] = true
	}
	for _, a := range x.Args {
		used(names, a)
	}
}
