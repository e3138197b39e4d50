package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/scale-agreement.md
var scaleAgreementPage string

// noticed is the part of the goal that a constant error in firmware may take without a warning: common practice, with no
// source.
const noticed = 0.3

// slips are ratios of gains that stand next to each other in families of parts, and of shunts in a decade.
var slips = []float64{2, 2.5, 4, 5, 10}

// ScaleAgreement compares what the circuit makes of one ampere at the converter, and of none, with what firmware takes.
// Nominal values count: how they spread is a matter of the error budget. The sign is sense-polarity's.
var ScaleAgreement = &rules.Rule{
	ID:    "scale-agreement",
	Title: "scale or zero differs from the firmware's",
	Level: rules.Error,
	Page:  scaleAgreementPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if p.Digital() {
			monitorScale(p)
			return
		}
		reads, ok := p.Converter()
		if !ok {
			p.Skip("no converter is declared on the output")
			return
		}
		scale := p.Design.Intent.Get("converters", reads.Name, "scale")
		zero, zeroed := p.ConverterZero(reads, design.Operating)
		if scale == nil && !zeroed {
			p.Skip("no scale and no zero of the converter is declared")
			return
		}
		s := quantity.Calc("scale at "+reads.Name, quantity.VoltPerAmp, func(x []float64) float64 { return x[0] * x[1] }, p.Scale(), p.Transfer(reads.Net))
		goal, text := goalOr(p, "the scale and zero that firmware takes")
		switch {
		case scale == nil:
		case p.Calibrated("gain"):
			p.Holds("the gain is calibrated, which takes the place of the declared scale")
		default:
			agreement(p, scale, s, goal, text)
		}
		if zeroed && !p.Calibrated("offset") {
			zeroAgreement(p, zero, s, goal, text, reads)
		}
		p.Carry(s)
	},
}

// monitorScale compares what a digital monitor sees of one ampere with the shunt that firmware reckons with.
func monitorScale(p *rules.Bench) {
	said := p.Design.Intent.Get("monitors", p.Name(), "shunt")
	switch {
	case said == nil:
		p.Skip("no " + design.Key("monitors", p.Name(), "shunt") + " is declared that firmware reckons with")
		return
	case p.Calibrated("gain"):
		p.Holds("the gain is calibrated, which takes the place of the declared shunt")
		return
	}
	s := quantity.Calc("shunt at the inputs", quantity.Ohm, func(x []float64) float64 { return x[0] * x[1] }, p.ShuntOhms(), p.Factor(false))
	goal, text := goalOr(p, "the shunt that firmware takes")
	off := nominal("scale error", quantity.Ratio, math.Abs(s.Nom/said.Written.Nom-1), s)
	for _, l := range []struct {
		share float64
		level rules.Level
		text  string
	}{{1, rules.Error, text}, {noticed, rules.Warning, "0.3 of the " + text}} {
		p.AtMost(off, goal.Times(l.share), l.text).At(l.level).Fails(func(rules.Measure) string {
			return fmt.Sprintf("the monitor reads %s of shunt, firmware takes %s: %s", quantity.Show(s.Nom, quantity.Ohm),
				quantity.Show(said.Written.Nom, quantity.Ohm), times(s.Nom/said.Written.Nom))
		}).Advise("or the shunt of the firmware at " + quantity.Show(s.Nom, quantity.Ohm))
	}
	p.Carry(s)
}

// agreement holds the nominal scale against the declared one, both without their signs.
func agreement(p *rules.Bench, scale *field.Entry, s, goal quantity.Quantity, text string) {
	said := math.Abs(scale.Written.Nom)
	ratio := math.Abs(s.Nom) / said
	off := nominal("scale error", quantity.Ratio, math.Abs(ratio-1), s)
	message := func(rules.Measure) string {
		t := fmt.Sprintf("1 A makes %s, firmware takes %s: %s", quantity.Show(math.Abs(s.Nom), quantity.VoltPerAmp), quantity.Show(said, quantity.VoltPerAmp), times(ratio))
		if f, ok := slip(ratio); ok {
			t += fmt.Sprintf(", as a slip of a gain code or shunt by %.3g makes", f)
		}
		if k, ok := fitting(p, ratio, goal); ok {
			t += "; " + k.name + " would fit"
		}
		return t
	}
	hold := func(share float64, level rules.Level, text string) {
		c := p.AtMost(off, goal.Times(share), text).At(level).Fails(message).Shows(func(bool) string { return made(p) }).
			Advise("the scale of the firmware at " + quantity.Show(math.Abs(s.Nom), quantity.VoltPerAmp))
		if k, ok := fitting(p, ratio, goal); ok {
			k.replace(p, c)
		}
		if reads, _ := p.Converter(); ratio < 1 { // what a network takes
			if taken(p) < 1-noticed*goal.Nom {
				c.Lower(append(resistors(p.Plus.Series), resistors(p.Minus.Series)...)...)
			}
			if p.Transfer(reads.Net).Nom < 1-noticed*goal.Nom {
				c.Lower(resistors(p.Output.Series)...)
			}
		}
	}
	hold(1, rules.Error, text)
	hold(noticed, rules.Warning, "0.3 of the "+text)
}

