package builtin

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A chain is a block from the shunt to what reads its output. Currents are counted up from 0 A in the direction in which
// the output rises.
type chain struct {
	out, zero quantity.Quantity // V against the ground pin: the output unclipped, and at 0 A
	reads     rules.Converter
	converted bool // reads is declared
	known     bool // intent says the direction of the current
	up        float64
	least     float64 // A, of the declared range in that direction; negative where the output falls
	most      float64
}

// chained is what the rules about the output's range begin with. False where the rule has said why it does not apply, or
// that something it starts from is missing.
func chained(p *rules.Bench) (c chain, ok bool) {
	if w, _ := p.Amp.Word("input.model"); w == "current-output" {
		p.Skip("the output is a current")
		return c, false
	}
	if p.Digital() {
		p.Skip("a digital monitor has no analog output: digital-range judges what it reads")
		return c, false
	}
	if e := p.Design.Intent.Get("goals", p.Name(), "trip-only"); e != nil && e.Flag {
		p.Skip("the block only feeds a trip: its output may stop at either end of its swing")
		return c, false
	}
	p.ShuntCurrent(design.Operating)
	rng := p.Design.Intent.Get("currents", p.CurrentName(), "range")
	if rng == nil || len(p.Block.Shunt) == 0 {
		return c, false
	}
	c.out, c.zero = p.Out(design.Operating), p.Zero(design.Operating)
	c.reads, c.converted = p.Converter()
	c.known = p.Design.Intent.Get("currents", p.CurrentName(), "from") != nil
	c.up = p.Polarity() * p.Sign()
	together := p.GroupRatio().Nom // the output follows all parallel shunts
	c.least, c.most = rng.Written.Range.Lo*together, rng.Written.Range.Hi*together
	if c.up < 0 {
		c.least, c.most = -c.most, -c.least
	}
	return c, true
}

// at is the current, in the direction in which the output rises, at which the output stands at a level; the offset has the
// sign that makes it largest at one end and smallest at the other, and so has what input bias makes in the filter.
func (c chain) at(p *rules.Bench, name string, level quantity.Quantity) quantity.Quantity {
	in := []quantity.Quantity{level, c.zero, p.Part("gain"), offsetOf(p), p.Factor(false), p.ShuntOhms()}
	lost := func([]float64) float64 { return 0 }
	if bias, mismatch, ok := inputBias(p); ok {
		in = append(in, bias, mismatch, p.Plus.Resistance("Rf+"), p.Minus.Resistance("Rf-"))
		up := p.Polarity()
		lost = func(x []float64) float64 { return up * (x[0]*(x[2]-x[3]) + x[1]*(x[2]+x[3])/2) }
	}
	// Across the shunt, bias takes Rf+ I+ - Rf- I- from what the input network divides.
	return quantity.Calc(name, quantity.Amp, func(x []float64) float64 {
		return ((x[0]-x[1])/x[2]-x[3])/(x[4]*x[5]) + lost(x[6:])/x[5]
	}, in...)
}

// inputBias are the mean current into the input pins and the difference of the two, either sign, in amperes. ok is false where
// there is no filter that they flow through, or the record does not state them: what that leaves open is filter-bias-error's.
func inputBias(p *rules.Bench) (bias, mismatch quantity.Quantity, ok bool) {
	model, _ := p.Amp.Word("input.model")
	if p.Network != nil || model == "resistor-difference" || len(resistors(p.Plus.Resistors()))+len(resistors(p.Minus.Resistors())) == 0 {
		return bias, mismatch, false
	}
	stated, spread := cmp.Or(p.Amp.Entry("bias.max"), p.Amp.Entry("bias.typical")), p.Amp.Entry("bias.mismatch")
	if stated == nil || spread == nil {
		return bias, mismatch, false
	}
	most, apart := p.BiasPeak(), spread.Written.Range.Hi
	if !most.Known() {
		return bias, mismatch, false
	}
	mean := volt.Bias(p.Amp)
	mean.Name = p.Name() + " input bias"
	if len(stated.Points) >= 2 { // only the common mode that the pins see
		mean.Sound, mean.Seen = quantity.Interval{Hi: most.Sound.Hi}, quantity.Interval{Hi: most.Seen.Hi}
	}
	other := &quantity.Cause{Name: p.Name() + " bias.mismatch, either sign of it", Unit: quantity.Amp, At: spread.At, Sound: quantity.Interval{Lo: -apart, Hi: apart}}
	other.Seen = other.Sound
	return mean.Of(), other.Of(), true
}

// behind is the output, against the ground pin, that puts the converter's net at a level.
func (c chain) behind(p *rules.Bench, level quantity.Quantity) quantity.Quantity {
	return quantity.Calc("output for a level at the converter", quantity.Volt, func(x []float64) float64 { return (x[0]-x[1])/x[2] - x[3] },
		level, p.Rest(c.reads.Net, design.Operating), p.Transfer(c.reads.Net), p.Net(p.Ground, design.Operating))
}

// signed is a current of the chain as intent counts it.
func (c chain) signed(amps float64) float64 {
	if amps == 0 {
		return 0
	}
	return c.up * amps
}

// offsetOf is the input offset voltage, either sign, the same cause as in the output.
func offsetOf(p *rules.Bench) quantity.Quantity {
	m := p.Part("offset.max")
	if !m.Known() {
		return m
	}
	c := &quantity.Cause{Name: p.Name() + " offset", Unit: quantity.Volt, At: m.Causes()[0].At, Sound: quantity.Interval{Lo: -m.Sound.Hi, Hi: m.Sound.Hi}}
	c.Seen = c.Sound
	return c.Of()
}

// usual is an accuracy that is asked for where nobody declares a goal: common practice for a channel that is not
// calibrated, with no source.
const usual = 0.02

// goalOr is the declared goal, or the usual one, said to be assumed.
func goalOr(p *rules.Bench, of string) (goal quantity.Quantity, text string) {
	if g := p.Goal(); g.Declared {
		return g.Error, "goal"
	}
	return p.Goal().Error.Or(usual, "no goal declared: 2 % used for "+of), "2 %, no goal declared"
}

// A code is another gain code of a block's part.
type code struct {
	name string
	gain float64 // V/V
}

// codes are the other gain codes of the block's part whose pins stand in the same order.
func codes(p *rules.Bench) (out []code) {
	mine := p.Amp.Record()
	base := strings.TrimSuffix(mine.Name(), mine.Suffix())
	for _, r := range p.Design.Parts.Records() {
		if g := r.Get("gain"); r != mine && g != nil && strings.EqualFold(strings.TrimSuffix(r.Name(), r.Suffix()), base) {
			out = append(out, code{r.Name(), g.Written.Nom})
		}
	}
	return out
}

// replace offers a gain code as a remedy.
func (k code) replace(p *rules.Bench, c *rules.Check) {
	c.Try(fmt.Sprintf("%s, %s", k.name, quantity.Show(k.gain, quantity.VoltPerVolt)),
		design.Change{Op: design.Replace, Target: p.Amp.Path(), Text: k.name})
}

// lowerGains offers the gain codes below today's, the highest of them first.
func lowerGains(p *rules.Bench, c *rules.Check) {
	now := p.Part("gain").Nom
	for last := now; ; {
		best := code{gain: math.Inf(-1)}
		for _, k := range codes(p) {
			if k.gain < last && k.gain > best.gain {
				best = k
			}
		}
		if best.name == "" {
			return
		}
		best.replace(p, c)
		last = best.gain
	}
}
