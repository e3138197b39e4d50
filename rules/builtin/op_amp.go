package builtin

import (
	"fmt"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// built skips a rule about blocks of op amps where the block is an amplifier of its own.
func built(p *rules.Bench) bool {
	if p.Network == nil {
		p.Skip("the block is no op amp with resistors around it")
	}
	return p.Network != nil
}

// allowed is what the goal leaves for one error at the shunt, in volts, at the lowest current that it covers; it skips
// where there is no goal.
func allowed(p *rules.Bench) (q quantity.Quantity, declared bool) {
	goal := p.Goal()
	if !goal.Declared {
		return q, false
	}
	return quantity.Calc("goal at its lowest current", quantity.Volt, func(x []float64) float64 { return x[0] * math.Abs(x[1]) * x[2] },
		goal.Error, goal.From, p.ShuntOhms()), true
}

// passage is what the output takes of a net, in V/V: 0 where the net is no port.
func passage(b rules.Built, n circuit.Net) float64 {
	if k, ok := b.Net.Port(n); ok {
		return b.Of(b.Net.Reads(), k)
	}
	return 0
}

// commonMode is the common-mode gain: what the output takes of both ends of the shunt together, in V/V.
func commonMode(p *rules.Bench, b rules.Built) float64 {
	return passage(b, p.Plus.Shunt) + passage(b, p.Minus.Shunt)
}

// stageName names a quantity of one op amp of a block: of the only one by itself.
func stageName(p *rules.Bench, i int, what string) string {
	if len(p.Network.Stages) == 1 {
		return what
	}
	return what + " of " + p.Stage(i).Name()
}

// larger offers all resistors of a block's network larger by one factor, which leaves every ratio as it is.
func larger(p *rules.Bench, c *rules.Check) *rules.Check {
	var names []string
	for _, e := range p.Network.Resistors {
		names = append(names, e.Path())
	}
	for _, by := range []float64{2, 5, 10, 20, 50, 100} {
		var ch []design.Change
		for _, e := range p.Network.Resistors {
			ch = append(ch, design.Change{Op: design.Set, Target: e.Path(), Value: e.Written() * by, Unit: quantity.Ohm})
		}
		c.Try(fmt.Sprintf("%s %v times as large", strings.Join(names, ", "), by), ch...)
	}
	return c
}
