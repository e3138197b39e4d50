package rules

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A Bench is one rule looking at one block. Every input comes through it, or through the quantities it hands out, so
// what is missing is recorded without the rule's help. A rule that ends without a check and without Skip is open.
type Bench struct {
	*sense.Block
	Design *design.Design

	volt   *volt.Solver
	rule   *Rule
	whole  bool
	needs  []quantity.Need
	checks []*Check
	skip   string

	site *site // what the rules of one block have in common
}

func (p *Bench) note(q quantity.Quantity) quantity.Quantity {
	for _, n := range q.Needs {
		if !slices.Contains(p.needs, n) {
			p.needs = append(p.needs, n)
		}
	}
	return q
}

// Whole tells that the rule looks at the whole netlist: then there is no block, and nothing may be asked of one.
func (p *Bench) Whole() bool { return p.whole }

// Need records an input that is missing.
func (p *Bench) Need(n quantity.Need) {
	if !slices.Contains(p.needs, n) {
		p.needs = append(p.needs, n)
	}
}

// Skip says why the rule has nothing to say here; the result is notApplicable.
func (p *Bench) Skip(why string) { p.skip = why }

// Part is a numeric field of the block's part record. The gain of an op-amp block is that of its network.
func (p *Bench) Part(key string) quantity.Quantity {
	if key == "gain" && p.Network != nil {
		return p.opAmpGain()
	}
	return p.note(p.Amp.Part(key))
}

// PartOf is a numeric field of another element's record.
func (p *Bench) PartOf(e design.Element, key string) quantity.Quantity { return p.note(e.Part(key)) }

// Declared is a number of intent by the components of its key; missing where nobody said it.
func (p *Bench) Declared(u quantity.Unit, path ...string) quantity.Quantity {
	return p.note(p.Design.Declared(u, path...))
}

// Surge is a declared surge; ok is false where no net is said that it enters.
func (p *Bench) Surge(name string) (s design.Surge, ok bool) {
	s, ok = p.Design.Surge(name)
	for _, q := range []quantity.Quantity{s.Voltage, s.Ohms, s.Duration} {
		p.note(q)
	}
	return s, ok
}

// Word is a field that picks a branch; without it the rule returns and the result is open.
func (p *Bench) Word(key string) (string, bool) {
	if key == "direction" && p.Network != nil {
		return "bidirectional", true // what stops an op amp is its swing
	}
	w, ok := p.Amp.Word(key)
	if !ok {
		p.Need(p.Amp.PartNeed(key))
	}
	return w, ok
}

// Voltage is what a pin can reach against the amplifier's own ground pin, in volts.
func (p *Bench) Voltage(role string, r design.Regime) quantity.Quantity {
	if v, ok := p.Design.Held(p.Amp, role); ok {
		return quantity.Exactly(role, quantity.Volt, v)
	}
	f, ok := p.form(role)
	if !ok {
		return p.note(quantity.Missing(quantity.Volt, p.pinNeed(role))).Named(role)
	}
	if role == "in+" || role == "in-" {
		if n, ok := p.undriven(r); ok {
			return p.note(quantity.Missing(quantity.Volt, n)).Named(role)
		}
	}
	q := p.volt.Bound(f, r)
	if r == design.Survival {
		switch role {
		case "in+":
			q = p.shorted(p.Plus.Shunt, q)
		case "in-":
			q = p.shorted(p.Minus.Shunt, q)
		}
	}
	return p.note(q).Named(role)
}

// undriven tells a shunt that nothing drives: no declared current, no source that reaches it. Its inputs are at ground
// only if its connectors carry nothing, which nobody said.
func (p *Bench) undriven(r design.Regime) (n quantity.Need, ok bool) {
	if len(p.Shunt) == 0 {
		return n, false
	}
	if _, declared := p.Current(r); declared {
		return n, false
	}
	for _, net := range []circuit.Net{p.Plus.Shunt, p.Minus.Shunt} {
		if _, held := p.Design.Rail(net, r); held && net != 0 {
			return n, false
		}
		if net != 0 && !p.volt.Idle(net, r) {
			return n, false
		}
	}
	return quantity.Need{In: "intent", Key: design.Key("currents", p.CurrentName(), "range")}, true
}

