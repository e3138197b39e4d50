package rules_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
)

// pins are held within limits that everything known lies in.
func pins(p *rules.Bench) {
	for _, pin := range []string{"in+", "in-", "ref", "supply"} {
		v := p.Voltage(pin, design.Operating)
		p.Within(v, volts(-1e6), volts(1e6), "anything")
	}
}

func TestNothingIsMissing(t *testing.T) {
	if r := judged(t, load(t, deck, barge), pins); r.Kind != rules.KindPass {
		t.Errorf("%v: %s", r.Kind, r.Message)
	}
}

// An unreadable card stays in the circuit on every name it mentions: what touches it is missing.
func TestUnreadableCardIsNotLookedPast(t *testing.T) {
	for _, card := range []string{"RX VM", "RX VM 0 {", "QX VM b", "YX VM 0 5", "BX VM 0 V={", "EX VM 0 LOAD", "R-X VM 0 {nowhere}", "GX VM 0 out 0 {nowhere}"} {
		d, diags := bind(deck+card, barge)
		if len(diags) == 0 {
			t.Errorf("%s: nothing is reported", card)
		}
		if r := judged(t, d, pins); r.Kind == rules.KindPass {
			t.Errorf("%s: %v: %s", card, r.Kind, r.Message)
		}
	}
}

// Cards that read well but whose doing nobody has said are missing as well.
func TestUnknownElementsAreNotLookedPast(t *testing.T) {
	for _, card := range []string{
		"QX V5 out VM npn\n.model npn NPN", "QX V5 VM 0 npn\n.model npn NPN", "QX VM out 0 odd\n.model odd NJF", "XX VM 0 never-heard-of",
		"BX VM 0 V=V(out)*V(out)", "BX VM 0 I=max(V(out),0)", "BX VM 0 V=time", "EX VM 0 VALUE={abs(V(out))}",
		"EX VM 0 POLY(1) out 0 0 1 1", "EX VM 0 POLY(2) out 0 LOAD 0 0 0 0 0 1", "GX VM 0 TABLE {V(out)} = (0,0) (1,1m)",
		"EX VM 0 LAPLACE {V(out)} {1/(1+1m*s)}", "FX VM 0 VY 2\nVY BUS V5", "HX VM 0 POLY(1) VY 0 2 2\nVY x 0\nRY x BUS 1k",
		"EX VM 0 out 0 1 max=3", "VX VM x SIN(0 1 1k 0 -3)\nRX x 0 1k", "MX VM g 0 0 nothing",
	} {
		d, _ := bind(deck+card, barge)
		if r := judged(t, d, pins); r.Kind == rules.KindPass {
			t.Errorf("%s: %v: %s", card, r.Kind, r.Message)
		}
	}
}

// Transistors are switches in either state; what drives a gate, or the base of one whose emitter is held, is no matter.
func TestTransistorsAreKnown(t *testing.T) {
	for _, card := range []string{"QX VM out 0 npn\n.model npn NPN", "QX VM out V5 out pnp\n.model pnp PNP", "JX VM 0 0 jf\n.model jf NJF",
		"JX V5 VM 0 jf\n.model jf PJF", "ZX VM out 0 mes\n.model mes NMF"} {
		if r := judged(t, load(t, deck+card, barge), pins); r.Kind != rules.KindPass {
			t.Errorf("%s: %v: %s, needs %v", card, r.Kind, r.Message, r.Needs)
		}
	}
}

// Their linear twins are known.
func TestLinearSourcesAreKnown(t *testing.T) {
	for _, card := range []string{
		"BX VM 0 V=V(out)*2", "BX VM 0 I=V(out)*2", "EX VM 0 VALUE={V(out)}", "BX VM 0 V=5", "BX VM 0 I=5m",
		"EX VM 0 POLY(1) out 0 0 1 0", "EX VM 0 POLY(2) out 0 LOAD 0 0 1 1", "GX VM 0 TABLE {V(out)} = (0,1m) (1,1m)",
		"FX VM 0 VY 2\nVY x 0\nRY x BUS 1k", "HX VM 0 POLY(1) VY 0 2\nVY x 0\nRY x BUS 1k", "EX VM 0 out 0 1 m=1",
	} {
		d := load(t, deck+card, barge)
		if r := judged(t, d, pins); r.Kind != rules.KindPass {
			t.Errorf("%s: %v: %s, needs %v", card, r.Kind, r.Message, r.Needs)
		}
	}
}

