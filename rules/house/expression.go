package house

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// An expression is a quantity as the child holds it: how it is worked out, never what comes of it. The linter works it out
// with quantities that share their causes, so that what moves together in the circuit does so in a rule.
type expression struct {
	Op     string
	Args   []*expression `json:",omitempty"`
	Low    float64       `json:",omitempty"` // of a constant
	High   float64       `json:",omitempty"`
	Name   string        `json:",omitempty"` // a pin role, net, element or record key
	Path   []string      `json:",omitempty"` // of intent
	Events bool          `json:",omitempty"` // survival counts, not operation alone
	Unit   quantity.Unit

	size int // parts beside itself, where they are known
}

// The leaves of an expression, and which of them are single causes or sums and products of such.
const (
	opConstant     = "constant"
	opVoltage      = "voltage"       // of a pin role, from the ground pin
	opNet          = "net"           // of a net, from node 0
	opResistance   = "resistance"    // of an element with its tolerance
	opCurrent      = "current"       // of an element
	opShunt        = "shunt"         // resistance of the group
	opShuntCurrent = "shunt-current" // declared
	opOut          = "out"
	opZero         = "zero"
	opPart         = "part"     // a field of the amplifier's record
	opPartLow      = "part-low" // the ends of an allowed range of the record
	opPartHigh     = "part-high"
	opIntent       = "intent"
	opPeak         = "peak"
	opSpread       = "spread"
)

// plain are leaves that are linear in each of their causes.
var plain = []string{opConstant, opResistance, opShuntCurrent, opPart, opIntent}

// ofBlock are the operations that only a block has.
var ofBlock = []string{opVoltage, opShunt, opShuntCurrent, opOut, opZero, opPart, opPartLow, opPartHigh}

// mostNodes bounds what one expression may ask for.
const mostNodes = 1000

// A bench works expressions out for one rule on one block.
type bench struct {
	*rules.Bench
	leaves map[leaf]quantity.Quantity // what rules before this one asked for on the same block
}

// name is that of the block; "" where the rule looks at the whole circuit.
func (b bench) name() string {
	if b.Whole() {
		return ""
	}
	return b.Name()
}

// A leaf names a quantity of a block.
type leaf struct {
	op, name string
	events   bool
}

// quantity works an expression out.
func (b bench) quantity(x *expression) (quantity.Quantity, error) {
	left := mostNodes
	return b.evaluate(x, &left)
}

func (b bench) evaluate(x *expression, left *int) (q quantity.Quantity, err error) {
	if *left--; *left < 0 {
		return q, fmt.Errorf("a quantity is made of more than %d parts", mostNodes)
	}
	if x == nil {
		return q, errors.New("a quantity is empty")
	}
	switch x.Op {
	case "+", "-", "*", "/":
		if len(x.Args) != 2 {
			return q, fmt.Errorf("%s takes two quantities", x.Op)
		}
		p, err := b.evaluate(x.Args[0], left)
		if err != nil {
			return q, err
		}
		r, err := b.evaluate(x.Args[1], left)
		if err != nil {
			return q, err
		}
		return combine(x, p, r)
	case opPeak, opSpread:
		if len(x.Args) != 1 {
			return q, fmt.Errorf("%s takes one quantity", x.Op)
		}
		p, err := b.evaluate(x.Args[0], left)
		if err != nil {
			return q, err
		}
		if x.Op == opPeak {
			return p.Peak(), nil
		}
		return p.Spread(), nil
	case opConstant, opIntent:
		return b.leaf(x)
	}
	key := leaf{x.Op, x.Name, x.Events}
	if q, ok := b.leaves[key]; ok {
		return q, nil
	}
	if q, err = b.leaf(x); err == nil {
		b.leaves[key] = q
	}
	return q, err
}

// combine joins two quantities by an operator.
func combine(x *expression, p, r quantity.Quantity) (quantity.Quantity, error) {
	name := p.Name + " " + x.Op + " " + r.Name
	if len(name) > 60 {
		name = "value"
	}
	var f func(v []float64) float64
	switch x.Op {
	case "+":
		f = func(v []float64) float64 { return v[0] + v[1] }
	case "-":
		return quantity.Minus(name, p, r).Named(name), nil
	case "*":
		f = func(v []float64) float64 { return v[0] * v[1] }
	case "/":
		if !r.Unsaid() && (r.Sound.Empty() || r.Sound.Contains(0)) {
			return p, undecided{message: fmt.Sprintf("cannot be judged: %s may be 0, and a quantity is divided by it", r.Name), needs: r.Needs}
		}
		f = func(v []float64) float64 { return v[0] / v[1] }
	}
	q := quantity.Calc(name, x.Unit, f, p, r)
	if bent(x, p, r) {
		return apart(q, f, p, r), nil
	}
	return q, nil
}

// bent tells that a product or quotient may turn back inside the range of a cause that both sides share, so that its
// extremes need not stand at corners.
func bent(x *expression, p, r quantity.Quantity) bool {
	if x.Op == "+" || !shared(p, r) {
		return false
	}
	return x.Op == "*" || !straight(x.Args[0]) || !straight(x.Args[1])
}

// straight tells of an expression that is linear in each of its causes: sums of plain leaves, or of their multiples.
func straight(x *expression) bool {
	switch x.Op {
	case "+", "-":
		return straight(x.Args[0]) && straight(x.Args[1])
	case "*":
		return x.Args[0].Op == opConstant && straight(x.Args[1]) || x.Args[1].Op == opConstant && straight(x.Args[0])
	case "/":
		return straight(x.Args[0]) && x.Args[1].Op == opConstant
	}
	return slices.Contains(plain, x.Op)
}

