package builtin_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// fleet is n channels alike, named A, B, C ..., at rails of their own that are switched alike.
func fleet(n int) string {
	deck := `* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.VM = "2.5 V +- 0.2 %"
* shuntwright: tolerances.resistors = "1 %"
RM VM 0 100k
RB BUS 0 100k
`
	for _, c := range strings.Split("A B C D", " ")[:n] {
		deck += strings.ReplaceAll(`* shuntwright: switching.P# = { between = ["0", "BUS"], frequency = "23 kHz" }
* shuntwright: currents.RSH# = { range = "-20 A .. 20 A", from = "P#", least = "0.5 A" }
RSH# P# L# 1m
RL# L# 0 4
RP# P# i# 4.7
RN# L# j# 4.7
CD# i# j# 10n
CG# j# 0 1n
CO# out# 0 1n
X# i# j# out# 0 VM VM V5 tug-sense-40
`, "#", c)
	}
	return deck
}

// on is what sibling-mismatch says of one block.
func siblingOf(t testing.TB, block, deck, records string) rules.Result {
	t.Helper()
	return rules.JudgeAt(load(t, deck, records), []*rules.Rule{builtin.SiblingMismatch}, block)[0]
}

func TestSiblingMismatch(t *testing.T) {
	rule := builtin.SiblingMismatch
	codes := tugSense + "[[part.code]]\nsuffix = \"-H\"\ngain = \"80 V/V +- 0.3 %\"\n" + strings.ReplaceAll(tugSense, "tug-sense-40", "tug-keen-40")
	wants(t, rule, rules.KindPass, 0, fleet(3), codes)
	wants(t, rule, rules.KindPass, 0, fleet(2), codes)
	wants(t, rule, rules.KindNotApplicable, 0, fleet(1), codes)
	// One slip each, in the first of three: the others are usual, and are not blamed for it.
	for slip, text := range map[[2]string]string{
		{"RSHA PA LA 1m", "RSHA PA LA 2m"}:                   "shunt 2 mohm, there 1 mohm",
		{"RPA PA iA 4.7", "RPA PA iA 47"}:                    "filter 47 ohm at in+ and 4.7 ohm at in-, there 4.7 ohm at in+ and 4.7 ohm at in-",
		{"RNA LA jA 4.7", "RNA LA jA 10"}:                    "filter 4.7 ohm at in+ and 10 ohm at in-",
		{"CDA iA jA 10n", "CDA iA jA 100n"}:                  "capacitor 100 nF across",
		{"CGA jA 0 1n", "CGA jA 0 1u"}:                       "at in-, there 10 nF across",
		{"outA 0 VM VM V5", "outA 0 VM 0 V5"}:                "reference ref-a on VM, ref-b on ground, there ref-a on VM, ref-b on VM",
		{"VM V5 tug-sense-40\n*", "VM V5 tug-sense-40-H\n*"}: "gain 80 V/V, there 40 V/V",
		{"VM V5 tug-sense-40\n*", "VM V5 tug-keen-40\n*"}:    "part tug-keen-40, there tug-sense-40",
		{"XA iA jA", "XA jA iA"}:                             "polarity falling with the current, there rising with the current",
	} {
		deck := strings.Replace(fleet(3), slip[0], slip[1], 1)
		if deck == fleet(3) {
			t.Fatalf("no %q", slip[0])
		}
		r := wants(t, rule, rules.KindFail, rules.Warning, deck, codes)
		saysIn(t, r, text)
		saysIn(t, r, "differs from XB")
		for _, other := range []string{"XB", "XC"} {
			if o := siblingOf(t, other, deck, codes); o.Kind != rules.KindPass {
				t.Errorf("%s of %s: %v %s", slip[1], other, o.Kind, o.Message)
			}
		}
		// The same slip is none where it is meant.
		trait, _, _ := strings.Cut(text, " ")
		if trait == "at" {
			trait = "capacitor"
		}
		meant := "\n* shuntwright: senses.XA.differs." + trait + " = true"
		wants(t, rule, rules.KindPass, 0, deck+meant, codes)
		wants(t, rule, rules.KindNotApplicable, 0, deck+"\n* shuntwright: senses.XA.group = \"alone\"", codes)
		if trait != "capacitor" {
			if rem := remedyOf(t, rule, deck, codes); rem == nil || rem.Kind != rules.KindPass || !strings.Contains(rem.Text, "the same as in XB") {
				t.Errorf("%s: remedy %+v", slip[1], rem)
			}
		}
	}
}

