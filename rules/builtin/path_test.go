package builtin_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// assumes tells that a result says what it rests on.
func assumes(r rules.Result, text string) bool {
	return slices.ContainsFunc(r.Assumed, func(a string) bool { return strings.Contains(a, text) })
}

// closeTo holds a figure to one worked out by hand.
func closeTo(t testing.TB, what string, got, want, part float64) {
	t.Helper()
	if !(math.Abs(got-want) <= part*math.Abs(want)) {
		t.Errorf("%s is %v, worked out %v", what, got, want)
	}
}

func TestDecoupling(t *testing.T) {
	rule := builtin.Decoupling
	asks := edit(t, tugSense, `current = "1.7 mA" }`, `current = "1.7 mA", decoupling = "220 nF" }`)
	r := wants(t, rule, rules.KindFail, rules.Error, tug, tugSense)
	if !strings.Contains(r.Message, "V5") || !strings.Contains(r.Advice, "100 nF") {
		t.Errorf("%s; %s", r.Message, r.Advice)
	}
	// A capacitor between other nets is none.
	wants(t, rule, rules.KindFail, rules.Error, tug+"\nC1 V5 VM 1u\nC2 out 0 1u", tugSense)
	// 100 nF where the record says nothing: exactly enough, and said to be assumed. 99 nF are short of it.
	if r := wants(t, rule, rules.KindPass, 0, tug+"\nC1 V5 0 100n", tugSense); !assumes(r, "100 nF") {
		t.Errorf("rests on %q", r.Assumed)
	}
	wants(t, rule, rules.KindPass, 0, tug+"\nC1 0 V5 100n", tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, tug+"\nC1 V5 0 99n", tugSense)
	// By hand: 100 nF + 47 nF + 68 nF are 215 nF, 5 nF short of 220 nF; with 5 nF more there are four and it is enough.
	sum := "\nC1 V5 0 100n\nC2 V5 0 47n\nC3 0 V5 68n"
	r = wants(t, rule, rules.KindFail, rules.Warning, tug+sum, asks)
	m := measure(t, r, "capacitance at the supply pin")
	closeTo(t, "sum", m.Min, 215e-9, 1e-9)
	closeTo(t, "margin", m.Margin, -5e-9, 1e-6)
	if r := wants(t, rule, rules.KindPass, 0, tug+sum+"\nC4 V5 0 5n", asks); len(r.Assumed) > 0 {
		t.Errorf("a record that says how much rests on %q", r.Assumed)
	}
	// A part of unknown value is not asked about beside enough, and beside too little the verdict rests on it.
	tank := tugSense + "\n[[part]]\nname = \"tank-1u\"\nrole = \"capacitor\"\npins = [\"a\", \"b\"]\n"
	wants(t, rule, rules.KindPass, 0, tug+"\nX1 V5 0 tank-1u\nC1 V5 0 100n", tank)
	wants(t, rule, rules.KindReview, 0, tug+"\nX1 V5 0 tank-1u\nC1 V5 0 99n", tank)
	// A capacitor without a value is named.
	d, _, _ := bind(t, "a deck\n"+tug+"\nC1 V5 0 ceramic\n.model ceramic C\n.end\n", asks)
	got := rules.JudgeAt(d, []*rules.Rule{rule}, "XA")
	if len(got) != 1 || got[0].Kind != rules.KindOpen {
		t.Fatalf("%+v", got)
	}
	lacks(t, got[0], "the value of C1")
}

// One rail by two names: a piece of wire, a bead, a declared net tie, and the same on the ground side.
func TestDecouplingByOtherNames(t *testing.T) {
	rule := builtin.Decoupling
	fed := func(by string) string { return edit(t, tug, "VM VM V5 tug", "VM VM vs tug") + "\n" + by }
	for by, kind := range map[string]rules.Kind{
		"RZ V5 vs 0\nC1 V5 0 100n":                                             rules.KindPass,
		"LB V5 vs 600n\nC1 V5 0 100n":                                          rules.KindPass,
		"LB V5 vs 600n\nRZ vs v2 0\nC1 v2 0 100n":                              rules.KindPass,
		"LB V5 vs 100u\nC1 V5 0 100n":                                          rules.KindFail,
		"RS V5 vs 10\nC1 V5 0 100n":                                            rules.KindFail,
		"RS V5 vs 10\nC1 V5 0 100n\nC2 vs 0 100n":                              rules.KindPass,
		"RZ V5 vs 0\nRG ag 0 0\nC1 vs ag 100n":                                 rules.KindPass,
		"RZ V5 vs 0\nLG ag 0 300n\nC1 vs ag 100n":                              rules.KindPass,
		"RZ V5 vs 0\nRG ag 0 10\nC1 vs ag 100n":                                rules.KindFail,
		"* shuntwright: elements.RT.net-tie = true\nRT V5 vs 1m\nC1 V5 0 100n": rules.KindPass,
	} {
		level := rules.Level(0)
		if kind == rules.KindFail {
			level = rules.Warning
			if strings.Contains(by, "ag 0 10\n") {
				level = rules.Error
			}
		}
		wants(t, rule, kind, level, fed(by), tugSense)
	}
	r := judge(t, rule, fed("RS V5 vs 10\nC1 V5 0 100n"), tugSense)
	if !strings.Contains(r.Message, "C1") || !strings.Contains(r.Message, "RS") {
		t.Error(r.Message)
	}
}

// Two parts on one net want two capacitors: a note, and the sum is not multiplied.
func TestDecouplingOfSeveralParts(t *testing.T) {
	rule := builtin.Decoupling
	two := tug + "\nXB BUS LOAD o2 0 VM VM V5 tug-sense-40\nC1 V5 0 100n"
	if r := wants(t, rule, rules.KindFail, rules.Note, two, tugSense); !strings.Contains(r.Message, "2 parts share 1 capacitor") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindPass, 0, two+"\nC2 V5 0 100n", tugSense)
}

// The remedy is judged again: the smallest capacitor that suffices beside the other.
func TestDecouplingRemedy(t *testing.T) {
	d := load(t, tug+"\nC1 V5 0 47n", tugSense)
	for _, r := range rules.Judge(d, []*rules.Rule{builtin.Decoupling}).Results {
		if r.Remedy == nil || !strings.Contains(r.Remedy.Text, "C1 at least 100 nF") {
			t.Errorf("%s: remedy %+v", r.Message, r.Remedy)
		}
	}
}

// returning is a low-side channel: 5 mohm from RET to ground.
const returning = `* shuntwright: rails.BUS = "20 V .. 28 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "0 A .. 10 A", from = "RET", least = "0.5 A" }
* shuntwright: tolerances.resistors = "0 %"
RL BUS RET 2
RSH RET 0 5m
XA RET 0 out 0 0 0 V5 tug-sense-40`

