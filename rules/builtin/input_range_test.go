package builtin_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// ranged is exactSense with a linear range of its input that is not the same both ways.
func ranged(t testing.TB, limits string) string {
	t.Helper()
	return edit(t, exactSense(t), "input = {", "differential = { operating = \""+limits+"\" }\ninput = {")
}

// 1 mohm: 30 A is 30 mV, -20 A is -20 mV.
func TestInputFullScale(t *testing.T) {
	rule := builtin.InputFullScale
	over := func(current string) string { return steady(t, "-20 A .. 20 A", current) }
	part := ranged(t, "-20 mV .. 30 mV")
	r := wants(t, rule, rules.KindPass, 0, over("-20 A .. 30 A"), part)
	if m := measure(t, r, "in+ less in-"); !near(m.Min, -0.02, 1e-9) || !near(m.Max, 0.03, 1e-9) {
		t.Errorf("%v .. %v", m.Min, m.Max)
	}
	wants(t, rule, rules.KindFail, rules.Error, over("-20 A .. 30.01 A"), part)
	wants(t, rule, rules.KindFail, rules.Error, over("-20.01 A .. 30 A"), part)
	// Turned round, the other end is the one.
	turned := edit(t, over("-30 A .. 20 A"), "XA BUS LOAD", "XA LOAD BUS")
	wants(t, rule, rules.KindPass, 0, turned, part)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, turned, "-30 A .. 20 A", "-20 A .. 20.1 A"), part)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, over("-30 A .. 20 A"), `from = "BUS"`, `from = "BUS"`), part)
	wants(t, rule, rules.KindPass, 0, edit(t, over("-30 A .. 20 A"), `from = "BUS"`, `from = "LOAD"`), part)
	// The tolerance of 1 % counts: 29.7 A x 1.01 mohm = 29.997 mV.
	wants(t, rule, rules.KindPass, 0, edit(t, tug, "-20 A .. 20 A", "-19 A .. 29.7 A"), part)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, tug, "-20 A .. 20 A", "-19 A .. 29.8 A"), part)
	// What the filter takes does not reach the pins: 5.1/(5.1 + 0.2) of 31 mV, with Rd 21 % larger 0.9686 of it = 30.02 mV.
	taken := edit(t, filtered(t, "100", "100", sense40), "tolerances.resistors = \"1 %\"", "tolerances.resistors = \"0 %\"", "-20 A .. 20 A", "-20 A .. %s A")
	wants(t, rule, rules.KindPass, 0, strings.Replace(taken, "%s", "30.9", 1), part)
	wants(t, rule, rules.KindFail, rules.Error, strings.Replace(taken, "%s", "31", 1), part)
	// Without the direction only what fails both ways fails.
	wants(t, rule, rules.KindPass, 0, edit(t, over("-20 A .. 20 A"), `, from = "BUS"`, ""), part)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, over("-20 A .. 30 A"), `, from = "BUS"`, ""), part), "currents.RSH.from")
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, tugSense), "differential.operating")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, `range = "-20 A .. 20 A", `, ""), part), "currents.RSH.range")
	// A code with less gain and a wider range is a remedy, and so is the shunt.
	d := load(t, over("-20 A .. 40 A"), part)
	for _, r := range rules.Judge(d, all).Results {
		if r.Rule == rule.ID && (r.Remedy == nil || !strings.Contains(r.Remedy.Text, "RSH at most 750 uohm")) {
			t.Errorf("remedy %+v", r.Remedy)
		}
	}
}

