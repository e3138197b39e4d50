package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/reference-pair.md
var referencePairPage string

// ReferencePair asks that no reference pin is open, that two pins at different voltages are driven through equal resistances,
// and that a buffer at a reference pin can drive what it is given to drive.
var ReferencePair = &rules.Rule{
	ID:    "reference-pair",
	Title: "reference pins or their buffer used wrongly",
	Level: rules.Warning,
	Page:  referencePairPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if len(p.References) == 0 {
			p.Skip("the part has no reference pin")
			return
		}
		if _, held := p.Design.Held(p.Amp, p.References[0].Role); held {
			p.Holds("holds: the reference is driven")
			return
		}
		open := false
		for _, ref := range p.References {
			if !leadsToSource(p, ref.Net) {
				open = true
				p.Breach(fmt.Sprintf("%s (%s) is open: no source, resistor or rail stands behind it", ref.Role, p.Design.Circuit.NetName(ref.Net))).
					At(rules.Error).Advise("join it with the other reference pin, or put it on ground, the supply or the reference").SameAs("floating-pin")
			}
		}
		if open {
			return
		}
		if len(p.References) == 2 && p.References[0].Net != p.References[1].Net {
			unequalPair(p)
		}
		looked := map[circuit.ID]bool{}
		for _, ref := range p.References {
			if b, ok := bufferBehind(p, ref.Net); ok && !looked[b.of.ID] {
				looked[b.of.ID] = true
				judgeBuffer(p, b)
			}
		}
		p.Holds("holds: no reference pin is open")
	},
}

// leadsToSource tells that something besides capacitors stands behind a net, through resistors and coils: a rail, a source, a part.
func leadsToSource(p *rules.Bench, from circuit.Net) bool {
	nets, seen := []circuit.Net{from}, map[circuit.Net]bool{from: true}
	for i := 0; i < len(nets) && i < 256; i++ {
		if _, held := p.Design.Rail(nets[i], design.Operating); held {
			return true
		}
		for e := range p.Design.On(nets[i]) {
			switch k := e.Kind(); {
			case e.ID == p.Amp.ID, k == 'C', k == 'K':
			case (k == 'R' || k == 'L') && e.Pins() == 2:
				if o := e.Other(nets[i]); !seen[o] {
					seen[o] = true
					nets = append(nets, o)
				}
			case k == 'X' && len(e.Amplifiers()) > 0 && !drivesNet(e, nets[i]): // another one's reference pin drives nothing
			default:
				return true
			}
		}
	}
	return false
}

// drivesNet tells that an amplifier's output stands on a net.
func drivesNet(e design.Element, n circuit.Net) bool {
	for _, u := range e.Amplifiers() {
		if out, ok := e.PinOf("out", u); ok && out == n {
			return true
		}
	}
	return false
}

