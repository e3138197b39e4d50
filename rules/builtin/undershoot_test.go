package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// phaseDeck is an in-line phase channel: its ends reach -1 V less 1 mohm x 20 A at the least.
const phaseDeck = `* shuntwright: rails.BUS = "40 V .. 50 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.VM = "2.5 V +- 0.2 %"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "PH", stray-inductance = "5 nH", slope = "1 A/ns" }
* shuntwright: elements.MH = { drop = "0.5 V .. 1 V", on-resistance = "5 mohm", exclusive-with = ["ML"] }
* shuntwright: elements.ML = { drop = "0.5 V .. 1 V", on-resistance = "5 mohm" }
* shuntwright: elements.RSH.tolerance = "0 %"
* shuntwright: tolerances.resistors = "1 %"
MH BUS gh PH PH fet
ML PH gl 0 0 fet
RSH PH MOT 1m
LM MOT N 1m
VE N 0 20
XA PH MOT out 0 VM VM V5 tug-sense-40
.model fet NMOS`

func TestInputUndershoot(t *testing.T) {
	rule := builtin.InputUndershoot
	stray := func(l, s string) string {
		return edit(t, phaseDeck, `stray-inductance = "5 nH", slope = "1 A/ns"`, `stray-inductance = "`+l+`", slope = "`+s+`"`)
	}
	wide := edit(t, tugSense, `operating = "-5 V .. 62 V"`, `operating = "-30 V .. 62 V"`)
	// By flux and time: 20 A change in 20 ns, so the 5 nH that held 5 nH x 20 A give it up at 100 nVs / 20 ns = 5 V below
	// -1.02 V: in operation the part measures down to -5 V, and it survives -15 V.
	r := wants(t, rule, rules.KindFail, rules.Warning, phaseDeck, tugSense)
	agrees(t, "in-", measure(t, r, "in- while the current changes").Min, -1.02-5, 1e-6)
	wants(t, rule, rules.KindPass, 0, phaseDeck, wide)
	wants(t, rule, rules.KindPass, 0, stray("3.9 nH", "1 A/ns"), tugSense)
	// A tenth above the rating is -13.5 V: 12.48 V of kick; at the rating 13.98 V.
	wants(t, rule, rules.KindPass, 0, stray("12.4 nH", "1 A/ns"), wide)
	wants(t, rule, rules.KindFail, rules.Warning, stray("12.5 nH", "1 A/ns"), wide)
	wants(t, rule, rules.KindFail, rules.Error, stray("14 nH", "1000 A/us"), wide)
	// It lifts as much as it pulls, which is common-mode-survival's: 80 V less 51.02 V are 28.98 V, a tenth less 20.98 V.
	up := builtin.CommonModeSurvival
	wants(t, up, rules.KindPass, 0, stray("20.9 nH", "1 A/ns"), wide)
	wants(t, up, rules.KindFail, rules.Warning, stray("21 nH", "1 A/ns"), wide)
	r = wants(t, up, rules.KindFail, rules.Error, stray("29 nH", "1 A/ns"), wide)
	if !strings.Contains(r.Message, "while the current changes reaches 80.0") {
		t.Error(r.Message)
	}
	// With the current the other way around nothing else happens.
	other := edit(t, phaseDeck, `from = "PH"`, `from = "MOT"`)
	agrees(t, "turned", measure(t, judge(t, rule, other, tugSense), "in- while the current changes").Min, -6.02, 1e-6)
	lacks(t, wants(t, rule, rules.KindOpen, 0, phaseDeck, edit(t, wide, `, survival = "-15 V .. 80 V"`, "")), "common-mode.survival")
}

