package volt

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A clip is the output of an amplifier between the two levels at which it stops. In between it stands where its law
// says: at a node of its own (a sense amplifier, whose gain is known), or wherever both inputs meet up to the offset (an
// op amp, taken as a nullor).
type clip struct {
	out       int
	law       int // the node where the law stands; -1: a nullor
	p, n      int // of a nullor: its inputs
	offset    int // of a nullor, an input: p above n
	low, high level
	what      string
}

// A level is a place that follows nodes: the sum of their voltages and of inputs.
type level struct {
	volts, plus []weight
	most        float64 // how much of the supply it takes at the most, in volts
}

func (l level) function(sign float64) (f function) {
	for _, t := range l.volts {
		f.volts(t.of, sign*t.times)
	}
	for _, t := range l.plus {
		f.known = append(f.known, weight{t.of, sign * t.times})
	}
	return f
}

// free tells that outputs of amplifiers only stand somewhere in their swing: where their law is not wanted, or not
// known.
func (is *island) free() bool { return is.signal != nil || is.own || is.anywhere }

// output adds the output of a sense amplifier: its reference, and the gain times the input with its offset on top. What
// the common mode and the supply add is not in it.
func (is *island) output(e design.Element, unit string) {
	if !is.once(e, unit, "output") {
		return
	}
	out, _ := e.PinOf("out", unit)
	p, okP := e.PinOf("in+", unit)
	m, okM := e.PinOf("in-", unit)
	g, okG := e.PinOf("ground", unit)
	model, okModel := e.Word("input.model")
	switch {
	case !okP || !okM || !okG:
		is.unknown(e.PartNeed("pins"))
		return
	case !okModel:
		is.unknown(e.PartNeed("input.model"))
		return
	case model == "current-output":
		is.unknown(quantity.Need{In: "netlist", Key: "what the current output of " + e.Path() + " does", At: e.Card()})
		return
	}
	polarity := 1.0
	if w, _ := e.Word("polarity"); w == "inverted" {
		polarity = -1
	}
	gain := e.Part("gain")
	c := controlled{b: ^is.ground(), offset: -1, what: e.Path(), p: is.place(p), n: is.place(m), sign: polarity}
	c.gain, c.above = is.input(gain), is.input(bothSigns(e.Part("offset.max")))
	switch refs := references(e, unit); {
	case model == "resistor-difference":
		is.inputStage(e, unit)
		sum := is.amps[e.Path()+":"+unit+" sum"]
		leg := c.n
		if polarity < 0 {
			leg = c.p
		}
		c.volts = []follows{{sum, leg, gain.Nom}, {sum, ^is.ground(), 1}}
		c.volts = append(c.volts, follows{c.p, c.n, -polarity * gain.Nom})
	case len(refs) == 0:
		c.volts = []follows{{is.place(g), ^is.ground(), 1}}
	default:
		is.reference(e, unit)
		at, ok := is.amps[e.Path()+":"+unit+" sum"]
		if !ok || at == -1 {
			at = is.place(refs[0])
		}
		c.volts = []follows{{at, ^is.ground(), 1}}
	}
	c.a = is.node("unclipped output of " + e.Path() + unit)
	is.controls = append(is.controls, c)
	is.clip(e, unit, clip{out: is.place(out), law: c.a, what: e.Path() + unit})
}

// clip adds the two levels at which an output stops.
func (is *island) clip(e design.Element, unit string, c clip) {
	var ok [2]bool
	c.low, ok[0] = is.level(e, unit, "output.low")
	c.high, ok[1] = is.level(e, unit, "output.high")
	for i, key := range []string{"output.low", "output.high"} {
		if !ok[i] {
			is.unknown(e.PartNeed(key))
		}
	}
	if q := e.Entry("output.resistance"); q != nil {
		inner := is.node("inner output of " + c.what)
		is.resistors = append(is.resistors, resistor{inner, c.out, is.input(e.Part("output.resistance")), -1, c.what})
		c.out = inner
	}
	is.ground()
	is.clips = append(is.clips, c)
	// Without the supply that its two levels take, an output stands where nobody says, between the ends of the supply.
	supply, _ := e.PinOf("supply", unit)
	ground, _ := e.PinOf("ground", unit)
	if vs := is.s.supply(supply, ground, is.regime); ok[0] && ok[1] && vs.Known() && vs.Sound.Lo < c.low.most+c.high.most {
		is.unpowered = true
	}
}

