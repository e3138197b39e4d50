package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/op-amp-input-range.md
var opAmpInputRangePage string

// OpAmpInputRange holds the inputs of every op amp of a block inside the range in which it works, and through events and in
// declared states inside what its pins survive: a voltage, or the current that resistors leave beyond it.
var OpAmpInputRange = &rules.Rule{
	ID:    "op-amp-input-range",
	Title: "op-amp input outside its range",
	Level: rules.Error,
	Since: 2,
	Page:  opAmpInputRangePage,
	Judge: func(p *rules.Bench) {
		if !built(p) {
			return
		}
		const works, lives, takes = "common-mode.operating", "common-mode.survival", "input.survival-current"
		seen := working{}
		everyState(p, true, func(v *rules.Bench, state string) {
			for i := range v.Network.Stages {
				s := v.Stage(i)
				lo, hi, text := s.Limits(works, design.Operating)
				q := s.OpAmp(stageName(p, i, "inputs")+state, quantity.Volt, design.Operating, func(b rules.Built) float64 { return b.At(s.Network.Stages[i].Plus) })
				if seen.again(fmt.Sprint("works ", i), state, held{q, lo, hi}) {
					continue
				}
				c := p.Within(q, lo, hi, text).Fails(stands("the op amp works"))
				if i == 0 {
					c.Widen(works)
				}
			}
		})
		everyState(p, false, func(v *rules.Bench, state string) {
			for i := range v.Network.Stages {
				s := v.Stage(i)
				for _, pin := range []string{"in+", "in-"} {
					lo, hi, text := s.Limits(lives, design.Survival)
					q := s.Voltage(pin, design.Survival).Named(stageName(p, i, pin) + " in events" + state)
					if seen.again(fmt.Sprint("lives ", i, pin), state, held{q, lo, hi}) {
						continue
					}
					n, _ := s.Pin(pin)
					if _, isPort := s.Network.Port(n); s.Amp.Entry(takes) != nil && !isPort {
						beyond(p, s, n, q.Name, lo, hi, takes)
						continue
					}
					c := p.Within(q, lo, hi, text).Rating().Fails(stands("the op amp survives"))
					if i == 0 {
						c.Widen(lives)
					}
				}
			}
		})
	},
}

// beyond holds the current that flows into a pin beyond its range against what the pin takes. The pin stands at the end of
// the range then, and the output of an op amp, which stays inside, could only take some of the current away: it is let go.
// The two directions are two checks, since each alone is monotone.
func beyond(p, s *rules.Bench, pin circuit.Net, name string, lo, hi quantity.Quantity, key string) {
	most := ceilingOf(s.Part(key))
	for _, side := range []struct {
		text  string
		limit quantity.Quantity
		sign  float64
	}{{"into ", hi, 1}, {"out of ", lo, -1}} {
		amps := s.OpAmp("current "+side.text+name, quantity.Amp, design.Survival, func(b rules.Built) float64 {
			open, facing := b.Net.Open(pin, b.Ohms, b.Volts)
			return max(0, side.sign*(open-b.More[0])) / facing
		}, side.limit)
		larger(p, p.AtMost(amps, most, key).Rating()).Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Amp, m.Max, m.LimitMax)
			return fmt.Sprintf("%s reaches %s, the pin takes up to %s", m.Name, sc.Text(m.Max, quantity.Up), sc.Text(m.LimitMax, quantity.Near))
		})
	}
}

// stands words a failed range by the name of what is held.
func stands(verb string) func(rules.Measure) string {
	return func(m rules.Measure) string { return reaches(m.Name, verb)(m) }
}
