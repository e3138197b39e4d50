package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/output-headroom.md
var outputHeadroomPage string

// spare is the part of the way from the output at 0 A to where it clips that a channel leaves for what nobody foresaw:
// common practice, with no source.
const spare = 0.1

// OutputHeadroom holds the output, over the whole declared current, below the level at which it clips and, at the
// converter, below the end of what that reads.
var OutputHeadroom = &rules.Rule{
	ID:    "output-headroom",
	Title: "output clips inside the current range",
	Level: rules.Error,
	Page:  outputHeadroomPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if p.CurrentOutput() && leaves(p) {
			return
		}
		if _, ok := chained(p); !ok {
			return
		}
		seen := working{}
		everyState(p, true, func(v *rules.Bench, state string) {
			c, _ := chained(v)
			high := v.Level("output.high", design.Operating, true)
			c.upper(p, seen, state, ceiling{c.out.Named("output at the highest end" + state), c.zero, high, "output.high", "clips",
				c.at(v, "current at which the output clips"+state, high)})
			if !c.converted {
				return
			}
			_, top, said := v.ConverterLimits(c.reads, "range", design.Operating)
			if !said {
				return
			}
			c.upper(p, seen, state, ceiling{v.Arriving(c.out, c.reads.Net, design.Operating).Named("voltage at " + c.reads.Name + state),
				v.Arriving(c.zero, c.reads.Net, design.Operating), top, design.Key("converters", c.reads.Name, "range"), "leaves the converter's range",
				c.at(v, "current at the end of the converter's range"+state, c.behind(v, top))})
		})
	},
}

// leaves holds what a current output makes of its load below the end of the converter's range; where it stops itself is
// current-output-compliance's. It is false where no range is declared.
func leaves(p *rules.Bench) bool {
	reads, ok := p.Converter()
	if !ok {
		return false
	}
	_, top, said := p.ConverterLimits(reads, "range", design.Operating)
	if !said {
		return false
	}
	key := design.Key("converters", reads.Name, "range")
	p.AtMost(p.Arriving(p.Out(design.Operating), reads.Net, design.Operating).Named("voltage at "+reads.Name), top, key).
		Lower(p.Block.Shunt...).Lower(outputResistors(p)...).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
		return fmt.Sprintf("%s reaches %s at the largest current, the converter reads up to %s", reads.Name, sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
	})
	return true
}

// A ceiling is a voltage with the level that it must stay below, and the current at which it reaches it.
type ceiling struct {
	q, zero, top quantity.Quantity
	text, verb   string
	stops        quantity.Quantity
}

// upper holds a voltage below a ceiling, and a tenth of the way up to it free; once, where states do not differ.
func (c chain) upper(p *rules.Bench, seen working, state string, l ceiling) {
	if seen.again(l.text, state, held{l.q, l.zero, l.top}) {
		return
	}
	if c.known && c.most <= 0 { // the output falls: small currents put it highest
		c.dead(p, l.stops.Times(-1).Named("current from which the output reads"+state), "the output clips"+state, func(k *rules.Check) {
			k.Raise(p.Block.Shunt...)
			if len(p.References) > 0 {
				k.Drive(p.References[0].Role, c.zero.Nom, false)
			}
		})
		return
	}
	if !c.known && (c.least >= 0 || c.most <= 0) && l.top.Known() && l.zero.Known() && !(quantity.Minus("margin", l.top, l.zero).Sound.Lo >= 0) {
		// a zero up there is meant for an output that falls
		p.Lacks("", quantity.Need{In: "intent", Key: design.Key("currents", p.CurrentName(), "from")})
		return
	}
	stops := func() string {
		v := l.stops.Seen.Lo
		if l.stops.Seen.Empty() || unlimited(v) {
			return ""
		}
		side := "above"
		if c.up < 0 {
			side = "below"
		}
		if !c.known {
			return " " + three(v, false) + " from 0 A"
		}
		return " " + side + " " + three(c.signed(v), c.up < 0)
	}
	intended := func() string {
		if !c.known {
			return quantity.Show(max(math.Abs(c.least), math.Abs(c.most)), quantity.Amp) + " is intended"
		}
		return quantity.Show(c.signed(c.most), quantity.Amp) + " is intended"
	}
	full := p.AtMost(l.q, l.top, l.text).Fails(func(rules.Measure) string { return l.verb + stops() + state + ", " + intended() })
	near := quantity.Calc("highest level with a tenth to spare", quantity.Volt, func(x []float64) float64 { return x[0] - spare*(x[0]-x[1]) }, l.top, l.zero)
	thin := p.AtMost(l.q, near, l.text+" less 10 % of the way up to it").At(rules.Warning).Fails(func(rules.Measure) string {
		return fmt.Sprintf("%s%s%s: less than 10 %% is left, %s", l.verb, stops(), state, intended())
	})
	line := lineOf(l.q, true, design.Key("currents", p.CurrentName(), "range"), p.Name()+" offset")
	for _, k := range []*rules.Check{full, thin} {
		k.Labels(terms(p)).Shows(func(bool) string { return line.arithmetic() })
		k.Lower(p.Block.Shunt...)
		lowerGains(p, k)
	}
	if c.least < 0 && len(p.References) > 0 && !math.IsNaN(c.zero.Nom) {
		full.Drive(p.References[0].Role, c.zero.Nom, false)
	}
	p.Carry(l.stops)
}
