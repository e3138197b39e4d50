package circuit

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// An env holds the parameters that an instance sees. up is the instance of the subcircuit in which its own was defined,
// not the one that called it: names are looked up where they were written.
type env struct {
	sub    parse.SubID
	up     *env
	caller *env
	given  []parse.Param // name=value of the X card, in the caller's parameters
	defs   map[string]*definition
	funcs  map[string]*parse.Function
}

// A definition is one parameter of an instance.
type definition struct {
	name   string
	value  parse.Value
	in     *env // whose parameters the value is written in
	state  byte
	warm   bool // it follows the temperature: result is that of the nominal one
	result float64
	other  *reading // the latest at another temperature
}

const (
	untouched byte = iota
	busy
	computed
	failed
)

// maxFrames bounds how deep parameters that lean on each other in a row and their expressions nest together, whatever
// the limits: the stack has its end.
const maxFrames = 250_000

// An evaluator computes expressions in environments. It is used by one goroutine while a circuit is built; later it is
// locked.
type evaluator struct {
	mu       sync.Mutex
	n        *parse.Netlist
	diags    []source.Diagnostic
	reported map[string]bool
	quiet    bool
	stack    []*definition
	frames   int // how deep the expressions on the stack nest together
	most     int // definitions on the stack
	hints    source.Hints
	left     int // steps of functions that the whole netlist may still take
	plain    map[plainKey]*env
	guards   map[guardKey]truth
	lively   map[*parse.Function]bool // the functions that follow the circuit, once asked
	calls    int                      // of functions, within one another
	steps    int                      // parts of bodies of functions computed for one expression
	celsius  float64                  // the temperature at which expressions are computed
	warm     bool                     // the expression computed last followed it
}

// Instances of a subcircuit without parameters, defined in one place, see the same.
type plainKey struct {
	sub parse.SubID
	up  *env
}

func newEvaluator(n *parse.Netlist) *evaluator {
	return &evaluator{n: n, most: n.Limits.OrStandard().ParameterDepth, reported: map[string]bool{}, plain: map[plainKey]*env{},
		guards: map[guardKey]truth{}, celsius: nominal,
		hints: source.Hints{Left: 2_000_000}, left: maxAllSteps, lively: map[*parse.Function]bool{}}
}

// report files a diagnostic once: a card is evaluated in every instance.
func (v *evaluator) report(d source.Diagnostic) {
	key := fmt.Sprint(d.At.File, d.At.Byte, d.At.Len, d.Message)
	if v.quiet || v.reported[key] || len(v.diags) > source.MaxTroubles {
		return
	}
	v.reported[key] = true
	v.diags = source.Report(v.diags, d, ruleLimit)
}

// enter makes the environment of an instance.
func (v *evaluator) enter(caller *env, call parse.CardID, body parse.SubID) *env {
	up := caller
	for up.sub != v.n.Subs[body].Up {
		up = up.up
	}
	e := &env{sub: body, up: up, caller: caller}
	if x := v.n.CardExtra(call); x != nil {
		e.given = x.Params
		if multiplier(v.n, call, body) != nil { // that one is no parameter
			e.given = slices.DeleteFunc(slices.Clone(x.Params), isMultiplier)
		}
	}
	s := &v.n.Subs[body]
	if len(e.given)+len(s.Params)+len(s.Locals)+len(s.Functions) == 0 {
		k := plainKey{body, up}
		if same := v.plain[k]; same != nil {
			return same
		}
		v.plain[k] = e
	}
	for i := range e.given {
		if x := e.given[i].Expr; x != nil && x.Op == parse.Quoted {
			continue // for people, unless something asks for it
		}
		v.param(caller, &e.given[i])
	}
	v.all(e)
	return e
}

// all computes the parameters of an instance in the order they were written, for what there is to report.
func (v *evaluator) all(e *env) {
	s := &v.n.Subs[e.sub]
	for _, list := range [][]parse.Param{s.Params, s.Locals} {
		for i := range list {
			if x := list[i].Expr; x == nil || x.Op != parse.Quoted {
				v.name(e, list[i].Name)
			}
		}
	}
}

