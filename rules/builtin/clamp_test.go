package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// buoyParts are an amplifier whose inputs take 5 mA and clamps for it; the numbers are like no catalogue's.
const buoyParts = `
[[part]]
name = "buoy-sense-25"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "25 V/V +- 0.4 %"
direction = "bidirectional"
supply = { operating = "2.9 V .. 5.6 V", survival = "-0.3 V .. 6.3 V", current = "1.4 mA" }
common-mode = { operating = "-3 V .. 64 V", survival = "-8 V .. 70 V" }
differential = { operating = "-110 mV .. 110 mV", survival = "-6 V .. 6 V" }
input = { model = "high-impedance", survival-current = "5 mA" }
bias = { max = "8 uA", mismatch = "0.3 uA" }
output = { low = "40 mV", high = "supply - 80 mV" }
offset = { max = "90 uV" }
reference = { model = "high-impedance", survival = "ground - 0.3 V .. supply + 0.3 V" }

[[part]]
name = "mooring-50"
role = "clamp"
pins = ["anode", "cathode"]
drop = "0.6 V .. 1.1 V"
clamp.standoff = "46 V"
clamp.breakdown = "50 V .. 53 V"
clamp.temperature-coefficient = "1000 ppm/K"
clamp.level = [["10 A", "70 V"]]
clamp.leakage = [["25 degC", "1 uA"], ["105 degC", "30 uA"]]
clamp.pulse-power = [["100 us", "1000 W"], ["10 ms", "100 W"]]
clamp.pulse-energy = [["100 us", "0.1 J"], ["10 ms", "1 J"]]

[[part]]
name = "mooring-50-both"
role = "clamp"
pins = ["a", "b"]
clamp.breakdown = "50 V .. 53 V"
clamp.temperature-coefficient = "1000 ppm/K"
clamp.level = [["10 A", "70 V"]]
`

// quayDeck is a high-side channel with a clamp on its bus and a surge into it.
const quayDeck = `* shuntwright: rails.BUS = { operating = "30 V .. 42 V" }
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.VM = "2.5 V +- 1 %"
* shuntwright: currents.RSH = { range = "0 A .. 20 A", from = "BUS", least = "0.5 A" }
* shuntwright: tolerances.resistors = "1 %"
* shuntwright: temperature = "25 degC .. 85 degC"
* shuntwright: surges.dump = { at = "BUS", voltage = "80 V", resistance = "2.3 ohm", duration = "100 us" }
RSH BUS LOAD 1m
RL LOAD 0 4
XT 0 BUS mooring-50
XA BUS LOAD out 0 VM V5 buoy-sense-25`

