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

//go:embed doc/adc-overvoltage.md
var adcOvervoltagePage string

const (
	// clampDrop is what a converter's input survives beyond its supply, in volts: the usual rating of CMOS inputs, common
	// practice with no source.
	clampDrop = 0.3
	// mostInjected is the largest current into a clamp of a converter's input that any usual part allows, in amperes: common
	// practice, with no source.
	mostInjected = 5e-3
	// leastSeries stands for no series resistance, in ohm.
	leastSeries = 1e-3
)

// AdcOvervoltage holds what an amplifier whose output stands at its supply drives into the converter's input, in the
// working state and in every declared one.
var AdcOvervoltage = &rules.Rule{
	ID:    "adc-overvoltage",
	Title: "saturated output overdrives the converter's input",
	Level: rules.Error,
	Page:  adcOvervoltagePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		reads, ok := p.Converter()
		switch {
		case !ok:
			p.Skip("no converter is declared on the output")
			return
		case !p.HasSupply:
			p.Need(p.Amp.PartNeed(`pins with "supply"`))
			return
		}
		seen := working{}
		everyState(p, false, func(v *rules.Bench, state string) {
			top, sure, said := survives(v, p, reads)
			if !said {
				return
			}
			high := v.Arriving(saturated(v), reads.Net, design.Operating).Named("voltage at " + reads.Name + " with the output at its supply" + state)
			if seen.again("high", state, held{high, top, top}) {
				return
			}
			if quantity.Minus("margin", sure, high).Sound.Lo >= -1e-9 {
				p.AtMost(high, sure, sure.Name)
				return
			}
			overdriven(p, v, reads, high, top, state)
		})
	},
}

// saturated is the highest that the output can stand at against the ground pin: at the supply, or where the record ends it.
func saturated(v *rules.Bench) quantity.Quantity {
	supply := quantity.Minus("supply", v.Net(v.Supply, design.Operating), v.Net(v.Ground, design.Operating))
	if v.Amp.Entry("output.most") == nil {
		return supply
	}
	return quantity.Calc("output at most", quantity.Volt, func(x []float64) float64 { return min(x[0], x[1]) }, supply, v.Level("output.most", design.Operating, false))
}

// survives is the highest voltage that does the converter's input no damage; without a declared one that of a converter
// supplied from the one net that its range ends at. Up to sure it does none in any case. said is false where nothing can
// be told; then a check says so.
func survives(v, p *rules.Bench, reads rules.Converter) (top, sure quantity.Quantity, said bool) {
	if _, hi, ok := v.ConverterLimits(reads, "survival", design.Operating); ok {
		return hi, hi, true
	}
	need := quantity.Need{In: "intent", Key: design.Key("converters", reads.Name, "survival")}
	end := p.Design.Intent.Get("converters", reads.Name, "range")
	_, hi, ok := v.ConverterLimits(reads, "range", design.Operating)
	switch {
	case !ok:
		p.Lacks("", need)
		return top, sure, false
	case end.Limits.Hi.String() != firstOf(end.Limits.Hi.Names()) || measuredAgainst(p, firstOf(end.Limits.Hi.Names())): // the supply may be higher
		beyond := &quantity.Cause{Name: "survival of " + reads.Name, Unit: quantity.Volt, Sound: quantity.Interval{Lo: 0, Hi: math.Inf(1)}, Seen: quantity.Nothing,
			Nom: math.NaN(), Needs: []quantity.Need{need}}
		return quantity.Calc(need.Key, quantity.Volt, func(x []float64) float64 { return x[0] + x[1] }, hi, beyond.Of()), hi, true
	}
	drop := &quantity.Cause{Name: "clamp of " + reads.Name, Unit: quantity.Volt, Nom: clampDrop, Sound: quantity.Point(clampDrop), Seen: quantity.Point(clampDrop),
		Grade: quantity.Assumed, Note: fmt.Sprintf("%s not declared: %s + 0.3 V counted", need.Key, firstOf(end.Limits.Hi.Names()))}
	top = quantity.Calc(firstOf(end.Limits.Hi.Names())+" + 0.3 V", quantity.Volt, func(x []float64) float64 { return x[0] + x[1] }, hi, drop.Of())
	return top, top, true
}

// measuredAgainst tells a net that looks like a converter's reference and not like its supply: over resistors and ferrites it
// reaches a reference pin of an amplifier, and no supply pin of anything.
func measuredAgainst(p *rules.Bench, name string) bool {
	start, ok := p.Design.Net(name)
	if !ok {
		return false
	}
	refs := false
	nets := []circuit.Net{start}
	for i := 0; i < len(nets) && i < mostNets; i++ {
		for e := range p.Design.On(nets[i]) {
			switch k := e.Kind(); {
			case k == 'X' && e.Record() != nil:
				for j, role := range e.Record().Pins() {
					if j < e.Pins() && e.Pin(j) == nets[i] {
						if strings.EqualFold(role, "supply") {
							return false
						}
						refs = refs || strings.HasPrefix(strings.ToLower(role), "ref")
					}
				}
			case k == 'R' || k == 'L' || k == 'E': // a buffer that is drawn as a controlled source
				for j := range e.Pins() {
					o := e.Pin(j)
					if _, held := p.Design.Rail(o, design.Operating); !held && !slices.Contains(nets, o) {
						nets = append(nets, o)
					}
				}
			}
		}
	}
	return refs
}

// mostNets bounds how far a reference is looked for.
const mostNets = 64

func firstOf(names []string) string {
	if len(names) == 0 {
		return ""
	}
	return names[0]
}

// overdriven holds the current that a voltage drives into an input beyond what it survives.
func overdriven(p, v *rules.Bench, reads rules.Converter, high, top quantity.Quantity, state string) {
	series := resistors(p.Output.Series)
	source := quantity.Calc("source resistance", quantity.Ohm, func(x []float64) float64 { return max(x[0]*x[1], leastSeries) }, v.SeriesOhms(), v.Transfer(reads.Net))
	i := quantity.Calc("current into "+reads.Name+" with the output at its supply"+state, quantity.Amp, func(x []float64) float64 { return (x[0] - x[1]) / x[2] }, high, top, source)
	limit, said := p.OfConverter(reads, quantity.Amp, "survival-current", "input.survival-current")
	text := design.Key("converters", reads.Name, "survival-current")
	if said {
		limit = ceilingOf(limit)
	} else {
		limit = (&quantity.Cause{Name: text, Unit: quantity.Amp, Nom: mostInjected, Sound: quantity.Interval{Lo: 0, Hi: mostInjected}, Seen: quantity.Point(mostInjected),
			Grade: quantity.Assumed, Note: text + " not declared: no usual input takes more than 5 mA",
			Needs: []quantity.Need{{In: "intent", Key: text}}}).Of()
	}
	p.AtMost(i, limit, text).Raise(series...).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Volt, high.Seen.Hi, top.Seen.Lo)
		t := fmt.Sprintf("a saturated output puts %s on %s%s, which survives %s", sc.Text(high.Seen.Hi, quantity.Up), reads.Name, state, sc.Text(top.Seen.Lo, quantity.Down))
		if source.Nom <= 2*leastSeries {
			return t + ", with nothing in series"
		}
		return t + fmt.Sprintf(": %s into its clamp, %s allowed", quantity.Show(m.Max, quantity.Amp), quantity.Show(m.LimitMax, quantity.Amp))
	}).Advise("a converter on the amplifier's own supply")
}
