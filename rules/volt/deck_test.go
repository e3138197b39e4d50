package volt_test

import (
	"math"
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// need is what these helpers ask of a testing.T or a rapid.T.
type need interface {
	Helper()
	Fatalf(format string, args ...any)
}

// bind binds a deck, without its title line, and part records; the deck's comment cards carry the intent.
func bind(deck, records string) (*design.Design, []source.Diagnostic) {
	set := source.NewSet()
	cards, diags := parse.Read(set, set.Add("deck.cir", []byte("a deck\n"+deck+"\n.end\n"), source.Span{}), parse.Options{})
	lib := &part.Library{}
	diags = append(diags, lib.Read(set, set.Add("parts.toml", []byte(records), source.Span{}))...)
	d, found := design.Bind(set, cards, lib, nil)
	return d, append(diags, found...)
}

// load is bind for a deck with which nothing may be wrong.
func load(t need, deck, records string) *design.Design {
	t.Helper()
	d, diags := bind(deck, records)
	for _, diag := range diags {
		t.Fatalf("%v: %s: %s\n%s", d.Src.Place(diag.At), diag.Rule, diag.Text(), deck)
	}
	return d
}

func net(t need, d *design.Design, name string) circuit.Net {
	t.Helper()
	n, ok := d.Net(name)
	if !ok {
		t.Fatalf("no net %q", name)
	}
	return n
}

// voltage is the operating bound of a net; across is that of a difference. Both ends are solved again from their witness
// decks.
func voltage(t need, d *design.Design, name string) quantity.Quantity {
	t.Helper()
	return witnessed(t, volt.New(d), volt.At(net(t, d, name)), design.Operating)
}

func across(t need, d *design.Design, a, b string) quantity.Quantity {
	t.Helper()
	return witnessed(t, volt.New(d), volt.Across(net(t, d, a), net(t, d, b)), design.Operating)
}

// meets asserts both ends of an interval.
func meets(t testing.TB, what string, got quantity.Interval, lo, hi, within float64) {
	t.Helper()
	end := func(a, b float64) bool { return a == b || math.Abs(a-b) <= within }
	if !end(got.Lo, lo) || !end(got.Hi, hi) {
		t.Errorf("%s is %.9g .. %.9g, want %.9g .. %.9g", what, got.Lo, got.Hi, lo, hi)
	}
}