func agrees(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

func TestClampLevel(t *testing.T) {
	rule := builtin.ClampLevel
	surge := func(v string) string { return edit(t, quayDeck, `"80 V"`, `"`+v+`"`) }
	// By the divider that source and clamp make instead of the load line: Vbr = 53 V x 1.06 = 56.18 V, Rdyn = (70 V - 53 V) /
	// 10 A = 1.7 ohm, Vc = (Vev Rdyn + Vbr Rs) / (Rdyn + Rs) = (80 x 1.7 + 56.18 x 2.3) / 4 = 66.3035 V.
	r := wants(t, rule, rules.KindPass, 0, quayDeck, buoyParts)
	agrees(t, "level", measure(t, r, "in+ with XT in dump").Max, 66.3035, 1e-9)
	// Within 5 % of 70 V from 66.5 V: Vev = (66.5 x 4 - 129.214) / 1.7 = 80.462 V; at 70 V: 88.698 V.
	wants(t, rule, rules.KindPass, 0, surge("80.4 V"), buoyParts)
	wants(t, rule, rules.KindFail, rules.Warning, surge("80.5 V"), buoyParts)
	wants(t, rule, rules.KindFail, rules.Warning, surge("88.6 V"), buoyParts)
	r = wants(t, rule, rules.KindFail, rules.Error, surge("88.8 V"), buoyParts)
	if !strings.Contains(r.Message, "in+ with XT in dump reaches 70.0") {
		t.Error(r.Message)
	}
	// Beyond 10 A (Vev = 56.18 + 17 + 23 = 96.18 V) the record tells nothing more; what is broken there stays broken.
	far := edit(t, buoyParts, `survival = "-8 V .. 70 V"`, `survival = "-8 V .. 90 V"`)
	wants(t, rule, rules.KindPass, 0, surge("96 V"), far)
	lacks(t, wants(t, rule, rules.KindOpen, 0, surge("96.3 V"), far), "mooring-50 clamp.level")
	wants(t, rule, rules.KindFail, rules.Error, surge("110 V"), buoyParts)
	// A level at every current, and a record without one.
	flat := edit(t, buoyParts, `clamp.level = [["10 A", "70 V"]]`, `clamp.level = "60 V"`)
	wants(t, rule, rules.KindPass, 0, surge("300 V"), flat)
	none := edit(t, buoyParts, `clamp.level = [["10 A", "70 V"]]`, "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, quayDeck, none), "mooring-50 clamp.level")
	wants(t, rule, rules.KindPass, 0, surge("65 V"), none) // even without the clamp
	lacks(t, wants(t, rule, rules.KindOpen, 0, quayDeck, edit(t, none, `clamp.breakdown = "50 V .. 53 V"`, "")), "clamp.breakdown")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, quayDeck, `, resistance = "2.3 ohm"`, ""), buoyParts), "surges.dump.resistance")
	lacks(t, wants(t, rule, rules.KindOpen, 0, quayDeck, edit(t, buoyParts, `, survival = "-8 V .. 70 V"`, "")), "common-mode.survival")
	// Without a coefficient up to 1100 ppm/K is counted, so that 80.3 V (66.44 V at 1000 ppm/K, 66.63 V at 1100) is a review.
	drift := edit(t, buoyParts, `clamp.temperature-coefficient = "1000 ppm/K"`, "")
	if r = wants(t, rule, rules.KindReview, 0, surge("80.3 V"), drift); !strings.Contains(strings.Join(r.Assumed, " "), "temperature-coefficient") {
		t.Error(r.Assumed)
	}
	// The way to the clamp counts: 2.3 ohm more in a fuse, 1 % less, halve what is above the breakdown.
	fused := edit(t, quayDeck, "RSH BUS", "RFU IN BUS 2.3\nRSH BUS", `at = "BUS"`, `at = "IN"`, `"80 V"`, `"90 V"`)
	r = wants(t, rule, rules.KindPass, 0, fused, buoyParts)
	agrees(t, "level behind a fuse", measure(t, r, "in+ with XT in dump").Max, (90*1.7+56.18*(2.3+2.277))/(1.7+2.3+2.277), 1e-9)
}

// Without a declared surge a clamp is judged by what it must do and what it can do.
func TestClampLevelWithoutSurge(t *testing.T) {
	rule := builtin.ClampLevel
	bare := edit(t, quayDeck, "* shuntwright: surges.dump = { at = \"BUS\", voltage = \"80 V\", resistance = \"2.3 ohm\", duration = \"100 us\" }\n", "")
	rated := func(v string) string {
		return edit(t, buoyParts, `survival = "-8 V .. 70 V"`, `survival = "-8 V .. `+v+`"`)
	}
	// 73.18 V at its last point, 56.18 V before it carries anything.
	wants(t, rule, rules.KindPass, 0, bare, rated("78 V"))
	lacks(t, wants(t, rule, rules.KindOpen, 0, bare, rated("70 V")), `surges.NAME with at = "BUS"`)
	wants(t, rule, rules.KindFail, rules.Error, bare, rated("56 V"))
	// A bus that never comes near the breakdown asks nothing of its clamp.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, bare, `{ operating = "30 V .. 42 V" }`, `{ operating = "30 V .. 42 V", survival = "0 V .. 49 V" }`), rated("70 V"))
	wants(t, rule, rules.KindOpen, 0, edit(t, bare, `{ operating = "30 V .. 42 V" }`, `{ operating = "30 V .. 42 V", survival = "0 V .. 71 V" }`), rated("70 V"))
	// One that is promised to stay below the rating, or not.
	wants(t, rule, rules.KindPass, 0, edit(t, bare, `{ operating = "30 V .. 42 V" }`, `{ operating = "30 V .. 42 V", survival = "0 V .. 66 V" }`), rated("70 V"))
	// No clamp at all, one that a switch separates, one that stands on another pin's net.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, quayDeck, "XT 0 BUS mooring-50\n", ""), buoyParts)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, quayDeck, "XT 0 BUS mooring-50", "XT 0 FAR mooring-50\nS1 FAR BUS c 0 sw\n.model sw SW"), buoyParts)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, quayDeck, "XT 0 BUS mooring-50", "XT 0 VM mooring-50"), buoyParts)
	// The same clamp as a diode with a model of the record's name.
	r := wants(t, rule, rules.KindPass, 0, edit(t, quayDeck, "XT 0 BUS mooring-50", "DT 0 BUS mooring-50\n.model mooring-50 D"), buoyParts)
	agrees(t, "level of a diode", measure(t, r, "in- with DT in dump").Max, 66.3035, 1e-9)
	// Two in parallel halve the resistance of one.
	r = wants(t, rule, rules.KindPass, 0, edit(t, quayDeck, "XT 0 BUS mooring-50", "DT 0 BUS mooring-50 M=2\n.model mooring-50 D"), buoyParts)
	agrees(t, "level of two", measure(t, r, "in- with DT in dump").Max, (80*0.85+56.18*2.3)/(0.85+2.3), 1e-9)
}

