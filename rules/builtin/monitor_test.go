package builtin_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// buoy is a digital monitor with two ranges, 40 mV in steps of 2.5 uV and 160 mV in steps of 10 uV.
const buoy = `
[[part]]
name = "buoy-monitor"
role = "digital-monitor"
pins = ["in+", "in-", "supply", "ground", "clock", "data", "alert"]
direction = "bidirectional"
supply = { operating = "2.6 V .. 5.6 V", survival = "-0.3 V .. 6.3 V", current = "0.9 mA" }
common-mode = { operating = "-0.2 V .. 38 V", survival = "-0.3 V .. 43 V" }
input = { model = "high-impedance" }
bias = { max = "14 uA", mismatch = "0.3 uA" }
offset = { max = "23 uV" }
digital = { ranges = [["40 mV", "2.5 uV"], ["160 mV", "10 uV"]], alert-bits = 16, survival = "-0.3 V .. supply + 0.2 V" }
`

// pier is a channel of it: +-15 A over 10 mohm, read in the wider range.
const pier = `* shuntwright: rails.BUS = "20 V .. 29 V"
* shuntwright: rails.V3 = "3.3 V +- 2 %"
* shuntwright: currents.RSH = { range = "-15 A .. 15 A", from = "BUS" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: monitors.XA.range = "160 mV"
RSH BUS LOAD 10m
RL LOAD 0 2
RC V3 scl 4.7k
RD V3 sda 4.7k
RA V3 alr 10k
XA BUS LOAD V3 0 scl sda alr buoy-monitor`

// A monitor is a block like any other, without an output.
func TestDigitalMonitorIsABlock(t *testing.T) {
	d := load(t, pier, buoy)
	var names []string
	for b := range sense.Blocks(d) {
		names = append(names, b.Name()+" "+b.ShuntText())
		if !b.Digital() {
			t.Errorf("%s is not digital", b.Name())
		}
	}
	if !slices.Equal(names, []string{"XA RSH"}) {
		t.Errorf("blocks %q", names)
	}
	for _, rule := range []*rules.Rule{builtin.ReferenceBias, builtin.RatiometricMismatch, builtin.ReferenceRange, builtin.ReferencePair, builtin.ReferenceImpedance,
		builtin.CurrentOutputCompliance, builtin.OutputHeadroom, builtin.OutputFloor, builtin.InputFullScale} {
		wants(t, rule, rules.KindNotApplicable, 0, pier, buoy)
	}
	for _, rule := range []*rules.Rule{builtin.SupplyRange, builtin.CommonModeOperating} {
		if r := judge(t, rule, pier, buoy); r.Kind == rules.KindFail || r.Kind == rules.KindOpen {
			t.Errorf("%s: %v %s", rule.ID, r.Kind, r.Message)
		}
	}
	wants(t, builtin.CommonModeOperating, rules.KindFail, rules.Error, edit(t, pier, "29 V", "39 V"), buoy)
	wants(t, builtin.ReferenceBias, rules.KindFail, rules.Error, pier, edit(t, buoy, `"bidirectional"`, `"unidirectional"`))
	// Its supply current is in the drop of what feeds it: 0.9 mA through 1 kohm.
	r := judge(t, builtin.SupplyRange, edit(t, pier, "XA BUS LOAD V3 0", "RS V3 vs 1k\nXA BUS LOAD vs 0"), buoy)
	if m := measure(t, r, "supply voltage"); math.Abs(m.Min-(3.3*0.98-0.9)) > 1e-9 {
		t.Errorf("the supply is down to %v", m.Min)
	}
}

