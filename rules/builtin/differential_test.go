package builtin_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// berthDeck feeds a controller over 20 mohm; between its inputs the part survives 6 V.
const berthDeck = `* shuntwright: rails.BUS = "30 V .. 48 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.VM = "2.5 V +- 1 %"
* shuntwright: currents.RSH = { range = "0 A .. 4 A", from = "BUS", fault = "200 A for 20 us" }
* shuntwright: tolerances.resistors = "1 %"
RSH BUS LOAD 20m
RL LOAD 0 12
XA BUS LOAD out 0 VM V5 buoy-sense-25`

func TestDifferentialSurvival(t *testing.T) {
	rule := builtin.DifferentialSurvival
	fault := func(a string) string { return edit(t, berthDeck, "200 A", a) }
	// By power: 200 A in 20.2 mohm lose 808 W, and 808 W / 200 A are 4.04 V.
	r := wants(t, rule, rules.KindPass, 0, berthDeck, buoyParts)
	agrees(t, "difference", measure(t, r, "in+ less in- in a fault").Max, 808./200, 1e-9)
	// 6 V / 20.2 mohm = 297.03 A; reaching the rating fails.
	wants(t, rule, rules.KindPass, 0, fault("297 A"), buoyParts)
	wants(t, rule, rules.KindFail, rules.Error, fault("297.1 A"), buoyParts)
	exact := berthDeck + "\n* shuntwright: elements.RSH.tolerance = \"0 %\""
	wants(t, rule, rules.KindFail, rules.Error, edit(t, exact, "200 A", "300 A"), buoyParts)
	// The other orientation, and a current that flows both ways.
	r = wants(t, rule, rules.KindFail, rules.Error, edit(t, fault("320 A"), `from = "BUS"`, `from = "LOAD"`), buoyParts)
	agrees(t, "turned", measure(t, r, "in+ less in- in a fault").Min, -320*20.2e-3, 1e-9)
	r = wants(t, rule, rules.KindPass, 0, edit(t, berthDeck, "0 A .. 4 A", "-4 A .. 4 A"), buoyParts)
	if m := measure(t, r, "in+ less in- in a fault"); m.Min != -m.Max {
		t.Errorf("a fault of either sign: %v .. %v", m.Min, m.Max)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, berthDeck, `range = "0 A .. 4 A", `, ""), buoyParts), "currents.RSH.range")
	unrated := edit(t, buoyParts, `, survival = "-6 V .. 6 V"`, "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, berthDeck, unrated), "differential.survival")
	wants(t, rule, rules.KindPass, 0, fault("5 A"), unrated) // what it measures it survives
}

// A fault that nobody declared is asked for where a short could be too much: 48 V x Rs / (Rs + 10 mohm).
func TestUndeclaredFault(t *testing.T) {
	rule := builtin.DifferentialSurvival
	bare := edit(t, berthDeck, `, fault = "200 A for 20 us"`, "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, bare, buoyParts), "currents.RSH.fault")
	// 6 V of 48 V: Rs is a seventh of 10 mohm, 1.4286 mohm, of a 1 % part 1.414 mohm.
	wants(t, rule, rules.KindPass, 0, edit(t, bare, "LOAD 20m", "LOAD 1.41m"), buoyParts)
	wants(t, rule, rules.KindOpen, 0, edit(t, bare, "LOAD 20m", "LOAD 1.42m"), buoyParts)
	// A supply that is lower than the rating can do nothing.
	wants(t, rule, rules.KindPass, 0, edit(t, bare, "30 V .. 48 V", "3 V .. 5.9 V"), buoyParts)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, bare, "LOAD 20m", "LOAD 2"), buoyParts) // 4 A alone are too much
}

func TestOpenShunt(t *testing.T) {
	rule := builtin.DifferentialSurvival
	policy := func(deck, w string) string {
		return edit(t, deck, `from = "BUS"`, `from = "BUS", open-shunt = "`+w+`"`)
	}
	wants(t, rule, rules.KindPass, 0, policy(berthDeck, "accepted"), buoyParts)
	r := wants(t, rule, rules.KindFail, rules.Warning, policy(berthDeck, "survive"), buoyParts)
	if m := measure(t, r, "in+ less in- with the shunt open"); m.Max != 48 {
		t.Errorf("with the shunt open %v", m.Max)
	}
	wants(t, rule, rules.KindFail, rules.Error, policy(berthDeck, "safe"), buoyParts)
	wants(t, rule, rules.KindPass, 0, edit(t, policy(berthDeck, "safe"), "30 V .. 48 V", "3 V .. 5.9 V"), buoyParts)
	wants(t, rule, rules.KindPass, 0, policy(berthDeck, "safe"), edit(t, buoyParts, `"-6 V .. 6 V"`, `"-50 V .. 50 V"`))
}

