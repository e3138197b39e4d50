package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/output-loading.md
var outputLoadingPage string

// OutputLoading holds what loads behind the output's series resistance take from the voltage at the converter.
var OutputLoading = &rules.Rule{
	ID:    "output-loading",
	Title: "a load behind the output rescales the converter's reading",
	Level: rules.Error,
	Page:  outputLoadingPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		reads, ok := p.Converter()
		switch {
		case !ok:
			p.Skip("no converter is declared on the output")
			return
		case len(resistors(p.Output.Series)) == 0:
			p.Skip("no resistance stands between the output and the converter")
			return
		}
		k := p.Transfer(reads.Net)
		if p.Calibrated("gain") {
			p.Holds("the gain is calibrated with the loads behind the output")
			p.Carry(k)
			return
		}
		goal, text := goalOr(p, "what loads take of the output")
		series := resistors(p.Output.Series)
		off, what := quantity.Calc("loss 1-kout", quantity.Ratio, func(x []float64) float64 { return 1 - x[0] }, k), "loads take up to %s of the output before the converter, and no scale says that this is known"
		if p.Design.Intent.Get("converters", reads.Name, "scale") != nil { // the constant is in the scale, or scale-agreement says that it is not
			off, what = k.Spread().Named("spread of kout"), "the part of the output that reaches the converter varies by %s with the resistors and loads"
		}
		say := func(m rules.Measure) string { return fmt.Sprintf(what, percent(m.Max, quantity.Up)) }
		p.AtMost(off, goal, text).Lower(series...).Fails(say)
		p.AtMost(off, goal.Times(0.2), "1/5 of the "+text).At(rules.Warning).Lower(series...).Fails(say)
		leaks(p, reads, goal, text)
		p.Carry(k)
	},
}

// leaks holds what the leakage of the converter makes of the series resistance, as a current.
func leaks(p *rules.Bench, reads rules.Converter, goal quantity.Quantity, text string) {
	leak, said := p.OfConverter(reads, quantity.Amp, "leakage", "input.leakage")
	if !said || !p.Goal().Declared {
		return
	}
	off := quantity.Calc("offset by leakage", quantity.Amp, func(x []float64) float64 { return x[0] * x[1] / math.Abs(x[2]) }, leak, p.SeriesOhms(), p.Scale())
	allowed := quantity.Calc("allowed", quantity.Amp, func(x []float64) float64 { return x[0] * x[1] }, goal, p.Goal().From)
	say := func(m rules.Measure) string {
		return fmt.Sprintf("the converter's leakage through %s shifts the reading by %s, the goal allows %s at its lowest current",
			quantity.Show(p.SeriesOhms().Nom, quantity.Ohm), quantity.Show(m.Max, quantity.Amp), quantity.Show(p.Goal().Error.Nom*p.Goal().From.Nom, quantity.Amp))
	}
	series := resistors(p.Output.Series)
	p.AtMost(off, allowed, text).Lower(series...).Fails(say)
	p.AtMost(off, allowed.Times(0.2), "1/5 of the "+text).At(rules.Warning).Lower(series...).Fails(say)
}