// Without a stray inductance it is asked for only where something interrupts an inductive current at the shunt.
func TestUndershootUndeclared(t *testing.T) {
	rule := builtin.InputUndershoot
	bare := edit(t, phaseDeck, `, stray-inductance = "5 nH", slope = "1 A/ns"`, "")
	r := wants(t, rule, rules.KindOpen, 0, bare, tugSense)
	lacks(t, r, "currents.RSH.stray-inductance")
	if !strings.Contains(r.Message, "may interrupt the current of LM") {
		t.Error(r.Message)
	}
	// One of both asks for the other.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, phaseDeck, `, slope = "1 A/ns"`, ""), tugSense), "currents.RSH.slope")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, phaseDeck, `stray-inductance = "5 nH", `, ""), tugSense), "currents.RSH.stray-inductance")
	wants(t, builtin.CommonModeSurvival, rules.KindPass, 0, edit(t, phaseDeck, `, slope = "1 A/ns"`, ""), tugSense)
	// Controls: a resistive load, a supply inductor that nothing interrupts, a shunt of no current, a held shunt.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, bare, "LM MOT N 1m", "RM MOT N 1"), tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "RL LOAD 0 4", "LF LOAD out2 10u\nCF out2 0 10u\nRL out2 0 4"), tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "RSH BUS LOAD 1m", "LF0 IN BUS 1u\nMX IN g BUS BUS fet\nRSH BUS LOAD 1m\n.model fet NMOS"), tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, bare, `"-20 A .. 20 A"`, `"0 A .. 0 A"`), tugSense)
	held := edit(t, tug, `from = "BUS"`, `from = "BUS", stray-inductance = "9 nH", slope = "1 A/ns"`) + "\n* shuntwright: rails.LOAD = { follows = \"BUS\", within = \"30 mV\" }"
	wants(t, rule, rules.KindNotApplicable, 0, held, tugSense)
	// The shunt below a half bridge, whose motor is behind the switch.
	foot := edit(t, bare, "RSH PH MOT 1m\nLM MOT N 1m", "LM PH N 1m\nRSH FT 0 1m", "ML PH gl 0 0 fet", "ML PH gl FT FT fet", "XA PH MOT", "XA FT 0",
		`range = "-20 A .. 20 A", from = "PH"`, `range = "-20 A .. 20 A", from = "FT"`)
	if r = wants(t, rule, rules.KindOpen, 0, foot, tugSense); !strings.HasPrefix(r.Message, "ML may interrupt the current of LM") {
		t.Error(r.Message)
	}
	// A switched coil, and a diode alone.
	coil := `* shuntwright: rails.BUS = "40 V .. 48 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "COIL", least = "0.2 A" }
* shuntwright: elements.MB = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 30 mohm" }
LB BUS COIL 80m
RSH COIL SW 20m
DF SW BUS free
MB SW gate 0 0 fet
XA COIL SW out 0 0 0 V5 tug-sense-40
.model fet NMOS
.model free D`
	r = wants(t, rule, rules.KindOpen, 0, coil, tugSense)
	if !strings.HasPrefix(r.Message, "MB may interrupt the current of LB") {
		t.Error(r.Message)
	}
	// Where nothing limits the node that is told by the rules about the common mode and not here again.
	endless := edit(t, coil, "DF SW BUS free\n", "", `least = "0.2 A"`, `least = "0.2 A", stray-inductance = "5 nH", slope = "10 A/us"`)
	wants(t, builtin.CommonModeSurvival, rules.KindFail, rules.Error, endless, tugSense)
	wants(t, rule, rules.KindPass, 0, endless, tugSense)
	below := edit(t, tug, `"40 V .. 58 V"`, `"-20 V .. 58 V"`, `from = "BUS"`, `from = "BUS", stray-inductance = "5 nH", slope = "10 A/us"`)
	wants(t, builtin.CommonModeSurvival, rules.KindFail, rules.Error, below, tugSense)
	wants(t, rule, rules.KindPass, 0, below, tugSense)
}