func TestShuntBypass(t *testing.T) {
	rule := builtin.ShuntBypass
	goal := "\n* shuntwright: goals.XA = { error = \"3 %\", at = \"2 A\" }"
	wants(t, rule, rules.KindPass, 0, returning, tugSense)
	wants(t, rule, rules.KindPass, 0, tug, tugSense)
	// 0.495 ohm beside 5 mohm take 5/500, exactly the third of 3 %: still within. A hair less of resistance is not. A single
	// resistor within a hundred times the shunt would be one of its group, so here two stand in series.
	r := wants(t, rule, rules.KindPass, 0, returning+goal+"\nRB RET x 0.4\nRC x 0 0.095", tugSense)
	closeTo(t, "share", measure(t, r, "current beside the shunt").Max, 0.01, 1e-9)
	wants(t, rule, rules.KindPass, 0, returning+goal+"\nRB x RET 0.4\nRC 0 x 0.095", tugSense)
	wants(t, rule, rules.KindPass, 0, returning+goal+"\nRB RET x 0.4\nRC x 0 0.0975", tugSense)
	r = wants(t, rule, rules.KindFail, rules.Error, returning+goal+"\nRB RET x 0.4\nRC x 0 0.0925", tugSense)
	if !strings.Contains(r.Message, "RB, RC") || !strings.Contains(r.Message, "RSH") {
		t.Error(r.Message)
	}
	// Without a goal a third of 0.5 %: 3 ohm take 0.1664 %, 2.99 ohm 0.16694 %, and it is only a warning.
	if r := wants(t, rule, rules.KindPass, 0, returning+"\nRB RET 0 3", tugSense); !assumes(r, "0.5 %") {
		t.Errorf("rests on %q", r.Assumed)
	}
	wants(t, rule, rules.KindFail, rules.Warning, returning+"\nRB RET 0 2.99", tugSense)
	// Pieces of wire and coils take all of it.
	for _, cards := range []string{"RB RET x 0\nRC x 0 0", "LB RET 0 10u", "LB RET x 10u\nRC x 0 0"} {
		r := wants(t, rule, rules.KindFail, rules.Error, returning+goal+"\n"+cards, tugSense)
		closeTo(t, cards, measure(t, r, "current beside the shunt").Max, 1, 1e-6)
	}
}

// The resistance beside is that of a network: a bridge of 1, 2, 3, 4 ohm with 5 ohm across. By hand the triangle of 1, 2 and
// 5 ohm is turned into a star of 1 x 2 / 8, 1 x 5 / 8 and 2 x 5 / 8 ohm, where the rule eliminates nodes; what is left is
// 0.25 + (0.625 + 3) || (1.25 + 4) = 2.394366 ohm. Beside 5 mohm: 0.208388 %.
func TestShuntBypassByANetwork(t *testing.T) {
	rbp := 0.25 + 3.625*5.25/(3.625+5.25)
	closeTo(t, "Rbp", rbp, 2.394366, 1e-6)
	bridge := "\nR1 RET a 1\nR2 RET b 2\nR3 a 0 3\nR4 0 b 4\nR5 a b 5"
	r := judge(t, builtin.ShuntBypass, returning+bridge, tugSense)
	closeTo(t, "share", measure(t, r, "current beside the shunt").Max, 5e-3/(5e-3+rbp), 1e-9)
	// A dead end and a loop on one side change nothing.
	r = judge(t, builtin.ShuntBypass, returning+bridge+"\nRD1 a x 1m\nRD2 RET y 1\nRD3 y z 1\nRD4 z RET 1", tugSense)
	closeTo(t, "share", measure(t, r, "current beside the shunt").Max, 5e-3/(5e-3+rbp), 1e-9)
}

// Worst corner by hand: the shunt at 5.05 mohm, 1 ohm at 0.99 ohm.
func TestShuntBypassOverTolerances(t *testing.T) {
	deck := edit(t, returning, `"0 %"`, `"1 %"`) + "\nRB RET 0 1"
	m := measure(t, judge(t, builtin.ShuntBypass, deck, tugSense), "current beside the shunt")
	closeTo(t, "most", m.Max, 5.05e-3/(0.99+5.05e-3), 1e-9)
	closeTo(t, "least", m.Min, 4.95e-3/(1.01+4.95e-3), 1e-9)
}

// What is no bypass: the filter (a millionth), the load and the supply, a way over a rail, capacitors, two phases.
func TestShuntBypassControls(t *testing.T) {
	rule := builtin.ShuntBypass
	r := wants(t, rule, rules.KindPass, 0, edit(t, returning, "XA RET 0", "XA p m")+"\nRF1 RET p 1k\nRF2 0 m 1k\nRD p m 10k", tugSense)
	if m := measure(t, r, "current beside the shunt"); m.Max > 1e-6 {
		t.Errorf("the filter takes %v", m.Max)
	}
	for _, more := range []string{
		"RX BUS 0 1\nRY BUS RET 1", // loads from one rail
		"CB RET 0 1u",
		"RX RET x 1m\nCX x 0 1u",
		"VX x 0 1\nRX x RET 1", // a source
		"IX RET 0 1",
		"* shuntwright: rails.V9 = \"9 V exact\"\nRX V9 RET 100\nRY V9 0 100",
	} {
		r := wants(t, rule, rules.KindPass, 0, returning+"\n"+more, tugSense)
		if len(r.Measures) > 0 {
			t.Errorf("%s: %+v", more, r.Measures)
		}
	}
	// In line between two bridges: the way through the motor and the other legs is the current itself.
	motor := `* shuntwright: rails.BUS = "20 V .. 28 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "-10 A .. 10 A", from = "PA", least = "0.5 A" }
MHA BUS g PA PA fet
MLA PA g 0 0 fet
MHB BUS g PB PB fet
MLB PB g 0 0 fet
RG g 0 1k
.model fet NMOS
RSH PA MA 1m
RWA MA x 10m
LWA x ST 100u
LWB ST PB 100u
XA PA MA out 0 V5 0 V5 tug-sense-40`
	wants(t, rule, rules.KindPass, 0, motor, tugSense)
}

