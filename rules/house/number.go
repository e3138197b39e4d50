package house

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A number is a quantity in a rule: a constant, or an expression that the linter works out. Rules hold it with say; only
// where it is sure does a comparison answer.
type number struct {
	x     *expression
	child *child
}

var (
	_ starlark.Comparable = number{}
	_ starlark.HasBinary  = number{}
	_ starlark.HasUnary   = number{}
	_ starlark.HasAttrs   = number{}
)

func (n number) String() string {
	if n.x.Op == opConstant && n.x.Low == n.x.High {
		return quantity.Show(n.x.Low, n.x.Unit)
	}
	if n.x.Op == opConstant {
		return quantity.Show(n.x.Low, n.x.Unit) + " .. " + quantity.Show(n.x.High, n.x.Unit)
	}
	return "<" + measures(n.x.Unit) + ">"
}
func (n number) Type() string          { return "quantity" }
func (n number) Freeze()               {}
func (n number) Hash() (uint32, error) { return 0, errors.New("a quantity is no key") }

// Truth has no way to refuse but this: the child takes it for an error of the rule.
func (n number) Truth() starlark.Bool {
	panic(refused("a quantity is neither true nor false; hold it with say.at_most, say.at_least or say.within"))
}

// refused is what a rule did that no interface of the language lets us answer with an error.
type refused string

// undecided ends a rule that compares what nobody can tell: the result is open.
type undecided struct {
	message string
	needs   []quantity.Need
}

func (u undecided) Error() string { return u.message }

// units are those that rules can make, by the name of the function that does.
var units = []struct {
	name string
	unit quantity.Unit
}{
	{"ratio", quantity.Ratio}, {"volt", quantity.Volt}, {"amp", quantity.Amp}, {"ohm", quantity.Ohm}, {"second", quantity.Second},
	{"hertz", quantity.Hertz}, {"farad", quantity.Farad}, {"henry", quantity.Henry}, {"watt", quantity.Watt},
	{"joule", quantity.Joule}, {"kelvin", quantity.Kelvin}, {"celsius", quantity.Celsius},
}

// measures is a unit in words: "ohm", or "no unit" for a ratio.
func measures(u quantity.Unit) string {
	if u.Symbol == "" {
		return "a ratio"
	}
	return "a quantity in " + u.Symbol
}

// product is the unit of a product, or with sign -1 of a quotient.
func product(a, b quantity.Unit, sign int8) quantity.Unit {
	out := quantity.Unit{}
	for i := range a.Dim {
		out.Dim[i] = a.Dim[i] + sign*b.Dim[i]
	}
	for _, u := range units {
		if u.unit.Dim == out.Dim && u.unit != quantity.Celsius {
			return u.unit
		}
	}
	out.Symbol = a.Symbol + map[int8]string{1: "*", -1: "/"}[sign] + b.Symbol
	return out
}

// same tells that two units can be compared and added.
func same(a, b quantity.Unit) bool { return a.Dim == b.Dim && (a.Symbol == "dB") == (b.Symbol == "dB") }

func constant(v float64, u quantity.Unit) *expression {
	return &expression{Op: opConstant, Low: v, High: v, Unit: u}
}

// read is a quantity written as text, in the unit that is wanted.
func read(text string, u quantity.Unit) (*expression, error) {
	literals.Lock()
	defer literals.Unlock()
	key := writtenIn{text, u}
	if x := literals.read[key]; x != nil {
		return x, nil
	}
	w, err := quantity.ReadWritten(text, u)
	if err != nil {
		return nil, err
	}
	x := &expression{Op: opConstant, Low: w.Range.Lo, High: w.Range.Hi, Unit: u}
	if len(literals.read) < mostLiterals && len(text) < 100 {
		literals.read[key] = x
	}
	return x, nil
}

// literals are the texts that were read already: a rule reads its limits anew on every block. No expression is changed once it
// is made.
var literals = struct {
	sync.Mutex
	read map[writtenIn]*expression
}{read: map[writtenIn]*expression{}}

