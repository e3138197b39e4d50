package rules

import (
	"cmp"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A Built is an op-amp block's network at one set of values: how nets follow their sources, the voltages of its ports
// against the amplifier's ground pin, and whatever else a reading asked for.
type Built struct {
	*sense.Solution
	Net   *sense.Network
	Ohms  []float64
	Volts []float64 // of each port
	More  []float64
}

// At is the voltage of a net that the ports make, without offsets and bias currents.
func (b Built) At(n circuit.Net) float64 {
	sum := 0.0
	for k, v := range b.Volts {
		if c := b.Of(n, k); c != 0 {
			sum += c * v
		}
	}
	return sum
}

// OpAmp derives a quantity from the network of an op-amp block. With one resistor alone varied every voltage of a linear
// network is a quotient of two linear functions of it, monotone like a voltage of a port; read must keep that.
func (p *Bench) OpAmp(name string, u quantity.Unit, r design.Regime, read func(Built) float64, more ...quantity.Quantity) quantity.Quantity {
	return p.opAmp(name, u, p.ports(r, p.ShuntCurrent(r)), read, more...)
}

// OpAmpAt is OpAmp at one current of the shunt, in amperes, positive where the output rises with it.
func (p *Bench) OpAmpAt(amps float64, name string, u quantity.Unit, r design.Regime, read func(Built) float64, more ...quantity.Quantity) quantity.Quantity {
	return p.opAmp(name, u, p.ports(r, quantity.Exactly("current", quantity.Amp, amps)), read, more...)
}

// Stage is the bench of one of the op amps of a block, for what its own record and pins say.
func (p *Bench) Stage(i int) *Bench {
	b, o := *p.Block, *p
	b.Amp, b.Unit = p.Network.Stages[i].Amp, p.Network.Stages[i].Unit
	o.Block, o.checks = &b, nil
	return &o
}

// OpAmpRatio is OpAmp for what needs no voltages.
func (p *Bench) OpAmpRatio(name string, u quantity.Unit, read func(Built) float64, more ...quantity.Quantity) quantity.Quantity {
	return p.opAmp(name, u, nil, read, more...)
}

func (p *Bench) opAmp(name string, u quantity.Unit, ports []quantity.Quantity, read func(Built) float64, more ...quantity.Quantity) quantity.Quantity {
	w := p.Network
	var in []quantity.Quantity
	for _, e := range w.Resistors {
		in = append(in, p.matched(e))
	}
	n := len(in)
	in = append(append(in, ports...), more...)
	q := quantity.Calc(name, u, func(x []float64) float64 {
		s, ok := w.Solve(x[:n])
		if !ok {
			return math.NaN()
		}
		return read(Built{Solution: s, Net: w, Ohms: x[:n], Volts: x[n : n+len(ports)], More: x[n+len(ports):]})
	}, in...)
	return p.note(q)
}

// ports are the voltages of the network's ports against the ground pin. The two ends of the shunt differ by the declared
// current's drop; a port that nothing in the network follows is not asked for.
func (p *Bench) ports(r design.Regime, amps quantity.Quantity) []quantity.Quantity {
	w := p.Network
	s, ok := w.Solve(w.Nominal())
	var ground circuit.Net
	if g, ok := p.Pin("ground"); ok {
		ground = g
	}
	at := func(n circuit.Net) quantity.Quantity {
		if n == ground {
			return quantity.Exactly("ground", quantity.Volt, 0)
		}
		return p.volt.Bound(volt.Across(n, ground), r)
	}
	plus, minus := p.ends(r, amps, at)
	out := make([]quantity.Quantity, len(w.Ports))
	for k, n := range w.Ports {
		used := false
		for _, t := range w.Stages {
			for _, net := range []circuit.Net{t.Plus, t.Minus, t.Out} {
				used = used || ok && math.Abs(s.Of(net, k)) > 1e-12
			}
		}
		a, isPlus := w.Port(p.Plus.Shunt)
		b, isMinus := w.Port(p.Minus.Shunt)
		switch {
		case isPlus && a == k:
			out[k] = plus
		case isMinus && b == k:
			out[k] = minus
		case !used:
			out[k] = quantity.Exactly("unused", quantity.Volt, 0)
		default:
			out[k] = at(n)
		}
	}
	return out
}

// ends are the voltages of the shunt's two ends.
func (p *Bench) ends(r design.Regime, amps quantity.Quantity, at func(circuit.Net) quantity.Quantity) (plus, minus quantity.Quantity) {
	if n, ok := p.undriven(r); ok {
		m := quantity.Missing(quantity.Volt, n)
		return m, m
	}
	if _, declared := p.Current(r); !declared {
		return at(p.Plus.Shunt), at(p.Minus.Shunt)
	}
	ohms := p.ShuntOhms()
	if p.held(p.Plus.Shunt, r) || !p.held(p.Minus.Shunt, r) {
		plus = at(p.Plus.Shunt)
		minus = quantity.Calc("minus end", quantity.Volt, func(x []float64) float64 { return x[0] - x[1]*x[2] }, plus, amps, ohms)
		if r == design.Survival {
			minus = p.shorted(p.Minus.Shunt, minus)
		}
		return plus, minus
	}
	minus = at(p.Minus.Shunt)
	plus = quantity.Calc("plus end", quantity.Volt, func(x []float64) float64 { return x[0] + x[1]*x[2] }, minus, amps, ohms)
	if r == design.Survival {
		plus = p.shorted(p.Plus.Shunt, plus)
	}
	return plus, minus
}

// held tells that a rail holds a net, by itself or over one piece of wire or net tie: the low end of a shunt stays at
// ground where its net has a name of its own.
func (p *Bench) held(n circuit.Net, r design.Regime) bool {
	if _, ok := p.Design.Rail(n, r); ok {
		return true
	}
	if len(p.Design.Circuit.On(n)) > crowded {
		return false
	}
	for e := range p.Design.On(n) {
		if e.Kind() != 'R' || e.Pins() != 2 || !e.Short() && !p.tie(e) {
			continue
		}
		if _, ok := p.Design.Rail(e.Other(n), r); ok {
			return true
		}
	}
	return false
}

// crowded is how many elements a net may have to be looked through for a net tie.
const crowded = 256

// tie tells that intent calls an element a net tie.
func (p *Bench) tie(e design.Element) bool {
	f := p.Design.Intent.Get("elements", e.Path(), "net-tie")
	return f != nil && f.Flag
}

// follows is what the output takes of the shunt's voltage: the end that nothing holds moves with the current. Where
// nothing holds either, the mean of the two stays.
func (p *Bench) follows(b Built) float64 {
	out := b.Net.Reads()
	of := func(n circuit.Net) float64 {
		if k, ok := b.Net.Port(n); ok {
			return b.Of(out, k)
		}
		return 0
	}
	switch plus, minus := p.held(p.Plus.Shunt, design.Operating), p.held(p.Minus.Shunt, design.Operating); {
	case minus && !plus:
		return of(p.Plus.Shunt)
	case plus && !minus:
		return -of(p.Minus.Shunt)
	}
	return (of(p.Plus.Shunt) - of(p.Minus.Shunt)) / 2
}

// opAmpGain is the output over the shunt's voltage of an op-amp block, with the tolerances of its resistors.
func (p *Bench) opAmpGain() quantity.Quantity {
	return p.OpAmpRatio(p.Name()+" gain", quantity.VoltPerVolt, p.follows)
}

// opAmpZero is the output of an op-amp block at no current: references, and what the common mode leaves.
func (p *Bench) opAmpZero(r design.Regime) quantity.Quantity {
	return p.OpAmp("output at 0 A", quantity.Volt, r, func(b Built) float64 { return p.opAmpRest(b) })
}

// opAmpRest is the output without the part that follows the shunt's voltage.
func (p *Bench) opAmpRest(b Built) float64 {
	v := 0.0
	if k, ok := b.Net.Port(p.Plus.Shunt); ok {
		v += b.Volts[k]
	}
	if k, ok := b.Net.Port(p.Minus.Shunt); ok {
		v -= b.Volts[k]
	}
	return b.At(b.Net.Reads()) - p.follows(b)*v
}

// opAmpOut is the unclipped output of an op-amp block, with the offsets and bias currents of its op amps.
func (p *Bench) opAmpOut(r design.Regime) quantity.Quantity {
	out := p.Network.Reads()
	return p.OpAmp("output", quantity.Volt, r, func(b Built) float64 { return b.At(out) + b.shift(out) }, p.stageErrors()...)
}

// OpAmpShift is what the offsets and bias currents of the op amps of a block add to its output, in volts.
func (p *Bench) OpAmpShift() quantity.Quantity {
	out := p.Network.Reads()
	return p.OpAmpRatio("output by offset and bias", quantity.Volt, func(b Built) float64 { return b.shift(out) }, p.stageErrors()...)
}

// stageErrors are the offset and the bias currents of each of the block's op amps.
func (p *Bench) stageErrors() (more []quantity.Quantity) {
	for i := range p.Network.Stages {
		more = append(more, p.StageOffset(i), p.stageBias(i, "in+"), p.stageBias(i, "in-"))
	}
	return more
}

// shift is what the stage errors, given as More, add to a net.
func (b Built) shift(out circuit.Net) float64 {
	sum := 0.0
	for i := range b.Net.Stages {
		plus, minus := b.Bias(out, i)
		for j, c := range []float64{b.Offset(out, i), plus, minus} {
			if math.Abs(c) > 1e-9 {
				sum += c * b.More[3*i+j]
			}
		}
	}
	return sum
}

// StageOffset is the offset of one of the block's op amps, either sign.
func (p *Bench) StageOffset(i int) quantity.Quantity {
	if i == 0 {
		return p.offset()
	}
	s := p.Network.Stages[i]
	m := p.PartOf(s.Amp, "offset.max")
	if !m.Known() {
		return m
	}
	c := &quantity.Cause{Name: s.Amp.Path() + s.Unit + " offset", Unit: quantity.Volt, At: m.Causes()[0].At}
	c.Sound = quantity.Interval{Lo: -m.Sound.Hi, Hi: m.Sound.Hi}
	c.Seen = c.Sound
	return c.Of()
}

func (p *Bench) stageBias(i int, pin string) quantity.Quantity {
	s := p.Network.Stages[i]
	c := volt.Bias(s.Amp)
	c.Name = s.Amp.Path() + s.Unit + " bias into " + pin
	return p.note(c.Of())
}

// network finds the matched network of a resistor: the first of its resistors, how they track, and where it is said.
func (p *Bench) network(e design.Element) (first string, tracking, said *field.Entry) {
	in := p.Design.Intent
	set := []circuit.ID{e.ID}
	joined := func(a, b design.Element) *field.Entry {
		if en := in.Get("elements", a.Path(), "matched-with"); en != nil {
			for _, name := range en.Names {
				if m, ok := p.Design.Find(name); ok && m.ID == b.ID {
					return en
				}
			}
		}
		return nil
	}
	for i := 0; i < len(set); i++ {
		a := p.Design.Element(set[i])
		for _, b := range p.Network.Resistors {
			if slices.Contains(set, b.ID) {
				continue
			}
			if en := cmp.Or(joined(a, b), joined(b, a)); en != nil {
				set, said = append(set, b.ID), en
			}
		}
	}
	slices.Sort(set)
	for _, id := range set {
		if tracking == nil {
			tracking = in.Get("elements", p.Design.Element(id).Path(), "tracking")
		}
	}
	return p.Design.Element(set[0]).Path(), tracking, said
}

// matched is a resistor of the network. Those that intent says are one matched network move together with their tolerance,
// and apart only by their tracking, temperature included.
func (p *Bench) matched(e design.Element) quantity.Quantity {
	group, tracking, with := p.network(e)
	if with == nil || e.Value() != e.Value() {
		return p.note(e.Resistance())
	}
	if tracking == nil {
		return p.note(quantity.Missing(quantity.Ohm, quantity.Need{In: "intent", Key: design.Key("elements", group, "tracking"), At: with.At}))
	}
	alone := e.Resistance()
	common := quantity.Cause{Name: group + " and what it is matched with", Unit: quantity.Ratio, At: with.At}
	common.Sound = quantity.Interval{Lo: alone.Sound.Lo/alone.Nom - 1, Hi: alone.Sound.Hi/alone.Nom - 1}
	if common.Seen = (quantity.Interval{}); !alone.Seen.Empty() {
		common.Seen = quantity.Interval{Lo: alone.Seen.Lo/alone.Nom - 1, Hi: alone.Seen.Hi/alone.Nom - 1}
	}
	half := tracking.Written.Range.Hi / 2 // each of two from their mean
	apart := quantity.Cause{Name: e.Path() + " apart", Unit: quantity.Ratio, At: tracking.At, Sound: quantity.Interval{Lo: -half, Hi: half}}
	apart.Seen = apart.Sound
	nom := e.Value()
	return p.note(quantity.Calc(e.Path(), quantity.Ohm, func(x []float64) float64 { return nom * (1 + x[0]) * (1 + x[1]) }, common.Of(), apart.Of()))
}

// throughLevel is where the output of a stage with a transistor in its loop stops: at no current it reads what its load
// makes, and it ends below the loop's end of the channel, what the transistor drops not counted.
func (p *Bench) throughLevel(key string, r design.Regime) (quantity.Quantity, bool) {
	if p.Network == nil || p.Network.Stages[0].Through == nil {
		return quantity.Quantity{}, false
	}
	w := p.Network
	switch key {
	case "output.low":
		return quantity.Exactly("no current through "+w.Stages[0].Through.Path(), quantity.Volt, 0), true
	case "output.high":
		drop := &quantity.Cause{Name: w.Stages[0].Through.Path() + " drop", Unit: quantity.Volt, Grade: quantity.Assumed,
			Note: "what " + w.Stages[0].Through.Path() + " drops is not counted"}
		return p.OpAmp("output.high", quantity.Volt, r, func(b Built) float64 { return b.At(w.Stages[0].Minus) - b.More[0] }, drop.Of()), true
	}
	return quantity.Quantity{}, false
}