// A tie outside of the netlist counts with its resistance, which is asked for only where the tie joins the two ends.
func TestShuntBypassByATie(t *testing.T) {
	rule := builtin.ShuntBypass
	tie := func(what string) string { return returning + "\n* shuntwright: ties.chassis = { " + what + " }" }
	r := wants(t, rule, rules.KindFail, rules.Warning, tie(`joins = ["RET", "0"], resistance = "20 mohm exact"`), tugSense)
	closeTo(t, "share", measure(t, r, "current beside the shunt").Max, 0.2, 1e-9)
	wants(t, rule, rules.KindPass, 0, tie(`joins = ["0", "RET"], resistance = "5 ohm exact"`), tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, tie(`joins = ["RET", "0"]`), tugSense), "ties.chassis.resistance")
	wants(t, rule, rules.KindPass, 0, tie(`joins = ["RET", "out"]`), tugSense)
	// Over a held net only as far as ties lead.
	over := returning + "\n* shuntwright: rails.FRAME = \"0 V exact\"\nRX RET FRAME 10m\nRFR FRAME 0 1k"
	wants(t, rule, rules.KindPass, 0, over, tugSense)
	r = wants(t, rule, rules.KindFail, rules.Warning, over+"\n* shuntwright: ties.bolt = { joins = [\"FRAME\", \"0\"], resistance = \"10 mohm exact\" }", tugSense)
	closeTo(t, "share", measure(t, r, "current beside the shunt").Max, 0.2, 1e-9)
}

// A switch across the shunt: what holds is conditional, and nothing is said where even closed it takes too little.
func TestShuntBypassBySwitch(t *testing.T) {
	rule := builtin.ShuntBypass
	by := returning + "\nSB RET 0 c 0 relay\nVC c 0 0\n.model relay SW(RON=10m)"
	if r := wants(t, rule, rules.KindReview, 0, by, tugSense); !strings.Contains(r.Message, "SB is open") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindPass, 0, edit(t, by, "RON=10m", "RON=100"), tugSense)
}

// A part of which nobody says what it is, on both ends of the shunt.
func TestShuntBypassByAnUnknownPart(t *testing.T) {
	rule := builtin.ShuntBypass
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug+"\nXQ BUS LOAD never-heard-of", tugSense), "never-heard-of")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, "XA BUS LOAD", "XA BUS BUS"), tugSense), "one shunt between")
}

// The remedies are judged again.
func TestShuntBypassRemedy(t *testing.T) {
	d := load(t, returning+"\nRB RET 0 1", tugSense)
	for _, r := range rules.Judge(d, []*rules.Rule{builtin.ShuntBypass}).Results {
		// 5 mohm (1 / 0.0016667 - 1) = 2.995 ohm, to three digits 3 ohm
		if r.Remedy == nil || !strings.Contains(r.Remedy.Text, "RB at least 3 ohm") {
			t.Errorf("%s: remedy %+v", r.Message, r.Remedy)
		}
	}
}

// feed is a high-side channel of 10 mohm at 12 V whose amplifier takes 1.7 mA from V5.
const feed = `* shuntwright: rails.VIN = "12 V exact"
* shuntwright: rails.V5 = "5 V exact"
* shuntwright: currents.RSH = { range = "0 A .. 5 A", from = "VIN", measures = "load" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: goals.XA = { error = "2 %", at = "0.2 A" }
RSH VIN LOAD 10m
RL LOAD 0 3
CV V5 0 1u
XA VIN LOAD out 0 0 0 V5 tug-sense-40`

// The limit is 0.5 x 2 % x 0.2 A = 2 mA.
func TestHiddenConsumer(t *testing.T) {
	rule := builtin.HiddenConsumer
	wants(t, rule, rules.KindPass, 0, feed, tugSense)
	behind := edit(t, feed, "0 0 0 V5 tug", "0 0 0 LOAD tug")
	// 1.7 mA by itself is within; with 12 V over 40 kohm (0.3 mA) it is at the limit, with 12 V over 38 kohm (0.3158 mA) beyond.
	m := measure(t, wants(t, rule, rules.KindPass, 0, behind, tugSense), "current of small consumers")
	closeTo(t, "supply", m.Max, 1.7e-3, 1e-9)
	closeTo(t, "limit", m.LimitMax, 2e-3, 1e-9)
	r := wants(t, rule, rules.KindPass, 0, behind+"\nR1 LOAD m 30k\nR2 m 0 10k", tugSense)
	closeTo(t, "sum", measure(t, r, "current of small consumers").Max, 2e-3, 1e-9)
	r = wants(t, rule, rules.KindFail, rules.Warning, behind+"\nR1 m LOAD 30k\nR2 0 m 8k", tugSense)
	closeTo(t, "sum", measure(t, r, "current of small consumers").Max, 1.7e-3+12./38e3, 1e-9)
	if !strings.Contains(r.Message, "XA, R1") || !strings.Contains(r.Advice, "currents.RSH.includes") {
		t.Errorf("%s; %s", r.Message, r.Advice)
	}
	// A lamp: (12 V - 2 V) / 4.7 kohm = 2.13 mA. Turned around it does not conduct.
	lamp := feed + "\n* shuntwright: elements.DL.drop = \"2 V exact\"\nR1 LOAD a 4.7k\nDL a 0 led\n.model led D"
	r = wants(t, rule, rules.KindFail, rules.Warning, lamp, tugSense)
	closeTo(t, "lamp", measure(t, r, "current of small consumers").Max, 10/4.7e3, 1e-9)
	wants(t, rule, rules.KindPass, 0, edit(t, lamp, "DL a 0", "DL 0 a"), tugSense)
	wants(t, rule, rules.KindPass, 0, edit(t, lamp, "4.7k", "5.01k"), tugSense)
	// The diode first, and a current source of either direction.
	r = wants(t, rule, rules.KindFail, rules.Warning, edit(t, lamp, "R1 LOAD a", "R1 a 0", "DL a 0", "DL LOAD a"), tugSense)
	closeTo(t, "lamp", measure(t, r, "current of small consumers").Max, 10/4.7e3, 1e-9)
	for _, ends := range []string{"LOAD 0", "0 LOAD"} {
		r = wants(t, rule, rules.KindFail, rules.Warning, feed+"\nIQ "+ends+" 20m", tugSense)
		closeTo(t, "source", measure(t, r, "current of small consumers").Max, 20e-3, 1e-9)
	}
	wants(t, rule, rules.KindPass, 0, feed+"\nIQ LOAD 0 1.9m", tugSense)
	wants(t, rule, rules.KindPass, 0, feed+"\nDF 0 LOAD led\nDG LOAD VIN led\n.model led D", tugSense)
	// What takes 5 % of 5 A is a load.
	wants(t, rule, rules.KindPass, 0, feed+"\nRL2 LOAD 0 40", tugSense)
	// Meant to be read, or below what matters.
	wants(t, rule, rules.KindPass, 0, edit(t, lamp, `measures = "load"`, `measures = "load", includes = ["R1"]`), tugSense)
	// Beyond a filter coil and a filter resistor it is still the load's side; on the rail, and on another one, it is not.
	two := edit(t, tugSense, `current = "1.7 mA"`, `current = "2.1 mA"`)
	for _, by := range []string{"LF LOAD vs 10u", "RF LOAD vs 100", "LF LOAD l 10u\nRF l vs 47"} {
		wants(t, rule, rules.KindFail, rules.Warning, edit(t, feed, "0 0 0 V5 tug", "0 0 0 vs tug")+"\n"+by, two)
	}
	for _, by := range []string{"RF VIN vs 100", "RF V5 vs 100"} {
		wants(t, rule, rules.KindPass, 0, edit(t, feed, "0 0 0 V5 tug", "0 0 0 vs tug")+"\n"+by, two)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, behind, edit(t, tugSense, `, current = "1.7 mA"`, "")), "supply.current")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, behind, `, at = "0.2 A"`, ""), tugSense), "least")
	// What is small only a declared current tells; without any string there is nothing to tell.
	undeclared := edit(t, feed, `* shuntwright: currents.RSH = { range = "0 A .. 5 A", from = "VIN", measures = "load" }`+"\n", "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, undeclared, tugSense), "currents.RSH.range")
	wants(t, rule, rules.KindPass, 0, edit(t, undeclared, "RL LOAD 0 3", "IL LOAD 0 3"), tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, behind, `* shuntwright: goals.XA = { error = "2 %", at = "0.2 A" }`+"\n", ""), tugSense)
}

