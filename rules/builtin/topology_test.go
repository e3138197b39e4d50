package builtin_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// remedyOf is the remedy that is offered for a rule on block XA.
func remedyOf(t testing.TB, rule *rules.Rule, deck, records string) *rules.Remedy {
	t.Helper()
	// Of two failures that one remedy settles only the first judged is cured.
	list := append([]*rules.Rule{rule}, slices.DeleteFunc(slices.Clone(all), func(r *rules.Rule) bool { return r == rule })...)
	for _, r := range rules.Judge(load(t, deck, records), list).Results {
		if r.Rule == rule.ID && r.Block == "XA" {
			return r.Remedy
		}
	}
	t.Fatalf("%s says nothing", rule.ID)
	return nil
}

// curedBy asserts that a remedy with a text is offered, that the rule passes with it, and what it breaks.
func curedBy(t testing.TB, rule *rules.Rule, text, deck, records string) {
	t.Helper()
	r := remedyOf(t, rule, deck, records)
	if r == nil || !strings.Contains(r.Text, text) || r.Kind != rules.KindPass || len(r.Breaks) > 0 {
		t.Errorf("%s: remedy %+v, want %q\n%s", rule.ID, r, text, deck)
	}
}

// saysIn asserts a text in a message.
func saysIn(t testing.TB, r rules.Result, text string) {
	t.Helper()
	if !strings.Contains(r.Message, text) {
		t.Errorf("%s says %q, not %q", r.Rule, r.Message, text)
	}
}

func TestShuntPair(t *testing.T) {
	rule := builtin.ShuntPair
	legs := filtered(t, "10", "10", sense40)
	saysIn(t, wants(t, rule, rules.KindPass, 0, tug, tugSense), "RSH")
	saysIn(t, wants(t, rule, rules.KindPass, 0, legs, tugSense), "RSH through RF1 and RF2")
	// On one net; the input that stands where the current leaves is the one to move.
	same := edit(t, tug, "XA BUS LOAD", "XA BUS BUS")
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, same, tugSense), "on the same net BUS")
	curedBy(t, rule, "in- of XA moved to LOAD", same, tugSense)
	curedBy(t, rule, "in+ of XA moved to BUS", edit(t, tug, "XA BUS LOAD", "XA LOAD LOAD"), tugSense)
	// Both legs at one terminal: the end of the leg moves, its filter stays.
	both := edit(t, filtered(t, "8", "8", sense40), "RF2 LOAD", "RF2 BUS")
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, both, tugSense), "both lead to BUS through RF1 and RF2")
	curedBy(t, rule, "the end of RF2 at BUS moved to LOAD", both, tugSense)
	// One leads nowhere.
	nowhere := edit(t, tug, "XA BUS LOAD", "XA BUS open")
	wants(t, rule, rules.KindFail, rules.Error, nowhere, tugSense)
	curedBy(t, rule, "in- of XA moved to LOAD", nowhere, tugSense)
	// No shunt at all.
	wants(t, rule, rules.KindFail, rules.Error, edit(t, tug, "RSH BUS LOAD 1m", "RSH BUS OTHER 1m"), tugSense)
	// Without the pins nobody knows.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, "BUS LOAD out 0", "BUS BUS out 0"), edit(t, tugSense, `"in+", "in-", "out"`, `"nc", "nc", "out"`)), "pins")
	// What nobody knows may be the shunt.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, "RSH BUS LOAD 1m", "XSH BUS LOAD strap", "* shuntwright: currents.RSH", "* currents.RSH"), tugSense), "a record for strap")
	// A group of parallel shunts is one; a net tie or ferrite in a leg is part of it.
	wants(t, rule, rules.KindPass, 0, tug+"\nRSH2 BUS LOAD 1m", tugSense)
	wants(t, rule, rules.KindPass, 0, edit(t, tug, "XA BUS LOAD", "XA p m")+"\nRT BUS p 0\nLF LOAD m 1u", tugSense)
	// Capacitors, clamps, bias resistors and another amplifier's inputs inside a leg are no fault.
	wants(t, rule, rules.KindPass, 0, legs+"\nCD p m 100n\nCP p 0 1n\nDP 0 p clamp\nRB m 0 1meg\nXB p m out2 0 VM VM V5 tug-sense-40\n.model clamp D", tugSense)
}

// What draws a load's current behind a part of the leg makes that part a second shunt in series: 1 uH and its winding, or
// 10 ohm, are no part of what is meant.
func TestShuntPairBehindALoad(t *testing.T) {
	rule := builtin.ShuntPair
	deck := edit(t, tug, "XA BUS LOAD", "XA BUS FAR", "RL LOAD 0 4", "LF LOAD FAR 1u")
	r := wants(t, rule, rules.KindFail, rules.Error, deck+"\nIL FAR 0 DC 2", tugSense)
	saysIn(t, r, "in- is taken behind LF, which carries the current of IL")
	wants(t, rule, rules.KindFail, rules.Error, deck+"\nML FAR g 0 0 fet\n.model fet NMOS", tugSense)
	// The load itself behind a piece of track: 4 ohm to ground, or a motor. A bias resistor and a snubber are none.
	track := edit(t, tug, "XA BUS LOAD", "XA BUS FAR", "RL LOAD 0 4", "RT LOAD FAR 1m")
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, track+"\nRL FAR 0 4", tugSense), "in- is taken behind RT, which carries the current of RL")
	wants(t, rule, rules.KindFail, rules.Error, track+"\nLM FAR M 1m\nRW M 0 1", tugSense)
	wants(t, rule, rules.KindFail, rules.Error, track+"\nRL FAR 0 99", tugSense)
	wants(t, rule, rules.KindPass, 0, track+"\nRL FAR 0 101\nRS FAR s 10\nCS s 0 1n", tugSense)
	wants(t, rule, rules.KindPass, 0, deck+"\nIL FAR 0 DC 0\nIL2 LOAD 0 DC 2", tugSense)
	// A transistor that brings the two inputs together to find the zero draws nothing.
	wants(t, rule, rules.KindPass, 0, filtered(t, "10", "10", sense40)+"\nMZ p g m m fet\n.model fet NMOS", tugSense)
	wants(t, rule, rules.KindFail, rules.Error, filtered(t, "10", "10", sense40)+"\nMZ p g 0 0 fet\n.model fet NMOS", tugSense)
}

