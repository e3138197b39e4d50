package parse

import (
	"fmt"
	"slices"
	"strings"

	"github.com/alecthomas/participle/v2/lexer"
)

// A shape is an element card in one form for all letters, before its names are tabled.
type shape struct {
	nodes   []name
	ref     *name // model or subcircuit
	value   *operand
	assigns []assign
	flags   []string
	names   []name // elements it names
	drive   *pieces
	law     *Law
	args    []operand // coefficients of a POLY, points of a TABLE
}

// The pieces of a source function.
type pieces struct {
	dc     *operand
	ac     bool
	phasor []operand
	wave   *lexer.Token
	args   []operand
}

// A refusal is why a card cannot be read. At is the token at fault; nil is the whole card.
type refusal struct {
	at      *lexer.Token
	message string
	near    string
	rule    string // "": netlist-card
}

// shapeOf brings an element card into its common form. known tells model names; it matters only for Q and M, whose
// nodes cannot be counted without it.
func shapeOf(s *syntax, head *lexer.Token, known func(string) bool) (*shape, *refusal) {
	switch {
	case s.Passive != nil:
		return s.Passive.shape(head, known)
	case s.Call != nil:
		last := len(s.Call.Names) - 1
		if last < 1 {
			return nil, &refusal{message: head.Value + " names no node: expected " + forms[head.Type]}
		}
		return &shape{nodes: s.Call.Names[:last], ref: &s.Call.Names[last], assigns: s.Call.Tail}, nil
	case s.Source != nil:
		return s.Source.shape(head)
	case s.Device != nil:
		return s.Device.shape(head, known)
	case s.Diode != nil:
		d := s.Diode
		return modelled(&shape{nodes: d.Nodes, ref: &d.Model, value: d.Area}, d.Tail, head, known)
	case s.Fet != nil:
		d := s.Fet
		return modelled(&shape{nodes: d.Nodes, ref: &d.Model, value: d.Area}, d.Tail, head, known)
	case s.Linear != nil:
		d := s.Linear
		sh := &shape{nodes: d.Nodes, value: d.Gain, law: lawOf(d.Law, d.Formula, d.Expr), assigns: d.Tail}
		return lawful(sh, d.Poly, d.Table, head)
	case s.Follower != nil:
		d := s.Follower
		sh := &shape{nodes: d.Nodes, value: d.Gain, law: lawOf(d.Law, d.Formula, d.Expr), assigns: d.Tail}
		if d.Source != nil {
			sh.names = []name{*d.Source}
		}
		return lawful(sh, d.Poly, d.Table, head)
	case s.Formula != nil:
		d := s.Formula
		return &shape{nodes: d.Nodes, law: lawOf(nil, &d.Formula, d.Expr), assigns: d.Tail}, nil
	case s.Switch != nil:
		return modelled(&shape{nodes: s.Switch.Nodes, ref: &s.Switch.Model}, s.Switch.Tail, head, known)
	case s.Relay != nil:
		d := s.Relay
		return modelled(&shape{nodes: d.Nodes, ref: &d.Model, names: []name{d.Source}}, d.Tail, head, known)
	case s.Coupling != nil:
		return s.Coupling.shape(head)
	case s.Line != nil:
		return &shape{nodes: s.Line.Nodes, ref: s.Line.Model, assigns: s.Line.Tail}, nil
	case s.Lossy != nil:
		return &shape{nodes: s.Lossy.Nodes, ref: &s.Lossy.Model}, nil
	case s.Uniform != nil:
		return &shape{nodes: s.Uniform.Nodes, ref: &s.Uniform.Model, assigns: s.Uniform.Tail}, nil
	}
	return nil, nil
}

// modelFirst tells that a word stands before the value: a model, or a node too many.
func (p *passive) modelFirst() bool {
	return isName(p.Value) && p.Model != nil && (p.Model.Expr == nil || p.Model.Expr.Op != Name)
}

func isName(o *operand) bool {
	return o != nil && o.Expr != nil && o.Expr.Op == Name && o.From == o.Expr.From
}

