package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/burden-voltage.md
var burdenVoltagePage string

// BurdenVoltage holds what the shunt takes from its circuit, and how far a low-side one lifts the ground behind it, below
// what intent allows.
var BurdenVoltage = &rules.Rule{
	ID:    "burden-voltage",
	Title: "shunt takes too much voltage",
	Level: rules.Warning,
	Page:  burdenVoltagePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		name := p.CurrentName()
		burden := p.Design.Intent.Get("currents", name, "burden") != nil
		lift := p.Design.Intent.Get("currents", name, "ground-lift") != nil
		switch {
		case !burden && !lift:
			p.Skip("no burden is declared")
			return
		case len(p.Block.Shunt) == 0:
			p.ShuntOhms()
			return
		}
		drop := quantity.Calc("voltage of the shunt", quantity.Volt, func(x []float64) float64 { return x[0] * inParallel(x[1:]) },
			append([]quantity.Quantity{p.ShuntCurrent(design.Operating)}, shuntOhms(p)...)...)
		hold := func(key, what, words string) {
			limit := ceilingOf(p.Declared(quantity.Volt, "currents", name, key))
			p.Within(drop.Named(what), limit.Times(-1), limit, design.Key("currents", name, key)).On(p.Block.Shunt[0]).Lower(p.Block.Shunt...).
				Fails(func(m rules.Measure) string {
					reached := max(-m.Min, m.Max)
					sc := quantity.ScaleFor(quantity.Volt, reached, m.LimitMax)
					return fmt.Sprintf(words, sc.Text(reached, quantity.Up), sc.Text(m.LimitMax, quantity.Down))
				})
		}
		if burden {
			hold("burden", "voltage of the shunt", "the shunt takes %s from its circuit, %s is allowed")
		}
		if !lift {
			return
		}
		if !lowSide(p) {
			if !burden {
				p.Skip("the shunt lifts no ground: neither end of it stands on one")
			}
			return
		}
		hold("ground-lift", "lift of the ground", "the shunt lifts the ground behind it by %s, signals that cross it stand %s")
	},
}

// lowSide tells a shunt one end of which is node 0 or the amplifier's own ground, by whatever further names it goes.
func lowSide(p *rules.Bench) bool {
	return grounded(p, p.Plus.Shunt) || grounded(p, p.Minus.Shunt)
}

// grounded tells that a net is node 0 or the amplifier's own ground, but for pieces of wire, net ties and ferrite beads.
func grounded(p *rules.Bench, n circuit.Net) bool {
	return n == 0 || n == p.Ground || meets(p.Design, n, 0) || meets(p.Design, n, p.Ground)
}