// Between 10 ohm and more, without a declared current, a resistor may be a bias resistor.
func TestShuntPairLikelyShunt(t *testing.T) {
	rule := builtin.ShuntPair
	bare := edit(t, tug, `* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BUS", least = "0.5 A" }`+"\n", "")
	wants(t, rule, rules.KindPass, 0, bare, tugSense)
	wants(t, rule, rules.KindPass, 0, edit(t, bare, "RSH BUS LOAD 1m", "RSH BUS LOAD 9.95"), tugSense)
	saysIn(t, wants(t, rule, rules.KindReview, 0, edit(t, bare, "RSH BUS LOAD 1m", "RSH BUS LOAD 10.05"), tugSense), "currents.RSH.range")
	wants(t, rule, rules.KindPass, 0, edit(t, tug, "RSH BUS LOAD 1m", "RSH BUS LOAD 1k", "-20 A .. 20 A", "-1 mA .. 1 mA", "0.5 A", "1 uA"), tugSense)
}

// What is declared: a winding, a transistor, a shunt elsewhere, two shunts that are added up.
func TestShuntPairDeclared(t *testing.T) {
	rule := builtin.ShuntPair
	winding := edit(t, tug, "RSH BUS LOAD 1m", "LW BUS LOAD 4u", `currents.RSH = { range`, `elements.LW.inductance = "4 uH"`+"\n* shuntwright: senses.XA.element = \"LW\"\n* { range")
	wants(t, rule, rules.KindPass, 0, edit(t, winding, "XA BUS LOAD", "XA p LOAD")+"\nRW BUS p 1k\nCW p LOAD 1u", tugSense)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, winding, "XA BUS LOAD", "XA BUS BUS"), tugSense)
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, edit(t, winding, "XA BUS LOAD", "XA BUS OTHER"), tugSense), "do not lie across LW")
	wants(t, rule, rules.KindFail, rules.Error, edit(t, winding, "* shuntwright: senses.XA.element = \"LW\"\n", "", "XA BUS LOAD", "XA BUS LOAD"), tugSense)
	fet := edit(t, winding, "LW BUS LOAD 4u", "MW BUS g LOAD LOAD fet\n.model fet NMOS", "elements.LW.inductance = \"4 uH\"", "elements.MW.on-resistance = \"4 mohm\"", `element = "LW"`, `element = "MW"`)
	wants(t, rule, rules.KindPass, 0, fet, tugSense)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, fet, "XA BUS LOAD", "XA BUS g"), tugSense)
	for _, where := range []string{"on-chip", "remote"} {
		wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "XA BUS LOAD", "XA BUS BUS")+"\n* shuntwright: senses.XA.shunt = \""+where+"\"", tugSense)
	}
	wants(t, rule, rules.KindPass, 0, tug+"\n* shuntwright: senses.XA.shunt = \"drawn\"", tugSense)
	sum := edit(t, tug, "XA BUS LOAD", "XA BUS LOAD2") + "\nRSH2 LOAD LOAD2 1m\nRL2 LOAD2 0 4\n* shuntwright: currents.RSH2 = { range = \"0 A .. 5 A\", from = \"LOAD\" }"
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, sum, tugSense), "two different shunts")
	wants(t, rule, rules.KindPass, 0, sum+"\n* shuntwright: senses.XA.sums = [\"RSH\", \"RSH2\"]", tugSense)
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, edit(t, sum, "XA BUS LOAD2", "XA OTHER LOAD2")+"\n* shuntwright: senses.XA.sums = [\"RSH\", \"RSH2\"]", tugSense), "in+ leads to none")
	// A part whose record makes it a shunt with terminals of its own for the inputs.
	kelvin := tugSense + "\n[[part]]\nname = \"tug-strap\"\nrole = \"shunt\"\npins = [\"a\", \"b\", \"sense-a\", \"sense-b\"]\nresistance = \"1 mohm +- 1 %\"\n"
	strap := edit(t, tug, "RSH BUS LOAD 1m", "XSH BUS LOAD sa sb tug-strap", "XA BUS LOAD", "XA sa sb", "* shuntwright: currents.RSH", "* currents.RSH")
	wants(t, rule, rules.KindPass, 0, strap, kelvin)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, strap, "XA sa sb", "XA sa sa"), kelvin)
}

// What is open for want of a shunt is told with the pair, and is no finding of its own.
func TestShuntPairIsTheRoot(t *testing.T) {
	follows := 0
	for _, r := range rules.Judge(load(t, edit(t, tug, "XA BUS LOAD", "XA open BUS", "RL LOAD 0 4", "RL LOAD 0 4\nCO open 0 1n"), tugSense), all).Results {
		if r.Kind == rules.KindOpen && r.Follows == builtin.ShuntPair.ID {
			follows++
		}
		if r.Rule == builtin.SensePolarity.ID && r.Finding() {
			t.Errorf("%s is a finding beside shunt-pair: %s", r.Rule, r.Message)
		}
	}
	if follows < 3 {
		t.Errorf("%d results follow shunt-pair", follows)
	}
}