// Values agree to one part in a million: 1 mohm and 1.0000005 mohm do, 1.000002 mohm does not.
func TestSiblingValues(t *testing.T) {
	at := func(v float64) string {
		return edit(t, fleet(3), "RSHA PA LA 1m", fmt.Sprintf("RSHA PA LA %.10gm", v))
	}
	wants(t, builtin.SiblingMismatch, rules.KindPass, 0, at(1.0000005), tugSense)
	wants(t, builtin.SiblingMismatch, rules.KindPass, 0, at(0.9999995), tugSense)
	wants(t, builtin.SiblingMismatch, rules.KindFail, rules.Warning, at(1.000002), tugSense)
	wants(t, builtin.SiblingMismatch, rules.KindFail, rules.Warning, at(0.999998), tugSense)
	// Two resistors in series are the one that they add up to; two shunts are the one that they make in parallel:
	// 2 mohm beside 2 mohm is 1 mohm.
	wants(t, builtin.SiblingMismatch, rules.KindPass, 0, edit(t, fleet(3), "RPA PA iA 4.7", "RPA PA qA 2.7\nRQA qA iA 2"), tugSense)
	wants(t, builtin.SiblingMismatch, rules.KindPass, 0, edit(t, fleet(3), "RSHA PA LA 1m", "RSHA PA LA 2m\nRSHA2 PA LA 2m"), tugSense)
}

// Of two, the first in the netlist is what the other is held against; with as many on both sides too.
func TestSiblingsOfWhichNoneIsUsual(t *testing.T) {
	two := edit(t, fleet(2), "RSHA PA LA 1m", "RSHA PA LA 2m")
	for block, kind := range map[string]rules.Kind{"XA": rules.KindPass, "XB": rules.KindFail} {
		if r := siblingOf(t, block, two, tugSense); r.Kind != kind {
			t.Errorf("%s: %v %s", block, r.Kind, r.Message)
		}
	}
	four := edit(t, fleet(4), "RSHA PA LA 1m", "RSHA PA LA 2m", "RSHC PC LC 1m", "RSHC PC LC 2m")
	for block, kind := range map[string]rules.Kind{"XA": rules.KindPass, "XB": rules.KindFail, "XC": rules.KindPass, "XD": rules.KindFail} {
		if r := siblingOf(t, block, four, tugSense); r.Kind != kind {
			t.Errorf("%s: %v %s", block, r.Kind, r.Message)
		}
	}
}

