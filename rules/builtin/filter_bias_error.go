package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/filter-bias-error.md
var filterBiasErrorPage string

// FilterBiasError holds the offset that the input bias makes of the filter resistors: the bias mismatch over their
// mean, and the bias over their difference. A part of the bias that follows the signal is filter-gain-error's.
var FilterBiasError = &rules.Rule{
	ID:    "filter-bias-error",
	Title: "input bias makes the filter resistors an offset",
	Level: rules.Warning,
	Page:  filterBiasErrorPage,
	Judge: func(p *rules.Bench) {
		model, filter := filtered(p)
		if filter == nil {
			return
		}
		plus, minus := p.Plus.Resistance("Rf+"), p.Minus.Resistance("Rf-")
		var bias, mismatch quantity.Quantity
		if model == "resistor-difference" {
			bias, mismatch = stageCurrent(p), quantity.Exactly("mismatch", quantity.Amp, 0)
		} else {
			bias, mismatch = p.BiasPeak(), p.Part("bias.mismatch")
		}
		// |Rf+ - Rf-| is convex in both, so its largest value stands at a corner; its smallest is not used.
		offset := quantity.Calc("offset by input bias", quantity.Volt, func(x []float64) float64 {
			return x[0]*math.Abs(x[2]-x[3]) + x[1]*(x[2]+x[3])/2
		}, bias, mismatch, plus, minus)
		if math.IsInf(offset.Sound.Hi, 1) && bias.Known() && plus.Known() && minus.Known() {
			offset = eitherLeg(bias, mismatch, plus, minus)
		}
		shows := func(bool) string {
			d := quantity.Calc("difference", quantity.Ohm, func(x []float64) float64 { return math.Abs(x[0] - x[1]) }, plus, minus)
			return fmt.Sprintf("%s x %s + %s x %s", quantity.Show(bias.Seen.Hi, quantity.Amp), quantity.Show(d.Seen.Hi, quantity.Ohm),
				quantity.Show(mismatch.Seen.Hi, quantity.Amp), quantity.Show((plus.Nom+minus.Nom)/2, quantity.Ohm))
		}
		p.AtMost(offset, offsetShare(p), "20 % of offset.max").Lower(filter...).Shows(shows).Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
			return fmt.Sprintf("input bias adds %s of offset, more than a fifth of the part's own", sc.Text(m.Max, quantity.Up))
		})
		goal := p.Goal()
		if !goal.Declared {
			return
		}
		// The goal applies from its current upwards, so there the allowed offset is smallest.
		allowed := quantity.Calc("goal at its lowest current", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] * x[2] },
			goal.Error, goal.From, p.ShuntOhms()) // both at the shunt: what the input network takes, it takes from both
		p.AtMost(offset, allowed, "goal at its lowest current").At(rules.Error).Lower(filter...).Shows(shows).Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
			return fmt.Sprintf("input bias alone adds %s of offset, the whole goal allows %s", sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
		})
	},
}

// eitherLeg is the largest offset where the legs differ by their tolerances: the magnitude in between turns back where they
// are equal, which the corners of unequal tolerances do not show; whichever leg has more, each way is monotone.
func eitherLeg(bias, mismatch, plus, minus quantity.Quantity) quantity.Quantity {
	more := (&quantity.Cause{Name: "leg with more resistance", Unit: quantity.Ratio, Nom: 1, Sound: quantity.Interval{Lo: -1, Hi: 1},
		Seen: quantity.Interval{Lo: -1, Hi: 1}, States: []float64{1, -1}, Labels: []string{"in+ with more resistance", "in- with more resistance"}}).Of()
	return quantity.Calc("offset by input bias", quantity.Volt, func(x []float64) float64 {
		return x[4]*x[0]*(x[2]-x[3]) + x[1]*(x[2]+x[3])/2
	}, bias, mismatch, plus, minus, more)
}

// offsetShare is the part of the record's largest offset that counts as noticeable, in volts.
func offsetShare(p *rules.Bench) quantity.Quantity {
	share := (&quantity.Cause{Name: "noticeable share", Unit: quantity.Ratio, Nom: 0.2, Sound: quantity.Point(0.2), Seen: quantity.Point(0.2),
		Grade: quantity.Assumed, Note: "20 % of the record's largest offset counts as noticeable"}).Of()
	return quantity.Calc("limit", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] }, share, ceilingOf(p.Part("offset.max")))
}

// stageCurrent is the input current of a resistor-difference stage: (Vcm - Vref) / (R1 + R2), the same effect as a bias
// current and counted in its place.
func stageCurrent(p *rules.Bench) quantity.Quantity {
	plus, zero := p.Voltage("in+", design.Operating), p.Zero(design.Operating)
	gain, r1 := p.Part("gain"), p.Part("input.resistance")
	g := gain.Nom
	return quantity.Calc("input current", quantity.Amp, func(x []float64) float64 { return (x[0] - x[1]) / (x[2] * (1 + g)) },
		plus, zero, r1).Peak()
}
