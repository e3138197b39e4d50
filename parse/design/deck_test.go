package design_test

import (
	"math"
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
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

// element is the element of a path.
func element(t testing.TB, d *design.Design, path string) design.Element {
	t.Helper()
	e, ok := d.Find(path)
	if !ok {
		t.Fatalf("no element %q", path)
	}
	return e
}

// ends asserts what is seen of a quantity and what is counted.
func ends(t testing.TB, what string, q quantity.Quantity, seenLo, seenHi, soundLo, soundHi float64) {
	t.Helper()
	near := func(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-9*max(1e-3, math.Abs(b)) }
	if !near(q.Seen.Lo, seenLo) || !near(q.Seen.Hi, seenHi) || !near(q.Sound.Lo, soundLo) || !near(q.Sound.Hi, soundHi) {
		t.Errorf("%s: seen %v, sound %v, want %v .. %v and %v .. %v", what, q.Seen, q.Sound, seenLo, seenHi, soundLo, soundHi)
	}
}