// A net that intent says is switched moves, whether or not its switches are drawn.
func TestUndershootOfUndrawnSwitches(t *testing.T) {
	undrawn := edit(t, phaseDeck, "MH BUS gh PH PH fet\nML PH gl 0 0 fet\n", "RB BUS 0 10k\n", "\n.model fet NMOS", "",
		"* shuntwright: elements.MH = { drop = \"0.5 V .. 1 V\", on-resistance = \"5 mohm\", exclusive-with = [\"ML\"] }\n", "",
		"* shuntwright: elements.ML = { drop = \"0.5 V .. 1 V\", on-resistance = \"5 mohm\" }\n", "* shuntwright: switching.PH = { between = [\"0\", \"BUS\"], frequency = \"20 kHz\" }\n")
	r := wants(t, builtin.InputUndershoot, rules.KindFail, rules.Warning, undrawn, tugSense)
	agrees(t, "in-", measure(t, r, "in- while the current changes").Min, -5.02, 1e-6)
}

// A capacitor at the shunt takes the energy of the inductance: 5 nH x 20 A^2 / 2 = 1 uJ lift 2.2 nF less 20 % by 33.7 V, which
// is more than 5 V, and 1 uF by 1.58 V; there no slope is needed.
func TestUndershootWithCapacitor(t *testing.T) {
	rule := builtin.InputUndershoot
	with := func(c string) string {
		return edit(t, phaseDeck, "VE N 0 20", "VE N 0 20\nCA PH 0 "+c+"\nCB MOT 0 "+c)
	}
	wide := edit(t, tugSense, `operating = "-5 V .. 62 V"`, `operating = "-30 V .. 62 V"`)
	joules := 5e-9 * 20 * 20 / 2
	r := wants(t, rule, rules.KindPass, 0, with("2.2n"), wide)
	agrees(t, "in-", measure(t, r, "in- while the current changes").Min, -6.02, 1e-6)
	agrees(t, "in-", measure(t, r, "in- while the current changes").SoundMin, -6.02, 1e-6)
	r = wants(t, rule, rules.KindPass, 0, with("1u"), tugSense)
	agrees(t, "in-", measure(t, r, "in- while the current changes").SoundMin, -1.02-math.Sqrt(2*joules/0.8e-6), 1e-6)
	r = wants(t, rule, rules.KindPass, 0, edit(t, with("1u"), `, slope = "1 A/ns"`, ""), tugSense)
	agrees(t, "in-", measure(t, r, "in- while the current changes").Min, -1.02-math.Sqrt(2*joules/1e-6), 1e-6)
}

// A filter before the pin takes the edge off: 20 A in 20 ns, or 40 A from one end of the range to the other in 40 ns, over 100 ohm
// into 10 nF, checked by stepping through time.
func TestUndershootBehindAFilter(t *testing.T) {
	rule := builtin.InputUndershoot
	deck := edit(t, phaseDeck, "XA PH MOT", "RF1 PH P 100\nRF2 MOT N 100\nCF1 P 0 10n\nCF2 N 0 10n\nXA P N", "VE N 0 20", "VE NN 0 20", "LM MOT N 1m", "LM MOT NN 1m",
		`"1 %"`, `"0 %"`) + "\n* shuntwright: tolerances.capacitors = \"0 %\""
	through := func(seconds float64) float64 {
		v, h := 0.0, seconds/1e5
		for range 100000 {
			v += h * (5 - v) / (100 * 10e-9)
		}
		return v
	}
	r := wants(t, rule, rules.KindPass, 0, deck, tugSense)
	rest := measure(t, judge(t, builtin.CommonModeOperating, deck, tugSense), "in-").Min
	agrees(t, "kick", rest-measure(t, r, "in- while the current changes").Min, through(40e-9), 1e-3)
	r = wants(t, rule, rules.KindPass, 0, edit(t, deck, `slope =`, `step = "20 A", slope =`), tugSense)
	agrees(t, "kick of a step", rest-measure(t, r, "in- while the current changes").Min, through(20e-9), 1e-3)
	// Too small a filter lets it through, and a capacitor between the inputs alone is none.
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, deck, "P 0 10n", "P 0 10p", "N 0 10n", "N 0 10p"), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, deck, "CF1 P 0 10n\nCF2 N 0 10n", "CF1 P N 10n"), tugSense)
}
