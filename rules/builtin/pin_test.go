package builtin_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// pierDeck has its reference from a rail of its own.
const pierDeck = `* shuntwright: rails.BUS = "30 V .. 48 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.VR = "5 V +- 1 %"
* shuntwright: currents.RSH = { range = "0 A .. 4 A", from = "BUS" }
* shuntwright: tolerances.resistors = "0 %"
RSH BUS LOAD 20m
RL LOAD 0 12
XA BUS LOAD out 0 VR V5 buoy-sense-25`

func TestPinBeyondSupply(t *testing.T) {
	rule := builtin.PinBeyondSupply
	vr := func(v string) string { return edit(t, pierDeck, `"5 V +- 1 %"`, `"`+v+`"`) }
	// 4.9 V at the least and 0.3 V on top; the record's own limit is a rating, which is reached at 5.2 V.
	wants(t, rule, rules.KindPass, 0, pierDeck, buoyParts)
	wants(t, rule, rules.KindPass, 0, vr("0 V .. 5.19 V"), buoyParts)
	wants(t, rule, rules.KindFail, rules.Error, vr("0 V .. 5.2 V"), buoyParts)
	wants(t, rule, rules.KindPass, 0, vr("-0.29 V .. 5 V"), buoyParts)
	wants(t, rule, rules.KindFail, rules.Error, vr("-0.3 V .. 5 V"), buoyParts)
	// Without the field 0.3 V above the supply are counted, and said.
	plain := edit(t, buoyParts, `, survival = "ground - 0.3 V .. supply + 0.3 V" }`, " }")
	r := wants(t, rule, rules.KindPass, 0, vr("0 V .. 5.2 V"), plain)
	if !strings.Contains(strings.Join(r.Assumed, " "), "the record has no reference.survival") {
		t.Error(r.Assumed)
	}
	wants(t, rule, rules.KindFail, rules.Error, vr("0 V .. 5.21 V"), plain)
	// One net has no difference to itself, whatever it is.
	same := edit(t, pierDeck, "0 VR V5", "0 V5 V5", `"5 V +- 2 %"`, `"3 V .. 5.5 V"`, "* shuntwright: rails.VR = \"5 V +- 1 %\"\n", "")
	r = wants(t, rule, rules.KindPass, 0, same, buoyParts)
	agrees(t, "room", measure(t, r, "ref").Margin, 0.3, 1e-9)
	half := edit(t, same, "0 V5 V5", "0 mid V5") + "\nR1 V5 mid 10k\nR2 mid 0 10k"
	wants(t, rule, rules.KindPass, 0, half, buoyParts)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, pierDeck, "* shuntwright: rails.VR = \"5 V +- 1 %\"\n", ""), buoyParts), "rails.VR")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, pierDeck, "* shuntwright: rails.V5 = \"5 V +- 2 %\"\n", ""), buoyParts), "rails.V5")
}

func TestPinBeyondSupplyInStates(t *testing.T) {
	rule := builtin.PinBeyondSupply
	asleep := pierDeck + "\n* shuntwright: states.asleep = { measuring = false, rails = { V5 = \"0 V\" } }"
	r := wants(t, rule, rules.KindFail, rules.Error, asleep, buoyParts)
	if !strings.Contains(r.Message, "ref while asleep reaches 5.05") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindPass, 0, edit(t, asleep, `V5 = "0 V"`, `V5 = "0 V", VR = "0 V"`), buoyParts)
	// (5.05 V - 0.3 V) / 4.8 kohm = 0.99 mA: less than 1 mA weighs less; over 4.7 kohm it is more.
	behind := func(ohms string) string {
		return edit(t, asleep, "0 VR V5", "0 ref V5") + "\nRR VR ref " + ohms
	}
	wants(t, rule, rules.KindFail, rules.Warning, behind("4.8k"), buoyParts)
	wants(t, rule, rules.KindFail, rules.Error, behind("4.7k"), buoyParts)
	// The output counts where the part is off and something pulls it up, and not while it drives.
	out := edit(t, asleep, "0 VR V5", "0 0 V5") + "\nRP VR out %1"
	driven := edit(t, pierDeck, "0 VR V5", "0 0 V5", `"5 V +- 2 %"`, `"3.3 V +- 2 %"`) + "\nRP VR out 10k"
	wants(t, rule, rules.KindPass, 0, driven, buoyParts)
	r = wants(t, rule, rules.KindFail, rules.Warning, edit(t, out, "%1", "10k"), buoyParts)
	if !strings.Contains(r.Message, "out pulled to VR while asleep") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindFail, rules.Error, edit(t, out, "%1", "1k"), buoyParts)
	wants(t, rule, rules.KindPass, 0, edit(t, asleep, "0 VR V5", "0 0 V5")+"\nRP V5 out 1k\nRD out 0 1k\nRV VR 0 1k", buoyParts)
	// A part with neither pin.
	bare := edit(t, buoyParts, `"ground", "ref", "supply"]`, `"ground", "supply"]`, `reference = { model = "high-impedance", survival = "ground - 0.3 V .. supply + 0.3 V" }`, "")
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, pierDeck, "0 VR V5", "0 V5")+"\nRV VR 0 1k", bare)
	// An enable pin has its own key.
	enabled := edit(t, buoyParts, `"ref", "supply"]`+"\ngain", `"ref", "supply", "enable"]`+"\nenable.survival = \"ground - 0.3 V .. 5.5 V\"\ngain")
	wants(t, rule, rules.KindPass, 0, edit(t, pierDeck, "0 VR V5 buoy", "0 0 V5 VR buoy"), enabled)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, pierDeck, "0 VR V5 buoy", "0 0 V5 VR buoy", `"5 V +- 1 %"`, `"0 V .. 5.6 V"`), enabled)
}

// The inputs of an op amp stand behind its network: op-amp-input-range judges them, and what stands at the shunt is still asked.
func TestSurvivalOfOpAmps(t *testing.T) {
	deck := `* shuntwright: rails.BUS = { operating = "20 V .. 29 V" }
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "0 A .. 10 A", from = "BUS", stray-inductance = "9 nH", slope = "1 A/ns", open-shunt = "safe" }
* shuntwright: tolerances.resistors = "1 %"
* shuntwright: surges.dump = { at = "BUS", voltage = "80 V", resistance = "2.3 ohm", duration = "100 us" }
RSH BUS LOAD 20m
RL LOAD 0 2.4
R1 LOAD N 10k
R2 N OUT 200k
R3 BUS P 10k
R4 P 0 200k
XT 0 BUS mooring-50
XA P N OUT 0 V5 buoy-op`
	parts := buoyParts + `
[[part]]
name = "buoy-op"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2.5 V .. 5.6 V", survival = "-0.3 V .. 6.3 V", current = "0.4 mA" }
`
	for _, rule := range []*rules.Rule{builtin.InputUndershoot, builtin.DifferentialSurvival, builtin.ClampLevel, builtin.ClampCurrent} {
		wants(t, rule, rules.KindNotApplicable, 0, deck, parts)
	}
	for _, rule := range []*rules.Rule{builtin.ClampLeakage, builtin.SurgeEvent} {
		wants(t, rule, rules.KindPass, 0, deck, parts)
	}
	wants(t, builtin.PassiveRating, rules.KindNotApplicable, 0, deck, parts)
}