// The same at the returning side: what returns to RET instead of ground runs through the shunt.
func TestHiddenConsumerAtTheLowSide(t *testing.T) {
	rule := builtin.HiddenConsumer
	deck := `* shuntwright: rails.VIN = "12 V exact"
* shuntwright: rails.V5 = "5 V exact"
* shuntwright: currents.RSH = { range = "0 A .. 5 A", from = "RET", measures = "load" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: goals.XA = { error = "2 %", at = "0.2 A" }
RSH RET 0 10m
RL VIN RET 3
XA RET 0 out 0 0 0 V5 tug-sense-40`
	wants(t, rule, rules.KindPass, 0, deck, tugSense)
	wants(t, rule, rules.KindPass, 0, deck+"\nRB VIN 0 1k", tugSense)
	r := wants(t, rule, rules.KindFail, rules.Warning, deck+"\nRB VIN RET 1k", tugSense)
	closeTo(t, "bleeder", measure(t, r, "current of small consumers").Max, 12e-3, 1e-9)
	two := edit(t, tugSense, `current = "1.7 mA"`, `current = "2.1 mA"`)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, deck, "RET 0 out 0 0 0", "RET 0 out RET 0 0"), two)
}

// What is meant decides: not said it is a review, all that the supply gives makes the other side matter.
func TestHiddenConsumerByWhatIsMeant(t *testing.T) {
	rule := builtin.HiddenConsumer
	two := edit(t, tugSense, `current = "1.7 mA"`, `current = "2.1 mA"`)
	behind := edit(t, feed, "0 0 0 V5 tug", "0 0 0 LOAD tug")
	if r := wants(t, rule, rules.KindReview, 0, edit(t, behind, `, measures = "load"`, ""), two); !strings.Contains(r.Message, "currents.RSH.measures") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindPass, 0, edit(t, behind, `, measures = "load"`, ""), tugSense)
	wants(t, rule, rules.KindPass, 0, edit(t, behind, `"load"`, `"supply"`), two)
	before := edit(t, feed, "0 0 0 V5 tug", "0 0 0 VIN tug", `"load"`, `"supply"`)
	if r := wants(t, rule, rules.KindFail, rules.Warning, before, two); !strings.Contains(r.Message, "past RSH") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindPass, 0, before, tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, behind, `"load"`, `"switch"`), two)
}

