package circuit

import (
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
)

// A Linear is what a controlled source drives where that is a sum of voltages and currents of the circuit: volts from
// its second node up to its first, or amperes that flow from its first node through the source to its second
// (SPICE3f3 User's Manual, 3.2).
type Linear struct {
	Current bool // G, F, and B with I=
	Const   float64
	Volts   []VoltTerm
	Amps    []AmpTerm
}

// A VoltTerm is a gain times the voltage from Neg up to Pos.
type VoltTerm struct {
	Pos, Neg Net
	Gain     float64
}

// An AmpTerm is a gain times the current that flows through a voltage source from its first node to its second.
type AmpTerm struct {
	Of   ID
	Gain float64
}

func controlled(kind byte) bool { return strings.IndexByte("EGFHB", kind) >= 0 }

// Linear is what an E, G, F, H or B drives; nil for every other element, and where it is no sum of voltages and
// currents, or has parts that are not known.
func (c *Circuit) Linear(id ID) *Linear {
	el := &c.Elements[id]
	if !controlled(el.Kind) || !c.plainTail(id) {
		return nil
	}
	if c.Law(id) != nil {
		return c.linear[id]
	}
	l := &Linear{Current: el.Kind == 'G' || el.Kind == 'F'}
	switch el.Kind {
	case 'E', 'G':
		if el.N < 4 {
			return nil
		}
		pins := c.ElementPins(id)
		l.volts(pins[2], pins[3], el.Value)
	default:
		of, ok := c.Control(id)
		if !ok || c.Elements[of].Kind != 'V' {
			return nil
		}
		l.amps(of, el.Value)
	}
	return l.known()
}

func (l *Linear) volts(pos, neg Net, gain float64) {
	if pos != neg && gain != 0 {
		l.Volts = append(l.Volts, VoltTerm{pos, neg, gain})
	}
}

func (l *Linear) amps(of ID, gain float64) {
	if gain != 0 {
		l.Amps = append(l.Amps, AmpTerm{of, gain})
	}
}

// multiply makes one source of m in parallel. A current that it follows is that of all copies together.
func (l *Linear) multiply(m float64) {
	if !l.Current {
		for i := range l.Amps {
			l.Amps[i].Gain /= m
		}
		return
	}
	l.Const *= m
	for i := range l.Volts {
		l.Volts[i].Gain *= m
	}
}

