package rules

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Scale is what one ampere through the shunt, all parallel elements together, does at the output, in V/A: gain, input
// network and shunt, negative where the output falls as the declared current rises.
func (p *Bench) Scale() quantity.Quantity {
	sign := p.Polarity() * p.Sign()
	return p.note(quantity.Calc("scale", quantity.VoltPerAmp, func(x []float64) float64 { return sign * x[0] * x[1] * x[2] },
		p.Gain(), p.arrives(), p.ShuntOhms()))
}

// arrives is the part of the shunt's voltage that the gain multiplies: resistors in series with the inputs of a current
// output are part of its gain.
func (p *Bench) arrives() quantity.Quantity {
	if p.CurrentOutput() {
		return quantity.Exactly("input factor", quantity.Ratio, 1)
	}
	return p.Factor(false)
}

// Transfer is the part of a small change of the output's voltage that arrives at a net behind it, at DC.
func (p *Bench) Transfer(to circuit.Net) quantity.Quantity {
	return p.note(p.volt.Transfer(p.Output.Pin, to)).Named("output transfer")
}
