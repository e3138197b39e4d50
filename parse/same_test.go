package parse_test

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/source"
)

// different says what two netlists do not have in common, places aside; "" where they draw the same.
func different(a, b *parse.Netlist) string {
	x, y := told(a), told(b)
	for i := range max(len(x), len(y)) {
		if i >= len(x) || i >= len(y) || x[i] != y[i] {
			first, second := "nothing", "nothing"
			if i < len(x) {
				first = x[i]
			}
			if i < len(y) {
				second = y[i]
			}
			return fmt.Sprintf("%q became %q", first, second)
		}
	}
	return ""
}

// told is everything that a netlist holds, one line each. Node names are told in lower case.
func told(n *parse.Netlist) (out []string) {
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	say("title %q", n.Src.Text(n.Title))
	for _, p := range n.Pragmas {
		say("pragma %q", n.Src.Text(p))
	}
	for _, i := range n.Ignored {
		say("ignored %q", i.Word)
	}
	names := func(list ...parse.NameID) string {
		var out []string
		for _, id := range list {
			out = append(out, fmt.Sprintf("%q", strings.ToLower(n.Names[id])))
		}
		return strings.Join(out, " ")
	}
	say("global %s", names(n.Globals...))
	for i := range n.Subs {
		s := &n.Subs[i]
		say("sub %d %s in %d: %s; cards %d to %d; params %s; broken %v; guard %d", i, names(s.Name), s.Up, names(s.Ports...),
			s.First, s.End, toldParams(s.Params), s.Broken, s.Guard)
		for _, l := range s.Locals {
			say("local %s guard %d", toldParams([]parse.Param{l}), l.Guard)
		}
		for _, f := range s.Functions {
			say("function %q of %q: %s guard %d", f.Name, f.Args, toldExpr(f.Body), f.Guard)
		}
	}
	for _, g := range n.Guards[1:] {
		not := ""
		for _, e := range g.Not {
			not += " " + toldExpr(e)
		}
		say("guard in %d, %d: not%s but %s", g.Scope, g.Up, not, toldExpr(g.If))
	}
	for _, m := range n.Models {
		say("model %s like %s in %d: %q %s guard %d", names(m.Name), names(m.Base), m.Scope, m.Type, toldParams(m.Params),
			m.Guard)
	}
	say("tnom %v, title calls %q", n.Tnom, n.TitleCalls)
	for i := range n.Cards {
		id := parse.CardID(i)
		c := &n.Cards[i]
		x := n.CardExtra(id)
		if x == nil {
			x = &parse.Extra{}
		}
		say("card %c %q in %d, %d on %s by %s: %s %s; flags %v; names %s", c.Kind, n.CardName(id), c.Scope, n.CardGuard(id),
			names(n.CardNodes(id)...), names(c.Ref), toldValue(parse.Value{Number: c.Value, Expr: x.Value}), toldParams(x.Params), x.Flags, names(x.Names...))
		if d := x.Drive; d != nil {
			dc := "none"
			if d.DC != nil {
				dc = toldValue(*d.DC)
			}
			say("drive dc %s ac %v %s %q %s", dc, d.AC, toldValues(d.Phasor), d.Function, toldValues(d.Args))
		}
		if l := x.Law; l != nil {
			say("law %q %s %d %s", l.Form, toldExpr(l.Expr), l.Dimension, toldValues(l.Args))
		}
	}
	return out
}

func toldParams(list []parse.Param) string {
	var out []string
	for _, p := range list {
		out = append(out, fmt.Sprintf("%q=%s%s", p.Name, toldValue(p.Value), toldValues(p.More)))
	}
	return strings.Join(out, " ")
}

func toldValues(list []parse.Value) (out string) {
	for _, v := range list {
		out += "," + toldValue(v)
	}
	return out
}

func toldValue(v parse.Value) string {
	if v.Expr != nil {
		return toldExpr(v.Expr)
	}
	return fmt.Sprintf("%x", math.Float64bits(v.Number))
}

func toldExpr(e *parse.Expr) string {
	if e == nil {
		return "none"
	}
	out := fmt.Sprintf("(%d %q %x", e.Op, e.Text, math.Float64bits(e.Number))
	for _, a := range e.Args {
		out += " " + toldExpr(a)
	}
	return out + ")"
}

func sameExpr(a, b *parse.Expr) bool { return toldExpr(a) == toldExpr(b) }

// flattened is the flat circuit of a netlist, one line an element, net and complaint.
func flattened(n *parse.Netlist) (out []string) {
	c, diags := circuit.Elaborate(n, nil)
	for i := range c.Elements {
		id := circuit.ID(i)
		e := &c.Elements[i]
		out = append(out, fmt.Sprintf("%c %s %v %x ref %q", e.Kind, strings.ToLower(c.Path(id)), c.ElementPins(id),
			math.Float64bits(e.Value), strings.ToLower(c.Ref(id))))
		if s := c.Source(id); s != nil {
			out = append(out, fmt.Sprintf("source %+v", *s))
		}
		if m := c.Model(id); m != nil {
			out = append(out, fmt.Sprintf("model %s %s %v", strings.ToLower(m.Name), m.Type, m.Params))
		}
		out = append(out, fmt.Sprintf("controls %v and %v", c.Coupled(id), c.Behavioural(id)))
	}
	for _, name := range c.AllNets() {
		out = append(out, "net "+strings.ToLower(name))
	}
	rules := make([]string, 0, len(diags))
	for _, d := range diags {
		rules = append(rules, d.Rule)
	}
	slices.Sort(rules)
	return append(out, rules...)
}

// spoken are diagnostics as text.
func spoken(set *source.Set, diags []source.Diagnostic) (out []string) {
	for _, d := range diags {
		p := set.Place(d.At)
		out = append(out, fmt.Sprintf("%d:%d %s: %s", p.Line, p.Column, d.Rule, d.Text()))
	}
	return out
}
