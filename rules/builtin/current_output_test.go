package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// dockCurrent has 2 mA/V; bargeCurrent takes its gain from resistors outside.
const dockCurrent = `
[[part]]
name = "dock-current"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "supply"]
transconductance = "2 mA/V exact"
direction = "unidirectional"
supply = { operating = "2.7 V .. 13 V", survival = "-0.3 V .. 15 V", current = "0.3 mA" }
common-mode = { operating = "2.6 V .. 61 V", survival = "-0.4 V .. 72 V" }
input = { model = "current-output" }
bias = { max = "9 uA", mismatch = "0.4 uA" }
output = { compliance = "0 V .. min(supply - 1 V, in- - 2 V)", current = "1 mA" }
offset = { max = "1 mV" }
`

// lamp is a channel of it: 0 A to 10 A over 10 mohm, 24 V, 10 kohm at the output.
const lamp = `* shuntwright: rails.BUS = "24 V exact"
* shuntwright: rails.V5 = "5 V exact"
* shuntwright: currents.RSH = { range = "0 A .. 10 A", from = "BUS" }
* shuntwright: tolerances.resistors = "0 %"
RSH BUS LOAD 10m
RL LOAD 0 3
ROUT out 0 10k
XA BUS LOAD out 0 V5 dock-current`

func TestCurrentOutputCompliance(t *testing.T) {
	rule := builtin.CurrentOutputCompliance
	rout := func(v string) string { return edit(t, lamp, "ROUT out 0 10k", "ROUT out 0 "+v) }
	// (100 mV + 1 mV) x 2 mA/V x 10 kohm = 2.02 V, of the 4 V that 5 V of supply leave; 19.80 kohm make 3.9996 V.
	r := wants(t, rule, rules.KindPass, 0, lamp, dockCurrent)
	if m := measure(t, r, "output"); math.Abs(m.Max-2.02) > 1e-6 || math.Abs(m.LimitMax-4) > 1e-9 {
		t.Errorf("%+v", m)
	}
	wants(t, rule, rules.KindPass, 0, rout("19.8k"), dockCurrent)
	r = wants(t, rule, rules.KindFail, rules.Error, rout("19.81k"), dockCurrent)
	if m := measure(t, r, "output"); math.Abs(m.Max-0.101*2e-3*19.81e3) > 1e-6 || !strings.Contains(r.Message, "4.002 V") {
		t.Errorf("%v: %s", m.Max, r.Message)
	}
	// Everything at the net is the load: a filter into 10 kohm, the output's own 30 kohm.
	r = judge(t, rule, lamp+"\nRF out adc 1k\nRI adc 0 9k\nCF adc 0 10n", dockCurrent)
	if m := measure(t, r, "output"); math.Abs(m.Max-0.101*2e-3*5e3) > 1e-6 {
		t.Errorf("into 10 kohm and 10 kohm: %v", m.Max)
	}
	r = judge(t, rule, lamp, edit(t, dockCurrent, `current = "1 mA" }`, `current = "1 mA", resistance = "30 kohm exact" }`))
	if m := measure(t, r, "output"); math.Abs(m.Max-0.101*2e-3*7.5e3) > 1e-6 {
		t.Errorf("with 30 kohm of its own: %v", m.Max)
	}
	// Down at 5 V of bus less 0.1 V the common mode leaves 2.9 V; up there is no other way but the supply.
	bus := func(v string) string { return edit(t, rout("15k"), `"24 V exact"`, v) }
	wants(t, rule, rules.KindPass, 0, bus(`"5.2 V .. 24 V"`), dockCurrent)
	wants(t, rule, rules.KindFail, rules.Error, bus(`"5 V .. 24 V"`), dockCurrent)
	// 101 mV x 2 mA/V = 0.202 mA.
	wants(t, rule, rules.KindPass, 0, lamp, edit(t, dockCurrent, `current = "1 mA" }`, `current = "0.2021 mA" }`))
	r = wants(t, rule, rules.KindFail, rules.Error, lamp, edit(t, dockCurrent, `current = "1 mA" }`, `current = "0.2019 mA" }`))
	if !strings.Contains(r.Message, "the part delivers 0.201") && !strings.Contains(r.Message, "201.9 uA") {
		t.Errorf("%s", r.Message)
	}
	// No resistor at the output: nothing limits it.
	if r := judge(t, rule, edit(t, lamp, "ROUT out 0 10k\n", "")+"\nCO out 0 1n", dockCurrent); r.Kind == rules.KindPass {
		t.Errorf("without a load: %v %s", r.Kind, r.Message)
	}
	// What is missing is named.
	for key, text := range map[string]string{"output.compliance": `compliance = "0 V .. min(supply - 1 V, in- - 2 V)", `, "output.current": `, current = "1 mA"`,
		"offset.max": "offset = { max = \"1 mV\" }\n", "transconductance": "transconductance = \"2 mA/V exact\"\n"} {
		lacks(t, wants(t, rule, rules.KindOpen, 0, lamp, edit(t, dockCurrent, text, "")), key)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, lamp, `range = "0 A .. 10 A", `, ""), dockCurrent), "currents.RSH.range")
	lacks(t, wants(t, rule, rules.KindOpen, 0, lamp, edit(t, dockCurrent, "input = { model = \"current-output\" }\n", "")), "input.model")
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
	// The remedy is a smaller resistor at the output.
	rem := rules.Judge(load(t, rout("25k"), dockCurrent), []*rules.Rule{rule}).Results[0].Remedy
	if rem == nil || !strings.Contains(rem.Text, "ROUT at most 19.8 kohm") {
		t.Errorf("remedy %+v", rem)
	}
}