// A clamp at the shunt is there for both inputs: the one behind a resistance takes a current, the other one the voltage.
func TestClampOverTheShunt(t *testing.T) {
	one := edit(t, quayDeck, "XA BUS LOAD", "RF1 BUS inp 10k\nXA inp LOAD", `"80 V"`, `"90 V"`)
	r := wants(t, builtin.ClampLevel, rules.KindFail, rules.Error, one, buoyParts)
	if !strings.HasPrefix(r.Message, "in- with XT in dump reaches 70.5") {
		t.Error(r.Message)
	}
	r = wants(t, builtin.ClampCurrent, rules.KindPass, 0, one, buoyParts)
	agrees(t, "pin current", measure(t, r, "in+ current with XT in dump").Max, ((90*1.7+129.214)/4-70)/9.9e3, 1e-6)
	for _, m := range r.Measures {
		if strings.HasPrefix(m.Name, "in-") {
			t.Errorf("%s is judged here", m.Name)
		}
	}
	// The surge enters the clamp once.
	if n := len(judge(t, builtin.SurgeEvent, one, buoyParts).Measures); n != 2 {
		t.Errorf("%d measures of one clamp", n)
	}
}

// A clamp at the supply stands for its rating, behind a resistance too: the supply pin says nothing of a current.
func TestClampAtTheSupply(t *testing.T) {
	parts := buoyParts + `
[[part]]
name = "fender-5"
role = "clamp"
pins = ["cathode", "anode"]
clamp.standoff = "5.2 V"
clamp.breakdown = "5.4 V .. 5.6 V"
clamp.temperature-coefficient = "0 ppm/K"
clamp.level = [["2 A", "6 V"]]
clamp.leakage = "10 uA"
`
	at := func(rs, surge string) string {
		return edit(t, quayDeck, "XT 0 BUS mooring-50", "RS V5 vs "+rs+"\nXT vs 0 fender-5", "VM V5 buoy", "VM vs buoy",
			`at = "BUS", voltage = "80 V"`, `at = "V5", voltage = "`+surge+`"`)
	}
	// (9 V x 0.2 ohm + 5.6 V x (2.3 + 0.495) ohm) / 2.995 ohm of a way that is at least 0.495 ohm: 5.827 V, against 6.3 V less 5 %.
	r := wants(t, builtin.ClampLevel, rules.KindPass, 0, at("0.5", "9 V"), parts)
	agrees(t, "level", measure(t, r, "supply with XT in dump").Max, (9*0.2+5.6*2.795)/2.995, 1e-9)
	wants(t, builtin.ClampLevel, rules.KindFail, rules.Error, at("0.5", "9 V"), edit(t, parts, `"-0.3 V .. 6.3 V"`, `"-0.3 V .. 5.8 V"`))
	wants(t, builtin.ClampLevel, rules.KindFail, rules.Warning, at("0.5", "9 V"), edit(t, parts, `"-0.3 V .. 6.3 V"`, `"-0.3 V .. 6.1 V"`))
	// 5.1 V at the most stay below 5.2 V; a rail up to 5.3 V does not.
	wants(t, builtin.ClampLeakage, rules.KindPass, 0, at("0.5", "9 V"), parts)
	wants(t, builtin.ClampLeakage, rules.KindFail, rules.Warning, edit(t, at("0.5", "9 V"), `"5 V +- 2 %"`, `"5 V .. 5.3 V"`), parts)
	// Small resistances and supply currents of milliamperes are no question for the inputs' rules.
	wants(t, builtin.ClampCurrent, rules.KindNotApplicable, 0, at("0.5", "9 V"), parts)
}