// The output rises where V(in+) - V(in-) = +I Rs or -I Rs by Ohm's law, times the part's own sign: worked out by hand for
// each way that shunt, inputs, part and declaration can stand.
func TestSensePolarity(t *testing.T) {
	rule := builtin.SensePolarity
	inverted := edit(t, tugSense, `direction = "bidirectional"`, "direction = \"bidirectional\"\npolarity = \"inverted\"")
	for _, ends := range []string{"BUS LOAD", "LOAD BUS"} {
		for _, in := range []string{"BUS LOAD", "LOAD BUS"} {
			for _, from := range []string{"BUS", "LOAD"} {
				for _, meant := range []string{"", "true", "false"} {
					for sign, part := range map[float64]string{1: tugSense, -1: inverted} {
						volts := map[string]float64{"BUS": 0, "LOAD": 0}
						volts[from] = 1e-3 // 1 A through 1 mohm: the end that it enters is the higher one
						pins := strings.Fields(in)
						slope := sign * (volts[pins[0]] - volts[pins[1]])
						kind, level := rules.KindPass, rules.Level(0)
						if (slope > 0) == (meant == "true") {
							kind, level = rules.KindFail, rules.Warning
						}
						deck := edit(t, tug, "RSH BUS LOAD", "RSH "+ends, "XA BUS LOAD", "XA "+in, `from = "BUS"`, fmt.Sprintf("from = %q", from))
						if meant != "" {
							deck += "\n* shuntwright: senses.XA.inverted = " + meant
						}
						wants(t, rule, kind, level, deck, part)
					}
				}
			}
		}
	}
}

func TestSensePolarityWeight(t *testing.T) {
	rule := builtin.SensePolarity
	wrong := edit(t, tug, "XA BUS LOAD", "XA LOAD BUS")
	wants(t, rule, rules.KindFail, rules.Warning, wrong, tugSense)
	curedBy(t, rule, "in+ and in- of XA exchanged", wrong, tugSense)
	// One way only: an error, also where the range just touches zero.
	wants(t, rule, rules.KindFail, rules.Error, edit(t, wrong, "-20 A .. 20 A", "0 A .. 20 A"), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, wrong, "-20 A .. 20 A", "-0.1 A .. 20 A"), tugSense)
	// A comparator behind the output trips on the wrong sign.
	horn := tugSense + "\n[[part]]\nname = \"tug-horn\"\nrole = \"comparator\"\npins = [\"in+\", \"in-\", \"out\", \"ground\", \"supply\"]\n"
	wants(t, rule, rules.KindFail, rules.Error, wrong+"\nRO out far 1k\nXT far VM trip 0 V5 tug-horn", horn)
	// A negative scale of the converter wants a falling output.
	scale := "\nCO out 0 1n\n* shuntwright: converters.out.scale = \"-40 mV/A\""
	wants(t, rule, rules.KindPass, 0, wrong+scale, tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, tug+scale, tugSense)
	wants(t, rule, rules.KindPass, 0, tug+edit(t, scale, "-40", "40"), tugSense)
	// A part that reads one direction has to read the current that flows, whatever firmware makes of it.
	oneWay := edit(t, tugSense, "bidirectional", "unidirectional")
	flows := edit(t, tug, "-20 A .. 20 A", "0 A .. 20 A")
	wants(t, rule, rules.KindPass, 0, flows, oneWay)
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, edit(t, flows, "XA BUS LOAD", "XA LOAD BUS"), oneWay), "stays at its floor")
	wants(t, rule, rules.KindFail, rules.Error, edit(t, flows, "XA BUS LOAD", "XA LOAD BUS")+"\n* shuntwright: senses.XA.inverted = true", oneWay)
	wants(t, rule, rules.KindPass, 0, edit(t, flows, "XA BUS LOAD", "XA LOAD BUS", "0 A .. 20 A", "-20 A .. 0 A"), oneWay)
	// A part that wants one input on the side where the current comes from.
	side := edit(t, oneWay, `input = { model = "differential"`, `input = { source-side = "in-", model = "differential"`)
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, flows, side), "the part wants in- on that side")
	wants(t, rule, rules.KindPass, 0, edit(t, flows, "XA BUS LOAD", "XA LOAD BUS"), side)
	wants(t, rule, rules.KindPass, 0, edit(t, flows, "0 A .. 20 A", "-20 A .. 0 A"), side)
	curedBy(t, rule, "in+ and in- of XA exchanged", flows, side)
}

// Without the direction nobody knows, and a rail that makes it likely is a note.
func TestSensePolarityWithoutDirection(t *testing.T) {
	rule := builtin.SensePolarity
	bare := edit(t, tug, `, from = "BUS"`, "")
	lacks(t, wants(t, rule, rules.KindOpen, 0, bare, tugSense), "currents.RSH.from")
	one := edit(t, bare, "-20 A .. 20 A", "0 A .. 20 A")
	lacks(t, wants(t, rule, rules.KindOpen, 0, one, tugSense), "currents.RSH.from")
	saysIn(t, wants(t, rule, rules.KindFail, rules.Note, edit(t, one, "XA BUS LOAD", "XA LOAD BUS"), tugSense), "most likely comes from BUS")
	low := edit(t, one, "RSH BUS LOAD 1m", "RSH LOAD 0 1m", "RL LOAD 0 4", "RL BUS LOAD 4", "XA BUS LOAD", "XA 0 LOAD")
	saysIn(t, wants(t, rule, rules.KindFail, rules.Note, low, tugSense), "most likely comes from LOAD")
	wants(t, rule, rules.KindOpen, 0, edit(t, low, "XA 0 LOAD", "XA LOAD 0"), tugSense)
	wants(t, rule, rules.KindOpen, 0, edit(t, tug, "XA BUS LOAD", "XA BUS BUS"), tugSense)
}