// definitions are the parameters of an instance: what the X card gives goes before a .param card in the body, and that
// before a default.
func (v *evaluator) definitions(e *env) map[string]*definition {
	if e.defs != nil {
		return e.defs
	}
	s := &v.n.Subs[e.sub]
	e.defs = make(map[string]*definition, len(s.Params)+len(s.Locals)+len(e.given))
	put := func(list []parse.Param, in *env, there func(parse.GuardID) bool) {
		for i := range list {
			if there(list[i].Guard) {
				e.defs[strings.ToLower(list[i].Name)] = &definition{name: list[i].Name, value: list[i].Value, in: in}
			}
		}
	}
	always := func(g parse.GuardID) bool { return g == 0 }
	put(s.Params, e, always)
	put(s.Locals, e, always)
	put(e.given, e.caller, always)
	// Conditions may lean on all that stands under none. Of several definitions of a name the last one that is there holds.
	under := map[string]bool{}
	for i := range s.Locals {
		if s.Locals[i].Guard != 0 {
			under[strings.ToLower(s.Locals[i].Name)] = true
		}
	}
	if len(under) > 0 {
		for i := range s.Locals {
			l := &s.Locals[i]
			if name := strings.ToLower(l.Name); under[name] && v.holds(e, l.Guard) == yes {
				e.defs[name] = &definition{name: l.Name, value: l.Value, in: e}
			}
		}
		put(e.given, e.caller, always)
	}
	return e.defs
}

// defined tells that a name is a parameter where an instance stands.
func (v *evaluator) defined(e *env, name string) bool {
	name = strings.ToLower(name)
	for ; e != nil; e = e.up {
		if v.definitions(e)[name] != nil {
			return true
		}
	}
	return false
}

// name computes a parameter.
func (v *evaluator) name(e *env, name string) (float64, bool, *parse.Trouble) {
	name = strings.ToLower(name)
	for ; e != nil; e = e.up {
		if d := v.definitions(e)[name]; d != nil {
			return v.define(d)
		}
	}
	if name == "temper" || name == "temp" {
		v.warm = true
		return v.celsius, true, nil
	}
	return 0, false, nil
}

var settled = &parse.Trouble{Settled: true}

func (v *evaluator) define(d *definition) (float64, bool, *parse.Trouble) {
	if v.celsius != nominal && (d.state == untouched || d.state == computed && d.warm) {
		return v.reread(d)
	}
	switch d.state {
	case computed:
		v.warm = v.warm || d.warm
		return d.result, true, nil
	case failed:
		return 0, true, settled
	case busy:
		v.circle(d)
		return 0, true, settled
	}
	if d.value.Literal() {
		d.state, d.result = computed, d.value.Number
		return d.result, true, nil
	}
	deep := d.value.Expr.Depth() + 1
	why := ""
	switch {
	case len(v.stack) >= v.most:
		why = (&parse.LimitError{Name: parse.ParameterDepth, Limit: v.most, Of: "parameters lean on each other in a row",
			What: d.name + " has no value: more than"}).Error()
	case v.frames+deep > maxFrames:
		why = fmt.Sprintf("%s has no value: parameters that lean on each other in a row nest deeper than %d together, "+
			"and no deeper can be computed", d.name, maxFrames)
	}
	if why != "" {
		v.report(source.Diagnostic{At: d.value.At, Rule: ruleLimit, Message: why})
		d.state = failed
		return 0, true, settled
	}
	outer := v.warm
	v.warm = false
	d.state = busy
	v.stack, v.frames = append(v.stack, d), v.frames+deep
	result, err := v.compute(d.in, d.value.At.File, d.value.Expr)
	v.stack, v.frames = v.stack[:len(v.stack)-1], v.frames-deep
	d.warm = v.warm
	v.warm = outer || d.warm
	if err != nil {
		d.state = failed
		return 0, true, settled
	}
	d.state, d.result = computed, result
	return result, true, nil
}