// Where the coil's current of 1 A is while its switch is open was drawn by hand for each of these: in the shunt (1) or not (0). The
// mean that the shunt shows at a duty of one half is 0.5 + 0.5 x that.
func TestRecirculationPath(t *testing.T) {
	rule := builtin.RecirculationPath
	const head = `* shuntwright: rails.BUS = "12 V exact"
* shuntwright: rails.V5 = "5 V exact"
.model d D
.model n NMOS
.model p PMOS
.model contact SW
CV V5 0 1u
RG g 0 1k
`
	const coil = "LC BUS x 10m\nRC x COIL 6\n"
	for _, c := range []struct {
		name, deck, range_, from, a, b string
		off                            float64
	}{
		{"between switch and ground", coil + "DF COIL BUS d\nMS COIL g S S n\nRSH S 0 30m", "0 A .. 2 A", "S", "S", "0", 0},
		{"between coil and switch", coil + "DF SW BUS d\nMS SW g 0 0 n\nRSH COIL SW 30m", "0 A .. 2 A", "COIL", "COIL", "SW", 1},
		{"the diode before the shunt", coil + "DF COIL BUS d\nMS SW g 0 0 n\nRSH COIL SW 30m", "0 A .. 2 A", "COIL", "COIL", "SW", 0},
		{"at the supply's end of the coil", "RSH BUS T 30m\nLC T x 10m\nRC x SW 6\nDF SW BUS d\nMS SW g 0 0 n", "0 A .. 2 A", "BUS", "BUS", "T", 1},
		{"the diode back to the coil's end", "RSH BUS T 30m\nLC T x 10m\nRC x SW 6\nDF SW T d\nMS SW g 0 0 n", "0 A .. 2 A", "BUS", "BUS", "T", 0},
		{"high-side switch, shunt at the coil", "MS BUS g SW SW n\nDF 0 SW d\nRSH SW COIL 30m\nRC COIL x 6\nLC x 0 10m", "0 A .. 2 A", "SW", "SW", "COIL", 1},
		{"high-side switch, shunt at the coil's foot", "MS BUS g SW SW n\nDF 0 SW d\nRC SW x 6\nLC x F 10m\nRSH F 0 30m", "0 A .. 2 A", "F", "F", "0", 1},
		{"high-side switch, shunt before it", "RSH BUS T 30m\nMS SW g T T p\nDF 0 SW d\nRC SW x 6\nLC x 0 10m", "0 A .. 2 A", "BUS", "BUS", "T", 0},
		{"a relay contact as the switch", coil + "DF COIL BUS d\nSS COIL S g 0 contact\nRSH S 0 30m", "0 A .. 2 A", "S", "S", "0", 0},
		{"a leg of a half bridge", "MH BUS g PH PH n\nML PH g S S n\nRSH S 0 5m\nLC PH x 100u\nRC x OUT 1\nRL OUT 0 1", "-2 A .. 2 A", "S", "S", "0", 0},
		{"in line with a half bridge", "MH BUS g PH PH n\nML PH g 0 0 n\nRSH PH M 5m\nLC M x 100u\nRC x OUT 1\nRL OUT 0 1", "-2 A .. 2 A", "PH", "PH", "M", 1},
		{"in line, three phases", "MHA BUS g A A n\nMLA A g 0 0 n\nMHB BUS g B B n\nMLB B g 0 0 n\nMHC BUS g C C n\nMLC C g 0 0 n\nRSH A M 5m\nLA M xa 100u\nRA xa ST 1\nLB B xb 100u\nRB xb ST 1\nLC C xc 100u\nRC xc ST 1",
			"-2 A .. 2 A", "A", "A", "M", 1},
		{"below all low-side switches", "MHA BUS g A A n\nMLA A g S S n\nMHB BUS g B B n\nMLB B g S S n\nRSH S 0 5m\nLM A xa 100u\nRM xa B 1", "0 A .. 2 A", "S", "S", "0", 0},
		{"a leg of a half bridge whose diode the load freewheels through", "MH BUS g PH PH n\nML PH g S S n\nRSH S 0 5m\nLC PH x 100u\nRC x OUT 1\nRL OUT 0 1", "0 A .. 2 A", "0", "S", "0", 0},
		{"two switches side by side, with a shunt each", "LC BUS x 10m\nRC x COIL 6\nDF COIL BUS d\nM1 COIL g S S n\nM2 COIL g S2 S2 n\nRSH2 S2 0 30m\nRSH S 0 30m", "0 A .. 2 A", "S", "S", "0", 0},
		{"switches that take turns, without diodes", "SH BUS PH g 0 contact\nSL PH S g 0 contact\nRSH S 0 5m\nLC PH x 100u\nRC x OUT 1\nRL OUT 0 1\n* shuntwright: elements.SH.exclusive-with = [\"SL\"]", "0 A .. 2 A", "0", "S", "0", 0},
	} {
		deck := head + c.deck + "\nXA " + c.a + " " + c.b + " out 0 0 0 V5 tug-sense-40\n"
		current := func(more string) string {
			return deck + "* shuntwright: currents.RSH = { range = \"" + c.range_ + "\", from = \"" + c.from + "\"" + more + " }"
		}
		t.Run(c.name, func(t *testing.T) {
			kinds := map[string]rules.Kind{"": rules.KindPass, `, measures = "load"`: rules.KindPass, `, measures = "load", sampling = "continuous"`: rules.KindPass}
			if c.off == 0 {
				kinds = map[string]rules.Kind{"": rules.KindReview, `, measures = "load"`: rules.KindFail, `, sampling = "continuous"`: rules.KindFail,
					`, measures = "load", sampling = "continuous"`: rules.KindFail, `, measures = "load", sampling = "synchronous"`: rules.KindPass,
					`, sampling = "synchronous"`: rules.KindPass, `, measures = "switch"`: rules.KindPass, `, measures = "supply"`: rules.KindPass}
			}
			for more, kind := range kinds {
				level := rules.Level(0)
				if kind == rules.KindFail {
					level = rules.Warning
					if strings.Contains(more, "continuous") {
						level = rules.Error
					}
				}
				r := wants(t, rule, kind, level, current(more), tugSense)
				if kind == rules.KindReview && !strings.Contains(r.Message, "currents.RSH.measures") {
					t.Error(r.Message)
				}
			}
		})
	}
}

// Where nothing is switched there is nothing to freewheel: filters, loads, resistors; and a capacitor behind the shunt makes the
// current the supply's.
func TestRecirculationPathControls(t *testing.T) {
	rule := builtin.RecirculationPath
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "RL LOAD 0 4", "LF LOAD l 10u\nCF l 0 100u\nRL l 0 4\nDT 0 LOAD d\n.model d D"), tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "RL LOAD 0 4", "RL LOAD SW 4\nMS SW g 0 0 n\nRG g 0 1k\n.model n NMOS"), tugSense)
	buck := edit(t, tug, "RL LOAD 0 4", "MS SW g LOAD LOAD p\nRG g 0 1k\nDF 0 SW d\nLO SW OUT 22u\nRL OUT 0 4\n.model p PMOS\n.model d D")
	wants(t, rule, rules.KindReview, 0, buck, tugSense)
	wants(t, rule, rules.KindPass, 0, buck+"\nCI LOAD 0 10u", tugSense)
	wants(t, rule, rules.KindReview, 0, buck+"\nCI LOAD 0 10n", tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, buck, `least = "0.5 A"`, `measures = "load"`)+"\nCI LOAD 0 10u", tugSense)
	// The input network beside the shunt carries no load current, whatever joins its legs.
	filtered := edit(t, tug, "RL LOAD 0 4", "LM LOAD x 1m\nRY x SW 2\nMS SW g 0 0 n\nRG g 0 1k\nDF SW BUS d\n.model n NMOS\n.model d D", "XA BUS LOAD", "XA p m") +
		"\nRF1 BUS p 10\nRF2 LOAD m 10\nRD p m 1k"
	wants(t, rule, rules.KindPass, 0, filtered, tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, "XA BUS LOAD", "XA BUS BUS"), tugSense), "one shunt between")
}

// keel is a four-terminal shunt.
const keel = `
[[part]]
name = "keel-shunt-500u"
role = "shunt"
pins = ["a", "sense-a", "sense-b", "b"]
resistance = "0.5 mohm +- 1 %"
terminals = 4
`

// What joins the sense terminals of a four-terminal shunt stands beside it as well: 0.4995 ohm beside 0.5 mohm take a thousandth.
func TestShuntBypassOfAFourTerminalShunt(t *testing.T) {
	deck := edit(t, tug, "RSH BUS LOAD 1m", "XSH BUS sa sb LOAD keel-shunt-500u", "currents.RSH", "currents.XSH", "XA BUS LOAD", "XA sa sb",
		"tolerances.resistors = \"1 %\"", "tolerances.resistors = \"0 %\"") + "\nRB sa sb 0.4995"
	records := tugSense + edit(t, keel, "+- 1 %", "exact")
	r := wants(t, builtin.ShuntBypass, rules.KindPass, 0, deck, records)
	closeTo(t, "share", measure(t, r, "current beside the shunt").Max, 1e-3, 1e-6)
	r = wants(t, builtin.ShuntBypass, rules.KindFail, rules.Warning, edit(t, deck, "0.4995", "0.2"), records)
	if !strings.Contains(r.Message, "through RB") || strings.Contains(r.Message, "sense") {
		t.Error(r.Message)
	}
}

