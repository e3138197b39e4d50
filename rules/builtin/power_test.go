package builtin_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// within asserts a number that was worked out by hand.
func within(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// heated is a channel whose shunt of 2 mohm +- 1 % carries 20 A effective: 0.8 W, 0.808 W at the top of its tolerance.
const heated = `* shuntwright: temperature = "-20 degC .. 60 degC"
* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.VM = "2.5 V +- 0.2 %"
* shuntwright: currents.RSH = { range = "-30 A .. 30 A", from = "BUS", rms = "20 A" }
* shuntwright: tolerances.resistors = "1 %"
* shuntwright: elements.RSH.power = "2 W"
RSH BUS LOAD 2m
RL LOAD 0 4
RM VM 0 100k
XA BUS LOAD out 0 VM VM V5 tug-sense-40`

func TestShuntPower(t *testing.T) {
	rule := builtin.ShuntPower
	power := func(v string) string { return edit(t, heated, `power = "2 W"`, `power = "`+v+`"`) }
	r := wants(t, rule, rules.KindPass, 0, heated, tugSense)
	// By the voltage: 20 A x 2.02 mohm = 40.4 mV, 40.4 mV x 20 A = 0.808 W.
	within(t, "power", measure(t, r, "power of RSH").Max, 0.0404*20, 1e-9)
	// The warning begins at 0.808 W / 0.6 = 1.3467 W, the error at 0.808 W.
	wants(t, rule, rules.KindPass, 0, power("1.354 W"), tugSense)
	if r := wants(t, rule, rules.KindFail, rules.Warning, power("1.340 W"), tugSense); !strings.Contains(r.Message, "more than 60 %") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindFail, rules.Warning, power("0.812 W"), tugSense)
	r = wants(t, rule, rules.KindFail, rules.Error, power("0.804 W"), tugSense)
	if !strings.Contains(r.Message, "RSH makes 808.0 mW, it may make 804.0 mW") {
		t.Error(r.Message)
	}
	// The sign of the current and which way it is drawn change nothing.
	wants(t, rule, rules.KindFail, rules.Error, edit(t, power("0.804 W"), "RSH BUS LOAD", "RSH LOAD BUS", `from = "BUS"`, `from = "LOAD"`), tugSense)
	// Without a rated power nobody can say, and the key is named; without a shunt neither.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, heated, `* shuntwright: elements.RSH.power = "2 W"`+"\n", ""), tugSense), "elements.RSH.power")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, heated, `* shuntwright: temperature = "-20 degC .. 60 degC"`+"\n", ""), tugSense), "temperature")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, heated, `range = "-30 A .. 30 A", from = "BUS", rms = "20 A"`, `from = "BUS"`), tugSense), "currents.RSH.range")
}

// Without an effective current the largest one is a bound: 30 A make 1.818 W, and with a ripple of 12 A on top
// 900 A^2 + 144 A^2 / 12 = 912 A^2 and 1.84224 W. It passes what holds for it and fails nothing.
func TestShuntPowerWithoutEffectiveCurrent(t *testing.T) {
	rule := builtin.ShuntPower
	deck := func(ripple, power string) string {
		return edit(t, heated, `, rms = "20 A"`, ripple, `power = "2 W"`, `power = "`+power+`"`)
	}
	wants(t, rule, rules.KindPass, 0, deck("", "3.045 W"), tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck("", "3.015 W"), tugSense), "currents.RSH.rms")
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck("", "1 W"), tugSense), "currents.RSH.rms")
	const ripple = `, ripple = "12 A"`
	wants(t, rule, rules.KindPass, 0, deck(ripple, "3.086 W"), tugSense)
	wants(t, rule, rules.KindOpen, 0, deck(ripple, "3.055 W"), tugSense)
	within(t, "bound", measure(t, judge(t, rule, deck(ripple, "4 W"), tugSense), "power of RSH").SoundMax, 912*2.02e-3, 1e-9)
	// A current that never falls below 25 A makes at least 1.2375 W in a shunt of 1.98 mohm.
	wants(t, rule, rules.KindFail, rules.Error, edit(t, deck("", "1 W"), "-30 A .. 30 A", "25 A .. 30 A"), tugSense)
}