// Gain by two resistors outside: Rout / Rin, each of 1 %, within 2 % of either end; the goal says whether that does.
func TestCurrentOutputGainByResistors(t *testing.T) {
	rule := builtin.CurrentOutputCompliance
	part := edit(t, dockCurrent, "transconductance = \"2 mA/V exact\"\n", "", `"1 mV"`, `"0 V"`)
	deck := edit(t, lamp, "XA BUS LOAD out", "RIN BUS p 500\nXA p LOAD out", `resistors = "0 %"`, `resistors = "1 %"`, "ROUT out 0 10k", "ROUT out 0 10k\nCO out 0 10n",
		"RSH BUS LOAD 10m", "RSH BUS LOAD 10m") + "\n* shuntwright: elements.RSH.tolerance = \"0 %\""
	r := wants(t, rule, rules.KindPass, 0, deck, part)
	if m := measure(t, r, "gain"); math.Abs(m.Min-20*0.99/1.01) > 1e-5 || math.Abs(m.Max-20*1.01/0.99) > 1e-5 {
		t.Errorf("gain %v .. %v", m.Min, m.Max)
	}
	if m := measure(t, r, "output"); math.Abs(m.Max-2*1.01/0.99) > 1e-5 {
		t.Errorf("output %v, want 2 V and 2 %%", m.Max)
	}
	goal := func(error string) string {
		return deck + "\n* shuntwright: goals.XA = { error = \"" + error + "\", at = \"1 A\" }"
	}
	// (1.01/0.99 - 0.99/1.01)/2 = 2.0002 %.
	wants(t, rule, rules.KindFail, rules.Error, goal("1.99 %"), part)
	wants(t, rule, rules.KindFail, rules.Warning, goal("2.01 %"), part)
	wants(t, rule, rules.KindFail, rules.Warning, goal("5.99 %"), part)
	wants(t, rule, rules.KindPass, 0, goal("6.01 %"), part)
	wants(t, rule, rules.KindPass, 0, goal("1 %")+"\n* shuntwright: calibration.XA.gain = true", part)
	// Resistors in both inputs: which one carries the current is a fact of the part.
	both := edit(t, deck, "XA p LOAD out", "RIM LOAD m 400\nXA p m out")
	lacks(t, wants(t, rule, rules.KindOpen, 0, both, part), "input.carries")
	for pin, ohms := range map[string]float64{"in+": 500, "in-": 400} {
		r := judge(t, rule, both, edit(t, part, `model = "current-output"`, `model = "current-output", carries = "`+pin+`"`))
		if m := measure(t, r, "gain"); math.Abs(m.Min-1e4/ohms*0.99/1.01) > 1e-4 {
			t.Errorf("%s carries: gain from %v", pin, m.Min)
		}
	}
}

// The common rules see the voltage that the current makes: zero, swing and slope.
func TestReferenceBiasOfACurrentOutput(t *testing.T) {
	part := edit(t, dockCurrent, `"unidirectional"`, `"bidirectional"`, "0 V .. min(supply - 1 V, in- - 2 V)", "0.2 V .. supply - 0.3 V", `"1 mV"`, `"0 V"`)
	// The load's far end at 2.5 V: the output is 2.5 V + 10 A x 10 mohm x 2 mA/V x 10 kohm, 0.5 V to 4.5 V.
	deck := edit(t, lamp, `"0 A .. 10 A"`, `"-10 A .. 10 A"`, "ROUT out 0 10k", "ROUT out VM 10k\n* shuntwright: rails.VM = \"2.5 V exact\"")
	r := wants(t, builtin.ReferenceBias, rules.KindPass, 0, deck, part)
	if m := measure(t, r, "output at the lowest end"); math.Abs(m.Min-0.5) > 1e-6 || math.Abs(m.Max-4.5) > 1e-6 || math.Abs(m.LimitMin-0.2) > 1e-9 {
		t.Errorf("%+v", m)
	}
	wants(t, builtin.CurrentOutputCompliance, rules.KindPass, 0, deck, part)
	wants(t, builtin.ReferenceBias, rules.KindFail, rules.Error, edit(t, deck, "10k", "12k"), part)
	wants(t, builtin.CurrentOutputCompliance, rules.KindFail, rules.Error, edit(t, deck, "10k", "12k"), part)
	wants(t, builtin.ReferenceBias, rules.KindFail, rules.Error, deck, edit(t, part, `"bidirectional"`, `"unidirectional"`))
}
