package rules_test

import (
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// An invented part; the numbers are like no catalogue's.
const barge = `
[[part]]
name = "barge-30"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "30 V/V +- 0.4 %"
direction = "bidirectional"
supply = { operating = "2.8 V .. 5.6 V", survival = "-0.3 V .. 6.6 V", current = "1.3 mA" }
common-mode = { operating = "-4 V .. 60 V", survival = "-14 V .. 75 V" }
input = { model = "differential", resistance = "4.4 kohm +- 17 %" }
bias = { max = "21 uA", mismatch = "0.6 uA" }
output = { low = "50 mV", high = "supply - 80 mV" }
offset = { max = "90 uV" }
reference = { model = "high-impedance" }
`

const deck = `* shuntwright: rails.BUS = "30 V .. 40 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BUS" }
* shuntwright: tolerances.resistors = "1 %"
RSH BUS LOAD 1m
RL LOAD 0 4
RA V5 VM 1k
RB VM 0 1k
XA BUS LOAD out 0 VM V5 barge-30
`

// bind binds cards without a title, with what is wrong with them.
func bind(cards, records string) (*design.Design, []source.Diagnostic) {
	set := source.NewSet()
	n, diags := parse.Read(set, set.Add("deck.cir", []byte("a deck\n"+cards+"\n.end\n"), source.Span{}), parse.Options{})
	lib := &part.Library{}
	diags = append(diags, lib.Read(set, set.Add("parts.toml", []byte(records), source.Span{}))...)
	d, found := design.Bind(set, n, lib, nil)
	return d, append(diags, found...)
}

func load(t testing.TB, cards, records string) *design.Design {
	t.Helper()
	d, diags := bind(cards, records)
	for _, diag := range diags {
		t.Fatalf("%v: %s: %s\n%s", d.Src.Place(diag.At), diag.Rule, diag.Text(), cards)
	}
	return d
}

// judged is what a rule that does as told says about block XA.
func judged(t testing.TB, d *design.Design, does func(*rules.Bench)) rules.Result {
	t.Helper()
	got := rules.JudgeAt(d, []*rules.Rule{{ID: "probe", Title: "a probe", Level: rules.Error, Judge: does}}, "XA")
	if len(got) != 1 {
		t.Fatalf("%d results", len(got))
	}
	return got[0]
}