// level is where an output stops: a record says the highest it may be for the low one, the lowest for the high one; up to
// there from the ground, or on to the supply, it may be anywhere. Of several, by load, all may be meant. A formula other
// than a constant, or the supply less a constant, is not known here.
func (is *island) level(e design.Element, unit, key string) (l level, ok bool) {
	en := e.Entry(key)
	ground, okG := e.PinOf("ground", unit)
	supply, okS := e.PinOf("supply", unit)
	if en == nil || !okG || !okS {
		return l, false
	}
	formulas := []*quantity.Formula{en.Formula}
	if en.Formula == nil {
		formulas = nil
		for _, s := range en.Steps {
			formulas = append(formulas, s.Y)
		}
	}
	far := 0.0 // how far from the ground, or below the supply
	fromSupply := key == "output.high"
	for i, f := range formulas {
		at := func(s float64) float64 {
			return f.Eval(func(name string) float64 {
				switch name {
				case "supply":
					return s
				case "ground":
					return 0
				}
				return math.NaN()
			})
		}
		v, slope := at(0), at(1)-at(0)
		switch {
		case math.Abs(at(7)-v-7*slope) > 1e-9: // NaN compares false
			return l, false
		case math.IsNaN(v):
			return l, false
		case slope == 1 && key == "output.high" && v <= 0:
			far = max(far, -v)
		case slope == 0 && key == "output.low" && v >= 0:
			far = max(far, v)
		case slope == 0 && key == "output.high" && i == 0 && len(formulas) == 1:
			fromSupply, far = false, v
		default:
			return l, false
		}
	}
	l.most = far
	if key == "output.high" && !fromSupply {
		l.most = 0
	}
	span := &quantity.Cause{Name: e.Path() + unit + " " + key, Unit: quantity.Volt, At: en.At, Nom: far, Sound: quantity.Interval{Lo: min(0, far), Hi: max(0, far)}}
	sign := 1.0
	l.volts = []weight{{is.place(ground), 1}}
	switch {
	case fromSupply:
		sign = -1
		l.volts = []weight{{is.place(supply), 1}}
	case key == "output.high": // a level against ground, and from there up to the supply
		top := is.s.supply(supply, ground, is.regime)
		if !top.Known() {
			return l, false
		}
		span.Sound = quantity.Interval{Lo: far, Hi: max(far, top.Sound.Hi)}
	}
	span.Seen = span.Sound
	l.plus = []weight{{is.input(span.Of()), sign}}
	return l, true
}

// supply is the bound of an amplifier's supply against its ground. One that hangs on the output itself is not known.
func (s *Solver) supply(supply, ground circuit.Net, r design.Regime) quantity.Quantity {
	if s.nested[supply] {
		return quantity.Missing(quantity.Volt, quantity.Need{In: "intent", Key: design.Key("rails", s.d.Circuit.NetName(supply))})
	}
	s.nested[supply] = true
	defer delete(s.nested, supply)
	return s.Bound(Across(supply, ground), r)
}

// opAmp adds what an op amp does at a net: its supply current, its bias currents, and its output, which brings the two
// inputs together as far as it may go.
func (is *island) opAmp(e design.Element, unit string, n circuit.Net) {
	on := func(role string) bool { p, ok := e.PinOf(role, unit); return ok && p == n }
	if on("supply") || on("ground") {
		is.consumer(e, unit)
	}
	if is.signal != nil {
		return
	}
	for _, role := range []string{"in+", "in-"} {
		if on(role) && is.once(e, unit, role) {
			plus := Bias(e)
			plus.Name = e.Path() + unit + " bias into " + role
			is.inject(n, injection{amps: is.input(plus.Of()), sign: -1, idle: -1, drive: unsaidOn, what: e.Path()})
		}
	}
	if !on("out") || is.free() || !is.once(e, unit, "output") {
		return
	}
	p, okP := e.PinOf("in+", unit)
	m, okM := e.PinOf("in-", unit)
	if !okP || !okM {
		is.unknown(e.PartNeed("pins"))
		return
	}
	is.clip(e, unit, clip{out: is.place(n), law: -1, p: is.place(p), n: is.place(m), offset: is.input(bothSigns(e.Part("offset.max"))), what: e.Path() + unit})
}