// once is what a rule about the whole netlist says.
func once(t testing.TB, rule *rules.Rule, kind rules.Kind, level rules.Level, deck, records string) rules.Result {
	t.Helper()
	got := slices.DeleteFunc(rules.Judge(load(t, deck, records), []*rules.Rule{rule}).Results, func(r rules.Result) bool { return r.Rule != rule.ID })
	if len(got) != 1 || got[0].Block != "" {
		t.Fatalf("%d results of %s: %+v", len(got), rule.ID, got)
	}
	if got[0].Kind != kind || got[0].Level != level {
		t.Errorf("%s: %v %v (%s), want %v %v\n%s", rule.ID, got[0].Kind, got[0].Level, got[0].Message, kind, level, deck)
	}
	return got[0]
}

func TestKelvinTerminals(t *testing.T) {
	rule := builtin.KelvinTerminals
	// Two terminals of 1 mohm: a square of 35 um copper, by hand 0.0172 uohm m / 35 um = 0.491 mohm, is 49 % of it.
	r := once(t, rule, rules.KindReview, 0, tug, tugSense)
	if !strings.Contains(r.Message, "RSH has two terminals") || !strings.Contains(r.Message, "0.49 mohm, 49 % of RSH") {
		t.Error(r.Message)
	}
	// One result for two shunts, which names both and the exposure of the lower.
	two := tug + "\nRSH2 LOAD LOAD2 0.5m\nRL2 LOAD2 0 40\nXB LOAD LOAD2 o2 0 VM VM V5 tug-sense-40"
	if r := once(t, rule, rules.KindReview, 0, two, tugSense); !strings.Contains(r.Message, "RSH, RSH2 have") || !strings.Contains(r.Message, "98 % of RSH2") {
		t.Error(r.Message)
	}
	// From 5 mohm upwards nothing is asked.
	once(t, rule, rules.KindPass, 0, returning, tugSense)
	once(t, rule, rules.KindReview, 0, edit(t, returning, "RET 0 5m", "RET 0 4.99m"), tugSense)
	// What says that it is taken care of.
	for _, said := range []string{"elements.RSH.terminals = 4", "elements.RSH.net-tie = true"} {
		once(t, rule, rules.KindPass, 0, tug+"\n* shuntwright: "+said, tugSense)
	}
	once(t, rule, rules.KindReview, 0, tug+"\n* shuntwright: elements.RSH.terminals = 2", tugSense)
	once(t, rule, rules.KindReview, 0, tug+"\n* shuntwright: elements.RSH.net-tie = false", tugSense)
	tie := edit(t, tug, "XA BUS LOAD", "XA BUS m") + "\nRT LOAD m 0\n* shuntwright: elements.RT.net-tie = true"
	once(t, rule, rules.KindPass, 0, tie, tugSense)
	once(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "XA BUS LOAD", "XA BUS BUS"), tugSense)
}

func TestKelvinTerminalsOfAFourTerminalShunt(t *testing.T) {
	rule := builtin.KelvinTerminals
	deck := edit(t, tug, "RSH BUS LOAD 1m", "XSH BUS sa sb LOAD keel-shunt-500u", "currents.RSH", "currents.XSH", "XA BUS LOAD", "XA sa sb")
	records := tugSense + keel + tugAmp
	once(t, rule, rules.KindPass, 0, deck, records)
	once(t, rule, rules.KindPass, 0, edit(t, deck, "XA sa sb", "XA p m")+"\nRF1 sa p 10\nRF2 sb m 10\nCF p m 1u\nC1 sa 0 1n\nRD sb 0 47k\nRO sa q 1k\nRQ q 0 20k\nXO q q o3 0 V5 tug-amp\nXB sa sb o2 0 VM VM V5 tug-sense-40", records)
	r := once(t, rule, rules.KindFail, rules.Warning, edit(t, deck, "XA sa sb", "XA sa LOAD"), records)
	if !strings.Contains(r.Message, "its end LOAD") || !strings.Contains(r.Message, "sb stands unused") {
		t.Error(r.Message)
	}
	r = once(t, rule, rules.KindFail, rules.Warning, edit(t, deck, "XA sa sb", "XA p sb")+"\nRF1 BUS p 10", records)
	if !strings.Contains(r.Message, "sa stands unused") {
		t.Error(r.Message)
	}
	for _, card := range []string{"RB sb 0 1k", "LB sb x 1u\nRB x 0 1", "IB sa 0 1m", "XQ sb 0 unheard-of", "XB BUS LOAD o2 0 VM VM sb tug-sense-40", "MB sb g 0 0 n\nRG g 0 1k\n.model n NMOS"} {
		once(t, rule, rules.KindFail, rules.Warning, deck+"\n"+card, records)
	}
}

// tugAmp is an op amp.
const tugAmp = `
[[part]]
name = "tug-amp"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2.3 V .. 6 V", survival = "-0.3 V .. 7 V", current = "0.7 mA" }
`