// unequalPair holds what unequal source resistances move the middle of two reference pins by against what the mismatch of the
// part's own legs does.
func unequalPair(p *rules.Bench) {
	a, b := p.References[0], p.References[1]
	ohms := func(n circuit.Net) quantity.Quantity {
		if _, held := p.Design.Rail(n, design.Operating); held {
			return quantity.Exactly("source resistance", quantity.Ohm, 0)
		}
		return p.ReferenceResistance(n)
	}
	ra, rb := ohms(a.Net), ohms(b.Net)
	va, vb := p.ReferenceSource(a.Net, design.Operating), p.ReferenceSource(b.Net, design.Operating)
	if ra.Sound == quantity.Point(0) && rb.Sound == quantity.Point(0) {
		return
	}
	if !va.Known() || !vb.Known() {
		p.Lacks("", append(slices.Clone(va.Needs), vb.Needs...)...)
		return
	}
	apart := math.Abs(va.Nom - vb.Nom)
	if apart < 1e-9 { // one voltage, two ways to it: the middle stays where it is
		return
	}
	rr := legOhms(p)
	shift := quantity.Calc("shift of the middle by unequal resistances", quantity.Volt, func(x []float64) float64 {
		return apart / 2 * (x[1] - x[0]) / (2*x[2] + x[0] + x[1])
	}, ra, rb, rr)
	own := ceilingOf(p.Part("reference.split"))
	limit := quantity.Calc("that of the part's own legs", quantity.Volt, func(x []float64) float64 { return apart / 2 * x[0] }, own)
	p.Within(shift, limit.Times(-1), limit, "reference.split").Lower(referenceResistors(p)...).
		Shows(func(bool) string {
			return fmt.Sprintf("%s between the pins, %s and %s in front of legs of %s", quantity.Show(threeDigits(apart), quantity.Volt),
				quantity.Show(threeDigits(ra.Nom), quantity.Ohm), quantity.Show(threeDigits(rb.Nom), quantity.Ohm), quantity.Show(rr.Nom, quantity.Ohm))
		}).Fails(func(m rules.Measure) string {
		end := m.Max
		if !m.AtHigh {
			end = m.Min
		}
		sc := quantity.ScaleFor(quantity.Volt, end, m.LimitMax)
		return fmt.Sprintf("%s and %s are driven through unequal resistances: the middle moves by %s, the part's own legs by %s",
			a.Role, b.Role, sc.Text(end, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
	})
}

// legOhms is the resistance of each of two legs inside the part: the record's, or twice R2 of a resistor-difference stage.
func legOhms(p *rules.Bench) quantity.Quantity {
	if model, _ := p.Amp.Word("input.model"); model != "resistor-difference" {
		return p.Part("reference.resistance")
	}
	gain := p.Part("gain").Nom
	return quantity.Calc("reference leg", quantity.Ohm, func(x []float64) float64 { return 2 * gain * x[0] }, p.Part("input.resistance"))
}

// A refBuffer is what drives a reference net: a controlled source that follows a voltage, or an op amp.
type refBuffer struct {
	of   design.Element
	unit string
	op   bool
	net  circuit.Net // that of its output
}

// mostInFront is the largest resistor, in ohm, between a buffer and the reference pin that it is taken to drive.
const mostInFront = 1e3

// bufferBehind is the buffer that drives a net, directly or through small resistors.
func bufferBehind(p *rules.Bench, from circuit.Net) (b refBuffer, ok bool) {
	nets, seen := []circuit.Net{from}, map[circuit.Net]bool{from: true}
	for i := 0; i < len(nets) && i < 16; i++ {
		for e := range p.Design.On(nets[i]) {
			switch e.Kind() {
			case 'E':
				if l := e.Linear(); e.Pin(0) == nets[i] && l != nil && len(l.Volts) > 0 {
					return refBuffer{of: e, net: nets[i]}, true
				}
			case 'X':
				for _, u := range e.OpAmps() {
					if out, has := e.PinOf("out", u); has && out == nets[i] {
						return refBuffer{e, u, true, nets[i]}, true
					}
				}
			case 'R':
				o := e.Other(nets[i])
				if _, held := p.Design.Rail(o, design.Operating); e.Pins() == 2 && e.Value() <= mostInFront && !held && !seen[o] {
					seen[o] = true
					nets = append(nets, o)
				}
			}
		}
	}
	return b, false
}

// driven is the current, in amperes, that op amps of every kind source and sink: below it nobody needs to say what one delivers.
const driven = 20e-6

// judgeBuffer looks at a buffer: a capacitor at its output without a resistor between, its swing, and its current both ways.
func judgeBuffer(p *rules.Bench, b refBuffer) {
	var caps []quantity.Quantity
	var names []string
	for e := range p.Design.On(b.net) {
		if e.Kind() == 'C' {
			caps, names = append(caps, e.Capacitance()), append(names, e.Path())
		}
	}
	load := quantity.Calc("capacitance at the output of "+b.of.Path(), quantity.Farad, func(x []float64) float64 {
		sum := 0.0
		for _, v := range x {
			sum += v
		}
		return sum
	}, caps...)
	const advice = "put 22 ohm to 47 ohm between the buffer and the capacitor"
	switch {
	case len(caps) == 0:
	case !b.op:
		p.HoldsIf(fmt.Sprintf("%s drives %s without a resistor between: holds only if what it stands for is stable with that", b.of.Path(), strings.Join(names, ", "))).
			On(b.of)
	default:
		p.AtMost(load, ceilingOf(p.PartOf(b.of, "output.capacitance")), "output.capacitance of "+b.of.Path()).Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Farad, m.Max, m.LimitMax)
			return fmt.Sprintf("%s drives %s at the reference without a resistor between, it is stable up to %s", b.of.Path(), sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
		}).Advise(advice)
	}
	if !b.op {
		return
	}
	in, okIn := b.of.PinOf("in+", b.unit)
	ground, okG := b.of.PinOf("ground", b.unit)
	if okIn && okG {
		want := quantity.Minus("voltage that "+b.of.Path()+" is to drive", p.Net(in, design.Operating), p.Net(ground, design.Operating))
		of := p.Of(b.of, b.unit)
		low, high := of.Level("output.low", design.Operating, false), of.Level("output.high", design.Operating, true)
		p.Within(want, low, high, "swing of "+b.of.Path()).Fails(reaches(want.Name, "its output swings"))
	}
	if amps, ok := referenceCurrent(p); ok && !(amps.Sound.Lo >= -driven && amps.Sound.Hi <= driven) {
		most := ceilingOf(p.PartOf(b.of, "output.current"))
		p.Within(amps.Named("current out of the reference pins"), most.Times(-1), most, "output.current of "+b.of.Path()).
			Fails(func(m rules.Measure) string {
				end, word := m.Max, "sink"
				if !m.AtHigh {
					end, word = -m.Min, "source"
				}
				sc := quantity.ScaleFor(quantity.Amp, end, m.LimitMax)
				return fmt.Sprintf("%s has to %s %s at the reference, it does %s", b.of.Path(), word, sc.Text(end, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
			})
	}
}

// referenceCurrent is the largest current that comes out of the reference pins, in amperes, positive where the source has to
// sink it; ok is false where the model of the part says of none.
func referenceCurrent(p *rules.Bench) (q quantity.Quantity, ok bool) {
	if model, _ := p.Amp.Word("input.model"); model == "resistor-difference" {
		pin := "in+"
		if p.Polarity() < 0 {
			pin = "in-"
		}
		gain := p.Part("gain").Nom
		return quantity.Calc("reference current", quantity.Amp, func(x []float64) float64 { return (x[0] - x[1]) / (x[2] * (1 + gain)) },
			p.Voltage(pin, design.Operating), p.IdealZero(design.Operating), p.Part("input.resistance")), true
	}
	refs := p.References
	if model, _ := p.Amp.Word("reference.model"); model != "resistor-pair" || len(refs) != 2 || refs[0].Net == refs[1].Net {
		return q, false
	}
	return quantity.Calc("reference current", quantity.Amp, func(x []float64) float64 { return (x[0] - x[1]) / (2 * x[2]) },
		p.ReferenceSource(refs[0].Net, design.Operating), p.ReferenceSource(refs[1].Net, design.Operating), p.Part("reference.resistance")), true
}