// known is the sum where all its numbers are, else nil.
func (l *Linear) known() *Linear {
	ok := finite(l.Const)
	for _, t := range l.Volts {
		ok = ok && finite(t.Gain)
	}
	for _, t := range l.Amps {
		ok = ok && finite(t.Gain)
	}
	if !ok {
		return nil
	}
	return l
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// neutral are the trailing parameters of a controlled source at which they change nothing; IC is a first guess. Any
// other one may bend, limit or multiply what the source drives.
var neutral = map[string]float64{"m": 1, "scale": 1, "tc": 0, "tc1": 0, "tc2": 0, "abs": 0}

func (c *Circuit) plainTail(id ID) bool {
	x := c.extra(id)
	if x == nil {
		return true
	}
	for i := range x.Params {
		name := strings.ToLower(x.Params[i].Name)
		at, ok := neutral[name]
		ok = ok && !slices.ContainsFunc(c.ParamList(id, name), func(v float64) bool { return v != at })
		if !ok && name != "ic" {
			return false
		}
	}
	return true
}

// linearise looks into the law of every controlled source, when all nets and elements are there.
func (c *Circuit) linearise() {
	for id := range c.Elements {
		el := &c.Elements[id]
		law := c.Law(ID(id))
		if law == nil || !controlled(el.Kind) {
			continue
		}
		s := &summer{c: c, id: ID(id), inst: el.Inst, env: c.insts[el.Inst].env,
			sum: &Linear{Current: el.Kind == 'G' || el.Kind == 'F' || el.Kind == 'B' && law.Form == "I"}}
		if s.law(law) {
			s.sum.multiply(c.insts[el.Inst].copies)
			if l := s.sum.known(); l != nil {
				c.linear[ID(id)] = l
			}
		}
	}
}

// A summer reads the law of one source as a sum.
type summer struct {
	c     *Circuit
	id    ID
	inst  Inst
	env   *env
	sum   *Linear
	moves map[*parse.Expr]bool // the parts that follow the circuit, time or temperature
	asks  map[*parse.Expr]*asked
}

func (s *summer) law(law *parse.Law) bool {
	args := make([]float64, len(law.Args))
	for i, a := range law.Args {
		args[i] = s.c.eval.steady(s.env, a)
	}
	if law.Form == "POLY" {
		return s.polynomial(law.Dimension, args)
	}
	if law.Expr == nil || !s.visit(law.Expr) {
		return false
	}
	switch law.Form {
	case "VOL", "CUR":
		if s.sum.Current != (law.Form == "CUR") {
			return false
		}
	case "TABLE":
		if !s.moves[law.Expr] {
			s.constant(law.Expr) // for what it reports
		}
		// Beyond its points a table holds its end values: no sum unless it is flat.
		for i := 3; i < len(args); i += 2 {
			if args[i] != args[1] {
				return false
			}
		}
		s.sum.Const = args[1]
		return true
	}
	return s.add(law.Expr, 1)
}

// polynomial reads coefficients in the order of the SPICE2 user's guide (from memory): p0, one for each control, then
// those of all higher powers and products. A single one of a single control is its gain.
func (s *summer) polynomial(dimension int, p []float64) bool {
	if dimension == 1 && len(p) == 1 {
		p = []float64{0, p[0]}
	}
	for i, v := range p {
		if i > dimension && v != 0 {
			return false
		}
	}
	s.sum.Const = p[0]
	of := s.c.named(s.id)
	pins := s.c.ElementPins(s.id)
	voltage := s.c.Elements[s.id].Kind == 'E' || s.c.Elements[s.id].Kind == 'G'
	if !voltage && len(of) != dimension || voltage && len(pins) != 2+2*dimension {
		return false // a source that is not there was reported
	}
	for i := range dimension {
		gain := 0.0
		if i+1 < len(p) {
			gain = p[i+1]
		}
		switch {
		case voltage:
			s.sum.volts(pins[2+2*i], pins[3+2*i], gain)
		case s.c.Elements[of[i]].Kind != 'V':
			return false
		default:
			s.sum.amps(of[i], gain)
		}
	}
	return true
}

// add adds gain times an expression to the sum; false where it is not linear.
func (s *summer) add(x *parse.Expr, gain float64) bool {
	if !s.moves[x] {
		s.sum.Const += gain * s.constant(x)
		return true
	}
	switch x.Op {
	case parse.Call:
		switch a := s.asks[x]; {
		case a == nil:
			return s.chosen(x, gain)
		case a.current:
			s.sum.amps(a.of, gain)
		default:
			s.sum.volts(a.pos, a.neg, gain)
		}
		return true
	case parse.Choice:
		return s.chosen(x, gain)
	case parse.Unary:
		return x.Text == "-" && s.add(x.Args[0], -gain)
	case parse.Binary:
		return s.binary(x, gain)
	}
	return false
}

func (s *summer) binary(x *parse.Expr, gain float64) bool {
	a, b := x.Args[0], x.Args[1]
	switch {
	case x.Text == "+":
		return s.add(a, gain) && s.add(b, gain)
	case x.Text == "-":
		return s.add(a, gain) && s.add(b, -gain)
	case x.Text == "*" && !s.moves[a]:
		return s.add(b, gain*s.constant(a))
	case x.Text == "*" && !s.moves[b]:
		return s.add(a, gain*s.constant(b))
	case x.Text == "/" && !s.moves[b]:
		v := s.constant(b)
		if v == 0 {
			s.c.eval.trouble(s.env, s.file(), &parse.Trouble{Expr: x, Message: "divides by zero"})
		}
		return v != 0 && s.add(a, gain/v)
	}
	return false
}

// chosen follows the branch of a choice between constants.
func (s *summer) chosen(x *parse.Expr, gain float64) bool {
	if x.Op == parse.Call && !strings.EqualFold(x.Text, "if") || len(x.Args) != 3 || s.moves[x.Args[0]] {
		return false
	}
	switch v := s.constant(x.Args[0]); {
	case math.IsNaN(v):
		return false
	case v != 0:
		return s.add(x.Args[1], gain)
	}
	return s.add(x.Args[2], gain)
}

// constant computes a part that does not move. One that follows the temperature by a parameter is no constant.
func (s *summer) constant(x *parse.Expr) float64 {
	v := s.c.eval.value(s.env, s.file(), x)
	if s.c.eval.warm {
		s.c.eval.warm = false
		return math.NaN()
	}
	return v
}