// taken is the part of the shunt's voltage that the gain multiplies, as drawn: all of it where the output is a current, whose
// gain has the resistors at the input in it.
func taken(p *rules.Bench) float64 {
	if p.CurrentOutput() {
		return 1
	}
	return p.Factor(false).Nom
}

// made is how the scale comes about, "32 V/V x 0.9968 x 1 mohm x 1": gain, input network, shunt, output network.
func made(p *rules.Bench) string {
	reads, _ := p.Converter()
	k, kout := taken(p), p.Transfer(reads.Net).Nom
	return fmt.Sprintf("| %s x %.4g x %s x %.4g / %s - 1 |", quantity.Show(p.Gain().Nom, quantity.VoltPerVolt), k, quantity.Show(p.ShuntOhms().Nom, quantity.Ohm), kout,
		quantity.Show(math.Abs(p.Design.Intent.Get("converters", reads.Name, "scale").Written.Nom), quantity.VoltPerAmp))
}

// zeroAgreement holds the voltage at no current against the one that firmware takes, as a current.
func zeroAgreement(p *rules.Bench, zero, s, goal quantity.Quantity, text string, reads rules.Converter) {
	v0 := p.Arriving(p.Zero(design.Operating), reads.Net, design.Operating)
	both := quantity.Calc("zero", quantity.Volt, func(x []float64) float64 { return x[0] - x[1] }, v0, zero)
	off := nominal("zero error", quantity.Amp, math.Abs((midway(v0)-midway(zero))/s.Nom), both, s)
	from := p.Goal().From
	if !p.Goal().Declared { // of the largest current
		i := p.ShuntCurrent(design.Operating)
		from, text = i.Peak(), "2 % of the largest current, no goal declared"
	}
	allowed := quantity.Calc("allowed", quantity.Amp, func(x []float64) float64 { return x[0] * x[1] }, goal, from)
	for _, l := range []struct {
		share float64
		level rules.Level
		text  string
	}{{1, rules.Error, text}, {noticed, rules.Warning, "0.3 of the " + text}} {
		p.AtMost(off, allowed.Times(l.share), l.text).At(l.level).
			Advise("the zero of the firmware at " + quantity.Show(midway(v0), quantity.Volt)).
			Fails(func(m rules.Measure) string {
				return fmt.Sprintf("0 A stands at %s, firmware takes %s: %s off", quantity.Show(midway(v0), quantity.Volt), quantity.Show(midway(zero), quantity.Volt),
					quantity.Show(m.Max, quantity.Amp))
			})
	}
}

// midway is the nominal of a quantity, or the middle of what is seen where all nominals together are no state of the circuit.
func midway(q quantity.Quantity) float64 {
	if math.IsNaN(q.Nom) && !q.Seen.Empty() {
		return q.Seen.Lo/2 + q.Seen.Hi/2
	}
	return q.Nom
}

// nominal is a figure made of nominal values. What they rest on and what is missing of them is carried; tolerances are not.
func nominal(name string, u quantity.Unit, v float64, of ...quantity.Quantity) quantity.Quantity {
	c := &quantity.Cause{Name: name, Unit: u, Nom: v, Sound: quantity.Point(v), Seen: quantity.Point(v)}
	for _, q := range of {
		c.Needs = append(c.Needs, q.Needs...)
		c.Basis = append(c.Basis, q.Causes()...)
		if q.Grade == quantity.Soft {
			c.Grade = quantity.Soft
		}
	}
	if len(c.Needs) > 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		c.Nom, c.Sound, c.Seen = math.NaN(), quantity.Everything, quantity.Nothing
	}
	return c.Of()
}

// times words a ratio of two scales.
func times(ratio float64) string {
	if ratio > 1.5 || ratio < 1/1.5 {
		return fmt.Sprintf("%.3g times as much", ratio)
	}
	word := "more"
	if ratio < 1 {
		word = "less"
	}
	return quantity.Show(math.Abs(ratio-1), quantity.Ratio) + " " + word
}

// slip is the ratio among the usual ones that a ratio, or its inverse, is within 5 % of.
func slip(ratio float64) (f float64, ok bool) {
	for _, f := range slips {
		if math.Abs(ratio/f-1) < 0.05 || math.Abs(ratio*f-1) < 0.05 {
			return f, true
		}
	}
	return 0, false
}

// fitting is the gain code with which the scale would agree.
func fitting(p *rules.Bench, ratio float64, goal quantity.Quantity) (best code, ok bool) {
	now, least := p.Gain().Nom, noticed*goal.Nom
	for _, k := range codes(p) {
		if off := math.Abs(ratio*k.gain/now - 1); off <= least {
			best, least, ok = k, off, true
		}
	}
	return best, ok
}