func (p *passive) shape(head *lexer.Token, known func(string) bool) (*shape, *refusal) {
	sh := &shape{nodes: p.Nodes, value: p.Value, assigns: p.Tail}
	twice := &refusal{message: head.Value + " has two values or too many nodes: expected " + forms[head.Type]}
	own := findAssign(p.Tail, head.Value[:1])
	switch {
	case own.quoted():
		return nil, texted(head)
	case p.modelFirst() && !known(p.Value.Expr.Text):
		return nil, twice
	case p.modelFirst():
		sh.value, p.Model = p.Model, p.Value
	case own != nil && isName(p.Value) && p.Model == nil:
		sh.value, p.Model = (*operand)(&own.Value), p.Value
	case own != nil && p.Value != nil:
		return nil, twice
	}
	if p.Model != nil {
		t := name{Pos: lexer.Position{Offset: int(p.Model.From)}}
		if p.Model.Expr == nil || p.Model.Expr.Op != Name {
			return nil, twice
		}
		t.Value = p.Model.Expr.Text
		sh.ref = &t
	}
	if own != nil && sh.value == nil {
		sh.value = (*operand)(&own.Value)
	}
	if e := sh.value; e != nil && e.Expr != nil && e.Expr.Op == Name && e.From == e.Expr.From && sh.ref == nil {
		// A bare name is a parameter or a model; which, is known when both are.
		sh.ref = &name{Value: e.Expr.Text, Pos: lexer.Position{Offset: int(e.From)}}
	}
	if sh.value == nil {
		return nil, &refusal{message: head.Value + " has no value: expected " + forms[head.Type]}
	}
	return sh, nil
}

// quoted tells that a text in quotes stands where a value should.
func (a *assign) quoted() bool { return a != nil && a.Value.Expr != nil && a.Value.Expr.Op == Quoted }

func texted(head *lexer.Token) *refusal {
	return &refusal{message: head.Value + " has a text in quotes for its value: expected " + forms[head.Type]}
}

func findAssign(list []assign, name string) *assign {
	i := slices.IndexFunc(list, func(a assign) bool { return strings.EqualFold(a.Name.Value, name) })
	if i < 0 {
		return nil
	}
	return &list[i]
}

func (s *stimulus) shape(head *lexer.Token) (*shape, *refusal) {
	sh := &shape{nodes: s.Nodes, assigns: s.Tail}
	p := &pieces{}
	for i := range s.Items {
		item := &s.Items[i]
		dc := item.DC
		if dc == nil {
			dc = item.Plain
		}
		switch {
		case dc != nil && sh.value != nil:
			return nil, &refusal{message: head.Value + " has two values or too many nodes: expected " + forms[head.Type]}
		case dc != nil:
			sh.value, p.dc = dc, dc
		case item.AC:
			p.ac, p.phasor = true, item.Phasor
			if len(item.Phasor) > 2 {
				return nil, &refusal{message: head.Value + " has more than magnitude and phase behind AC"}
			}
		case item.Wave != nil && p.wave != nil:
			return nil, &refusal{at: &item.Wave.Word, message: head.Value + " has two source functions"}
		case item.Wave != nil:
			p.wave, p.args = &item.Wave.Word, flatten(nil, item.Wave.Args)
			if item.Wave.overflows() {
				return nil, &refusal{message: head.Value + " has a value behind the parentheses of its source function: expected " + forms[head.Type]}
			}
			if strings.EqualFold(p.wave.Value, "pwl") {
				inSteps(p.args)
			}
			if len(p.args) == 0 {
				return nil, &refusal{at: p.wave, message: strings.ToUpper(p.wave.Value) + " of " + head.Value + " has no values"}
			}
			if strings.EqualFold(p.wave.Value, "pwl") && len(p.args)%2 == 1 {
				return nil, &refusal{at: p.wave, message: "PWL of " + head.Value + " has a time without a value"}
			}
		}
	}
	if p.wave != nil || p.ac {
		sh.drive = p
	}
	return sh, nil
}

// overflows tells that something stands behind the parentheses around the values, or before them. The points of a PWL may
// each have their own.
func (w *wave) overflows() bool {
	groups, pwl := 0, strings.EqualFold(w.Word.Value, "pwl")
	for _, a := range w.Args {
		if a.Value == nil {
			groups++
		}
	}
	return groups > 0 && groups < len(w.Args) || groups > 1 && !pwl
}

// inSteps adds up the times of a PWL that are written with a plus sign: they count from the point before.
func inSteps(args []operand) {
	for i := 2; i < len(args); i += 2 {
		if args[i].step && args[i-2].Expr == nil && args[i].Expr == nil {
			args[i].Number += args[i-2].Number
		}
	}
}

