package rules_test

import (
	"math"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
)

// winchCurrent delivers 3 mA/V out of its output.
const winchCurrent = `
[[part]]
name = "winch-current-3"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "supply"]
transconductance = "3 mA/V exact"
direction = "bidirectional"
input = { model = "current-output" }
bias = { max = "4 uA" }
output = { compliance = "0.1 V .. supply - 0.9 V", current = "2 mA" }
offset = { max = "0 V" }
`

// 6 kohm to 2.5 V beside 12 kohm to ground are 4 kohm at 1.6667 V: 3 mA/V x 10 mohm x 4 kohm = 0.12 V/A.
func TestCurrentOutput(t *testing.T) {
	cards := func(from, pins string) string {
		return `* shuntwright: rails.BUS = "24 V exact"
* shuntwright: rails.V5 = "5 V exact"
* shuntwright: rails.VM = "2.5 V exact"
* shuntwright: currents.RSH = { range = "-8 A .. 8 A", from = "` + from + `" }
* shuntwright: tolerances.resistors = "0 %"
RSH BUS LOAD 10m
RL LOAD 0 4
R1 out VM 6k
R2 out 0 12k
C1 out 0 10n
XA ` + pins + ` out 0 V5 winch-current-3
`
	}
	near := func(a, b float64) bool { return math.Abs(a-b) < 1e-6 }
	judged(t, load(t, cards("BUS", "BUS LOAD"), winchCurrent), func(p *rules.Bench) {
		out, zero, scale := p.Out(design.Operating), p.Zero(design.Operating), p.Scale()
		low, high := p.Level("output.low", design.Operating, false), p.Level("output.high", design.Operating, true)
		v0 := 2.5 * 12 / 18
		if !near(zero.Nom, v0) || !near(scale.Nom, 0.12) || !near(out.Seen.Lo, v0-0.96) || !near(out.Seen.Hi, v0+0.96) {
			t.Errorf("zero %v, scale %v, output %v", zero.Nom, scale.Nom, out.Seen)
		}
		if !near(low.Nom, 0.1) || !near(high.Nom, 4.1) || !near(p.Gain().Nom, 12) || !near(p.OutputLoad().Nom, 4e3) || !near(p.OutputCurrent(design.Operating).Seen.Hi, 0.24e-3) {
			t.Errorf("swing %v .. %v, gain %v, load %v", low.Nom, high.Nom, p.Gain().Nom, p.OutputLoad().Nom)
		}
		p.Holds("looked at")
	})
	// The slope turns with the declared direction and with the pins; turned twice it is as before.
	for _, c := range []struct {
		from, pins string
		want       float64
	}{{"LOAD", "BUS LOAD", -0.12}, {"BUS", "LOAD BUS", -0.12}, {"LOAD", "LOAD BUS", 0.12}} {
		judged(t, load(t, cards(c.from, c.pins), winchCurrent), func(p *rules.Bench) {
			if s := p.Scale(); !near(s.Nom, c.want) {
				t.Errorf("from %s, pins %s: scale %v, want %v", c.from, c.pins, s.Nom, c.want)
			}
			p.Holds("looked at")
		})
	}
}
