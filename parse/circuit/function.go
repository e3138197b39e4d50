package circuit

import (
	"fmt"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// Bounds on functions that call each other: how deep, and how many parts of their bodies are computed.
const (
	maxCalls    = 100
	maxSteps    = 1_000_000  // parts of bodies for one expression
	maxAllSteps = 50_000_000 // for a netlist
)

// A lookup answers for the names and functions in an expression.
type lookup = func(of *parse.Expr) (v float64, known bool, err *parse.Trouble)

// scope looks up the names of an expression that stands in an instance, or in the body of a function defined there.
func (v *evaluator) scope(e *env, f *parse.Function, args []float64) (look lookup) {
	look = func(of *parse.Expr) (float64, bool, *parse.Trouble) {
		if of.Op == parse.Call {
			return v.call(e, of, look)
		}
		if f != nil {
			for i, a := range f.Args {
				if strings.EqualFold(a, of.Text) {
					return args[i], true, nil
				}
			}
		}
		return v.name(e, of.Text)
	}
	return look
}

// functions are those defined in an instance; of two of one name the last one holds.
func (v *evaluator) functions(e *env) map[string]*parse.Function {
	list := v.n.Subs[e.sub].Functions
	if e.funcs == nil && len(list) > 0 {
		e.funcs = make(map[string]*parse.Function, len(list))
		for i := range list {
			if v.holds(e, list[i].Guard) == yes {
				e.funcs[strings.ToLower(list[i].Name)] = &list[i]
			}
		}
	}
	return e.funcs
}

// live tells that an expression follows the circuit, time or temperature, by itself or in a function that it calls.
func (v *evaluator) live(e *env, x *parse.Expr) bool {
	if x.Op == parse.Name && x.Live() || x.Probe() || v.liveCall(e, x) {
		return true
	}
	for _, a := range x.Args {
		if v.live(e, a) {
			return true
		}
	}
	return false
}

// liveCall is live for the function that a call means, its arguments aside.
func (v *evaluator) liveCall(e *env, of *parse.Expr) bool {
	f, at := v.function(e, of)
	if f == nil {
		return false
	}
	is, known := v.lively[f]
	if !known {
		v.lively[f] = false // one that calls itself is as live as its rest
		is = v.live(at, f.Body)
		v.lively[f] = is
	}
	return is
}

// function is the one that a call means where an instance stands, and where it was defined; nil when there is none.
func (v *evaluator) function(e *env, of *parse.Expr) (*parse.Function, *env) {
	if of.Op != parse.Call {
		return nil, nil
	}
	for name := strings.ToLower(of.Text); e != nil; e = e.up {
		if f := v.functions(e)[name]; f != nil {
			return f, e
		}
	}
	return nil, nil
}

// call computes a function that the netlist defines; its body sees the names around its definition.
func (v *evaluator) call(e *env, of *parse.Expr, look lookup) (float64, bool, *parse.Trouble) {
	f, e := v.function(e, of)
	if f == nil {
		return 0, false, nil
	}
	fail := func(message string) (float64, bool, *parse.Trouble) {
		return 0, true, &parse.Trouble{Expr: of, Message: message}
	}
	if len(of.Args) != len(f.Args) {
		return fail(fmt.Sprintf("takes %s, not %d", count(len(f.Args), "value"), len(of.Args)))
	}
	args, err := of.EvalArgs(look)
	if err != nil {
		return 0, true, err
	}
	deep, size := f.Body.Depth()+1, f.Body.Size()
	v.steps += size
	v.left -= size
	if v.calls >= maxCalls || v.steps > maxSteps || v.left < 0 || v.frames+deep > maxFrames {
		return fail(fmt.Sprintf("fails: functions call each other deeper than %d, or take more than %d steps or %d in the whole netlist",
			maxCalls, maxSteps, maxAllSteps))
	}
	v.calls, v.frames = v.calls+1, v.frames+deep
	result, err := f.Body.Eval(v.scope(e, f, args))
	v.calls, v.frames = v.calls-1, v.frames-deep
	switch {
	case err == nil || err.Settled:
		return result, true, err
	case strings.HasPrefix(err.Message, "fails"):
		return fail(err.Message)
	}
	// The place is that of the call: the body may stand in another file.
	part := err.Expr
	text := v.n.Src.Text(source.Span{Pos: source.Pos{File: f.At.File, Byte: part.From}, Len: part.To - part.From})
	return fail(fmt.Sprintf("fails in function %s: %q %s", f.Name, oneLine(text), err.Message))
}