// A protection between the inputs takes a current, and the filter limits it.
func TestProtectionBetweenInputs(t *testing.T) {
	rule := builtin.DifferentialSurvival
	diode := edit(t, buoyParts, `survival-current = "5 mA"`, `survival-current = "5 mA", clamp-voltage = "0.6 V"`)
	filtered := func(ohms string) string {
		return edit(t, berthDeck, "XA BUS LOAD", "RF1 BUS inp "+ohms+"\nRF2 LOAD inm "+ohms+"\nXA inp inm")
	}
	// 4.04 V - 0.6 V = 3.44 V over twice 99 % of R: 5 mA at 347.5 ohm each.
	r := wants(t, rule, rules.KindFail, rules.Error, filtered("100"), diode)
	agrees(t, "current", measure(t, r, "input current with in+ less in- in a fault").Max, 3.44/198, 1e-9)
	wants(t, rule, rules.KindFail, rules.Error, filtered("347"), diode)
	wants(t, rule, rules.KindPass, 0, filtered("348"), diode)
	r = wants(t, rule, rules.KindFail, rules.Error, berthDeck, diode)
	if !strings.Contains(r.Message, "is not limited") {
		t.Error(r.Message)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, filtered("348"), edit(t, diode, `survival-current = "5 mA", `, "")), "input.survival-current")
	// Below the protection's voltage nothing flows and nothing is asked.
	small := edit(t, filtered("10"), "200 A", "29 A")
	wants(t, rule, rules.KindPass, 0, small, edit(t, diode, `survival-current = "5 mA", `, ""))
}

func TestPassiveRating(t *testing.T) {
	rule := builtin.PassiveRating
	filtered := edit(t, berthDeck, "XA BUS LOAD", "RF1 BUS inp 10\nRF2 LOAD inm 10\nCD inp inm 100n\nCP inp 0 1n\nRB inm 0 1MEG\nXA inp inm",
		"* shuntwright: tolerances.resistors = \"1 %\"", "* shuntwright: tolerances.resistors = \"0 %\"")
	rated := filtered + "\n* shuntwright: elements.CP.voltage = \"%1\""
	wants(t, rule, rules.KindPass, 0, edit(t, rated, "%1", "100 V"), buoyParts)
	wants(t, rule, rules.KindPass, 0, edit(t, rated, "%1", "48 V"), buoyParts)
	r := wants(t, rule, rules.KindFail, rules.Warning, edit(t, rated, "%1", "47.9 V"), buoyParts)
	if !strings.Contains(r.Message, "voltage across CP reaches 48.0") {
		t.Error(r.Message)
	}
	// 48 V are asked for at a capacitor and not at a resistor; 15 V at neither; 60 V at both.
	r = wants(t, rule, rules.KindOpen, 0, filtered, buoyParts)
	if lacks(t, r, "elements.CP.voltage"); len(r.Needs) != 1 {
		t.Error(r.Needs)
	}
	r = wants(t, rule, rules.KindPass, 0, edit(t, filtered, "30 V .. 48 V", "9 V .. 15 V"), buoyParts)
	if !strings.Contains(strings.Join(r.Assumed, " "), "CP: no working voltage declared, 16 V counted") {
		t.Error(r.Assumed)
	}
	if r = wants(t, rule, rules.KindOpen, 0, edit(t, filtered, "30 V .. 48 V", "30 V .. 60 V"), buoyParts); len(r.Needs) != 2 {
		t.Error(r.Needs)
	}
	// A capacitor with a record, below ground as well as above.
	tank := buoyParts + "\n[[part]]\nname = \"tank-1n\"\nrole = \"capacitor\"\npins = [\"a\", \"b\"]\nvoltage = \"50 V\"\n"
	own := edit(t, filtered, "CP inp 0 1n", "XCP inp 0 tank-1n")
	wants(t, rule, rules.KindPass, 0, own, tank)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, own, "30 V .. 48 V", "-51 V .. -30 V"), tank)
	// A bead makes a filter as well, a link of 0 ohm none.
	bead := edit(t, rated, "RF1 BUS inp 10", "LF1 BUS inp 1u", "%1", "47.9 V")
	wants(t, rule, rules.KindFail, rules.Warning, bead, buoyParts)
	wants(t, rule, rules.KindPass, 0, edit(t, bead, "LF1 BUS inp 1u", "RF1 BUS inp 0"), buoyParts)
	// Controls: capacitors of the bus are no sense parts; no filter, nothing to rate.
	wants(t, rule, rules.KindNotApplicable, 0, berthDeck+"\nCB BUS 0 100u", buoyParts)
	wants(t, rule, rules.KindOpen, 0, edit(t, filtered, "* shuntwright: rails.BUS = \"30 V .. 48 V\"\n", "", "RL LOAD 0 12\n", ""), buoyParts)
}

