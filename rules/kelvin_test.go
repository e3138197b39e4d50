package rules_test

import (
	"math"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// An invented four-terminal shunt.
const keel = `
[[part]]
name = "keel-shunt-500u"
role = "shunt"
pins = ["a", "sense-a", "sense-b", "b"]
resistance = "0.5 mohm +- 1 %"
terminals = 4
`

// A shunt with a record is found between its sense terminals as between its ends, and its declared current is followed:
// 40 A through 0.5 mohm + 1 % are 20.2 mV.
func TestShuntWithARecord(t *testing.T) {
	for name, pins := range map[string]string{"sense terminals": "XA sa sb", "ends": "XA BUS LOAD", "one of each": "XA sa LOAD",
		"filtered": "RF1 sa fa 10\nRF2 sb fb 10\nXA fa fb"} {
		d := load(t, `* shuntwright: rails.BUS = "40 V exact"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.XSH = { range = "0 A .. 40 A", from = "BUS" }
* shuntwright: tolerances.resistors = "1 %"
XSH BUS sa sb LOAD keel-shunt-500u
RL LOAD 0 4
`+pins+" out 0 0 V5 barge-30\n", barge+keel)
		r := judged(t, d, func(p *rules.Bench) {
			if p.Broken != "" || p.ShuntText() != "XSH" || p.Sign() != 1 {
				t.Fatalf("%s: broken %q, shunt %q, sign %v", name, p.Broken, p.ShuntText(), p.Sign())
			}
			if r := p.ShuntOhms(); math.Abs(r.Seen.Lo-0.495e-3) > 1e-9 || math.Abs(r.Seen.Hi-0.505e-3) > 1e-9 {
				t.Errorf("%s: %v ohm, %v", name, r.Seen, r.Needs)
			}
			if far := p.Net(p.Minus.Shunt, design.Operating); math.Abs(far.Seen.Lo-(40-0.0202)) > 1e-6 || math.Abs(far.Seen.Hi-40) > 1e-6 {
				t.Errorf("%s: the far end is %v, %v", name, far.Seen, far.Needs)
			}
			k, want := p.Factor(false), 1.0
			if name == "filtered" {
				want = 4400.0 / (4400 + 20)
			}
			if math.Abs(k.Nom-want) > 1e-9 {
				t.Errorf("%s: factor %v, %v", name, k.Nom, k.Needs)
			}
			p.AtMost(p.Through(p.Shunt[0], design.Operating), volts(1e3), "anything")
		})
		if r.Kind != rules.KindPass {
			t.Errorf("%s: %v: %s", name, r.Kind, r.Message)
		}
		if got := len(rules.Judge(d, nil).Results); got != 0 {
			t.Errorf("%s: %d troubles: %v", name, got, rules.Judge(d, nil).Results)
		}
	}
}

// Two four-terminal shunts in parallel whose voltages 20 ohm each average: one shunt, 10 ohm in each leg.
func TestAveragedShunts(t *testing.T) {
	d := load(t, `* shuntwright: rails.BUS = "40 V exact"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.XS1 = { range = "0 A .. 40 A", from = "BUS" }
* shuntwright: tolerances.resistors = "1 %"
XS1 BUS a1 b1 LOAD keel-shunt-500u
XS2 BUS a2 b2 LOAD keel-shunt-500u
RL LOAD 0 4
RA1 a1 p 20
RA2 a2 p 20
RB1 b1 m 20
RB2 b2 m 20
XA p m out 0 0 V5 barge-30`, barge+keel)
	judged(t, d, func(p *rules.Bench) {
		if p.ShuntText() != "XS1 || XS2" {
			t.Errorf("shunt %q", p.ShuntText())
		}
		for name, l := range map[string]sense.Leg{"in+": p.Plus, "in-": p.Minus} {
			if r := l.Resistance("R"); math.Abs(r.Nom-10) > 1e-9 || len(l.Resistors()) != 2 {
				t.Errorf("%s: %v ohm of %d resistors", name, r.Nom, len(l.Resistors()))
			}
		}
		if k := p.Factor(false); math.Abs(k.Nom-4400.0/4420) > 1e-9 {
			t.Errorf("factor %v, %v", k.Nom, k.Needs)
		}
		v := quantity.Minus("drop", p.Net(p.Plus.Shunt, design.Operating), p.Net(p.Minus.Shunt, design.Operating))
		if math.Abs(v.Seen.Hi-0.0202) > 1e-6 {
			t.Errorf("drop %v", v.Seen)
		}
	})
}
