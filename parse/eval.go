package parse

import (
	"maps"
	"math"
	"strconv"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// A Trouble is what keeps an expression from having a value.
type Trouble struct {
	Expr    *Expr  // the part at fault
	Message string // about that part: "divides by zero"
	Near    string // the nearest known name
	Settled bool   // it was reported where it arose
}

func (t *Trouble) Error() string { return t.Message }

// Eval computes an expression. lookup answers for the names of parameters and, with the call, for functions that are not
// built in; known is false for what nobody defined.
func (e *Expr) Eval(lookup func(of *Expr) (v float64, known bool, err *Trouble)) (float64, *Trouble) {
	v, err := e.eval(lookup)
	if err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
		return math.NaN(), &Trouble{Expr: e, Message: "has no finite value"}
	}
	return v, err
}

func (e *Expr) eval(lookup func(*Expr) (float64, bool, *Trouble)) (float64, *Trouble) {
	switch e.Op {
	case Literal:
		return e.Number, nil
	case Name:
		v, known, err := lookup(e)
		if err != nil || known {
			return v, err
		}
		if strings.EqualFold(e.Text, "pi") {
			return math.Pi, nil
		}
		return 0, &Trouble{Expr: e, Message: "is not defined"}
	case Quoted:
		return 0, &Trouble{Expr: e, Message: "is a text and no number"}
	case Unary:
		v, err := e.Args[0].Eval(lookup)
		if e.Text == "!" {
			return truth(v == 0), err
		}
		return -v, err
	case Choice:
		return e.choose(lookup)
	case Call:
		return e.call(lookup)
	}
	a, err := e.Args[0].Eval(lookup)
	if err != nil {
		return 0, err
	}
	if e.Text == "&&" && a == 0 || e.Text == "||" && a != 0 {
		return truth(a != 0), nil
	}
	b, err := e.Args[1].Eval(lookup)
	if err != nil {
		return 0, err
	}
	return e.binary(a, b)
}

func (e *Expr) binary(a, b float64) (float64, *Trouble) {
	switch e.Text {
	case "+":
		return a + b, nil
	case "-":
		return a - b, nil
	case "*":
		return a * b, nil
	case "/":
		if b == 0 {
			return 0, &Trouble{Expr: e, Message: "divides by zero"}
		}
		return a / b, nil
	case "**":
		v, why := power(a, b)
		return v, e.trouble(why)
	case "<":
		return truth(a < b), nil
	case ">":
		return truth(a > b), nil
	case "<=":
		return truth(a <= b), nil
	case ">=":
		return truth(a >= b), nil
	case "==":
		return truth(a == b), nil
	case "&&", "||":
		return truth(b != 0), nil
	}
	return truth(a != b), nil
}

func (e *Expr) trouble(why string) *Trouble {
	if why == "" {
		return nil
	}
	return &Trouble{Expr: e, Message: why}
}

func (e *Expr) choose(lookup func(*Expr) (float64, bool, *Trouble)) (float64, *Trouble) {
	cond, err := e.Args[0].Eval(lookup)
	if err != nil {
		return 0, err
	}
	if cond != 0 {
		return e.Args[1].Eval(lookup)
	}
	return e.Args[2].Eval(lookup)
}

func (e *Expr) call(lookup func(*Expr) (float64, bool, *Trouble)) (float64, *Trouble) {
	name := strings.ToLower(e.Text)
	if v, known, err := lookup(e); err != nil || known {
		return v, err
	}
	f, ok := functions[name]
	switch {
	case e.Probe():
		return 0, &Trouble{Expr: e, Message: "depends on the circuit and is no constant"}
	case !ok:
		return 0, &Trouble{Expr: e, Message: "calls an unknown function", Near: source.Nearest(name, maps.Keys(functions))}
	case len(e.Args) < f.least, f.most > 0 && len(e.Args) > f.most:
		return 0, &Trouble{Expr: e, Message: "takes " + f.arity() + ", not " + strconv.Itoa(len(e.Args))}
	case name == "if":
		return e.choose(lookup)
	}
	args, err := e.EvalArgs(lookup)
	if err != nil {
		return 0, err
	}
	v, why := f.of(args)
	return v, e.trouble(why)
}

// EvalArgs computes the arguments of a call.
func (e *Expr) EvalArgs(lookup func(of *Expr) (v float64, known bool, err *Trouble)) ([]float64, *Trouble) {
	args := make([]float64, len(e.Args))
	for i, a := range e.Args {
		v, err := a.Eval(lookup)
		if err != nil {
			return nil, err
		}
		args[i] = v
	}
	return args, nil
}

// Probe tells that a call asks for a voltage or a current of the circuit.
func (e *Expr) Probe() bool {
	return e.Op == Call && (strings.EqualFold(e.Text, "v") || strings.EqualFold(e.Text, "i"))
}

// moving are the names that change while a circuit runs.
var moving = map[string]bool{"time": true, "temper": true, "temp": true, "hertz": true, "freq": true}

// Live tells that the expression follows the circuit, time or temperature, so that it has no one value.
func (e *Expr) Live() bool {
	if e.Probe() || e.Op == Name && moving[strings.ToLower(e.Text)] {
		return true
	}
	for _, a := range e.Args {
		if a.Live() {
			return true
		}
	}
	return false
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