// A leg that meets no shunt hands out missing quantities.
func TestNoShuntHandsOutMissingQuantities(t *testing.T) {
	d := load(t, strings.Replace(deck, "XA BUS LOAD", "XA BUS BUS", 1), barge)
	for name, does := range map[string]func(*rules.Bench){
		"resistance": func(p *rules.Bench) { p.AtMost(p.ShuntOhms(), volts(1e9), "x") },
		"current":    func(p *rules.Bench) { p.AtMost(p.ShuntCurrent(design.Operating), volts(1e9), "x") },
		"factor":     func(p *rules.Bench) { p.AtMost(p.Factor(false), volts(1e9), "x") },
		"spread":     func(p *rules.Bench) { p.AtMost(p.Factor(false).Spread(), volts(1e9), "x") },
	} {
		if r := judged(t, d, does); r.Kind != rules.KindOpen || len(r.Needs) == 0 {
			t.Errorf("%s: %v, needs %v", name, r.Kind, r.Needs)
		}
	}
}

// Nothing limits it is a failure; nobody said is open.
func TestUnboundedIsNotUnsaid(t *testing.T) {
	unbounded := "* shuntwright: elements.LC.current = \"0 A .. 3 A\"\nLC V5 VM 1m\nSX VM 0 c 0 sw\nVC c 0 1\n.model sw SW"
	if r := judged(t, load(t, strings.Replace(strings.Replace(deck, "RA V5 VM 1k\n", "", 1), "RB VM 0 1k\n", "", 1)+unbounded, barge), pins); r.Kind != rules.KindFail {
		t.Errorf("unbounded: %v: %s", r.Kind, r.Message)
	}
	unsaid := strings.Replace(strings.Replace(deck, "RA V5 VM 1k\n", "", 1), "RB VM 0 1k\n", "RB VM y 1k\n", 1)
	r := judged(t, load(t, unsaid, barge), pins)
	if r.Kind != rules.KindOpen || len(r.Needs) == 0 {
		t.Errorf("nobody said: %v, needs %v: %s", r.Kind, r.Needs, r.Message)
	}
}

// An unknown key of a record or of intent is a result, and so is a name that stands for nothing.
func TestUnknownKeysAreResults(t *testing.T) {
	for want, in := range map[string][2]string{
		"record-field": {deck, barge + "bandwith = \"1 MHz\"\n"},
		"intent-field": {deck + "* shuntwright: rail.V5 = \"5 V\"", barge},
		"intent-name":  {deck + "* shuntwright: rails.V55 = \"5 V\"", barge},
	} {
		_, diags := bind(in[0], in[1])
		results := rules.FromDiagnostics(diags)
		if len(results) != 1 || results[0].Rule != want || results[0].Kind != rules.KindFail || results[0].Level != rules.Error {
			t.Errorf("%s: %+v", want, results)
		}
	}
}

// A netlist without a sense block is open, not a pass, and so is a part that nobody knows.
func TestNoBlocks(t *testing.T) {
	for want, cards := range map[string]string{"netlist-blocks": "R1 a 0 1k\nV1 a 0 5", "part-unknown": "XQ a 0 never-heard-of\nV1 a 0 5"} {
		d, _ := bind(cards, barge)
		found := false
		for _, r := range rules.Judge(d, nil).Results {
			found = found || r.Rule == want && r.Kind == rules.KindOpen
		}
		if !found {
			t.Errorf("%s is not reported", want)
		}
	}
}