// twoFerries are two channels alike.
const twoFerries = `* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.VM = "2.5 V +- 0.2 %"
* shuntwright: currents.RSH_A = { range = "-20 A .. 20 A", from = "BUS", least = "0.5 A" }
* shuntwright: currents.RSH_B = { range = "-20 A .. 20 A", from = "BUS", least = "0.5 A" }
* shuntwright: tolerances.resistors = "1 %"
* shuntwright: converters.ADC_A.range = "0 V .. V5"
* shuntwright: converters.ADC_B.range = "0 V .. V5"
RSH_A BUS LA 1m
RLA LA 0 4
RSH_B BUS LB 1m
RLB LB 0 4
XA BUS LA outa 0 VM VM V5 tug-sense-40
ROA outa ADC_A 1k
COA ADC_A 0 10n
XB BUS LB outb 0 VM VM V5 tug-sense-40
ROB outb ADC_B 1k
COB ADC_B 0 10n`

func TestChannelCrossing(t *testing.T) {
	rule := builtin.ChannelCrossing
	of := twoFerries + "\n* shuntwright: converters.ADC_A.of = \"RSH_A\"\n* shuntwright: converters.ADC_B.of = \"RSH_B\""
	crossed := func(deck string) string {
		return edit(t, deck, "outa ADC_A 1k", "outa ADC_X 1k", "outb ADC_B 1k", "outb ADC_A 1k", "outa ADC_X 1k", "outa ADC_B 1k")
	}
	wants(t, rule, rules.KindPass, 0, of, tugSense)
	wants(t, rule, rules.KindPass, 0, edit(t, of, `of = "RSH_A"`, `of = "XA"`), tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, twoFerries, tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, crossed(of), tugSense), "ADC_B is declared to read RSH_B, and gets RSH_A from XA")
	wants(t, rule, rules.KindFail, rules.Error, edit(t, of, `of = "RSH_A"`, `of = "XB"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, of, `of = "RSH_A"`, `of = "RLA"`), tugSense)
	curedBy(t, rule, "out of XA and of XB exchanged", crossed(of), tugSense)
	// By names alone: only where both suit each other's shunt.
	saysIn(t, wants(t, rule, rules.KindFail, rules.Warning, crossed(twoFerries), tugSense), "by their names ADC_B belongs to RSH_B")
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, crossed(twoFerries), "ADC_A", "READ_1", "ADC_B", "READ_2"), tugSense)
	// A number is one thing: 12 and 13 do not suit 2 and 3.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, crossed(twoFerries), "RSH_A", "R12", "RSH_B", "R13", "ADC_A", "ADC2", "ADC_B", "ADC3"), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, crossed(twoFerries), "RSH_A", "RSH12", "RSH_B", "RSH13", "ADC_A", "ADC12", "ADC_B", "ADC13"), tugSense)
	wants(t, rule, rules.KindPass, 0, crossed(twoFerries)+"\n* shuntwright: converters.ADC_B.of = \"RSH_A\"", tugSense)
	// One input of each at the other's shunt, with a shunt on a rail of its own for each.
	wires := edit(t, of, "RSH_A BUS LA", "VA BUS BA DC 0.1\nRSH_A BA LA", "RSH_B BUS LB", "VB BUS BB DC 0.1\nRSH_B BB LB",
		`range = "-20 A .. 20 A", from = "BUS"`, `range = "-20 A .. 20 A"`, "XA BUS LA", "XA BA LB", "XB BUS LB", "XB BB LA")
	r := wants(t, rule, rules.KindFail, rules.Error, wires, tugSense)
	saysIn(t, r, "in+ leads to RSH_A and in- to RSH_B, and those of XB the other way round")
	wants(t, builtin.ShuntPair, rules.KindFail, rules.Error, wires, tugSense)
	curedBy(t, rule, "in- of XA and of XB exchanged", wires, tugSense)
	curedBy(t, builtin.ShuntPair, "in- of XA and of XB exchanged", wires, tugSense)
	// Without a shunt it cannot be judged; shunts added up by intention are not crossed.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, of, "XA BUS LA", "XA BUS BUS"), tugSense), "one shunt between")
	wants(t, rule, rules.KindNotApplicable, 0, wires+"\n* shuntwright: senses.XA.sums = [\"RSH_A\", \"RSH_B\"]", tugSense)
}

func TestPinMapPlaces(t *testing.T) {
	rule := builtin.PinMap
	wants(t, rule, rules.KindNotApplicable, 0, tug, tugSense)
	// XA in+ in- out ground ref-a ref-b supply
	card := func(nets string) string { return edit(t, tug, "BUS LOAD out 0 VM VM V5", nets) }
	for nets, text := range map[string]string{
		"BUS LOAD out V5 VM VM 0":   "supply is on ground, and ground on V5",
		"BUS LOAD out 0 VM VM 0":    "supply and ground are both on 0",
		"BUS LOAD out BUS VM VM V5": "ground is on BUS and supply on V5, which is never above it",
		"BUS LOAD 0 0 VM VM V5":     "out is on ground",
		"BUS LOAD V5 0 VM VM out":   "out is on V5",
		"BUS LOAD V5 0 VM VM V5":    "out is on the supply V5",
		"BUS LOAD LOAD 0 VM VM V5":  "out and in- are both on LOAD",
		"BUS LOAD out VM 0 0 V5":    "ref-a on 0 is below the part's own ground on VM",
	} {
		deck := card(nets)
		switch nets {
		case "BUS LOAD out 0 VM VM 0":
			deck += "\nCV V5 0 1u"
		case "BUS LOAD V5 0 VM VM out":
			deck = edit(t, deck, `* shuntwright: rails.V5 = "5 V +- 2 %"`, "VREG V5 0 5")
		}
		saysIn(t, wants(t, rule, rules.KindFail, rules.Error, deck, tugSense), text)
	}
	// A ground pin below node 0, one above it with its supply above that, a reference at ground or supply, an output
	// that drives the other channel's reference: nothing wrong.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "out 0 VM VM V5", "out NEG VM VM V5")+"\n* shuntwright: rails.NEG = \"-5 V exact\"", tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "out 0 VM VM V5", "out V5 BUS V5 BUS"), tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "out 0 VM VM V5", "out 0 0 V5 V5"), tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, tug+"\nVA out 1 0\nRA 1 0 10k", tugSense)
	// A supply that is above ground only sometimes is supply-range's.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, `"5 V +- 2 %"`, `"-1 V .. 1 V"`), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, tug, `"5 V +- 2 %"`, `"-1 V .. 0 V"`), tugSense)
}

// Exchanged pins are the root of all that comes of them.
func TestPinMapRemedy(t *testing.T) {
	deck := edit(t, tug, "BUS LOAD out 0 VM VM V5", "BUS LOAD out V5 VM VM 0") + "\nCS V5 0 100n"
	curedBy(t, builtin.PinMap, "supply and ground of XA exchanged", deck, tugSense)
	for _, r := range rules.Judge(load(t, deck, tugSense), all).Results {
		if r.Rule == builtin.SupplyRange.ID && (r.Kind != rules.KindFail || r.Finding()) {
			t.Errorf("%s: %v, follows %q", r.Rule, r.Kind, r.Follows)
		}
	}
}

func TestPinMapPackage(t *testing.T) {
	rule := builtin.PinMap
	with := func(lists string) string { return edit(t, tugSense, "gain =", lists+"\ngain =") }
	const (
		right = `packages.flat = ["in+", "in-", "out", "ground", "ref-a", "ref-b", "supply"]`
		wide  = `packages.wide = ["nc", "in+", "in-", "nc", "out", "ground", "ref-a", "ground", "ref-b", "supply"]`
		wrong = `packages.tiny = ["in-", "in+", "out", "ground", "ref-a", "ref-b", "supply"]`
		short = `packages.short = ["in+", "in-", "out", "ground", "ref-a", "supply"]`
	)
	fitted := func(name string) string { return tug + "\n* shuntwright: elements.XA.package = \"" + name + "\"" }
	wants(t, rule, rules.KindPass, 0, tug, with(right))
	wants(t, rule, rules.KindPass, 0, tug, with(wide))
	wants(t, rule, rules.KindPass, 0, tug, with(right+"\n"+wide))
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, tug, with(wrong)), "pin 1 of tiny is in-, where the record tug-sense-40 lists in+")
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, tug, with(short)), "pin 6 of short is supply, where the record tug-sense-40 lists ref-b")
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, tug, with(wrong+"\n"+short)), "none of its packages")
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, with(right+"\n"+wrong)), "elements.XA.package")
	wants(t, rule, rules.KindPass, 0, fitted("Flat"), with(right+"\n"+wrong))
	wants(t, rule, rules.KindFail, rules.Error, fitted("tiny"), with(right+"\n"+wrong))
	lacks(t, wants(t, rule, rules.KindOpen, 0, fitted("round"), with(right)), "packages.round")
	curedBy(t, rule, "supply and ground of XA exchanged", edit(t, tug, "BUS LOAD out 0 VM VM V5", "BUS LOAD out V5 VM VM 0"), with(right))
}

func TestPinMapPorts(t *testing.T) {
	rule := builtin.PinMap
	named := edit(t, tugSense, "gain =", `pin-names = { "in+" = ["INP", "VP"], "in-" = ["INM"], supply = ["VCC"] }`+"\ngain =")
	body := func(ports string) string { return tug + "\n.subckt tug-sense-40 " + ports + "\nR1 INP INM 1\n.ends" }
	wants(t, rule, rules.KindPass, 0, body("INP INM o g ra rb VCC"), named)
	wants(t, rule, rules.KindPass, 0, body("vp inm o g ra rb 7"), named)
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, body("INM INP o g ra rb VCC"), named), "port 1 of .subckt tug-sense-40 is INM, the in- pin, where the record tug-sense-40 has in+")
	wants(t, rule, rules.KindNotApplicable, 0, body("1 2 3 4 5 6 7"), named)
	wants(t, rule, rules.KindNotApplicable, 0, body("INM INP o g ra rb VCC"), tugSense)
}

// dinghy has an enable pin and none for a reference.
const dinghy = `
[[part]]
name = "dinghy-sense-21"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "enable", "supply"]
gain = "21 V/V +- 0.4 %"
direction = "unidirectional"
supply = { operating = "2.7 V .. 5.6 V", survival = "-0.3 V .. 6.3 V", current = "0.9 mA" }
common-mode = { operating = "-4 V .. 64 V", survival = "-12 V .. 81 V" }
input.model = "high-impedance"
bias = { max = "3.1 uA", mismatch = "0.3 uA" }
output = { low = "36 mV", high = "supply - 95 mV" }
offset.max = "140 uV"
enable = { low = "0.63 V", high = "1.72 V", pull = "none", active = "high" }
`

func TestFloatingPinReference(t *testing.T) {
	rule := builtin.FloatingPin
	wants(t, rule, rules.KindPass, 0, tug, tugSense)
	ref := func(cards string) string { return edit(t, tug, "0 VM VM V5", "0 VM rb V5") + cards }
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, ref(""), tugSense), "ref-b floats: nothing else is on its net rb")
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, ref("\nCB rb 0 1u"), tugSense), "ref-b floats: nothing on its net rb drives it")
	curedBy(t, rule, "ref-b of XA moved to VM, where ref-a is", ref("")+"\nCS V5 0 100n", tugSense)
	for _, cards := range []string{"\nRB rb VM 22", "\nRB rb 0 22", "\nVB rb 0 2.5", "\nEB rb 0 VM 0 1", "\nRB rb x 1k\nLB x VM 1u", "\n* shuntwright: rails.rb = \"2.5 V +- 1 %\""} {
		wants(t, rule, rules.KindPass, 0, ref(cards), tugSense)
	}
	// A net that feeds parts is a rail that nobody declared, behind a filter resistor as well.
	feeds := strings.Replace(ref("\nRB rb V5 10"), "* shuntwright: rails.V5", "* rails.V5", 1)
	lacks(t, wants(t, rule, rules.KindOpen, 0, feeds, tugSense), "rails.V5")
	// Who asks what the open pin stands at asks for what the failure told.
	for _, r := range rules.Judge(load(t, edit(t, tug, "0 VM VM V5", "0 rb rb V5"), tugSense), []*rules.Rule{rule, builtin.OutputHeadroom, builtin.ReferenceBias}).Results {
		if r.Rule != rule.ID && r.Follows != rule.ID {
			t.Errorf("%s follows %q: %s", r.Rule, r.Follows, r.Message)
		}
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, ref("\nXM rb V5 0 controller"), tugSense), "a record for controller")
	// One transistor drives while it is closed, two are a driver.
	fet := "\n.model fet NMOS"
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, ref("\nMB rb g 0 0 fet"+fet), tugSense), "ref-b floats while MB is open")
	wants(t, rule, rules.KindPass, 0, ref("\nMB rb g 0 0 fet\nMT V5 h rb rb fet"+fet), tugSense)
	wants(t, rule, rules.KindPass, 0, ref("\nMB rb g 0 0 fet\nRB rb V5 10k"+fet), tugSense)
	// The output of another amplifier drives; its inputs do not.
	buoy := tugSense + "\n[[part]]\nname = \"tug-buoy\"\nrole = \"op-amp\"\npins = [\"in+\", \"in-\", \"out\", \"ground\", \"supply\"]\n"
	wants(t, rule, rules.KindPass, 0, ref("\nXB VM rb rb 0 V5 tug-buoy"), buoy)
	wants(t, rule, rules.KindFail, rules.Error, ref("\nXB VM rb o 0 V5 tug-buoy"), buoy)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "0 VM VM V5 tug-sense-40", "0 V5 tug-bare", "RM VM 0 100k", "RM VM 0 100k"),
		edit(t, tugSense, `"tug-sense-40"`, `"tug-bare"`, `"ref-a", "ref-b", `, ""))
}

// A divider of R1 above R2 makes V5 R2/(R1 + R2): with 4.9 V .. 5.1 V and 1 % each, low at 0.63 V is held by R2 of
// 10 kohm below R1 = 10 kohm (5.1/0.63 - 1) 1.01/0.99 = 72.38 kohm, high at 1.72 V by R1 up to
// 10 kohm (4.9/1.72 - 1) 0.99/1.01 = 18.12 kohm.
func TestFloatingPinLevels(t *testing.T) {
	rule := builtin.FloatingPin
	deck := func(net, cards string) string {
		return edit(t, tug, "0 VM VM V5 tug-sense-40", "0 "+net+" V5 dinghy-sense-21", "-20 A .. 20 A", "0 A .. 20 A") + cards
	}
	either := edit(t, dinghy, `, active = "high"`, "")
	divider := func(k float64) string { return deck("en", fmt.Sprintf("\nR1 V5 en %gk\nR2 en 0 10k", k)) }
	wants(t, rule, rules.KindPass, 0, divider(72.38*1.005), either)
	wants(t, rule, rules.KindFail, rules.Error, divider(72.38*0.995), either)
	r := wants(t, rule, rules.KindPass, 0, divider(18.12*0.995), either)
	if m, want := measure(t, r, "enable"), 4.9/(1+18.12*0.995/10*1.01/0.99); m.Min < want-1e-6 || m.Min > want+1e-6 {
		t.Errorf("enable down to %v, want %v", m.Min, want)
	}
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, divider(18.12*1.005), either), "enable is at no valid level: it comes down to 1.71")
	// At one end of the supply whatever the limits are.
	bare := edit(t, either, `low = "0.63 V", high = "1.72 V", `, "")
	for _, net := range []string{"V5", "0"} {
		wants(t, rule, rules.KindPass, 0, deck(net, ""), bare)
		wants(t, rule, rules.KindPass, 0, deck("en", "\nREN en "+net+" 100k"), bare)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, divider(5), bare), "enable.high")
	lacks(t, wants(t, rule, rules.KindOpen, 0, divider(90), bare), "enable.low")
	// On the level that does not turn it on.
	wants(t, rule, rules.KindPass, 0, deck("V5", ""), dinghy)
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, deck("0", ""), dinghy), "the part is off: its net 0 keeps enable low")
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, divider(90), dinghy), "the part is off")
	wants(t, rule, rules.KindPass, 0, deck("0", ""), edit(t, dinghy, `active = "high"`, `active = "low"`))
	// Open: what the part itself does, and whether anybody knows.
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, deck("en", ""), dinghy), "enable floats: nothing else is on its net en")
	curedBy(t, rule, "enable of XA moved to V5", deck("en", ""), dinghy)
	wants(t, rule, rules.KindPass, 0, deck("en", "\nCE en 0 1n"), edit(t, dinghy, `pull = "none"`, `pull = "up"`))
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, deck("en", ""), edit(t, dinghy, `pull = "none"`, `pull = "down"`)), "its own pull-down keeps enable low")
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck("en", ""), edit(t, dinghy, `, pull = "none"`, "")), "enable.pull")
	// A signal moves between its levels; a rail that is merely declared wide may be anywhere.
	wants(t, rule, rules.KindPass, 0, deck("en", "\nVE en 0 PULSE(0 3.3 0 1u 1u 1m 2m)"), dinghy)
	wants(t, rule, rules.KindReview, 0, deck("en", "\n* shuntwright: rails.en = \"0 V .. 3.3 V\""), dinghy)
	// In another state the level counts while the part has supply.
	asleep := "\n* shuntwright: rails.VEN = \"3.3 V +- 2 %\"\nREN en VEN 10k\n* shuntwright: states.dim = { measuring = false, rails = { VEN = \"1.2 V\", V5 = \"VSTATE\" } }"
	saysIn(t, wants(t, rule, rules.KindFail, rules.Error, deck("en", edit(t, asleep, "VSTATE", "5 V")), dinghy), "enable while dim is at no valid level")
	wants(t, rule, rules.KindPass, 0, deck("en", edit(t, asleep, "VSTATE", "0 V")), dinghy)
	wants(t, rule, rules.KindPass, 0, deck("en", edit(t, asleep, "VSTATE", "5 V", "1.2 V", "0.4 V")), dinghy)
}

// A gain-select pin reads levels, an address pin only wants a way to something.
func TestFloatingPinSelectAndAddress(t *testing.T) {
	rule := builtin.FloatingPin
	for role, kind := range map[string]rules.Kind{"gain-select": rules.KindFail, "address": rules.KindPass} {
		part := edit(t, dinghy, `"enable"`, `"`+role+`"`, `enable = { low = "0.63 V", high = "1.72 V", pull = "none", active = "high" }`, role+`.pull = "none"`)
		if role == "gain-select" {
			part += "gain-select.low = \"0.63 V\"\ngain-select.high = \"1.72 V\"\n"
		}
		deck := edit(t, tug, "0 VM VM V5 tug-sense-40", "0 pin V5 dinghy-sense-21", "-20 A .. 20 A", "0 A .. 20 A")
		r := judge(t, rule, deck+"\nR1 V5 pin 40k\nR2 pin 0 10k", part)
		if r.Kind != kind {
			t.Errorf("%s at 1 V: %v %s", role, r.Kind, r.Message)
		}
		wants(t, rule, rules.KindFail, rules.Error, deck, part)
	}
}

// launch is two amplifiers in one package.
const launch = `
[[part]]
name = "launch-twin"
role = "sense-amplifier"
pins = ["o1", "m1", "p1", "ground", "p2", "m2", "o2", "supply"]
gain = "11 V/V +- 0.4 %"
direction = "unidirectional"
supply = { operating = "2.7 V .. 5.6 V", survival = "-0.3 V .. 6.3 V", current = "1.1 mA" }
[part.units]
a = { out = 1, "in-" = 2, "in+" = 3 }
b = { out = 7, "in-" = 6, "in+" = 5 }
`

func TestFloatingPinUnusedChannel(t *testing.T) {
	on := func(card string, more ...string) string {
		return edit(t, tug, "XA BUS LOAD out 0 VM VM V5 tug-sense-40", "XA out LOAD BUS 0 "+card+" V5 launch-twin\nRO out 0 10k") + strings.Join(more, "")
	}
	unit := func(rule *rules.Rule, deck string) rules.Result {
		return rules.JudgeAt(load(t, deck, launch), []*rules.Rule{rule}, "XA:b")[0]
	}
	for _, c := range []struct {
		deck, text string
		kind       rules.Kind
	}{
		{on("0 0 o2"), "", rules.KindPass},
		{on("t t o2", "\nRT t 0 1k"), "", rules.KindPass},
		{on("p q o2", "\nRP p 0 1k\nRQ q 0 1k"), "", rules.KindPass},
		{on("t t o2", "\nCT t 0 1n"), "float on t", rules.KindFail},
		{on("p q o2", "\nRP p V5 1k\nCQ q 0 1n"), "are not tied together", rules.KindFail},
		{on("0 0 o2", "\n* shuntwright: senses.\"XA:b\".unused = true\nRL2 o2 0 10k"), "the output of the unused channel is on o2", rules.KindFail},
	} {
		r := unit(builtin.FloatingPin, c.deck)
		if r.Kind != c.kind || !strings.Contains(r.Message, c.text) || c.kind == rules.KindFail && r.Level != rules.Warning {
			t.Errorf("%v %v: %s\n%s", r.Kind, r.Level, r.Message, c.deck)
		}
		for _, rule := range []*rules.Rule{builtin.ShuntPair, builtin.SensePolarity, builtin.ChannelCrossing} {
			if r := unit(rule, c.deck); r.Kind != rules.KindNotApplicable {
				t.Errorf("%s of an unused channel: %v %s", rule.ID, r.Kind, r.Message)
			}
		}
	}
	// A channel whose output goes somewhere is used.
	if r := unit(builtin.ShuntPair, on("0 0 o2", "\nRL2 o2 0 10k")); r.Kind != rules.KindFail {
		t.Errorf("%v %s", r.Kind, r.Message)
	}
}

// anchor is an op amp.
const anchor = `
[[part]]
name = "anchor-op"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2.9 V .. 5.5 V", survival = "-0.3 V .. 6.4 V", current = "1.7 mA" }
output = { low = "45 mV", high = "supply - 70 mV" }
offset = { max = "61 uV" }
`

// A difference amplifier of four resistors, R2/R1 = 200 kohm/10 kohm from each end of the shunt: with in+ of the op amp at
// the end that the current enters the output rises by 20 V/V, with the ends exchanged it falls.
const differenceOf = `* shuntwright: rails.BUS = "10 V .. 14 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "0 A .. 10 A", from = "BUS", least = "0.5 A" }
* shuntwright: tolerances.resistors = "0.1 %"
RSH BUS LOAD 5m
RL LOAD 0 4
R1 BUS p 10k
R2 p 0 200k
R3 LOAD m 10k
R4 m out 200k
XA p m out 0 V5 anchor-op`

func TestTopologyOfOpAmps(t *testing.T) {
	wants(t, builtin.ShuntPair, rules.KindPass, 0, differenceOf, anchor)
	wants(t, builtin.SensePolarity, rules.KindPass, 0, differenceOf, anchor)
	turned := edit(t, differenceOf, "R1 BUS p", "R1 LOAD p", "R3 LOAD m", "R3 BUS m")
	saysIn(t, wants(t, builtin.SensePolarity, rules.KindFail, rules.Error, turned, anchor), "the output falls with the declared current, which enters at BUS")
	if rem := remedyOf(t, builtin.SensePolarity, turned, anchor); rem == nil || rem.Kind != rules.KindPass || rem.Text != "the ends at the shunt of the two legs of XA exchanged" {
		t.Errorf("remedy %+v", rem)
	}
	wants(t, builtin.SensePolarity, rules.KindPass, 0, turned+"\n* shuntwright: senses.XA.inverted = true", anchor)
	for _, rule := range []*rules.Rule{builtin.PinMap, builtin.FloatingPin, builtin.ChannelCrossing, builtin.SiblingMismatch} {
		wants(t, rule, rules.KindNotApplicable, 0, differenceOf, anchor)
	}
	saysIn(t, wants(t, builtin.PinMap, rules.KindFail, rules.Error, edit(t, differenceOf, "out 0 V5 anchor-op", "out V5 0 anchor-op"), anchor), "supply is on ground")
	// Two alike; one feedback resistor of the second is another: 180 kohm instead of 200 kohm, with all else the same.
	two := differenceOf + "\n* shuntwright: currents.RSHB = { range = \"0 A .. 10 A\", from = \"BUS\", least = \"0.5 A\" }"
	for _, line := range strings.Split(differenceOf, "\n")[4:] {
		f := strings.Fields(line)
		for i, word := range f {
			if i < len(f)-1 && word != "BUS" && word != "0" && word != "V5" {
				f[i] += "B"
			}
		}
		two += "\n" + strings.Join(f, " ")
	}
	two += "\n* shuntwright: senses.XA.group = \"pumps\"\n* shuntwright: senses.XAB.group = \"pumps\""
	wants(t, builtin.SiblingMismatch, rules.KindPass, 0, two, anchor)
	if r := siblingOf(t, "XAB", two, anchor); r.Kind != rules.KindPass {
		t.Errorf("%v %s", r.Kind, r.Message)
	}
	if r := siblingOf(t, "XAB", edit(t, two, "R2B pB 0 200k", "R2B pB 0 180k", "R4B mB outB 200k", "R4B mB outB 180k"), anchor); r.Kind != rules.KindFail || !strings.Contains(r.Message, "gain 18 V/V, there 20 V/V") {
		t.Errorf("%v %s", r.Kind, r.Message)
	}
}

// A digital monitor has no output; its address pin wants a way to something, and its own pins drive nothing.
func TestTopologyOfDigitalMonitors(t *testing.T) {
	gauge := `
[[part]]
name = "capstan-log"
role = "digital-monitor"
pins = ["in+", "in-", "bus", "ground", "supply", "data", "clock", "alert", "address"]
supply = { operating = "2.9 V .. 5.5 V", survival = "-0.3 V .. 6.4 V", current = "0.7 mA" }
address.pull = "none"
`
	deck := func(address, more string) string {
		return edit(t, tug, "BUS LOAD out 0 VM VM V5 tug-sense-40", "BUS LOAD BUS 0 V5 sda scl al "+address+" capstan-log") + "\nRD sda V5 4.7k\nRC scl V5 4.7k\nRT al V5 10k" + more
	}
	for _, address := range []string{"0", "V5", "sda"} {
		wants(t, builtin.FloatingPin, rules.KindPass, 0, deck(address, ""), gauge)
	}
	saysIn(t, wants(t, builtin.FloatingPin, rules.KindFail, rules.Error, deck("ad", ""), gauge), "address floats: nothing else is on its net ad")
	saysIn(t, wants(t, builtin.FloatingPin, rules.KindFail, rules.Error, deck("ad", "\nCA ad 0 1n"), gauge), "address floats: nothing on its net ad")
	wants(t, builtin.FloatingPin, rules.KindPass, 0, deck("ad", "\nRA ad 0 10k"), gauge)
	wants(t, builtin.FloatingPin, rules.KindPass, 0, deck("ad", ""), edit(t, gauge, `"none"`, `"down"`))
	wants(t, builtin.ShuntPair, rules.KindPass, 0, deck("0", ""), gauge)
	wants(t, builtin.SensePolarity, rules.KindPass, 0, deck("0", ""), gauge)
	wants(t, builtin.ChannelCrossing, rules.KindNotApplicable, 0, deck("0", ""), gauge)
}