func TestGroundReturn(t *testing.T) {
	rule := builtin.GroundReturn
	once(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
	// One ground net for everything: only the layout can tell, below 20 mohm.
	r := once(t, rule, rules.KindReview, 0, returning, tugSense)
	if !strings.Contains(r.Message, "XA (RSH)") {
		t.Error(r.Message)
	}
	once(t, rule, rules.KindPass, 0, edit(t, returning, "RET 0 5m", "RET 0 20m"), tugSense)
	once(t, rule, rules.KindReview, 0, edit(t, returning, "RET 0 5m", "RET 0 19.9m"), tugSense)
	// Turned around, without a declared current, and of both one result.
	once(t, rule, rules.KindReview, 0, edit(t, returning, "XA RET 0", "XA 0 RET", "RSH RET 0", "RSH 0 RET"), tugSense)
	once(t, rule, rules.KindReview, 0, edit(t, returning, `* shuntwright: currents.RSH = { range = "0 A .. 10 A", from = "RET", least = "0.5 A" }`+"\n", ""), tugSense)
	r = once(t, rule, rules.KindReview, 0, returning+"\nRSH2 R2 0 3m\nRL2 BUS R2 4\nXB R2 0 o2 0 0 0 V5 tug-sense-40", tugSense)
	if !strings.Contains(r.Message, "XA (RSH), XB (RSH2)") {
		t.Error(r.Message)
	}
	// A leg of its own, or a net of its own that is tied to ground.
	once(t, rule, rules.KindPass, 0, edit(t, returning, "XA RET 0", "XA p m")+"\nRF1 RET p 10\nRF2 0 m 10", tugSense)
	once(t, rule, rules.KindPass, 0, edit(t, returning, "RSH RET 0", "RSH RET SG", "XA RET 0", "XA RET SG")+"\nRT SG 0 0", tugSense)
	once(t, rule, rules.KindPass, 0, edit(t, returning, "RSH RET 0", "RSH RET SG", "XA RET 0", "XA RET SG")+"\nRT SG 0 1m\n* shuntwright: elements.RT.net-tie = true", tugSense)
	once(t, rule, rules.KindPass, 0, edit(t, returning, "RSH RET 0", "RSH RET SG", "XA RET 0", "XA RET SG")+"\nRT SG 0 1m", tugSense)
}

// What the ground line adds, by hand with 10 A: 10 A x 5 mohm = 50 mV at the shunt, 10 A x 0.05 mohm = 0.5 mV beyond it: 1 % more,
// which is the third of 3 %.
func TestGroundReturnAdds(t *testing.T) {
	rule := builtin.GroundReturn
	goal := "\n* shuntwright: goals.XA = { error = \"3 %\", at = \"2 A\" }"
	beyond := func(ohms string) string { return edit(t, returning, "RSH RET 0", "RSH RET PG") + "\nRG PG 0 " + ohms }
	r := once(t, rule, rules.KindPass, 0, beyond("0.05m")+goal, tugSense)
	closeTo(t, "added", measure(t, r, "added by the ground line").Max, 0.5e-3/50e-3, 1e-9)
	r = once(t, rule, rules.KindFail, rules.Warning, beyond("0.05025m")+goal, tugSense)
	if !strings.Contains(r.Message, "XA takes its low level from 0, beyond RG") || !strings.Contains(r.Advice, "to PG") {
		t.Errorf("%s; %s", r.Message, r.Advice)
	}
	once(t, rule, rules.KindPass, 0, beyond("0.04975m")+goal, tugSense)
	// Without a goal a third of 0.5 %: 8.3 uohm are within, 8.4 uohm are not.
	if r := once(t, rule, rules.KindPass, 0, beyond("8.3u"), tugSense); !assumes(r, "0.5 %") {
		t.Errorf("rests on %q", r.Assumed)
	}
	once(t, rule, rules.KindFail, rules.Warning, beyond("8.4u"), tugSense)
	// Two pieces, of which the second is beyond the tap: 1 mohm of 5 mohm is a fifth.
	two := edit(t, returning, "RSH RET 0", "RSH RET PG", "XA RET 0", "XA RET MID") + "\nRG1 PG MID 1m\nRG2 MID 0 3m"
	r = once(t, rule, rules.KindFail, rules.Warning, two, tugSense)
	closeTo(t, "added", measure(t, r, "added by the ground line").Max, 0.2, 1e-9)
	// Only what the load's current passes counts: the amplifier's own way to the ground end of the shunt carries none of it.
	once(t, rule, rules.KindPass, 0, edit(t, returning, "XA RET 0", "XA RET AG")+"\nRAG AG 0 1m", tugSense)
	// A filter resistor that returns to the wrong ground, and a shunt behind one in the other leg.
	filtered := edit(t, returning, "RSH RET 0", "RSH RET PG", "XA RET 0", "XA p m") + "\nRG PG 0 1m\nRF1 RET p 10\nRF2 0 m 10"
	once(t, rule, rules.KindFail, rules.Warning, filtered, tugSense)
	once(t, rule, rules.KindPass, 0, edit(t, filtered, "RF2 0 m", "RF2 PG m"), tugSense)
}

// Op amps: a gain leg at ground, an inverting stage, and a differential one, which is silent.
func TestGroundReturnOfOpAmps(t *testing.T) {
	rule := builtin.GroundReturn
	const head = `* shuntwright: rails.BUS = "20 V .. 28 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "0 A .. 10 A", from = "RET" }
* shuntwright: tolerances.resistors = "0 %"
RL BUS RET 2
`
	noninverting := head + "RSH RET PG 5m\nRGND PG 0 1m\nRI RET p 1k\nRG TAP m 1k\nRF m out 19k\nXO p m out 0 V5 tug-amp\nRX TAP 0 0"
	r := once(t, rule, rules.KindFail, rules.Warning, noninverting, tugAmp)
	closeTo(t, "added", measure(t, r, "added by the ground line").Max, 0.2, 1e-9)
	if !strings.Contains(r.Message, "XO takes") {
		t.Error(r.Message)
	}
	once(t, rule, rules.KindPass, 0, edit(t, noninverting, "RX TAP 0 0", "RX TAP PG 0"), tugAmp)
	once(t, rule, rules.KindReview, 0, head+"RSH RET 0 5m\nRI RET p 1k\nRG 0 m 1k\nRF m out 19k\nXO p m out 0 V5 tug-amp", tugAmp)
	once(t, rule, rules.KindReview, 0, head+"RSH RET 0 5m\nRG RET m 1k\nRF m out 19k\nXO 0 m out 0 V5 tug-amp", tugAmp)
	once(t, rule, rules.KindFail, rules.Warning, head+"RSH RET PG 5m\nRGND PG 0 1m\nRG RET m 1k\nRF m out 19k\nXO 0 m out 0 V5 tug-amp", tugAmp)
	once(t, rule, rules.KindNotApplicable, 0, head+"RSH RET 0 5m\nRI RET p 1k\nRP p 0 19k\nRG 0 m 1k\nRF m out 19k\nXO p m out 0 V5 tug-amp", tugAmp)
	once(t, rule, rules.KindNotApplicable, 0, head+"RSH RET 0 5m\nXO RET out out 0 V5 tug-amp", tugAmp)
}

// A shunt without a value is asked for it.
func TestKelvinTerminalsOfAShuntWithoutAValue(t *testing.T) {
	d, _, _ := bind(t, "a deck\n"+edit(t, tug, "RSH BUS LOAD 1m", "RSH BUS LOAD metal")+"\n.model metal R\n.end\n", tugSense)
	for _, r := range rules.Judge(d, []*rules.Rule{builtin.KelvinTerminals}).Results {
		if r.Rule == builtin.KelvinTerminals.ID {
			if r.Kind != rules.KindOpen {
				t.Errorf("%v: %s", r.Kind, r.Message)
			}
			lacks(t, r, "the value of RSH")
		}
	}
}

func TestGroundDomain(t *testing.T) {
	rule := builtin.GroundDomain
	const pack = `* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.PACK = "40 V .. 50 V"
* shuntwright: currents.RSH = { range = "0 A .. 30 A", from = "RET" }
* shuntwright: domains.pack.nets = ["PACK", "PGND"]
* shuntwright: domains.board.nets = ["0", "V5"]
RL PACK RET 2
RSH RET PGND 1m
XA RET PGND out 0 0 0 V5 tug-sense-40`
	r := wants(t, rule, rules.KindFail, rules.Error, pack, tugSense)
	if !strings.Contains(r.Message, "in+ is in pack and ground in board") || len(r.Related) != 2 {
		t.Errorf("%s, %v", r.Message, r.Related)
	}
	// Behind a filter as well; a capacitor over the barrier joins nothing, neither does a resistor.
	filtered := edit(t, pack, "XA RET PGND", "XA p m") + "\nRF1 RET p 10\nRF2 PGND m 10\nCY PGND 0 4.7n\nRY PGND 0 10meg"
	wants(t, rule, rules.KindFail, rules.Error, filtered, tugSense)
	// The ground pin, or the supply alone, in the other domain.
	own := edit(t, pack, `["PACK", "PGND"]`, `["PACK", "PGND", "V5P"]`, "out 0 0 0 V5 tug", "out PGND PGND PGND V5P tug") + "\nCV V5 0 1u"
	wants(t, rule, rules.KindPass, 0, own, tugSense)
	r = wants(t, rule, rules.KindFail, rules.Error, edit(t, own, "PGND V5P tug", "PGND V5 tug", `, "V5P"`, ""), tugSense)
	if !strings.Contains(r.Message, "supply is in board and ground in pack") {
		t.Error(r.Message)
	}
	// Controls: a tie, a drawn net tie, an isolated part. A tie of other nets is none.
	wants(t, rule, rules.KindPass, 0, pack+"\n* shuntwright: ties.star.joins = [\"PGND\", \"0\"]", tugSense)
	wants(t, rule, rules.KindFail, rules.Error, pack+"\n* shuntwright: ties.star.joins = [\"PGND\", \"RET\"]", tugSense)
	wants(t, rule, rules.KindPass, 0, pack+"\nRT PGND 0 0\n* shuntwright: elements.RT.net-tie = true", tugSense)
	wants(t, rule, rules.KindFail, rules.Error, pack+"\nRT PGND 0 0", tugSense)
	wants(t, rule, rules.KindPass, 0, pack, edit(t, tugSense, `direction = "bidirectional"`, "direction = \"bidirectional\"\nisolated = true"))
	wants(t, rule, rules.KindFail, rules.Error, pack, edit(t, tugSense, `direction = "bidirectional"`, "direction = \"bidirectional\"\nisolated = false"))
	// Two ties in a row join as well; one of them does not.
	row := pack + "\nCM MGND 0 1n\n* shuntwright: domains.mid.nets = [\"MGND\"]\n* shuntwright: ties.one.joins = [\"PGND\", \"MGND\"]"
	wants(t, rule, rules.KindFail, rules.Error, row, tugSense)
	wants(t, rule, rules.KindPass, 0, row+"\n* shuntwright: ties.two.joins = [\"MGND\", \"0\"]", tugSense)
	// The bus of a digital monitor that is read from another domain.
	bus := "\n* shuntwright: domains.pack.nets = [\"0\", \"V3\", \"BUS\"]"
	wants(t, rule, rules.KindPass, 0, pier+bus, buoy)
	apart := edit(t, pier, "RC V3 scl", "RC V3X scl", "RD V3 sda", "RD V3X sda") + bus + "\n* shuntwright: rails.V3X = \"3.3 V +- 2 %\"\n* shuntwright: domains.board.nets = [\"V3X\"]"
	if r = wants(t, rule, rules.KindFail, rules.Error, apart, buoy); !strings.Contains(r.Message, "clock is in board and ground in pack") {
		t.Error(r.Message)
	}
	// Nothing declared, and something forgotten.
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, pack, `["0", "V5"]`, `["V5"]`), tugSense), "domains.NAME.nets with 0")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, pack, `* shuntwright: domains.pack.nets = ["PACK", "PGND"]`+"\n", ""), tugSense), "domains.NAME.nets with RET")
}