// A clamp that works both ways holds a surge below ground as well, one between the legs a difference.
func TestClampLevelBothWays(t *testing.T) {
	rule := builtin.ClampLevel
	both := edit(t, quayDeck, "XT 0 BUS mooring-50", "XT BUS 0 mooring-50-both", `"80 V"`, `"-80 V"`)
	r := wants(t, rule, rules.KindFail, rules.Error, both, buoyParts)
	agrees(t, "level below ground", measure(t, r, "in+ with XT in dump").Min, -66.3035, 1e-9)
	wants(t, rule, rules.KindPass, 0, both, edit(t, buoyParts, `survival = "-8 V .. 70 V"`, `survival = "-75 V .. 75 V"`))
	// A one-way clamp says nothing of it: surge-event does.
	wants(t, rule, rules.KindOpen, 0, edit(t, quayDeck, `"80 V"`, `"-80 V"`), buoyParts)
}

func TestClampCurrent(t *testing.T) {
	rule := builtin.ClampCurrent
	deck := func(ohms, volts string) string {
		return edit(t, quayDeck, "XA BUS LOAD", "RF1 BUS inp "+ohms+"\nRF2 LOAD inm "+ohms+"\nXA inp inm", `"80 V"`, `"`+volts+`"`)
	}
	// A published kind of slip: 1.6 V above what the pin stands over 100 ohm are 16 mA, more than 5 mA. With Vc = 71.6 V:
	// Vev = (71.6 x 4 - 129.214) / 1.7 = 92.4624 V; 99 ohm at the least.
	r := wants(t, rule, rules.KindFail, rules.Error, deck("100", "92.462353 V"), buoyParts)
	agrees(t, "pin current", measure(t, r, "in+ current with XT in dump").Max, 1.6/99, 1e-5)
	agrees(t, "pin current", measure(t, r, "in- current with XT in dump").Max, 1.6/99, 1e-5)
	// 1.6 V / 5 mA = 320 ohm, of a 1 % part 323.3 ohm.
	wants(t, rule, rules.KindFail, rules.Error, deck("323", "92.462353 V"), buoyParts)
	wants(t, rule, rules.KindPass, 0, deck("324", "92.462353 V"), buoyParts)
	// Below the rating nothing flows, and nothing is asked of the record; above it nobody may assume.
	silent := edit(t, buoyParts, `, survival-current = "5 mA"`, "")
	wants(t, rule, rules.KindPass, 0, deck("10", "80 V"), silent)
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck("10k", "92 V"), silent), "input.survival-current")
	// clamp-level leaves this clamp alone, and this rule one without a resistance.
	wants(t, builtin.ClampLevel, rules.KindNotApplicable, 0, deck("100", "92 V"), buoyParts)
	wants(t, rule, rules.KindNotApplicable, 0, quayDeck, buoyParts)
	// Between the legs, behind the filter: 56.18 V and more against 6 V.
	between := edit(t, deck("100", "80 V"), "XT 0 BUS mooring-50", "XT LOAD BUS mooring-50")
	r = wants(t, rule, rules.KindFail, rules.Error, between, buoyParts)
	agrees(t, "pin current", measure(t, r, "in+ current with XT in dump").Max, (66.3035-6)/198, 1e-5)
}