// 1 mohm: the goal from 5 A on begins at 5 mV, the least current of 0.5 A at 0.5 mV.
func TestMinimumSenseVoltage(t *testing.T) {
	rule := builtin.MinimumSenseVoltage
	least := func(v string) string {
		return edit(t, exactSense(t), "input = {", "differential = { least = "+v+" }\ninput = {")
	}
	goal := "\n* shuntwright: goals.XA = { error = \"2 %\", at = \"5 A\" }"
	r := wants(t, rule, rules.KindPass, 0, steady(t)+goal, least(`"0.5 mV"`))
	if m := measure(t, r, "input at the current where the goal begins"); !near(m.Min, 5e-3, 1e-9) || !near(m.LimitMin, 0.5e-3, 1e-9) {
		t.Errorf("%v against %v", m.Min, m.LimitMin)
	}
	wants(t, rule, rules.KindFail, rules.Warning, steady(t)+goal, least(`"0.51 mV"`))
	wants(t, rule, rules.KindFail, rules.Warning, steady(t)+goal, least(`"5 mV"`))
	wants(t, rule, rules.KindFail, rules.Error, steady(t)+goal, least(`"5.01 mV"`))
	wants(t, rule, rules.KindFail, rules.Warning, steady(t), least(`"5.01 mV"`))
	wants(t, rule, rules.KindPass, 0, steady(t, `, least = "0.5 A"`, "")+goal, least(`"5 mV"`))
	// Zones: 40 V to 58 V does not reach the low one; a bus down to 3 V does; between two points a straight line is read: at
	// 20 V, half-way between 10 V and 30 V, 6 mV.
	zones := least(`[["-5 V", "9 mV"], ["10 V", "9 mV"], ["30 V", "3 mV"], ["62 V", "3 mV"]]`)
	bus := func(v string) string { return edit(t, steady(t)+goal, "40 V .. 58 V", v) }
	wants(t, rule, rules.KindFail, rules.Warning, bus("40 V .. 58 V"), zones)
	wants(t, rule, rules.KindFail, rules.Error, bus("3 V .. 58 V"), zones)
	r = judge(t, rule, bus("20 V .. 58 V"), zones)
	// The load's side stands 20 mV lower or higher: 6 mV + 20 mV x 0.3 mV/V.
	if m := measure(t, r, "input at the current where the goal begins"); !near(m.LimitMin, 6e-3+0.02*0.3e-3, 1e-9) {
		t.Errorf("limit %v", m.LimitMin)
	}
	step := least(`[["-5 V", "9 mV"], ["12 V", "9 mV"], ["12 V", "0.3 mV"], ["62 V", "0.3 mV"]]`)
	wants(t, rule, rules.KindPass, 0, bus("12.1 V .. 58 V"), step)
	wants(t, rule, rules.KindFail, rules.Error, bus("11.9 V .. 58 V"), step)
	// A current that is declared as negative counts by its size.
	wants(t, rule, rules.KindPass, 0, edit(t, steady(t)+goal, `at = "5 A"`, `at = "-5 A"`), least(`"0.5 mV"`))
	wants(t, rule, rules.KindNotApplicable, 0, steady(t)+goal, exactSense(t))
	wants(t, rule, rules.KindNotApplicable, 0, steady(t, `, least = "0.5 A"`, ""), least(`"5 mV"`))
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, steady(t, `, least = "0.5 A"`, "")+goal, `, at = "5 A"`, ""), least(`"5 mV"`)), "currents.RSH.least")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, bus("40 V .. 58 V"), "* shuntwright: rails.BUS = \"40 V .. 58 V\"\n", "", "RL LOAD 0 4\n", ""), zones), "rails.")
}