type writtenIn struct {
	text string
	unit quantity.Unit
}

// mostLiterals bounds what is kept: a rule may make up texts without end.
const mostLiterals = 1000

// readAny is a quantity written as text in whatever unit.
func readAny(text string) (*expression, error) {
	var first error
	for _, u := range units {
		x, err := read(text, u.unit)
		if err == nil {
			return x, nil
		}
		if first == nil || strings.HasSuffix(strings.TrimSpace(text), u.unit.Symbol) && u.unit.Symbol != "" {
			first = err
		}
	}
	return nil, first
}

// measured is a value as a quantity of a unit: a quantity, or a text of one.
func measured(v starlark.Value, u quantity.Unit, what string) (*expression, error) {
	switch v := v.(type) {
	case number:
		if !same(v.x.Unit, u) {
			return nil, fmt.Errorf("%s is %s, this wants %s", what, measures(v.x.Unit), measures(u))
		}
		return v.x, nil
	case starlark.String:
		return read(string(v), u)
	case starlark.Int, starlark.Float:
		return nil, fmt.Errorf("%s is a bare number; give it its unit, as in %q", what, v.String()+" "+u.Example())
	}
	return nil, fmt.Errorf("%s is %s, this wants a quantity or its text", what, article(v.Type()))
}

func article(noun string) string {
	if strings.ContainsAny(noun[:1], "aeiou") {
		return "an " + noun
	}
	return "a " + noun
}

// CompareSameType answers where no allowed state says otherwise.
func (n number) CompareSameType(op syntax.Token, y starlark.Value, _ int) (bool, error) {
	o := y.(number)
	if !same(n.x.Unit, o.x.Unit) {
		return false, fmt.Errorf("%s cannot be compared with %s", measures(n.x.Unit), measures(o.x.Unit))
	}
	a, b := n.x, o.x
	if a.Op != opConstant || b.Op != opConstant { // only their difference knows what they share
		a = &expression{Op: "-", Args: []*expression{n.x, o.x}, Unit: n.x.Unit}
		r, err := n.child.reach(a)
		if err != nil {
			return false, err
		}
		a, b = &expression{Low: *r.Low, High: *r.High}, &expression{}
	}
	below, above := a.High < b.Low, a.Low > b.High
	equal := a.Low == a.High && b.Low == b.High && a.Low == b.Low
	notAbove, notBelow := a.High <= b.Low, a.Low >= b.High
	yes, no := false, false
	switch op {
	case syntax.LT:
		yes, no = below, notBelow
	case syntax.LE:
		yes, no = notAbove, above
	case syntax.GT:
		yes, no = above, notAbove
	case syntax.GE:
		yes, no = notBelow, below
	case syntax.EQL:
		yes, no = equal, below || above
	case syntax.NEQ:
		yes, no = below || above, equal
	}
	if yes == no {
		return false, undecided{message: fmt.Sprintf("cannot be judged: the rule compares what lies on both sides (%s); at_most or within would tell", op)}
	}
	return yes, nil
}

// Binary adds, subtracts, multiplies and divides.
func (n number) Binary(op syntax.Token, y starlark.Value, side starlark.Side) (starlark.Value, error) {
	var sign string
	switch op {
	case syntax.PLUS, syntax.MINUS, syntax.STAR, syntax.SLASH:
		sign = op.String()
	default:
		return nil, nil
	}
	var other *expression
	switch y := y.(type) {
	case number:
		other = y.x
	case starlark.String:
		var err error
		if other, err = readAny(string(y)); err != nil {
			return nil, err
		}
	case starlark.Int, starlark.Float:
		f, _ := starlark.AsFloat(y)
		other = constant(f, quantity.Ratio)
	default:
		return nil, nil
	}
	p, q := n.x, other
	if side == starlark.Right {
		p, q = q, p
	}
	out := &expression{Op: sign, Args: []*expression{p, q}, Unit: p.Unit, size: p.size + q.size + 2}
	if out.size > mostNodes {
		return nil, fmt.Errorf("a quantity is made of more than %d parts", mostNodes)
	}
	switch sign {
	case "+", "-":
		if !same(p.Unit, q.Unit) {
			return nil, fmt.Errorf("%s and %s do not add", measures(p.Unit), measures(q.Unit))
		}
	case "*":
		out.Unit = product(p.Unit, q.Unit, 1)
	case "/":
		out.Unit = product(p.Unit, q.Unit, -1)
		if q.Op == opConstant && q.Low <= 0 && q.High >= 0 {
			return nil, errors.New("a quantity is divided by 0")
		}
	}
	out = folded(out)
	return number{out, n.child}, finite(out)
}