func flatten(to []operand, args []argument) []operand {
	for _, a := range args {
		if a.Value != nil {
			to = append(to, *a.Value)
		}
		to = flatten(to, a.Group)
	}
	return to
}

// modelled adds what stands behind a model. A model nobody knows beside a known one where its area should stand means
// that the nodes were miscounted.
func modelled(sh *shape, tail []trailer, head *lexer.Token, known func(string) bool) (*shape, *refusal) {
	if v := sh.value; v != nil && v.Expr != nil && v.Expr.Op == Name && known(v.Expr.Text) && !known(sh.ref.Value) {
		return nil, &refusal{message: head.Value + " has too many nodes: expected " + forms[head.Type]}
	}
	for i := range tail {
		if f := tail[i].Flag; f != nil {
			sh.flags = append(sh.flags, strings.ToLower(f.Value))
		} else {
			sh.assigns = append(sh.assigns, *tail[i].Assign)
		}
	}
	return sh, nil
}

// shape counts the nodes of a Q or M.
func (d *device) shape(head *lexer.Token, known func(string) bool) (*shape, *refusal) {
	least, most := 3, 4 // a substrate node may be left out
	n := len(d.Names)
	model := -1
	for i := least; i <= most && i < n; i++ {
		if known(d.Names[i].Value) {
			model = i
			break
		}
	}
	switch {
	case model >= 0:
	case head.Type == tM:
		model = 4
	case n == 5 && !isNumber(d.Names[4].Value), n == 6:
		model = 4
	default:
		model = 3
	}
	behind := 1
	if head.Type == tM {
		behind = 0
	}
	if model >= n || n-1-model > behind || d.Area != nil && n-1-model == behind {
		if head.Type == tM && n == 4 {
			return nil, &refusal{message: fmt.Sprintf("%s has too few nodes, or its model %q is nowhere defined: expected %s",
				head.Value, d.Names[3].Value, forms[head.Type])}
		}
		few := "few"
		if model < n {
			few = "many"
		}
		return nil, &refusal{message: head.Value + " has too " + few + " nodes: expected " + forms[head.Type]}
	}
	sh := &shape{nodes: d.Names[:model], ref: &d.Names[model], value: (*operand)(d.Area)}
	if model < n-1 {
		sh.value = worded((*lexer.Token)(&d.Names[n-1]))
	}
	return modelled(sh, d.Tail, head, known)
}

func isNumber(s string) bool {
	_, _, ok := Number(s)
	return ok
}

func (k *coupling) shape(head *lexer.Token) (*shape, *refusal) {
	sh := &shape{names: k.Names, value: (*operand)(k.Value), assigns: k.Tail, ref: k.Core}
	if n := len(sh.names); k.Value == nil && k.Core == nil && n > 2 && !isNumber(sh.names[n-1].Value) && isNumber(sh.names[n-2].Value) {
		sh.ref, sh.names = &sh.names[n-1], sh.names[:n-1]
	}
	own := findAssign(k.Tail, "k")
	switch {
	case own.quoted():
		return nil, texted(head)
	case own != nil && sh.value == nil:
		sh.value = (*operand)(&own.Value)
	case own != nil:
		return nil, &refusal{message: head.Value + " has two couplings: expected " + forms[head.Type]}
	case sh.value == nil:
		last := &sh.names[len(sh.names)-1]
		sh.value, sh.names = worded((*lexer.Token)(last)), sh.names[:len(sh.names)-1]
	}
	if len(sh.names) < 2 {
		return nil, &refusal{message: head.Value + " names fewer than two inductors: expected " + forms[head.Type]}
	}
	return sh, nil
}

func lawful(sh *shape, p *poly, t *table, head *lexer.Token) (*shape, *refusal) {
	var why *refusal
	switch {
	case p != nil:
		why = p.fill(sh, head)
	case t != nil:
		why = t.fill(sh, head)
	}
	if why != nil {
		return nil, why
	}
	return sh, nil
}

func lawOf(law, formula *lexer.Token, e *Expr) *Law {
	switch {
	case law != nil:
		return &Law{Form: strings.ToUpper(law.Value)}
	case formula != nil:
		return &Law{Form: strings.ToUpper(formula.Value), Expr: e}
	}
	return nil
}