// 60 V DC is the limit of ES1, IEC 62368-1, table 4 (✓ the published figure). The input reaches the rail.
func TestGroundDomainThatPeopleTouch(t *testing.T) {
	rule := builtin.GroundDomain
	at := func(bus, accessible string) string {
		return edit(t, tug, "40 V .. 58 V", bus, `-20 A .. 20 A`, `0 A .. 20 A`) + "\n* shuntwright: domains.board = { nets = [\"0\", \"V5\", \"BUS\"], accessible = " + accessible + " }"
	}
	wants(t, rule, rules.KindPass, 0, at("40 V .. 60 V", "true"), tugSense)
	wants(t, rule, rules.KindPass, 0, at("40 V .. 59.7 V", "true"), tugSense)
	r := wants(t, rule, rules.KindFail, rules.Error, at("40 V .. 60.3 V", "true"), tugSense)
	if !strings.Contains(r.Message, "in+ reaches 60.30") {
		t.Error(r.Message)
	}
	closeTo(t, "in+", measure(t, r, "in+").Max, 60.3, 1e-9)
	wants(t, rule, rules.KindFail, rules.Error, at("-61 V .. -40 V", "true"), tugSense)
	wants(t, rule, rules.KindPass, 0, at("40 V .. 70 V", "false"), tugSense)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, at("40 V .. 50 V", "true"), "RL LOAD 0 4\n", "", "* shuntwright: rails.BUS = \"40 V .. 50 V\"\n", ""), tugSense), "rails.BUS")
}

// A shunt that is not in the netlist, and a channel that nobody reads.
func TestPathsOfAShuntElsewhere(t *testing.T) {
	for _, rule := range []*rules.Rule{builtin.ShuntBypass, builtin.HiddenConsumer, builtin.RecirculationPath} {
		for _, said := range []string{`shunt = "remote"`, `shunt = "on-chip"`, `unused = true`} {
			wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "XA BUS LOAD", "XA BUS BUS")+"\n* shuntwright: senses.XA."+said, tugSense)
		}
		lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, "XA BUS LOAD", "XA BUS BUS"), tugSense), "one shunt between")
	}
}

// The same of one at ground.
func TestGroundReturnOfAShuntWithoutAValue(t *testing.T) {
	d, _, _ := bind(t, "a deck\n"+edit(t, returning, "RSH RET 0 5m", "RSH RET 0 metal")+"\n.model metal R\n.end\n", tugSense)
	for _, r := range rules.Judge(d, []*rules.Rule{builtin.GroundReturn}).Results {
		if r.Rule == builtin.GroundReturn.ID {
			if r.Kind != rules.KindOpen {
				t.Errorf("%v: %s", r.Kind, r.Message)
			}
			lacks(t, r, "the value of RSH")
		}
	}
}