// circle reports parameters that need each other, in an order that does not depend on which was asked for first.
func (v *evaluator) circle(d *definition) {
	ring := slices.Clone(v.stack[slices.Index(v.stack, d):])
	first := 0
	for i := range ring {
		a, b := ring[i].value.At, ring[first].value.At
		if a.File < b.File || a.File == b.File && a.Byte < b.Byte {
			first = i
		}
	}
	var names []string
	for i := range ring {
		names = append(names, ring[(first+i)%len(ring)].name)
	}
	names = append(names, ring[first].name)
	if len(names) > 12 {
		names = append(append(slices.Clone(names[:6]), "..."), names[len(names)-5:]...)
	}
	v.report(source.Diagnostic{At: ring[first].value.At, Rule: ruleExpression,
		Message: "parameters need each other: " + strings.Join(names, " -> ")})
}

// compute evaluates an expression and reports what keeps it from having a value.
func (v *evaluator) compute(e *env, file source.FileID, x *parse.Expr) (float64, *parse.Trouble) {
	v.steps = 0
	result, err := x.Eval(v.scope(e, nil, nil))
	if err == nil || err.Settled {
		return result, err
	}
	v.trouble(e, file, err)
	return math.NaN(), settled
}

// trouble reports what keeps an expression from having a value.
func (v *evaluator) trouble(e *env, file source.FileID, err *parse.Trouble) {
	part := err.Expr
	at := source.Span{Pos: source.Pos{File: file, Byte: part.From}, Len: part.To - part.From}
	text := oneLine(v.n.Src.Text(at))
	d := source.Diagnostic{At: at, Rule: ruleExpression, Message: fmt.Sprintf("%q %s", text, err.Message), Near: err.Near}
	if part.Op == parse.Name {
		if v.n.Doubted(part.Text) {
			return
		}
		d.Near = v.near(part.Text, v.visible(e))
		if strings.ContainsAny(part.Text, "+-*/^") {
			d.Message = fmt.Sprintf("%q is no number and no parameter: an expression stands in braces", text)
		} else if part.Text != "" && '0' <= part.Text[0] && part.Text[0] <= '9' {
			d.Message = fmt.Sprintf("%q is no number and no parameter", text)
		}
	}
	v.report(d)
}

// visible goes over the parameters that can be named where an instance stands.
func (v *evaluator) visible(e *env) iter.Seq[string] {
	return func(yield func(string) bool) {
		for ; e != nil; e = e.up {
			for name := range v.definitions(e) {
				if !yield(name) {
					return
				}
			}
		}
	}
}

// near is the known name closest to one that is not known. Between names of one or two letters nearness means nothing.
func (v *evaluator) near(name string, known iter.Seq[string]) string {
	if len(name) < 3 {
		return ""
	}
	return v.hints.Nearest(name, known)
}

// oneLine joins the lines of a text that continues behind "+", and clips it.
func oneLine(s string) string {
	const most = 200
	s = source.Clip(s, 10*most)
	if !strings.ContainsAny(s, "\r\n") {
		return source.Clip(s, most)
	}
	var parts []string
	for line := range strings.FieldsFuncSeq(s, func(r rune) bool { return r == '\n' || r == '\r' }) {
		line = strings.TrimSpace(line)
		if !strings.HasPrefix(line, "*") {
			parts = append(parts, strings.TrimSpace(strings.TrimPrefix(line, "+")))
		}
	}
	return source.Clip(strings.Join(parts, " "), most)
}

// value computes an expression; NaN when it has no value.
func (v *evaluator) value(e *env, file source.FileID, x *parse.Expr) float64 {
	v.warm = false
	result, err := v.compute(e, file, x)
	if err != nil {
		return math.NaN()
	}
	return result
}

// param computes a name=value; NaN when it has no value.
func (v *evaluator) param(e *env, p *parse.Param) float64 {
	if share, ok := percent(p); ok {
		return share
	}
	for _, m := range p.More {
		v.operand(e, m)
	}
	return v.operand(e, p.Value)
}

func (v *evaluator) operand(e *env, o parse.Value) float64 {
	if o.Literal() {
		return o.Number
	}
	return v.value(e, o.At.File, o.Expr)
}