func TestDigitalRange(t *testing.T) {
	rule := builtin.DigitalRange
	survives := edit(t, pier, `rails.V3 = "3.3 V +- 2 %"`, `rails.V3 = { operating = "3.3 V +- 2 %", survival = "0 V .. 3.6 V" }`)
	amps := func(v string) string { return edit(t, survives, `"-15 A .. 15 A"`, v) }
	wants(t, rule, rules.KindPass, 0, survives, buoy)
	// 16 A x 10 mohm are the 160 mV, both ways.
	wants(t, rule, rules.KindPass, 0, amps(`"-16 A .. 16 A"`), buoy)
	wants(t, rule, rules.KindFail, rules.Error, amps(`"0 A .. 16.01 A"`), buoy)
	wants(t, rule, rules.KindFail, rules.Error, amps(`"-16.01 A .. 0 A"`), buoy)
	r := wants(t, rule, rules.KindFail, rules.Error, edit(t, amps(`"-16 A .. 16 A"`), `resistors = "0 %"`, `resistors = "1 %"`), buoy)
	if m := measure(t, r, "voltage between the inputs"); math.Abs(m.Max-0.1616) > 1e-9 || !strings.Contains(r.Message, "the selected range ends at") {
		t.Errorf("%v: %s", m.Max, r.Message)
	}
	// One way only.
	one := edit(t, buoy, `"bidirectional"`, `"unidirectional"`)
	wants(t, rule, rules.KindPass, 0, amps(`"0 A .. 15 A"`), one)
	r = wants(t, rule, rules.KindFail, rules.Error, amps(`"-1 A .. 15 A"`), one)
	if !strings.Contains(r.Message, "one direction only") {
		t.Errorf("%s", r.Message)
	}
	wants(t, rule, rules.KindPass, 0, edit(t, amps(`"-15 A .. 0 A"`), "XA BUS LOAD", "XA LOAD BUS"), one)
	// The range is asked for where it decides: 3.9 A fit both, 5 A one, 17 A none.
	unsaid := func(v string) string { return edit(t, amps(v), "* shuntwright: monitors.XA.range = \"160 mV\"\n", "") }
	wants(t, rule, rules.KindPass, 0, unsaid(`"0 A .. 3.9 A"`), buoy)
	lacks(t, wants(t, rule, rules.KindOpen, 0, unsaid(`"0 A .. 5 A"`), buoy), "monitors.XA.range")
	wants(t, rule, rules.KindFail, rules.Error, unsaid(`"0 A .. 17 A"`), buoy)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, survives, `"160 mV"`, `"80 mV"`), buoy)
	for key, text := range map[string]string{"digital.ranges": `ranges = [["40 mV", "2.5 uV"], ["160 mV", "10 uV"]], `, "direction": "direction = \"bidirectional\"\n",
		"digital.survival": `, survival = "-0.3 V .. supply + 0.2 V" }`} {
		to := ""
		if key == "digital.survival" {
			to = " }"
		}
		lacks(t, wants(t, rule, rules.KindOpen, 0, survives, edit(t, buoy, text, to)), key)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, survives, `range = "-15 A .. 15 A", `, ""), buoy), "currents.RSH.range")
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
}

