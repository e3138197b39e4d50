package rules

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// CurrentOutput tells that the amplifier's output is a current, which a resistor outside makes a voltage.
func (p *Bench) CurrentOutput() bool {
	model, _ := p.Amp.Word("input.model")
	return model == "current-output"
}

// Transconductance is the output current over the voltage of the shunt, in A/V: that of the record, else one over the
// resistance in the input that carries the output current.
func (p *Bench) Transconductance() quantity.Quantity {
	if p.Amp.Entry("transconductance") != nil {
		return p.Part("transconductance")
	}
	role, known := p.Amp.Word("input.carries")
	plus, minus := p.Plus.Resistors(), p.Minus.Resistors()
	leg := p.Plus
	switch {
	case len(plus)+len(minus) == 0:
		return p.note(quantity.Missing(quantity.AmpPerVolt, p.Amp.PartNeed("transconductance")))
	case known && role == "in-", !known && len(plus) == 0:
		leg = p.Minus
	case known || len(minus) == 0:
	default:
		return p.note(quantity.Missing(quantity.AmpPerVolt, p.Amp.PartNeed("input.carries")))
	}
	if len(leg.Resistors()) == 0 {
		return p.note(quantity.Missing(quantity.AmpPerVolt, quantity.Need{In: "netlist", Key: "a resistor between " + role + " and the shunt", At: p.Amp.Card()}))
	}
	return p.note(quantity.Calc("transconductance", quantity.AmpPerVolt, func(x []float64) float64 { return 1 / x[0] }, leg.Resistance("Rin")))
}

// OutputLoad is the resistance, in ohm, at which a current output becomes a voltage: all that stands at its net, and the
// resistance of the output itself where the record gives one.
func (p *Bench) OutputLoad() quantity.Quantity {
	at := func(amps float64) quantity.Quantity {
		return p.volt.Apart(volt.At(p.Output.Pin), design.Operating, p.Amp, p.Unit, volt.OutputStage, p.Output.Pin, quantity.Exactly(fmt.Sprintf("probing current of %g A", amps), quantity.Amp, amps))
	}
	in := []quantity.Quantity{at(0), at(probing)}
	if p.Amp.Entry("output.resistance") != nil {
		in = append(in, p.Part("output.resistance"))
	}
	return p.note(quantity.Calc("load of the output", quantity.Ohm, func(x []float64) float64 {
		r := (x[1] - x[0]) / probing
		if len(x) > 2 {
			r = r * x[2] / (r + x[2])
		}
		return r
	}, in...))
}

// OutputCurrent is the current that a current output delivers, in amperes, positive out of the pin: the transconductance
// times what the shunt's voltage and the offset are together.
func (p *Bench) OutputCurrent(r design.Regime) quantity.Quantity {
	pol := p.Polarity()
	return p.note(quantity.Calc("output current", quantity.Amp, func(x []float64) float64 { return pol * x[0] * (x[1]*x[2] + x[3]) },
		p.Transconductance(), p.ShuntCurrent(r), p.ShuntOhms(), p.offset()))
}

// outputAtRest is where a current output stands at no current, against the ground pin in volts.
func (p *Bench) outputAtRest(r design.Regime) quantity.Quantity {
	g, ok := p.Pin("ground")
	if _, out := p.Pin("out"); !ok || !out {
		return p.note(quantity.Missing(quantity.Volt, p.pinNeed("out")))
	}
	return p.note(p.volt.Apart(volt.Across(p.Output.Pin, g), r, p.Amp, p.Unit, volt.OutputStage, p.Output.Pin, quantity.Quantity{})).Named("output at 0 A")
}

// currentOut is Out of a current output: where it rests, and what its current makes of its load.
func (p *Bench) currentOut(r design.Regime) quantity.Quantity {
	return p.note(quantity.Calc("output", quantity.Volt, func(x []float64) float64 { return x[0] + x[1]*x[2] },
		p.outputAtRest(r), p.OutputCurrent(r), p.OutputLoad()))
}

// Gain is the output voltage over the voltage of the shunt, in V/V: the record's, or what the load of a current output
// makes of its transconductance.
func (p *Bench) Gain() quantity.Quantity {
	if !p.CurrentOutput() {
		return p.Part("gain")
	}
	return p.note(quantity.Calc("gain", quantity.VoltPerVolt, func(x []float64) float64 { return x[0] * x[1] }, p.Transconductance(), p.OutputLoad()))
}
