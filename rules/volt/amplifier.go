package volt

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// drivenOutput is the voltage of a net that an amplifier's output drives: anywhere in its swing.
func (is *island) drivenOutput(n circuit.Net) (quantity.Quantity, bool) {
	for e := range is.s.d.On(n) {
		for _, u := range e.Amplifiers() {
			if out, ok := e.PinOf("out", u); ok && out == n {
				low, high := e.Entry("output.low"), e.Entry("output.high")
				if low == nil || high == nil {
					return quantity.Missing(quantity.Volt, e.PartNeed("output.low")), true
				}
				top := quantity.Missing(quantity.Volt, e.PartNeed("pins"))
				if vs, ok := e.PinOf("supply", u); ok {
					top = is.s.supply(vs, 0, is.regime)
				}
				bottom := quantity.Exactly("ground", quantity.Volt, 0)
				if g, ok := e.PinOf("ground", u); ok {
					bottom = is.s.supply(g, 0, is.regime)
				}
				at := &quantity.Cause{Name: "output of " + e.Path() + u, Sound: quantity.Interval{Lo: 0, Hi: 1}, Seen: quantity.Interval{Lo: 0, Hi: 1}, Nom: 0.5}
				if is.unsaid != nil {
					at.Seen, at.Needs = quantity.Nothing, is.unsaid
				}
				return quantity.Calc("output of "+e.Path(), quantity.Volt, func(x []float64) float64 { return x[0] + x[2]*(x[1]-x[0]) },
					bottom, top, at.Of()), true
			}
		}
	}
	return quantity.Quantity{}, false
}

// subcircuit adds what an X card does at a net: an amplifier's pins as its record says; anything else nobody knows.
func (is *island) subcircuit(e design.Element, n circuit.Net) {
	for _, u := range e.OpAmps() {
		is.opAmp(e, u, n)
	}
	units := e.Amplifiers()
	if units == nil && e.OpAmps() == nil {
		r := e.Record()
		what := quantity.Need{In: "part records", Key: "a record for " + e.Ref(), At: e.Card()}
		if r != nil {
			if is.simple(e, n) || is.plainPin(e, n) || is.comparatorInput(e, n) {
				return
			}
			what = is.misfit(e, n)
		}
		is.unknown(what)
		return
	}
	for _, u := range units {
		is.amplifierPin(e, u, n)
	}
}

// plainPin adds the supply or ground pin of a part that is no amplifier, and passes over pins that take no current.
func (is *island) plainPin(e design.Element, n circuit.Net) bool {
	known := false
	for i, role := range e.Record().Pins() {
		if i >= e.Pins() || e.Pin(i) != n {
			continue
		}
		switch role {
		case "supply", "ground":
			known = true
			is.consumer(e, "")
		case "nc":
			known = true
		default:
			if !is.converterPin(e, n) {
				return false
			}
			known = true
		}
	}
	return known
}

func (is *island) amplifierPin(e design.Element, unit string, n circuit.Net) {
	on := func(role string) bool { p, ok := e.PinOf(role, unit); return ok && p == n }
	if on("supply") || on("ground") {
		is.consumer(e, unit)
	}
	if on("in+") || on("in-") {
		is.inputStage(e, unit)
	}
	if on("out") && !is.free() {
		is.output(e, unit)
	}
	for _, role := range []string{"ref", "ref-a", "ref-b"} {
		if on(role) {
			is.reference(e, unit)
		}
	}
}

// once tells the first time that a stage of an amplifier joins the island.
func (is *island) once(e design.Element, unit, stage string) bool {
	key := e.Path() + ":" + unit + " " + stage
	if _, ok := is.amps[key]; ok {
		return false
	}
	is.amps[key] = -1
	return true
}

// consumer draws the supply current from supply to ground. A consumer cannot pull its supply below its ground.
func (is *island) consumer(e design.Element, unit string) {
	vs, okS := e.PinOf("supply", unit)
	g, okG := e.PinOf("ground", unit)
	if !okS || !okG || vs == g || !is.once(e, "", "supply") {
		return
	}
	if is.signal != nil {
		return
	}
	amps := is.input(e.Part("supply.current"))
	a, b := is.place(vs), is.place(g)
	is.fed = append(is.fed, vs)
	is.inject(vs, injection{amps: amps, sign: -1, idle: -1, drive: consumes, what: e.Path()})
	is.inject(g, injection{amps: amps, sign: 1, idle: -1, drive: consumes, what: e.Path()})
	is.diodes = append(is.diodes, diode{anode: b, cathode: a, drop: -1, ohms: -1, what: e.Path(), weak: true})
}

