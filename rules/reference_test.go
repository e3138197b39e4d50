package rules_test

import (
	"math"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
)

// What stands behind a reference pin, whatever the amplifier itself does there: a divider, a buffer behind a resistor, a rail.
func TestReferenceSource(t *testing.T) {
	const amp = `
[[part]]
name = "tug-amp"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2 V .. 6 V", current = "0.1 mA" }
bias = { max = "0 A" }
offset = { max = "0 V" }
output = { low = "10 mV", high = "supply - 10 mV" }
`
	exact := "* shuntwright: rails.V5 = \"5 V exact\"\n* shuntwright: rails.BUS = \"40 V exact\"\n* shuntwright: tolerances.resistors = \"0 %\"\n" +
		"* shuntwright: currents.RSH = { range = \"-1 A .. 1 A\", from = \"BUS\" }\nRSH BUS LOAD 1m\nRL LOAD 0 40\n"
	stage := `
[[part]]
name = "tug-stage"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "20 V/V exact"
input = { model = "resistor-difference", resistance = "10 kohm exact" }
`
	for _, c := range []struct {
		name, cards string
		volts, ohms float64
	}{
		{"a divider", "RA V5 r 30k\nRB r 0 20k", 2, 12e3},
		{"an ideal buffer behind 22 ohm", "RA V5 h 30k\nRB h 0 20k\nEB b 0 h 0 1\nRI b r 22", 2, 22},
		{"an op amp behind 33 ohm", "RA V5 h 30k\nRB h 0 20k\nXB h b b 0 V5 tug-amp\nRI b r 33", 2, 33},
		{"a rail behind 100 ohm", "RI V5 r 100", 5, 100},
		{"a rail", "RI V5 r 0", 5, 0},
	} {
		judged(t, load(t, exact+c.cards+"\nXA BUS LOAD out 0 r V5 tug-stage", stage+amp), func(p *rules.Bench) {
			n, _ := p.Pin("ref")
			v, r := p.ReferenceSource(n, design.Operating), p.ReferenceResistance(n)
			if math.Abs(v.Nom-c.volts) > 1e-6 || math.Abs(r.Nom-c.ohms) > 1e-4 {
				t.Errorf("%s: %v V behind %v ohm, want %v and %v; %v %v", c.name, v.Nom, r.Nom, c.volts, c.ohms, v.Needs, r.Needs)
			}
			if z := p.IdealZero(design.Operating); math.Abs(z.Nom-c.volts) > 1e-6 {
				t.Errorf("%s: an ideal zero of %v", c.name, z.Nom)
			}
			// The stage itself pulls: (40 V - Vth) R/(R1 + R2 + R), R1 + R2 = 210 kohm.
			if z, want := p.Zero(design.Operating).Nom, c.volts+(40-c.volts)*c.ohms/(210e3+c.ohms); math.Abs(z-want) > 2e-5*want+1e-4 {
				t.Errorf("%s: zero %v, want %v", c.name, z, want)
			}
			p.Holds("looked at")
		})
	}
}