// A trip must lie in the range, and its number in the register.
func TestDigitalTrip(t *testing.T) {
	rule := builtin.DigitalRange
	trip := func(v string) string {
		return edit(t, pier, `rails.V3 = "3.3 V +- 2 %"`, `rails.V3 = { operating = "3.3 V +- 2 %", survival = "0 V .. 3.6 V" }`, `"-15 A .. 15 A"`, `"-3 A .. 3 A"`) +
			"\n* shuntwright: monitors.XA.trip = \"" + v + "\""
	}
	wants(t, rule, rules.KindPass, 0, trip("15.9 A"), buoy)
	r := wants(t, rule, rules.KindFail, rules.Error, trip("16.1 A"), buoy)
	if !strings.Contains(r.Message, "the alert is never raised") {
		t.Errorf("%s", r.Message)
	}
	wants(t, rule, rules.KindFail, rules.Error, trip("-16.1 A"), buoy)
	// 15 A x 10 mohm / 10 uV = 15000, which 14 bits with a sign, to 8191, do not hold; 15 bits hold to 16383.
	bits := func(n string) string { return edit(t, buoy, "alert-bits = 16", "alert-bits = "+n) }
	r = wants(t, rule, rules.KindPass, 0, trip("15 A"), bits("15"))
	if m := measure(t, r, "number of the trip"); math.Abs(m.Max-15000) > 1e-6 || m.LimitMax != 16383 || m.LimitMin != -16384 {
		t.Errorf("%+v", m)
	}
	r = wants(t, rule, rules.KindFail, rules.Error, trip("15 A"), bits("14"))
	if !strings.Contains(r.Message, "15000") || !strings.Contains(r.Message, "8191") {
		t.Errorf("%s", r.Message)
	}
	wants(t, rule, rules.KindFail, rules.Error, trip("-15 A"), bits("14"))
	// A register of its own step: 150 mV in steps of 40 uV are 3750.
	wants(t, rule, rules.KindPass, 0, trip("15 A"), edit(t, bits("13"), "alert-bits = 13", `alert-bits = 13, alert-step = "40 uV"`))
	// Unsigned where the part reads one way: 15000 is below 2^14.
	one := edit(t, bits("14"), `"bidirectional"`, `"unidirectional"`)
	wants(t, rule, rules.KindPass, 0, edit(t, trip("15 A"), `"-3 A .. 3 A"`, `"0 A .. 3 A"`), one)
	lacks(t, wants(t, rule, rules.KindOpen, 0, trip("15 A"), edit(t, buoy, "alert-bits = 16, ", "")), "digital.alert-bits")
	// Nothing on the alert's net matters where a trip is declared.
	r = wants(t, rule, rules.KindFail, rules.Warning, edit(t, trip("15 A"), "RA V3 alr 10k\n", ""), buoy)
	if !strings.Contains(r.Message, "alert") {
		t.Errorf("%s", r.Message)
	}
}

// The bus: pulled up to more than the pins survive, or to nothing.
func TestDigitalBus(t *testing.T) {
	rule := builtin.DigitalRange
	deck := edit(t, pier, `rails.V3 = "3.3 V +- 2 %"`, `rails.V3 = { operating = "3.3 V exact", survival = "3.3 V .. 3.6 V" }`) +
		"\n* shuntwright: rails.V5 = { operating = \"5 V exact\", survival = \"5 V .. 5.2 V\" }\nR5 V5 0 1k"
	wants(t, rule, rules.KindPass, 0, deck, buoy)
	// supply + 0.2 V is jointly never reached by the supply itself; 5 V is far above it.
	r := wants(t, rule, rules.KindFail, rules.Error, edit(t, deck, "RD V3 sda", "RD V5 sda"), buoy)
	if m := measure(t, r, "data pulled up to V5"); m.Kind != rules.KindFail || math.Abs(m.Max-5.2) > 1e-9 {
		t.Errorf("%+v", m)
	}
	wants(t, rule, rules.KindPass, 0, edit(t, deck, "RD V3 sda", "RD V5 sda"), edit(t, buoy, "supply + 0.2 V", "5.5 V"))
	// Nothing on a net: the bus is elsewhere. A capacitor and nothing that pulls: a finding. A part that nobody knows may pull.
	wants(t, rule, rules.KindPass, 0, edit(t, deck, "RD V3 sda 4.7k\n", ""), buoy)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, deck, "RD V3 sda 4.7k", "CD sda 0 10p"), buoy)
	d, _, _ := bind(t, "a deck\n"+edit(t, deck, "RD V3 sda 4.7k", "XM sda V3 0 helm")+"\n.end\n", buoy)
	if r := rules.JudgeAt(d, []*rules.Rule{rule}, "XA")[0]; r.Kind != rules.KindPass {
		t.Errorf("%v %s", r.Kind, r.Message)
	}
}
