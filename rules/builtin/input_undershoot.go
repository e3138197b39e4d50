package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/input-undershoot.md
var inputUndershootPage string

// InputUndershoot holds each input pin above its rating, and above where the part measures, while the stray inductance of
// the shunt's loop pulls it down. What it reaches without that is for the rules about the common mode.
var InputUndershoot = &rules.Rule{
	ID:    "input-undershoot",
	Title: "stray inductance pulls an input below its range",
	Level: rules.Error,
	Page:  inputUndershootPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if p.Network != nil {
			p.Skip("op-amp-input-range judges the pins of an op amp")
			return
		}
		if len(p.Block.Shunt) == 0 {
			p.ShuntOhms()
			return
		}
		if !saysStray(p) {
			device, coil, ok := interruptedCoil(p)
			if !ok {
				p.Skip("no stray inductance is declared, and no switch or diode at the shunt interrupts the current of an inductor")
				return
			}
			p.Lacks(fmt.Sprintf("%s may interrupt the current of %s at the shunt, and nothing says how much stray inductance the shunt's loop has",
				device.Path(), coil.Path()), quantity.Need{In: "intent", Key: design.Key("currents", p.CurrentName(), "stray-inductance")})
			return
		}
		if !legMoves(p, p.Plus) && !legMoves(p, p.Minus) {
			p.Skip("both ends of the shunt are held: no stray inductance moves them")
			return
		}
		told := false // by the rules about the common mode
		for _, pin := range []string{"in+", "in-"} {
			leg := p.Plus
			if pin == "in-" {
				leg = p.Minus
			}
			if !legMoves(p, leg) {
				continue
			}
			down := strayKick(p, leg)
			for _, one := range []struct {
				key, verb string
				from      quantity.Quantity
				regime    design.Regime
			}{
				{"common-mode.survival", "the part survives", restingPin(p, pin), design.Survival},
				{"common-mode.operating", "the part measures", p.Voltage(pin, design.Operating), design.Operating},
			} {
				lo, _, text := p.Limits(one.key, one.regime)
				if alone := quantity.Minus("margin", one.from, lo); !alone.Seen.Empty() && alone.Seen.Lo <= 0 {
					told = true
					continue
				}
				q := quantity.Minus(pin+" while the current changes", one.from, down)
				c := p.AtLeast(q, lo, text).Fails(reaches(q.Name, one.verb)).Widen(one.key).
					Advise("a shorter loop, a slower edge, a capacitor across the loop close to the shunt, or a filter before the pins")
				if one.regime == design.Survival {
					c.Rating().Band(0.1)
				} else {
					c.At(rules.Warning)
				}
			}
		}
		if told {
			p.Holds("an input leaves its range without any stray inductance already: the rules about the common mode tell that")
		}
	},
}