// A 5 V amplifier at 5 V exactly in front of a converter that lives on 3.3 V: 1.4 V over 3.6 V, through 1 kohm 1.4 mA.
func TestAdcOvervoltage(t *testing.T) {
	rule := builtin.AdcOvervoltage
	deck := func(keys, more string) string {
		return steady(t) + "\nRO out adc 1k\nCO adc 0 10n\nCV V3 0 1u\n* shuntwright: rails.V3 = \"3.3 V exact\"\n* shuntwright: converters.adc = { range = \"0 V .. V3\"" + keys + " }" + more
	}
	takes := func(amps string) string { return deck(`, survival-current = "`+amps+`"`, "") }
	r := wants(t, rule, rules.KindPass, 0, takes("1.4 mA"), exactSense(t))
	if m := measure(t, r, "current into adc with the output at its supply"); !near(m.Max, 1.4e-3, 1e-9) {
		t.Errorf("%v", m.Max)
	}
	if !strings.Contains(strings.Join(r.Assumed, " "), "0.3 V") {
		t.Errorf("assumed %q", r.Assumed)
	}
	wants(t, rule, rules.KindFail, rules.Error, takes("1.39 mA"), exactSense(t))
	// Nothing said of the current: 5 mA is too much for all, less is for the maker to say.
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck("", ""), exactSense(t)), "converters.adc.survival-current")
	wants(t, rule, rules.KindFail, rules.Error, edit(t, deck("", ""), "RO out adc 1k", "RO out adc 270"), exactSense(t))
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, deck("", ""), "RO out adc 1k", "RO out adc 285"), exactSense(t)), "converters.adc.survival-current")
	// Declared survival: 5 V is survived.
	wants(t, rule, rules.KindPass, 0, deck(`, survival = "-0.3 V .. 5.1 V"`, ""), exactSense(t))
	wants(t, rule, rules.KindFail, rules.Error, deck(`, survival = "-0.3 V .. V3 + 0.2 V", survival-current = "1.45 mA"`, ""), exactSense(t))
	wants(t, rule, rules.KindPass, 0, deck(`, survival = "-0.3 V .. V3 + 0.3 V", survival-current = "1.45 mA"`, ""), exactSense(t))
	// With nothing in series there is no limit.
	bare := edit(t, deck("", ""), "RO out adc 1k\n", "", "CO adc 0", "CO out 0", "converters.adc", "converters.out")
	if r = wants(t, rule, rules.KindFail, rules.Error, bare, exactSense(t)); !strings.Contains(r.Message, "with nothing in series") {
		t.Error(r.Message)
	}
	// One net has no difference to itself, whatever it does and with no tolerance declared.
	same := edit(t, deck("", ""), `"5 V exact"`, `"3 V .. 5.5 V"`, "0 V .. V3", "0 V .. V5")
	wants(t, rule, rules.KindPass, 0, same, exactSense(t))
	// A range that ends at a figure: below it all is well, above it the supply is not known.
	wants(t, rule, rules.KindPass, 0, edit(t, same, "0 V .. V5", "0 V .. 5.5 V"), exactSense(t))
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, same, "0 V .. V5", "0 V .. 3 V"), exactSense(t)), "converters.adc.survival")
	// The amplifier on while the converter is off: 5 V - 0.3 V through 1 kohm.
	state := "\n* shuntwright: states.asleep.rails = { V3 = \"0 V\" }"
	r = wants(t, rule, rules.KindFail, rules.Error, takes("1.5 mA")+state, exactSense(t))
	if !strings.Contains(r.Message, "while asleep") {
		t.Error(r.Message)
	}
	if m := measure(t, r, "current into adc with the output at its supply while asleep"); !near(m.Max, 4.7e-3, 1e-9) {
		t.Errorf("%v", m.Max)
	}
	wants(t, rule, rules.KindPass, 0, takes("4.7 mA")+state, exactSense(t))
	wants(t, rule, rules.KindPass, 0, takes("1.5 mA")+"\n* shuntwright: states.asleep.rails = { V3 = \"0 V\", V5 = \"0 V\" }", exactSense(t))
	// A divider into the converter: 2/3 of 5 V is below 3.6 V.
	wants(t, rule, rules.KindPass, 0, deck("", "")+"\nRD adc 0 2k", exactSense(t))
	wants(t, rule, rules.KindNotApplicable, 0, steady(t), exactSense(t))
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, deck("", ""), "range = \"0 V .. V3\"", "bits = 12"), exactSense(t)), "converters.adc.survival")
	chip := exactSense(t) + "\n[[part]]\nname = \"tug-converter\"\nrole = \"converter\"\npins = [\"in\", \"ground\"]\ninput = { survival-current = \"1.5 mA\" }\n"
	wants(t, rule, rules.KindPass, 0, deck("", "")+"\nXC adc 0 tug-converter", chip)
	// A net that feeds the amplifier's reference pins is the converter's reference: its supply may be higher.
	ref := edit(t, deck("", ""), "0 V .. V3", "0 V .. VM", "CV V3 0 1u\n* shuntwright: rails.V3 = \"3.3 V exact\"\n", "", "RO out adc 1k", "RO out adc 100")
	lacks(t, wants(t, rule, rules.KindOpen, 0, ref, exactSense(t)), "converters.adc.survival")
	wants(t, rule, rules.KindPass, 0, edit(t, ref, "range = \"0 V .. VM\"", "range = \"0 V .. VM\", survival = \"-0.3 V .. V5 + 0.3 V\""), exactSense(t))
	behind := edit(t, ref, "0 VM VM V5 tug", "0 r r V5 tug") + "\nRA VM h 10k\nRB h 0 10k\nEB b 0 h 0 1\nRC b r 22"
	lacks(t, wants(t, rule, rules.KindOpen, 0, behind, exactSense(t)), "converters.adc.survival")
	// An output that the record ends at 3.5 V.
	most := edit(t, exactSense(t), `high = "supply - 70 mV"`, `high = "supply - 70 mV", most = "3.5 V"`)
	wants(t, rule, rules.KindPass, 0, deck("", ""), most)
	wants(t, rule, rules.KindFail, rules.Error, takes("1 mA"), edit(t, most, `"3.5 V"`, `"4.7 V"`))
}
