package circuit

import (
	"fmt"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// nominal is the temperature, in degC, at which values hold where nothing else is said: the default of the option TEMP in
// the SPICE3f3 User's Manual.
const nominal = 27

// A reading is what a parameter is at a temperature; NaN where it has no value there.
type reading struct{ celsius, value float64 }

// reread computes a parameter at a temperature that is not the nominal one.
func (v *evaluator) reread(d *definition) (float64, bool, *parse.Trouble) {
	if d.state == untouched {
		celsius, warm := v.celsius, v.warm
		v.celsius = nominal
		v.define(d)
		v.celsius, v.warm = celsius, warm
		return v.define(d)
	}
	v.warm = true
	if d.other == nil || d.other.celsius != v.celsius {
		deep := d.value.Expr.Depth() + 1
		if len(v.stack) >= v.most || v.frames+deep > maxFrames {
			return 0, true, settled
		}
		d.state = busy // a circle may close at this temperature only
		v.stack, v.frames = append(v.stack, d), v.frames+deep
		result, err := v.compute(d.in, d.value.At.File, d.value.Expr)
		v.stack, v.frames = v.stack[:len(v.stack)-1], v.frames-deep
		d.state = computed
		if err != nil {
			result = math.NaN()
		}
		d.other = &reading{v.celsius, result}
	}
	if math.IsNaN(d.other.value) {
		return 0, true, settled
	}
	return d.other.value, true, nil
}

// steady computes a value that may not follow the temperature.
func (v *evaluator) steady(e *env, o parse.Value) float64 {
	if o.Literal() {
		return o.Number
	}
	return v.steadyValue(e, o.At.File, o.Expr)
}

func (v *evaluator) steadyValue(e *env, file source.FileID, x *parse.Expr) float64 {
	return v.checked(e, file, x, v.value(e, file, x))
}

// steadyParam is steady for a name=value and the rest of its list.
func (v *evaluator) steadyParam(e *env, p *parse.Param) float64 {
	if share, ok := percent(p); ok {
		return share
	}
	for _, m := range p.More {
		v.steady(e, m)
	}
	return v.steady(e, p.Value)
}

// checked passes on a value just computed unless it follows the temperature where that is not understood.
func (v *evaluator) checked(e *env, file source.FileID, x *parse.Expr, result float64) float64 {
	if !v.warm {
		return result
	}
	v.warm = false
	at := source.Span{Pos: source.Pos{File: file, Byte: x.From}, Len: x.To - x.From}
	v.report(source.Diagnostic{At: at, Rule: ruleExpression, Message: fmt.Sprintf(
		"%q depends on temperature, which is understood in the value of an R only", oneLine(v.n.Src.Text(at)))})
	return math.NaN()
}

// settling are the parameters on element cards that a value rests on.
var settling = map[string]bool{"m": true, "tol": true, "tc": true, "tc1": true, "tc2": true, "l": true, "w": true, "temp": true,
	"dtemp": true, "area": true}

// trailing computes a name=value of an element for what there is to report.
func (f *flattener) trailing(id ID, e *env, p *parse.Param) {
	ev := f.c.eval
	if isTolerance(p) && passive(f.c.Elements[id].Kind) {
		v := ev.steadyParam(e, p)
		if v < 0 || v >= 1 {
			ev.report(source.Diagnostic{At: p.At, Rule: ruleCard, Message: fmt.Sprintf(
				"the tolerance of %s is no fraction below 1: 5 %% is written tol=0.05 or tol=5%%", f.c.Cards.CardName(f.c.Elements[id].Card))})
		}
		return
	}
	switch {
	case p.Literal() && len(p.More) == 0:
	case p.Expr != nil && p.Expr.Op == parse.Quoted && !settling[strings.ToLower(p.Name)]: // for people
	case f.c.Elements[id].Kind == 'S' || f.c.Elements[id].Kind == 'W': // IC=ON
	case f.c.Elements[id].Kind != 'X' && settling[strings.ToLower(p.Name)]:
		ev.steadyParam(e, p)
	default:
		ev.param(e, p)
	}
}

// follows notes an R whose value follows the temperature.
func (c *Circuit) follows(id ID) {
	if c.warm == nil {
		c.warm = map[ID]bool{}
	}
	c.warm[id] = true
}

// Warm tells that the value of an R follows the temperature by an expression.
func (c *Circuit) Warm(id ID) bool { return c.warm[id] }

// ValueAt is the value of an element at a temperature in degC; NaN where it has none there.
func (c *Circuit) ValueAt(id ID, celsius float64) float64 {
	if !c.warm[id] {
		return c.Elements[id].Value
	}
	e, x := c.insts[c.Elements[id].Inst].env, c.extra(id).Value
	c.eval.mu.Lock()
	c.eval.celsius = celsius
	v := c.eval.value(e, c.card(id).At.File, x)
	c.eval.celsius = nominal
	c.eval.mu.Unlock()
	return c.Total(id, v)
}