func (p *Bench) pinNeed(role string) quantity.Need {
	n := p.Amp.PartNeed("pins")
	n.Key += ` with "` + role + `"`
	return n
}

func (p *Bench) form(role string) (volt.Form, bool) {
	n, ok := p.Pin(role)
	g, grounded := p.Pin("ground")
	if !ok || !grounded {
		return nil, false
	}
	if role == "ground" {
		return volt.Form{}, true
	}
	return volt.Across(n, g), true
}

// Path is the way from a pin to what sets an end of its bound, in element and net names.
func (p *Bench) Path(role string, r design.Regime, q quantity.Quantity, high bool) string {
	f, ok := p.form(role)
	if _, held := p.Design.Held(p.Amp, role); !ok || held || len(f) == 0 {
		return ""
	}
	return p.volt.Trace(f, r, q, high)
}

// Limits are the two ends of an allowed range of the record, against the ground pin; pin roles in them are the
// voltages of those pins, varying together with everything else.
func (p *Bench) Limits(key string, r design.Regime) (lo, hi quantity.Quantity, text string) {
	en := p.Amp.Entry(key)
	if en == nil {
		m := p.Part(key)
		return m, m, key
	}
	return p.formula(en, en.Limits.Lo, r), p.formula(en, en.Limits.Hi, r), key
}

// Level is a voltage of the record that may name pin roles: "supply - 90 mV". Given by load, the worst counts: the
// largest where high is false, the smallest where it is true. The swing of a current output is its compliance.
func (p *Bench) Level(key string, r design.Regime, high bool) quantity.Quantity {
	if q, ok := p.throughLevel(key, r); ok {
		return q
	}
	en := p.Amp.Entry(key)
	switch {
	case en == nil && p.CurrentOutput() && p.Amp.Entry("output.compliance") != nil:
		lo, hi, _ := p.Limits("output.compliance", r)
		if high {
			return hi.Named(key)
		}
		return lo.Named(key)
	case en == nil:
		return p.Part(key)
	case en.Formula != nil:
		return p.formula(en, en.Formula, r).Named(key)
	case len(en.Steps) > 0:
		in := make([]quantity.Quantity, len(en.Steps))
		for i, s := range en.Steps {
			in[i] = p.formula(en, s.Y, r)
		}
		return quantity.Calc(key, quantity.Volt, func(x []float64) float64 {
			if high {
				return slices.Min(x)
			}
			return slices.Max(x)
		}, in...)
	}
	return p.Part(key)
}

func (p *Bench) formula(en *field.Entry, f *quantity.Formula, r design.Regime) quantity.Quantity {
	return formulaOver(p.Name()+" "+en.Key(), en.Field.Unit, f, en.At, func(role string) quantity.Quantity { return p.Voltage(role, r) })
}

// formulaOver is a formula over named quantities, which vary together with everything else; a constant is a cause of its own
// that stands at a place.
func formulaOver(name string, u quantity.Unit, f *quantity.Formula, at source.Span, of func(string) quantity.Quantity) quantity.Quantity {
	if v, ok := f.Constant(); ok {
		return (&quantity.Cause{Name: name + " " + f.String(), Unit: u, Nom: v, Sound: quantity.Point(v), Seen: quantity.Point(v), At: at}).Of()
	}
	names := f.Names()
	in := make([]quantity.Quantity, len(names))
	for i, n := range names {
		in[i] = of(n)
	}
	values := map[string]float64{}
	return quantity.Calc(name, u, func(x []float64) float64 {
		for i, n := range names {
			values[n] = x[i]
		}
		return f.Eval(func(n string) float64 { return values[n] })
	}, in...)
}

