package rules

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// ReferenceSource is the voltage, against the ground pin, that stands at a net of a reference pin before the amplifier
// loads it, in volts.
func (p *Bench) ReferenceSource(n circuit.Net, r design.Regime) quantity.Quantity {
	g, ok := p.Pin("ground")
	if !ok {
		return p.note(quantity.Missing(quantity.Volt, p.pinNeed("ground")))
	}
	return p.note(p.volt.Apart(volt.Across(n, g), r, p.Amp, p.Unit, volt.ReferenceStage, n, quantity.Quantity{})).
		Named("voltage of " + p.Design.Circuit.NetName(n) + " unloaded")
}

// probing is the current, in amperes, by which the resistance of a source is told: too small to bring an output to its end.
const probing = 1e-6

// ReferenceResistance is what the source behind a reference pin gives way to, in ohm: dV/dI at its net, without what the
// amplifier's own reference stage adds.
func (p *Bench) ReferenceResistance(n circuit.Net) quantity.Quantity {
	at := func(amps float64) quantity.Quantity {
		return p.volt.Apart(volt.At(n), design.Operating, p.Amp, p.Unit, volt.ReferenceStage, n, quantity.Exactly(fmt.Sprintf("probing current of %g A", amps), quantity.Amp, amps))
	}
	return p.note(quantity.Calc("source resistance of "+p.Design.Circuit.NetName(n), quantity.Ohm,
		func(x []float64) float64 { return (x[1] - x[0]) / probing }, at(0), at(probing)))
}

// IdealZero is the output at no current, against the ground pin in volts, that sources without resistance would give: each
// reference pin at the voltage that its net has without the amplifier.
func (p *Bench) IdealZero(r design.Regime) quantity.Quantity {
	const name = "output at 0 A from ideal references"
	input, _ := p.Word("input.model")
	model, _ := p.Amp.Word("reference.model")
	refs := p.References
	if len(refs) == 0 {
		return quantity.Exactly(name, quantity.Volt, 0)
	}
	if v, ok := p.Design.Held(p.Amp, refs[0].Role); ok {
		return quantity.Exactly(name, quantity.Volt, v)
	}
	var in []quantity.Quantity
	for _, ref := range refs {
		in = append(in, p.ReferenceSource(ref.Net, r))
	}
	if input != "resistor-difference" && model != "resistor-pair" {
		return in[0].Named(name)
	}
	of := len(refs)
	for i := range refs {
		in = append(in, volt.Split(p.Amp, i, of))
	}
	// The legs of twice the resistance meet where two pins do; their mean is what one leg would be.
	sums := func(x []float64) (volts, weight float64) {
		for i := range of {
			g := 1 / x[of+i] / float64(of)
			volts, weight = volts+g*x[i], weight+g
		}
		return volts, weight
	}
	if input != "resistor-difference" {
		return p.note(quantity.Calc(name, quantity.Volt, func(x []float64) float64 {
			v, g := sums(x)
			return v / g
		}, in...))
	}
	other := "in+"
	if p.Polarity() < 0 {
		other = "in-"
	}
	gain := p.Part("gain").Nom
	return p.note(quantity.Calc(name, quantity.Volt, func(x []float64) float64 {
		v, g := sums(x) // in units of 1/R2, the input resistor being R2/gain
		sum := (v + gain*x[2*of]) / (g + gain)
		return sum*(1+gain) - gain*x[2*of]
	}, append(in, p.Voltage(other, r))...))
}
