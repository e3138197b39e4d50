package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/current-output-compliance.md
var currentOutputCompliancePage string

// CurrentOutputCompliance holds the voltage that a current output makes at its load inside the range over which the current
// is guaranteed, the current under what the part delivers, and the tolerance of the resistors that set the gain under the goal.
var CurrentOutputCompliance = &rules.Rule{
	ID:    "current-output-compliance",
	Title: "current output beyond its compliance",
	Level: rules.Error,
	Page:  currentOutputCompliancePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if !p.CurrentOutput() {
			if p.Network != nil { // an op amp's output is a voltage
				p.Skip("the output is no current")
				return
			}
			if _, said := p.Amp.Word("input.model"); said || p.Digital() || p.Network != nil || p.Amp.Entry("gain") != nil {
				p.Skip("the output is no current")
				return
			}
			p.Word("input.model")
			return
		}
		rout := outputResistors(p)
		out := p.Out(design.Operating)
		lo, hi, text := p.Limits("output.compliance", design.Operating)
		stops := func(m rules.Measure) string {
			end, limit, word := m.Max, m.LimitMax, "up to"
			if !m.AtHigh {
				end, limit, word = m.Min, m.LimitMin, "down to"
			}
			if unlimited(end) {
				return "nothing limits the voltage at the output: its current has no way to ground"
			}
			sc := quantity.ScaleFor(quantity.Volt, end, limit)
			return fmt.Sprintf("the output reaches %s at its load, the current is guaranteed %s %s", sc.Text(end, quantity.Up), word, sc.Text(limit, quantity.Down))
		}
		shows := func(high bool) string {
			parts, ok := out.Corner(high, []quantity.Quantity{p.OutputCurrent(design.Operating), p.OutputLoad()})
			if !ok {
				return ""
			}
			return fmt.Sprintf("%s x %s", quantity.Show(parts[0], quantity.Amp), quantity.Show(parts[1], quantity.Ohm))
		}
		c := p.AtMost(out, hi, text)
		if w, _ := p.Amp.Word("direction"); w == "bidirectional" {
			c = p.Within(out, lo, hi, text)
		}
		c.Fails(stops).Shows(shows).Lower(rout...).Widen("output.compliance")

		amps, most := p.OutputCurrent(design.Operating), ceilingOf(p.Part("output.current"))
		c = p.AtMost(amps, most, "output.current")
		if w, _ := p.Amp.Word("direction"); w == "bidirectional" {
			c = p.Within(amps, most.Times(-1), most, "output.current")
		}
		c.Raise(gainResistors(p)...).Fails(func(m rules.Measure) string {
			end, verb, verbs := m.Max, "deliver", "delivers"
			if !m.AtHigh {
				end, verb, verbs = -m.Min, "sink", "sinks"
			}
			sc := quantity.ScaleFor(quantity.Amp, end, m.LimitMax)
			return fmt.Sprintf("the output would have to %s %s, the part %s %s", verb, sc.Text(end, quantity.Up), verbs, sc.Text(m.LimitMax, quantity.Down))
		})

		gain, goal := p.Gain(), p.Goal()
		if goal.Declared && !p.Calibrated("gain") {
			for _, l := range []struct {
				part  float64
				level rules.Level
				text  string
			}{{1, rules.Error, "goal"}, {3, rules.Warning, "goal / 3"}} {
				p.AtMost(gain.Spread().Named("spread of the gain"), goal.Error.Times(1/l.part), l.text).At(l.level).Fails(func(m rules.Measure) string {
					return fmt.Sprintf("the gain varies by %s with the resistors that set it, %s is %s", percent(m.Max, quantity.Up), l.text, percent(m.LimitMax, quantity.Down))
				}).Advise("take resistors of a closer tolerance for the input and the output, or calibrate the gain")
			}
		}
		p.Carry(gain)
	},
}

// outputResistors are the resistors from the net of the output to one that something holds.
func outputResistors(p *rules.Bench) (out []design.Element) {
	for e := range p.Design.On(p.Output.Pin) {
		if e.Kind() != 'R' || e.Pins() != 2 || !(e.Value() > 0) {
			continue
		}
		if _, held := p.Design.Rail(e.Other(p.Output.Pin), design.Operating); held {
			out = append(out, e)
		}
	}
	return out
}

// gainResistors are those in series with the inputs where they set the gain.
func gainResistors(p *rules.Bench) []design.Element {
	if p.Amp.Entry("transconductance") != nil {
		return nil
	}
	return append(resistors(p.Plus.Series), resistors(p.Minus.Series)...)
}