// An open shunt puts 48 V over 20 ohm: 115 W in both, 57.6 W in each.
func TestPassivesWithShuntOpen(t *testing.T) {
	rule := builtin.PassiveRating
	deck := func(policy, watts string) string {
		d := edit(t, berthDeck, "XA BUS LOAD", "RF1 BUS inp 10\nRF2 LOAD inm 10\nXA inp inm", `from = "BUS"`, `from = "BUS", open-shunt = "`+policy+`"`,
			"* shuntwright: tolerances.resistors = \"1 %\"", "* shuntwright: tolerances.resistors = \"0 %\"")
		if watts != "" {
			d += "\n* shuntwright: elements.RF1.power = \"" + watts + "\"\n* shuntwright: elements.RF2.power = \"" + watts + "\""
		}
		return d
	}
	r := wants(t, rule, rules.KindFail, rules.Error, deck("safe", "0.1 W"), buoyParts)
	both := measure(t, r, "power of RF1 with the shunt open").Max + measure(t, r, "power of RF2 with the shunt open").Max
	agrees(t, "power of both", both, 115.2, 1e-9)
	wants(t, rule, rules.KindFail, rules.Warning, deck("survive", "57 W"), buoyParts)
	wants(t, rule, rules.KindPass, 0, deck("survive", "58 W"), buoyParts)
	wants(t, rule, rules.KindNotApplicable, 0, deck("accepted", ""), buoyParts)
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck("safe", ""), buoyParts), "elements.RF1.power")
	// Inputs that stand the supply let nothing through, whatever the resistors are made for.
	wants(t, rule, rules.KindPass, 0, deck("safe", ""), edit(t, buoyParts, `"-6 V .. 6 V"`, `"-50 V .. 50 V"`))
	// With a protection at 0.6 V there are 47.4 V left, 56.2 W in each.
	diode := edit(t, buoyParts, `survival-current = "5 mA"`, `survival-current = "5 mA", clamp-voltage = "0.6 V"`)
	agrees(t, "power", measure(t, judge(t, rule, deck("safe", "1 W"), diode), "power of RF1 with the shunt open").Max, 47.4*47.4/400*10, 1e-9)
}

// A low-side shunt that opens leaves its net to the load, which lifts it to the supply; so does a short into it. What drives it
// may be declared where no load is drawn.
func TestLowSideShuntOpen(t *testing.T) {
	rule := builtin.DifferentialSurvival
	deck := edit(t, berthDeck, "RSH BUS LOAD 20m\nRL LOAD 0 12", "RL BUS LOW 12\nRSH LOW 0 20m", "XA BUS LOAD", "XA LOW 0", `from = "BUS"`, `from = "LOW", open-shunt = "safe"`)
	r := wants(t, rule, rules.KindFail, rules.Error, deck, buoyParts)
	agrees(t, "open", measure(t, r, "in+ less in- with the shunt open").Max, 48, 1e-3)
	r = judge(t, rule, edit(t, deck, "XA LOW 0", "XA 0 LOW", "RSH LOW 0", "RSH 0 LOW"), buoyParts)
	agrees(t, "open, the other way around", measure(t, r, "in+ less in- with the shunt open").Max, 48, 1e-3)
	wants(t, rule, rules.KindPass, 0, edit(t, deck, "30 V .. 48 V", "3 V .. 5.9 V"), buoyParts)
	// Two times 10 ohm take 57.6 W each, as those of a high-side shunt do.
	burnt := edit(t, deck, "XA LOW 0", "RF1 LOW P 10\nRF2 0 N 10\nXA P N", `"1 %"`, `"0 %"`) + "\n* shuntwright: elements.RF1.power = \"1 W\"\n* shuntwright: elements.RF2.power = \"1 W\""
	r = wants(t, builtin.PassiveRating, rules.KindFail, rules.Error, burnt, buoyParts)
	agrees(t, "power", measure(t, r, "power of RF1 with the shunt open").Max, 57.6, 1e-3)
	// Without a load nobody knows; declared, 5.9 V do nothing and 6 V do.
	none := edit(t, deck, "RL BUS LOW 12\n", "RB BUS 0 1k\n")
	lacks(t, wants(t, rule, rules.KindOpen, 0, none, buoyParts), "currents.RSH.fault-voltage")
	wants(t, rule, rules.KindPass, 0, edit(t, none, `open-shunt`, `fault-voltage = "5.9 V", open-shunt`), buoyParts)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, none, `open-shunt`, `fault-voltage = "6 V", open-shunt`), buoyParts)
	// Undeclared, a short: 48 V x 20 / 30 may be too much.
	short := edit(t, deck, `, fault = "200 A for 20 us"`, "", `, open-shunt = "safe"`, "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, short, buoyParts), "currents.RSH.fault")
	wants(t, rule, rules.KindPass, 0, edit(t, short, "LOW 0 20m", "LOW 0 1.41m"), buoyParts)
	// Where no rail is declared nothing says what a short drives.
	bare := edit(t, berthDeck, `, fault = "200 A for 20 us"`, "", "* shuntwright: rails.BUS = \"30 V .. 48 V\"\n", "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, bare, buoyParts), "currents.RSH.fault")
}
