package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/resistor-match.md
var resistorMatchPage string

// ResistorMatch holds what the resistors around an op amp let through of the common mode, counted at the shunt, against the
// goal at its lowest current: unequal ratios as drawn, tolerances, and the resistance of whatever feeds them.
var ResistorMatch = &rules.Rule{
	ID:    "resistor-match",
	Title: "resistors around an op amp let the common mode through",
	Level: rules.Error,
	Since: 2,
	Page:  resistorMatchPage,
	Judge: func(p *rules.Bench) {
		if !built(p) {
			return
		}
		ground, _ := p.Pin("ground")
		for _, n := range []circuit.Net{p.Plus.Shunt, p.Minus.Shunt} {
			if n == ground || n == 0 || meets(p.Design, n, ground) || meets(p.Design, n, 0) {
				p.Skip("one end of the shunt is at ground: there is no common mode to reject")
				return
			}
		}
		limit, declared := allowed(p)
		if !declared {
			p.Skip("no accuracy goal is declared")
			return
		}
		gain := math.Abs(p.Part("gain").Nom)
		const name = "error of the resistors at the shunt"
		q := p.OpAmp(name, quantity.Volt, design.Operating, func(b rules.Built) float64 {
			return commonMode(p, b) * (middle(p, b) - returned(p, b)) / gain
		})
		text := "goal at its lowest current"
		if p.Calibrated("offset") && !(q.Sound.Hi <= limit.Sound.Lo && q.Sound.Lo >= -limit.Sound.Lo) {
			at := p.Declared(quantity.Volt, "calibration", p.Name(), "offset", "common-mode")
			q = p.OpAmp(name+" since the calibration", quantity.Volt, design.Operating, func(b rules.Built) float64 {
				return commonMode(p, b) * (middle(p, b) - b.More[0]) / gain
			}, at)
		}
		c := p.Within(q, limit.Times(-1), limit, text).Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Volt, m.Min, m.Max, m.LimitMax)
			return fmt.Sprintf("the resistors make up to %s at the shunt out of the common mode, the whole goal allows %s",
				sc.Text(max(math.Abs(m.Min), math.Abs(m.Max)), quantity.Up), sc.Text(m.LimitMax, quantity.Down))
		})
		for _, e := range p.Network.Resistors {
			if v, ok := balanced(p, e); ok {
				c.Try(fmt.Sprintf("%s %s", e.Path(), quantity.Show(v, quantity.Ohm)), design.Change{Op: design.Set, Target: e.Path(), Value: v, Unit: quantity.Ohm})
			}
		}
		c.Advise("resistors of one matched network, or an amplifier with its own")
		p.Carry(p.OpAmpRatio("common-mode gain", quantity.VoltPerVolt, func(b rules.Built) float64 { return commonMode(p, b) }))
	},
}

// middle is the common mode: the mean of the two ends of the shunt against the ground pin.
func middle(p *rules.Bench, b rules.Built) float64 {
	sum := 0.0
	for _, n := range []circuit.Net{p.Plus.Shunt, p.Minus.Shunt} {
		if k, ok := b.Net.Port(n); ok {
			sum += b.Volts[k] / 2
		}
	}
	return sum
}

// returned is the voltage that the resistors return to: what the output takes of everything but the shunt, for each volt.
// It takes 1 of all its ports together, since a voltage has no place of its own.
func returned(p *rules.Bench, b rules.Built) float64 {
	sum, all := 0.0, 0.0
	for k, n := range b.Net.Ports {
		if n == p.Plus.Shunt || n == p.Minus.Shunt {
			continue
		}
		c := b.Of(b.Net.Reads(), k)
		all += c
		sum += c * b.Volts[k]
	}
	if math.Abs(all) < 1e-9 {
		return 0
	}
	return sum / all
}

// balanced is the value of one resistor, to three digits, at which the common-mode gain is nothing as drawn: within a
// factor of 100 of what it is, where there is one.
func balanced(p *rules.Bench, e design.Element) (float64, bool) {
	w := p.Network
	at := w.Nominal()
	var i int
	for k, o := range w.Resistors {
		if o.ID == e.ID {
			i = k
		}
	}
	value := at[i]
	acm := func(r float64) float64 {
		at[i] = r
		s, ok := w.Solve(at)
		if !ok {
			return math.NaN()
		}
		return commonMode(p, rules.Built{Solution: s, Net: w})
	}
	if math.Abs(acm(value)) < 1e-9 {
		return 0, false
	}
	lo, hi := value/100, value*100
	if !(acm(lo)*acm(hi) < 0) {
		return 0, false
	}
	for range 60 {
		if m := math.Sqrt(lo * hi); acm(lo)*acm(m) <= 0 {
			hi = m
		} else {
			lo = m
		}
	}
	s := math.Pow(10, math.Floor(math.Log10(lo))-3)
	return math.Round(lo/s) * s / e.Copies(), true
}