// inputStage adds what the input pins draw: the bias current into each pin, and for a differential input the
// resistance between them; for a resistor-difference stage its resistors.
func (is *island) inputStage(e design.Element, unit string) {
	if !is.once(e, unit, "input") {
		return
	}
	p, okP := e.PinOf("in+", unit)
	m, okM := e.PinOf("in-", unit)
	if !okP || !okM {
		return
	}
	model, ok := e.Word("input.model")
	if !ok {
		is.unknown(e.PartNeed("input.model"))
		return
	}
	switch model {
	case "resistor-difference":
		is.resistorDifference(e, unit, p, m)
		return
	case "differential":
		is.resistors = append(is.resistors, resistor{is.place(p), is.place(m), is.input(is.inner(e)), -1, e.Path()})
	}
	if is.signal != nil {
		return
	}
	// The two currents move together up to the mismatch that the record allows.
	plus := Bias(e)
	plus.Name = e.Path() + unit + " bias"
	into := []quantity.Quantity{plus.Of(), plus.Of()}
	if ios := bothSigns(e.Part("bias.mismatch")); ios.Known() {
		into[1] = quantity.Calc("bias into in-", quantity.Amp, func(x []float64) float64 { return x[0] + x[1] }, into[0], ios)
	} else {
		minus := plus
		minus.Name += " into in-"
		into[1] = minus.Of()
	}
	for i, n := range []circuit.Net{p, m} {
		is.inject(n, injection{amps: is.input(into[i]), sign: -1, idle: -1, drive: unsaidOn, what: e.Path()})
	}
}

// Bias is the current into each input pin anywhere in the common-mode range that the record covers, in amperes.
func Bias(e design.Element) quantity.Cause {
	c := quantity.Cause{Name: e.Path() + " bias", Unit: quantity.Amp}
	en := e.Entry("bias.max")
	if en == nil {
		if en = e.Entry("bias.typical"); en == nil {
			n := e.PartNeed("bias.max")
			return quantity.Cause{Name: n.Key, Unit: quantity.Amp, Nom: math.NaN(), Sound: quantity.Everything, Seen: quantity.Nothing, Needs: []quantity.Need{n}}
		}
		c.Grade, c.Note = quantity.Soft, e.Record().Name()+" gives only a typical bias current"
	}
	c.At = en.At
	if len(en.Points) == 0 {
		c.Sound = en.Written.Range
		if en.Written.Form != quantity.Ranged { // "at most": anything up to it
			c.Sound = c.Sound.Union(quantity.Interval{})
		}
	} else {
		c.Sound = quantity.Nothing
		for _, pt := range en.Points {
			c.Sound = c.Sound.Union(pt[1].Range)
		}
	}
	c.Seen, c.Nom = c.Sound, c.Sound.Hi
	return c
}

// references are the reference pins of an amplifier unit, in role order.
func references(e design.Element, unit string) (nets []circuit.Net) {
	for _, role := range []string{"ref", "ref-a", "ref-b"} {
		if n, ok := e.PinOf(role, unit); ok {
			nets = append(nets, n)
		}
	}
	return nets
}

// resistorDifference adds a stage of input resistors R1, a reference leg R2 = gain x R1 (two legs of twice that where
// there are two reference pins) and feedback: the in- node follows the in+ node.
func (is *island) resistorDifference(e design.Element, unit string, p, m circuit.Net) {
	if !is.once(e, unit, "stage") {
		return
	}
	if polarity, _ := e.Word("polarity"); polarity == "inverted" {
		p, m = m, p // the reference leg stands on the side on which the output rises
	}
	r1 := is.inner(e)
	refs := references(e, unit)
	sum := is.node("summing node of " + e.Path())
	is.amps[e.Path()+":"+unit+" sum"] = sum
	ohms := is.input(r1)
	is.resistors = append(is.resistors, resistor{is.place(p), sum, ohms, -1, e.Path()})
	follow := is.node("feedback node of " + e.Path())
	is.controls = append(is.controls, controlled{a: follow, b: ^is.ground(), offset: -1,
		volts: []follows{{sum, ^is.ground(), 1}}, what: e.Path()})
	is.resistors = append(is.resistors, resistor{is.place(m), follow, ohms, -1, e.Path()})
	for i, n := range refs {
		legs := float64(len(refs))
		leg := quantity.Calc(e.Path()+" reference leg", quantity.Ohm, func(x []float64) float64 { return x[0] * x[1] * x[2] * legs },
			r1, nominal(e.Part("gain")), Split(e, i, len(refs)))
		is.resistors = append(is.resistors, resistor{is.place(n), sum, is.input(leg), -1, e.Path()})
	}
}