// A published example of derating (the glossary of a maker of power resistors): 100 W up to 70 degC, nothing at 200 degC,
// so 77 W at 100 degC and 38 W at 150 degC, printed to whole watts.
func TestShuntDerating(t *testing.T) {
	rule := builtin.ShuntPower
	limit := func(ambient string) rules.Measure {
		deck := edit(t, heated, `"-20 degC .. 60 degC"`, `"-20 degC .. `+ambient+`"`, `power = "2 W"`, `power = "100 W"`,
			"\nRSH BUS", "\n* shuntwright: elements.RSH.derating = { from = \"70 degC\", to = \"200 degC\" }\nRSH BUS")
		return measure(t, judge(t, rule, deck, tugSense), "power of RSH")
	}
	within(t, "at 60 degC", limit("60 degC").LimitMax, 100, 1e-9)
	within(t, "at 70 degC", limit("70 degC").LimitMax, 100, 1e-9)
	within(t, "at 100 degC", limit("100 degC").LimitMax, 77, 0.5)
	within(t, "at 150 degC", limit("150 degC").LimitMax, 38, 0.5)
	within(t, "at 200 degC", limit("200 degC").LimitMax, 0, 1e-9)
	within(t, "at 210 degC", limit("210 degC").LimitMax, 0, 1e-9)

	// Undeclared: full up to 70 degC; above it a chip's is counted, (155 - 104) / 85 = 0.6 of 2 W at 104 degC. 0.808 W are
	// less than 60 % of 2 W and more than 60 % of 1.2 W.
	hot := func(v string) string { return edit(t, heated, "60 degC", v) }
	wants(t, rule, rules.KindPass, 0, hot("70 degC"), tugSense)
	r := wants(t, rule, rules.KindReview, 0, hot("104 degC"), tugSense)
	if !strings.Contains(strings.Join(r.Assumed, " "), "RSH: no derating declared") {
		t.Error(r.Assumed)
	}
	declared := func(s string) string {
		return edit(t, hot("104 degC"), "\nRSH BUS", "\n* shuntwright: elements.RSH.derating = { "+s+" }\nRSH BUS")
	}
	wants(t, rule, rules.KindPass, 0, declared(`from = "105 degC", to = "155 degC"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, declared(`from = "70 degC", to = "155 degC"`), tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, declared(`from = "70 degC"`), tugSense), "elements.RSH.derating.to")
}

// Elements in parallel share by their conductance: where 2 mohm take the declared 12 A, 3 mohm take 8 A, which make 0.288 W
// and 0.192 W. A multiplier stands for parts alike.
func TestShuntPowerOfSeveral(t *testing.T) {
	rule := builtin.ShuntPower
	deck := edit(t, heated, "RSH BUS LOAD 2m", "* shuntwright: elements.RS2.power = \"0.3 W\"\nRSH BUS LOAD 2m\nRS2 BUS LOAD 3m",
		`"1 %"`, `"0 %"`, `rms = "20 A"`, `rms = "12 A"`)
	r := wants(t, rule, rules.KindFail, rules.Warning, deck, tugSense)
	within(t, "power of RSH", measure(t, r, "power of RSH").Max, 12*12*2e-3, 1e-12)
	within(t, "power of RS2", measure(t, r, "power of RS2").Max, 8*8*3e-3, 1e-12)
	wants(t, rule, rules.KindPass, 0, edit(t, deck, `"0.3 W"`, `"0.33 W"`), tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, deck, "* shuntwright: elements.RS2.power = \"0.3 W\"\n", ""), tugSense), "elements.RS2.power")
	r = judge(t, rule, edit(t, heated, "LOAD 2m", "LOAD 8m m=4", `"1 %"`, `"0 %"`), tugSense)
	within(t, "power of each copy", measure(t, r, "power of RSH").Max, 5*5*8e-3, 1e-12)
}

// A fault of 90 A for 20 us leaves 90^2 x 2.02 mohm x 20 us = 327.24 uJ at the top of the tolerance, of either sign.
func TestShuntPulseEnergy(t *testing.T) {
	rule := builtin.ShuntPulseEnergy
	wants(t, rule, rules.KindNotApplicable, 0, heated, tugSense)
	fault := func(size, rating string) string {
		return edit(t, heated, `rms = "20 A"`, `rms = "20 A", fault = "`+size+`"`, "\nRSH BUS", "\n* shuntwright: elements.RSH."+rating+"\nRSH BUS")
	}
	const energy = "energy of a fault in RSH"
	r := wants(t, rule, rules.KindPass, 0, fault("90 A for 20 us", `pulse-energy = "330 uJ"`), tugSense)
	within(t, "energy", measure(t, r, energy).Max, 90*(90*2.02e-3)*20e-6, 1e-12)
	wants(t, rule, rules.KindFail, rules.Warning, fault("90 A for 20 us", `pulse-energy = "325 uJ"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, fault("-90 A for 20 us", `pulse-energy = "325 uJ"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, fault("90 A for 20 us", `pulse-energy = "327.24 uJ"`), tugSense) // a rating
	// The same by its power: 16.362 W while it lasts.
	wants(t, rule, rules.KindPass, 0, fault("90 A for 20 us", `pulse-power = "16.4 W"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, fault("90 A for 20 us", `pulse-power = "16.3 W"`), tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, fault("90 A for 20 us", `voltage = "1 V"`), tugSense), "elements.RSH.pulse-energy")
	// What is no more than the continuous power needs no pulse rating: 31 A make 1.94 W of 2 W; 32 A are 2.07 W.
	wants(t, rule, rules.KindPass, 0, fault("31 A for 20 us", `voltage = "1 V"`), tugSense)
	wants(t, rule, rules.KindOpen, 0, fault("32 A for 20 us", `voltage = "1 V"`), tugSense)

	// Between two points the straight line of double logarithmic paper: 4 mJ at 10 us and 9 mJ at 1 ms make the geometric
	// mean, 6 mJ, at 100 us. At 1 us a tenth of the first energy is left, at 10 ms the last one.
	limit := func(lasts string) float64 {
		deck := fault("90 A for "+lasts, `pulse-energy = [["10 us", "4 mJ"], ["1 ms", "9 mJ"]]`)
		return measure(t, judge(t, rule, edit(t, deck, `power = "2 W"`, `power = "1 mW"`), tugSense), energy).LimitMax
	}
	for lasts, want := range map[string]float64{"10 us": 4e-3, "100 us": 6e-3, "1 ms": 9e-3, "1 us": 0.4e-3, "10 ms": 9e-3} {
		within(t, "rating at "+lasts, limit(lasts), want, 1e-9)
	}
}

// 470 uF charged to 58 V hold 0.79054 J, and as much is lost on the way. A shunt of 2 mohm beside 18 mohm takes a tenth,
// 79.054 mJ. Checked by the integral of a discharge curve in small steps, not by half C V squared.
func TestInrushEnergy(t *testing.T) {
	rule := builtin.ShuntPulseEnergy
	inrush := func(s, rating string) string {
		return edit(t, heated, `rms = "20 A"`, `rms = "20 A", inrush = { `+s+` }`, `"1 %"`, `"0 %"`,
			"\nRSH BUS", "\n* shuntwright: elements.RSH.pulse-energy = \""+rating+"\"\nRSH BUS")
	}
	const whole = `capacitance = "470 uF", voltage = "58 V", resistance = "18 mohm"`
	m := measure(t, wants(t, rule, rules.KindPass, 0, inrush(whole, "80 mJ"), tugSense), "energy of the inrush in RSH")
	const c, v, rs, loop, steps = 470e-6, 58.0, 2e-3, 20e-3, 200000
	sum, dt := 0.0, 20*loop*c/steps
	for k := range steps {
		i := v / loop * math.Exp(-(float64(k)+0.5)*dt/(loop*c))
		sum += i * i * rs * dt
	}
	within(t, "energy", m.Max, sum, 1e-6*sum)
	wants(t, rule, rules.KindFail, rules.Warning, inrush(whole, "78.7 mJ"), tugSense)
	// Without the rest of the loop the shunt may take it all: what stands that stands any.
	rest := `capacitance = "470 uF", voltage = "58 V"`
	wants(t, rule, rules.KindPass, 0, inrush(rest, "0.8 J"), tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, inrush(rest, "80 mJ"), tugSense), "currents.RSH.inrush.resistance")
	lacks(t, wants(t, rule, rules.KindOpen, 0, inrush(`capacitance = "470 uF"`, "0.8 J"), tugSense), "currents.RSH.inrush.voltage")
	lacks(t, wants(t, rule, rules.KindOpen, 0, inrush(`voltage = "58 V"`, "0.8 J"), tugSense), "currents.RSH.inrush.capacitance")
}