// Shunt is the resistance of the sense element, in ohm.
func (p *Bench) ShuntOhms() quantity.Quantity {
	if len(p.Shunt) == 0 {
		return p.note(quantity.Missing(quantity.Ohm, p.ShuntNeed()))
	}
	return p.note(p.ShuntResistance())
}

// ShuntCurrent is the declared current through the shunt, in amperes, positive where it makes in+ the higher input. Of
// parallel elements it is that of all, which follows from the one that is declared and their resistances.
func (p *Bench) ShuntCurrent(r design.Regime) quantity.Quantity {
	if len(p.Shunt) == 0 {
		return p.ShuntOhms()
	}
	c, ok := p.Current(r)
	if !ok {
		return p.note(quantity.Missing(quantity.Amp, quantity.Need{In: "intent", Key: design.Key("currents", p.CurrentName(), "range")}))
	}
	sign := p.Sign()
	if len(p.Shunt) == 1 {
		return p.note(quantity.Calc(c.Value.Name, quantity.Amp, func(x []float64) float64 { return sign * x[0] }, c.Value))
	}
	return p.note(quantity.Calc(c.Value.Name, quantity.Amp, func(x []float64) float64 { return sign * x[0] * x[1] }, c.Value, p.GroupRatio()))
}

// GroupRatio is the current of all parallel elements of the shunt over that of the one whose current intent declares, or
// would declare: 1 where there is no other.
func (p *Bench) GroupRatio() quantity.Quantity {
	const name = "current of all parallel shunts over that of the declared one"
	if len(p.Shunt) < 2 {
		return quantity.Exactly(name, quantity.Ratio, 1)
	}
	declared := p.CurrentName()
	at := max(0, slices.IndexFunc(p.Shunt, func(e design.Element) bool { return e.Path() == declared }))
	var ohms []quantity.Quantity
	for _, e := range p.Shunt {
		ohms = append(ohms, e.Resistance())
	}
	return p.note(quantity.Calc(name, quantity.Ratio, func(x []float64) float64 {
		times := 0.0
		for _, r := range x {
			times += x[at] / r
		}
		return times
	}, ohms...))
}

// Smallest is the size of the smallest current of interest that intent declares, in amperes, of all parallel elements
// together.
func (p *Bench) Smallest() quantity.Quantity {
	least := p.Design.Declared(quantity.Amp, "currents", p.CurrentName(), "least")
	if !least.Known() || len(p.Shunt) < 2 {
		return magnitude(least)
	}
	return quantity.Calc(least.Name, quantity.Amp, func(x []float64) float64 { return x[0] * x[1] }, magnitude(least), p.GroupRatio())
}

// magnitude is a declared current without its sign.
func magnitude(q quantity.Quantity) quantity.Quantity {
	if !q.Known() || q.Sound.Lo >= 0 {
		return q
	}
	return q.Times(-1)
}

// A Goal is the accuracy that intent asks of the block.
type Goal struct {
	Error    quantity.Quantity // fraction
	From     quantity.Quantity // the size of the current that it applies from, of all parallel elements together, A
	Declared bool
}

// Goal is the declared accuracy goal; Declared is false where there is none.
func (p *Bench) Goal() Goal {
	g := Goal{Error: p.Design.Declared(quantity.Ratio, "goals", p.Name(), "error")}
	if !g.Error.Known() {
		return g
	}
	g.Declared = true
	g.From = magnitude(p.Design.Declared(quantity.Amp, "goals", p.Name(), "at"))
	if !g.From.Known() {
		g.From = p.Smallest()
	}
	return g
}

// Calibrated tells that intent declares a calibration of the block ("offset" or "gain").
func (p *Bench) Calibrated(what string) bool {
	if e := p.Design.Intent.Get("calibration", p.Name(), what); e != nil {
		return e.Flag
	}
	return p.Design.Intent.Says("calibration", p.Name(), what)
}

// Polarity is +1 for a part whose output rises with in+ above in-, -1 for an inverted one.
func (p *Bench) Polarity() float64 {
	if p.Network != nil {
		return 1 // the ends of its shunt are named by what the output does
	}
	if w, _ := p.Amp.Word("polarity"); w == "inverted" {
		return -1
	}
	return 1
}