// nominal is a quantity without its tolerance: the trim holds the ratio, the tolerance is another term.
func nominal(q quantity.Quantity) quantity.Quantity {
	if !q.Known() {
		return q
	}
	return quantity.Exactly(q.Name+", nominal", q.Unit, q.Nom)
}

// Split is the mismatch factor of one of two reference legs. The two conduct together what they would without it: the trim
// of a stage, its common-mode rejection with it, is made with both. A record that gives none says nothing about it: it may be
// as large as a half.
func Split(e design.Element, i, of int) quantity.Quantity {
	if of < 2 {
		return quantity.Exactly("split", quantity.Ratio, 1)
	}
	c := &quantity.Cause{Name: e.Path() + " split"}
	if s := e.Entry("reference.split"); s != nil {
		t := s.Written.Range.Hi
		c.At, c.Sound = s.At, quantity.Interval{Lo: -t, Hi: t}
		c.Seen = c.Sound
	} else {
		c.Sound, c.Seen = quantity.Interval{Lo: -0.5, Hi: 0.5}, quantity.Nothing
		c.Needs = []quantity.Need{e.PartNeed("reference.split")}
	}
	sign := float64(1 - 2*i)
	return quantity.Calc("split", quantity.Ratio, func(x []float64) float64 { return 1 / (1 - sign*x[0]) }, c.Of())
}

// ground is the held index of node 0.
func (is *island) ground() int {
	if k := is.place(0); k < 0 {
		return ^k
	}
	return 0
}

// reference adds what the reference pins load their nets with.
func (is *island) reference(e design.Element, unit string) {
	if model, ok := e.Word("input.model"); ok && model == "resistor-difference" {
		is.inputStage(e, unit)
		return
	}
	if !is.once(e, unit, "reference") {
		return
	}
	refs := references(e, unit)
	model, ok := e.Word("reference.model")
	if !ok {
		is.unknown(e.PartNeed("reference.model"))
		return
	}
	switch model {
	case "high-impedance":
		if e.Entry("reference.current") == nil {
			return // the record says that the pin takes nothing that counts
		}
		for _, n := range refs {
			is.inject(n, injection{amps: is.input(e.Part("reference.current")), sign: -1, idle: -1, drive: unsaidOn, what: e.Path()})
		}
	case "two-stage":
		inner := is.node("internal reference node of " + e.Path())
		v := quantity.Missing(quantity.Volt, e.PartNeed("reference.internal"))
		if is.signal != nil {
			v = quantity.Exactly("at rest", quantity.Volt, 0)
		}
		if f := e.Entry("reference.internal"); f != nil && is.signal == nil {
			if k, ok := f.Formula.Constant(); ok {
				v = quantity.Exactly(e.Path()+" internal reference", quantity.Volt, k)
			}
		}
		is.sources = append(is.sources, branch{inner, ^is.ground(), is.input(v), e.Path()})
		for _, n := range refs {
			is.resistors = append(is.resistors, resistor{is.place(n), inner, is.input(e.Part("reference.resistance")), -1, e.Path()})
		}
	default: // resistor-pair
		sum := is.node("summing node of " + e.Path())
		is.amps[e.Path()+":"+unit+" sum"] = sum
		for i, n := range refs {
			leg := quantity.Calc(e.Path()+" reference leg", quantity.Ohm, func(x []float64) float64 { return x[0] * x[1] },
				e.Part("reference.resistance"), Split(e, i, len(refs)))
			is.resistors = append(is.resistors, resistor{is.place(n), sum, is.input(leg), -1, e.Path()})
		}
	}
}