// 30 A through 2.02 mohm take 60.6 mV.
func TestBurdenVoltage(t *testing.T) {
	rule := builtin.BurdenVoltage
	wants(t, rule, rules.KindNotApplicable, 0, heated, tugSense)
	with := func(s string) string { return edit(t, heated, `rms = "20 A"`, `rms = "20 A", `+s) }
	m := measure(t, wants(t, rule, rules.KindPass, 0, with(`burden = "60.6 mV"`), tugSense), "voltage of the shunt")
	within(t, "burden", m.Max, 0.0606, 1e-12)
	r := wants(t, rule, rules.KindFail, rules.Warning, with(`burden = "60.5 mV"`), tugSense)
	if !strings.Contains(r.Message, "takes 0.061 V") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, with(`burden = "60.5 mV"`), "-30 A .. 30 A", "-30 A .. 1 A"), tugSense)
	wants(t, rule, rules.KindPass, 0, edit(t, with(`burden = "60.5 mV"`), "-30 A .. 30 A", "-1 A .. 29 A"), tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, with(`burden = "60.5 mV"`), `range = "-30 A .. 30 A", `, ""), tugSense), "currents.RSH.range")
	// A high-side shunt lifts no ground.
	wants(t, rule, rules.KindNotApplicable, 0, with(`ground-lift = "1 mV"`), tugSense)
	low := func(lift string) string {
		return fmt.Sprintf(`* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: rails.V5 = "5 V +- 2 %%"
* shuntwright: currents.RSH = { range = "0 A .. 10 A", from = "LOW", ground-lift = "%s" }
* shuntwright: tolerances.resistors = "0 %%"
RL BUS LOW 5
RSH LOW 0 10m
XA LOW 0 out 0 0 0 V5 tug-sense-40`, lift)
	}
	wants(t, rule, rules.KindPass, 0, low("0.1 V"), tugSense)
	// Ground by another name, over a net tie.
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, low("99.5 mV"), "RSH LOW 0 10m", "RSH LOW PG 10m\nRT PG 0 1m\n* shuntwright: elements.RT.net-tie = true", "XA LOW 0", "XA LOW PG"), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, low("99.5 mV"), tugSense)
}