// Out is the unclipped output against the ground pin, in volts, over everything that varies: the reference network,
// the shunt current, the input network, gain and offset.
func (p *Bench) Out(r design.Regime) quantity.Quantity {
	if p.CurrentOutput() {
		return p.currentOut(r)
	}
	if p.Network != nil {
		return p.opAmpOut(r)
	}
	zero, model := p.zero(r)
	plus, minus := p.Voltage("in+", r), p.Voltage("in-", r)
	if p.Plus.Pin != p.Minus.Pin && len(p.Shunt) > 0 {
		if _, ok := p.Current(r); !ok {
			p.ShuntCurrent(r)
		}
	}
	gain, offset := p.Part("gain"), p.offset()
	pol := p.Polarity()
	nom := gain.Nom
	if model == "resistor-difference" {
		if pol < 0 {
			plus, minus = minus, plus
		}
		return quantity.Calc("output", quantity.Volt, func(x []float64) float64 {
			sum, in, ref, g, vos := x[0], x[1], x[2], x[3], x[4]
			return sum + (sum-in)*nom + (g-nom)*(ref-in) + g*vos
		}, zero, minus, plus, gain, offset)
	}
	return quantity.Calc("output", quantity.Volt, func(x []float64) float64 { return x[0] + pol*x[3]*(x[1]-x[2]+x[4]) },
		zero, plus, minus, gain, offset)
}

// offset is the input offset voltage, either sign.
func (p *Bench) offset() quantity.Quantity {
	m := p.Part("offset.max")
	if !m.Known() {
		return m
	}
	c := &quantity.Cause{Name: p.Name() + " offset", Unit: quantity.Volt, At: m.Causes()[0].At}
	c.Sound = quantity.Interval{Lo: -m.Sound.Hi, Hi: m.Sound.Hi}
	c.Seen = c.Sound
	return c.Of()
}

// zero is what the reference pins make of the output at no current: the reference pin itself, or the node inside where
// several meet (then against the ground pin as well).
func (p *Bench) zero(r design.Regime) (q quantity.Quantity, inputModel string) {
	inputModel, _ = p.Word("input.model")
	if len(p.References) == 0 { // the output counts from the ground pin
		return quantity.Exactly("ground", quantity.Volt, 0), inputModel
	}
	if v, ok := p.Design.Held(p.Amp, p.References[0].Role); ok {
		return quantity.Exactly("reference", quantity.Volt, v), "held" // an ideal source: only the pins' difference is left
	}
	model, ok := p.Word("reference.model")
	if !ok && inputModel != "resistor-difference" {
		return p.note(quantity.Missing(quantity.Volt, p.Amp.PartNeed("reference.model"))), inputModel
	}
	if model == "resistor-pair" || inputModel == "resistor-difference" {
		return p.note(p.volt.Summing(p.Amp, p.Unit, p.Ground, r)).Named("reference"), inputModel
	}
	return p.Voltage(p.References[0].Role, r), inputModel
}

// Zero is the output at no current, against the ground pin, in volts.
func (p *Bench) Zero(r design.Regime) quantity.Quantity {
	if p.CurrentOutput() {
		return p.outputAtRest(r)
	}
	if p.Network != nil {
		return p.opAmpZero(r)
	}
	q, model := p.zero(r)
	if model == "resistor-difference" && len(p.References) > 0 {
		minus, plus := p.Voltage("in-", r), p.Voltage("in+", r)
		if p.Polarity() < 0 {
			plus, minus = minus, plus
		}
		nom := p.Part("gain").Nom
		// what is left of the output once the part that follows the shunt voltage is taken away
		return quantity.Calc("output at 0 A", quantity.Volt, func(x []float64) float64 {
			return x[0] + (x[0]-x[1])*nom - nom*(x[2]-x[1])
		}, q, minus, plus)
	}
	return q
}

func known(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