func shared(p, r quantity.Quantity) bool {
	names := map[string]bool{}
	for _, c := range p.Causes() {
		names[c.Name] = c.Sound.Width() != 0
	}
	return slices.ContainsFunc(r.Causes(), func(c *quantity.Cause) bool { return names[c.Name] })
}

// apart is a quantity that no allowed state lies outside of although its two sides were taken to move by themselves; what
// is seen is what its corners attain.
func apart(q quantity.Quantity, f func([]float64) float64, p, r quantity.Quantity) quantity.Quantity {
	c := &quantity.Cause{Name: q.Name, Unit: q.Unit, Nom: q.Nom, Seen: q.Seen, Sound: quantity.Everything, Grade: q.Grade,
		Needs: q.Needs, Basis: q.Causes()}
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range []float64{p.Sound.Lo, p.Sound.Hi} {
		for _, w := range []float64{r.Sound.Lo, r.Sound.Hi} {
			low, high = min(low, f([]float64{v, w})), max(high, f([]float64{v, w}))
		}
	}
	if !math.IsNaN(low) && !math.IsNaN(high) {
		c.Sound = quantity.Interval{Lo: low, Hi: high}.Union(q.Seen)
	}
	out := c.Of()
	out.Loose, out.Why = true, q.Why
	return out
}

func (b bench) leaf(x *expression) (q quantity.Quantity, err error) {
	regime := design.Operating
	if x.Events {
		regime = design.Survival
	}
	if b.Whole() && slices.Contains(ofBlock, x.Op) {
		return q, fmt.Errorf("%s is of a block; this rule looks at the whole circuit", x.Op)
	}
	switch x.Op {
	case opConstant:
		if x.Low == x.High {
			return quantity.Exactly(quantity.Show(x.Low, x.Unit), x.Unit, x.Low), nil
		}
		if !(x.Low < x.High) {
			return q, errors.New("a range runs backwards")
		}
		i := quantity.Interval{Lo: x.Low, Hi: x.High}
		return (&quantity.Cause{Name: quantity.Show(x.Low, x.Unit) + " .. " + quantity.Show(x.High, x.Unit), Unit: x.Unit,
			Nom: (x.Low + x.High) / 2, Sound: i, Seen: i}).Of(), nil
	case opVoltage:
		return b.Voltage(x.Name, regime), nil
	case opNet:
		n, err := b.net(x.Name)
		if err != nil {
			return q, err
		}
		return b.Net(n, regime), nil
	case opResistance, opCurrent:
		e, err := b.element(x.Name)
		if err != nil {
			return q, err
		}
		if x.Op == opResistance {
			return e.Resistance(), nil
		}
		if c, ok := e.Current(regime); ok && c.From == e.Pin(0) {
			return c.Value, nil
		} else if ok {
			return c.Value.Times(-1), nil
		}
		return b.Through(e, regime), nil
	case opShunt:
		return b.ShuntOhms(), nil
	case opShuntCurrent:
		return b.ShuntCurrent(regime), nil
	case opOut:
		return b.Out(regime), nil
	case opZero:
		return b.Zero(regime), nil
	case opPart, opPartLow, opPartHigh:
		return b.field(x, regime)
	case opIntent:
		e := b.Design.Intent.Get(x.Path...)
		if e == nil {
			return quantity.Missing(x.Unit, quantity.Need{In: "intent", Key: design.Key(x.Path...)}), nil
		}
		if e.Written.Text == "" {
			return q, fmt.Errorf("%s holds no one number", e.Key())
		}
		return b.Design.Declared(e.Field.Unit, x.Path...), nil
	}
	return q, fmt.Errorf("no quantity is called %q", x.Op)
}

// field is a number of the amplifier's record, or an end of an allowed range.
func (b bench) field(x *expression, r design.Regime) (q quantity.Quantity, err error) {
	f := part.Lookup(x.Name)
	if f == nil {
		return q, fmt.Errorf("part records have no field %q", x.Name)
	}
	en := b.Amp.Entry(x.Name)
	if x.Op != opPart {
		if en != nil && en.Limits.Lo == nil {
			return q, fmt.Errorf("the field %s is no allowed range", x.Name)
		}
		lo, hi, _ := b.Limits(x.Name, r)
		if x.Op == opPartLow {
			return lo, nil
		}
		return hi, nil
	}
	switch {
	case en == nil:
		return b.Part(x.Name), nil
	case en.Formula != nil || len(en.Steps) > 0:
		return b.Level(x.Name, r, x.Name == "output.high"), nil
	case len(en.Points) > 0:
		return hull(b.Name()+" "+x.Name, en), nil
	case en.Written.Text == "":
		return q, fmt.Errorf("the field %s holds no one number", x.Name)
	}
	return b.Part(x.Name), nil
}

// hull is anything that a list of points says at any of them.
func hull(name string, en *field.Entry) quantity.Quantity {
	c := &quantity.Cause{Name: name, Unit: en.Field.Unit, Sound: quantity.Nothing, At: en.At}
	for _, p := range en.Points {
		c.Sound = c.Sound.Union(p[1].Range)
	}
	c.Seen, c.Nom = c.Sound, (c.Sound.Lo+c.Sound.Hi)/2
	return c.Of()
}

func (b bench) net(name string) (circuit.Net, error) {
	n, ok := b.Design.Net(name)
	if !ok {
		return 0, fmt.Errorf("the netlist has no net named %q", name)
	}
	return n, nil
}

func (b bench) element(path string) (design.Element, error) {
	e, ok := b.Design.Find(path)
	if !ok {
		return e, fmt.Errorf("the netlist has no element named %q", path)
	}
	return e, nil
}