// finite refuses a constant that is none.
func finite(x *expression) error {
	if x.Op == opConstant && (math.IsNaN(x.Low) || math.IsInf(x.Low, 0)) {
		return errors.New("a quantity is no finite number")
	}
	return nil
}

// folded is a constant where both sides are single numbers.
func folded(x *expression) *expression {
	p, q := x.Args[0], x.Args[1]
	if p.Op != opConstant || q.Op != opConstant || p.Low != p.High || q.Low != q.High {
		return x
	}
	switch x.Op {
	case "+":
		return constant(p.Low+q.Low, x.Unit)
	case "-":
		return constant(p.Low-q.Low, x.Unit)
	case "*":
		return constant(p.Low*q.Low, x.Unit)
	}
	return constant(p.Low/q.Low, x.Unit)
}

// Unary is the sign.
func (n number) Unary(op syntax.Token) (starlark.Value, error) {
	if op != syntax.MINUS {
		return nil, nil
	}
	return n.Binary(syntax.STAR, starlark.MakeInt(-1), starlark.Left)
}

// numberNames are what can be asked of a quantity.
var numberNames = []string{"high", "known", "low", "nominal", "number", "origins", "peak", "spread", "unit"}

// AttrNames lists them.
func (n number) AttrNames() []string { return numberNames }

// Attr answers.
func (n number) Attr(name string) (starlark.Value, error) {
	switch name {
	case "unit":
		return starlark.String(n.x.Unit.Symbol), nil
	case "peak":
		return number{&expression{Op: opPeak, Args: []*expression{n.x}, Unit: n.x.Unit, size: n.x.size + 1}, n.child}, nil
	case "spread":
		return number{&expression{Op: opSpread, Args: []*expression{n.x}, Unit: quantity.Ratio, size: n.x.size + 1}, n.child}, nil
	}
	if n.x.Op == opConstant {
		switch name {
		case "known":
			return starlark.True, nil
		case "origins":
			return starlark.NewList(nil), nil
		case "low":
			return number{constant(n.x.Low, n.x.Unit), n.child}, nil
		case "high":
			return number{constant(n.x.High, n.x.Unit), n.child}, nil
		case "nominal":
			return number{constant((n.x.Low+n.x.High)/2, n.x.Unit), n.child}, nil
		case "number":
			return starlark.Float((n.x.Low + n.x.High) / 2), nil
		}
	}
	switch name {
	case "known", "origins":
		r, err := n.child.asked(n.x)
		if err != nil {
			return nil, err
		}
		if name == "known" {
			return starlark.Bool(r.Low != nil && r.High != nil && len(r.Needs) == 0), nil
		}
		return texts(r.From), nil
	case "low", "high", "nominal", "number":
		r, err := n.child.reach(n.x)
		if err != nil {
			return nil, err
		}
		v := map[string]*float64{"low": r.Low, "high": r.High, "nominal": r.Nominal, "number": r.Nominal}[name]
		if v == nil {
			return nil, undecided{message: "cannot be judged: a quantity has no nominal"}
		}
		if name == "number" {
			return starlark.Float(*v), nil
		}
		return number{constant(*v, n.x.Unit), n.child}, nil
	}
	return nil, nil
}

func texts(list []string) *starlark.List {
	out := make([]starlark.Value, len(list))
	for i, t := range list {
		out[i] = starlark.String(t)
	}
	l := starlark.NewList(out)
	l.Freeze()
	return l
}