// Channels that nothing makes alike differ freely.
func TestNoSiblings(t *testing.T) {
	rule := builtin.SiblingMismatch
	odd := edit(t, fleet(3), "RSHA PA LA 1m", "RSHA PA LA 2m")
	wants(t, rule, rules.KindFail, rules.Warning, odd, tugSense)
	// Another range, another frequency, another scale, no range.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, odd, `currents.RSHA = { range = "-20 A .. 20 A"`, `currents.RSHA = { range = "-10 A .. 20 A"`), tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, odd, `switching.PA = { between = ["0", "BUS"], frequency = "23 kHz" }`, `switching.PA = { between = ["0", "BUS"], frequency = "29 kHz" }`), tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, odd+"\n* shuntwright: converters.outA.scale = \"80 mV/A\"", tugSense)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, odd, `* shuntwright: currents.RSHA =`, `* currents.RSHA =`), tugSense)
	// One part and one range are chance; with one scale in firmware they are meant.
	steady := odd
	for _, c := range []string{"A", "B", "C"} {
		steady = edit(t, steady, `* shuntwright: switching.P`+c+` = { between = ["0", "BUS"], frequency = "23 kHz" }`, "* shuntwright: rails.P"+c+` = "40 V .. 58 V"`)
	}
	wants(t, rule, rules.KindNotApplicable, 0, steady, tugSense)
	for _, c := range []string{"A", "B", "C"} {
		steady += "\n* shuntwright: converters.out" + c + ".scale = \"40 mV/A\""
	}
	wants(t, rule, rules.KindFail, rules.Warning, steady, tugSense)
	// A second amplifier at the same shunt is no sibling: it may watch faster or wider.
	fast := fleet(2) + "\nXF PA LA outF 0 0 VM V5 tug-sense-40\nCOF outF 0 1n"
	if r := siblingOf(t, "XF", fast, tugSense); r.Kind != rules.KindNotApplicable && r.Kind != rules.KindPass {
		t.Errorf("%v %s", r.Kind, r.Message)
	}
	wants(t, rule, rules.KindPass, 0, fast, tugSense)
	// References that hang on a divider or buffer each are not compared.
	own := edit(t, fleet(2), "outB 0 VM VM V5", "outB 0 mB mB V5") + "RUB V5 mB 1k\nRDB mB 0 1k\n"
	if r := siblingOf(t, "XB", own, tugSense); r.Kind != rules.KindPass {
		t.Errorf("%v %s", r.Kind, r.Message)
	}
}

// A shunt below the lower transistor of each leg belongs to the net that is switched.
func TestSiblingsBelowTransistors(t *testing.T) {
	deck := fleet(3)
	for _, c := range []string{"A", "B", "C"} {
		deck = edit(t, deck, "RSH"+c+" P"+c+" L"+c+" 1m", "M"+c+" P"+c+" g"+c+" S"+c+" S"+c+" fet\nRSH"+c+" S"+c+" 0 1m", "RL"+c+" L"+c+" 0 4\n", "",
			"RP"+c+" P"+c+" i", "RP"+c+" S"+c+" i", "RN"+c+" L"+c+" j", "RN"+c+" 0 j", `from = "P`+c+`"`, `from = "S`+c+`"`)
	}
	deck += ".model fet NMOS\n"
	wants(t, builtin.SiblingMismatch, rules.KindPass, 0, deck, tugSense)
	wants(t, builtin.SiblingMismatch, rules.KindFail, rules.Warning, edit(t, deck, "RPA SA iA 4.7", "RPA SA iA 4.3"), tugSense)
}

// A remedy that changes one of several channels alike would be carried out in all: it is not worse for their likeness.
func TestRemedyInOneOfSeveral(t *testing.T) {
	deck := fleet(2)
	for _, c := range []string{"A", "B"} {
		deck = edit(t, deck, "RP"+c+" P"+c+" i"+c+" 4.7", "RP"+c+" P"+c+" i"+c+" 150", "RN"+c+" L"+c+" j"+c+" 4.7", "RN"+c+" L"+c+" j"+c+" 150")
	}
	rem := remedyOf(t, builtin.FilterGainError, deck, tugSense)
	if rem == nil || len(rem.Breaks) > 0 {
		t.Errorf("remedy %+v", rem)
	}
}

// A value that nobody can read is not like any other.
func TestSiblingWithoutAValue(t *testing.T) {
	for _, card := range []string{"RSHA PA LA", "RPA PA iA", "CDA iA jA"} {
		d, _, _ := bind(t, "a deck\n"+regexp.MustCompile("(?m)^"+card+" .*$").ReplaceAllString(fleet(3), card+" {nowhere}")+"\n.end\n", tugSense)
		r := rules.JudgeAt(d, []*rules.Rule{builtin.SiblingMismatch}, "XA")[0]
		if r.Kind != rules.KindOpen {
			t.Errorf("%s: %v: %s", card, r.Kind, r.Message)
		}
		lacks(t, r, "the value of "+strings.Fields(card)[0])
	}
}