func TestClampLeakage(t *testing.T) {
	rule := builtin.ClampLeakage
	wants(t, rule, rules.KindPass, 0, quayDeck, buoyParts)
	bus := func(v string) string { return edit(t, quayDeck, `"30 V .. 42 V"`, v) }
	// Standoff 46 V, breakdown from 50 V at 25 degC; colder by 1000 ppm/K.
	wants(t, rule, rules.KindPass, 0, bus(`"30 V .. 46 V"`), buoyParts)
	wants(t, rule, rules.KindFail, rules.Warning, bus(`"30 V .. 46.1 V"`), buoyParts)
	wants(t, rule, rules.KindFail, rules.Warning, bus(`"30 V .. 50 V"`), buoyParts)
	r := wants(t, rule, rules.KindFail, rules.Error, bus(`"30 V .. 50.1 V"`), buoyParts)
	if !strings.Contains(r.Message, "conducts while the circuit works") {
		t.Error(r.Message)
	}
	cold := edit(t, bus(`"30 V .. 48 V"`), `"25 degC .. 85 degC"`, `"-25 degC .. 85 degC"`)
	r = wants(t, rule, rules.KindFail, rules.Error, cold, buoyParts)
	agrees(t, "breakdown in the cold", measure(t, r, "voltage across XT").LimitMax, 50*0.95, 1e-9)
	// Either way around where it clamps both ways.
	both := edit(t, quayDeck, "XT 0 BUS mooring-50", "XT BUS 0 mooring-50-both", `"30 V .. 42 V"`, `"-51 V .. 42 V"`)
	wants(t, rule, rules.KindFail, rules.Error, both, buoyParts)
	// A record that says neither.
	dumb := edit(t, buoyParts, `clamp.standoff = "46 V"`, "", `clamp.breakdown = "50 V .. 53 V"`, "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, quayDeck, dumb), "clamp.standoff")
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, quayDeck, "XT 0 BUS mooring-50\n", ""), buoyParts)

	// Behind the filter: 1 uA at 25 degC and 30 uA at 105 degC double every 80 K / log2(30) = 16.30 K, so 12.82 uA at 85 degC,
	// 60 K above 25 degC; through 1.01 ohm these are 12.9 uV, and 20 % of 90 uV are 18 uV.
	leg := func(ohms string) string {
		return edit(t, quayDeck, "XA BUS LOAD", "RF1 BUS inp "+ohms+"\nRF2 LOAD inm "+ohms+"\nXA inp inm", "XT 0 BUS", "XT 0 inp")
	}
	double := 80 / math.Log2(30)
	leak := 1e-6 * math.Exp2(60/double)
	r = wants(t, rule, rules.KindPass, 0, leg("1"), buoyParts)
	agrees(t, "offset", measure(t, r, "offset by clamp leakage at in+").Max, leak*1.01, 1e-9)
	wants(t, rule, rules.KindPass, 0, leg("1.389"), buoyParts) // 18 uV / 12.82 uA / 1.01 = 1.3904 ohm
	wants(t, rule, rules.KindFail, rules.Warning, leg("1.392"), buoyParts)
	// The fix: before the filter it makes no offset.
	wants(t, rule, rules.KindPass, 0, edit(t, leg("100"), "XT 0 inp", "XT 0 BUS"), buoyParts)
	// One value holds at every temperature, as before; beyond the last point nobody said.
	old := edit(t, buoyParts, `clamp.leakage = [["25 degC", "1 uA"], ["105 degC", "30 uA"]]`, `clamp.leakage = "2 uA"`)
	r = wants(t, rule, rules.KindPass, 0, leg("8"), old)
	agrees(t, "offset", measure(t, r, "offset by clamp leakage at in+").Max, 2e-6*8.08, 1e-9)
	hot := edit(t, leg("1"), `"25 degC .. 85 degC"`, `"25 degC .. 115 degC"`)
	lacks(t, wants(t, rule, rules.KindOpen, 0, hot, buoyParts), "clamp.leakage up to 115 degC")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, leg("1"), "* shuntwright: temperature = \"25 degC .. 85 degC\"\n", ""), buoyParts), "temperature")
	lacks(t, wants(t, rule, rules.KindOpen, 0, leg("1"), edit(t, old, `clamp.leakage = "2 uA"`, "")), "mooring-50 clamp.leakage")
	lacks(t, wants(t, rule, rules.KindOpen, 0, leg("1"), edit(t, buoyParts, `offset = { max = "90 uV" }`, "")), "offset.max")
}

