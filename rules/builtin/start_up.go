package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/start-up.md
var startUpPage string

// StartUp holds the first reading that counts after the output is valid and settled, and looks for trips that what the
// output does before that would set.
var StartUp = &rules.Rule{
	ID:    "start-up",
	Title: "read or tripped before the output is valid",
	Level: rules.Warning,
	Page:  startUpPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		said := false
		if key := p.Output.Declared; key != "" && p.Design.Intent.Get("converters", key, "first-read") != nil {
			said = true
			holdFirstRead(p, key)
		}
		list, _ := trips(p)
		for _, t := range list {
			if t.flag(p, "latched") {
				said = true
				holdQuiet(p, t)
			}
		}
		if !said {
			p.Skip("no first reading is declared, and no trip latches")
		}
	},
}

// holdFirstRead holds the time of the first reading after the start of the part and the settling of what follows it, to
// half a step of the converter where its bits are declared, else to a thousandth.
func holdFirstRead(p *rules.Bench, key string) {
	remains := math.Log(1000)
	if e := p.Design.Intent.Get("converters", key, "bits"); e != nil {
		remains = float64(e.Count+1) * math.Ln2
	}
	ready := quantity.Calc("time until the output is valid", quantity.Second, func(x []float64) float64 { return x[0] + remains*x[1] },
		ceilingOf(p.Part("start-up.time")), outputLag(p, p.Output.Converter))
	first := p.Declared(quantity.Second, "converters", key, "first-read")
	p.AtMost(ready, first, design.Key("converters", key, "first-read")).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Second, m.Max, m.LimitMax)
		return fmt.Sprintf("the first reading comes %s after the supply, the output is valid and settled after %s", sc.Text(m.LimitMax, quantity.Down), sc.Text(m.Max, quantity.Up))
	})
}

// holdQuiet asks whether what the output does before it is valid would set a trip that stays.
func holdQuiet(p *rules.Bench, t trip) {
	does, ok := p.Amp.Word("start-up.output")
	if !ok {
		p.Lacks("", p.Amp.PartNeed("start-up.output"))
		return
	}
	r := t.tripping(p)
	if !r.output.Known() { // which way it trips is not known
		p.Lacks("", r.output.Needs...)
		return
	}
	if does == "low" && r.rises || does == "high" && !r.rises {
		p.Holds(fmt.Sprintf("the output is %s until it is valid, on the far side of %s", does, t.name))
		return
	}
	start := ceilingOf(p.Part("start-up.time"))
	p.AtLeast(p.Declared(quantity.Second, "trips", t.name, "blanking").Named("blanking of "+t.name), start, "start-up.time").Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Second, m.Min, m.LimitMin)
		return fmt.Sprintf("the output is %s for up to %s after the supply, which sets %s: it waits %s and stays", does, sc.Text(m.LimitMin, quantity.Up),
			t.name, sc.Text(m.Min, quantity.Down))
	})
	for _, s := range p.States() {
		if !unpowered(s.Bench) && outOfRange(s.Bench) {
			p.HoldsIf(fmt.Sprintf("while %s the inputs are outside the range in which the part measures and its output is not valid: %s holds if something resets it afterwards",
				s.Name, t.name))
		}
	}
}

// outOfRange tells that an input is never inside the common mode in which the part measures.
func outOfRange(p *rules.Bench) bool {
	lo, hi, _ := p.Limits("common-mode.operating", design.Operating)
	for _, pin := range []string{"in+", "in-"} {
		v := p.Voltage(pin, design.Operating)
		below, above := quantity.Minus("below", lo, v), quantity.Minus("above", v, hi)
		if below.Known() && below.Sound.Lo > 0 || above.Known() && above.Sound.Lo > 0 {
			return true
		}
	}
	return false
}