// The remedies are judged again: a larger resistance behind the clamp, a smaller one before it.
func TestClampRemedies(t *testing.T) {
	filter := edit(t, quayDeck, "XA BUS LOAD", "RF1 BUS inp %1\nRF2 LOAD inm %1\nXA inp inm")
	for _, c := range []struct {
		deck, records, want string
		rule                *rules.Rule
	}{
		// 1.6 V / 5 mA / 0.99 = 323.2 ohm, to three digits upwards
		{edit(t, filter, "%1", "100", `"80 V"`, `"92.462353 V"`), edit(t, buoyParts, "mismatch = \"0.3 uA\"", "mismatch = \"0 uA\"", `max = "8 uA"`, `max = "0 uA"`),
			"RF1, RF2 at least 324 ohm each", builtin.ClampCurrent},
		{edit(t, filter, "%1", "10", "XT 0 BUS", "XT 0 inp"), buoyParts, "RF1 at most 1.39 ohm", builtin.ClampLeakage},
	} {
		found := false
		for _, r := range rules.Judge(load(t, c.deck, c.records), all).Results {
			if r.Rule == c.rule.ID {
				found = true
				if r.Remedy == nil || r.Remedy.Text != c.want {
					t.Errorf("%s: %s: %+v", r.Rule, r.Message, r.Remedy)
				}
			}
		}
		if !found {
			t.Errorf("%s not judged", c.rule.ID)
		}
	}
}

// A clamp the wrong way around shorts the bus forwards; one up to a rail above conducts nothing.
func TestClampTurnedAround(t *testing.T) {
	rule := builtin.ClampLeakage
	r := wants(t, rule, rules.KindFail, rules.Error, edit(t, quayDeck, "XT 0 BUS mooring-50", "XT BUS 0 mooring-50"), buoyParts)
	if !strings.Contains(r.Message, "XT stands the wrong way round") || !strings.Contains(r.Advice, "exchange anode and cathode") {
		t.Error(r.Message, r.Advice)
	}
	up := edit(t, quayDeck, "XT 0 BUS mooring-50", "XT BUS TOP mooring-50\n* shuntwright: rails.TOP = \"41.5 V .. 60 V\"")
	wants(t, rule, rules.KindPass, 0, up, buoyParts)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, up, "41.5 V", "41.3 V"), buoyParts)
}

// The remedy is a clamp: 94 % of 69 V are 64.86 V, and (80 V - 64.8 V) / 2.3 ohm are 6.609 A, to three
// digits to the safe side.
func TestClampRemedy(t *testing.T) {
	for _, r := range rules.Judge(load(t, quayDeck, edit(t, buoyParts, `survival = "-8 V .. 70 V"`, `survival = "-8 V .. 69 V"`)), []*rules.Rule{builtin.ClampLevel, builtin.ClampLeakage}).Results {
		if r.Rule == builtin.ClampLevel.ID && (r.Remedy == nil || r.Remedy.Text != "a clamp of at most 64.8 V at 6.61 A" || r.Remedy.Kind != rules.KindPass || len(r.Remedy.Breaks) > 0) {
			t.Errorf("%s: %+v", r.Message, r.Remedy)
		}
	}
	// A rating of 44 V asks for a clamp that would conduct while the circuit works: up to 42 V.
	low := edit(t, buoyParts, `operating = "-3 V .. 64 V", survival = "-8 V .. 70 V"`, `operating = "-3 V .. 43 V", survival = "-8 V .. 44 V"`)
	for _, r := range rules.Judge(load(t, quayDeck, low), []*rules.Rule{builtin.ClampLevel, builtin.ClampLeakage}).Results {
		if r.Rule == builtin.ClampLevel.ID && r.Remedy != nil && strings.Contains(r.Remedy.Text, "a clamp of") && len(r.Remedy.Breaks) == 0 {
			t.Errorf("%s: %+v", r.Message, r.Remedy)
		}
	}
}
