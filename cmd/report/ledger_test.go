package report

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// An answer that settles a result by itself stands before one that only helps; a variant's result is named as such.
func TestLedgerSaysWhatAnAnswerIsWorth(t *testing.T) {
	run := ferry(t)
	run.Ledger = true
	intent := func(key string) quantity.Need { return quantity.Need{In: "intent", Key: key} }
	run.Netlists[0].Report.Results = []rules.Result{
		{Rule: "trip-delay", Kind: rules.KindOpen, Block: "XA", Needs: []quantity.Need{intent("a"), intent("b")}},
		{Rule: "shunt-power", Kind: rules.KindReview, Block: "XA", Variant: "lite", Needs: []quantity.Need{intent("b"), intent("b")}},
		{Rule: "supply-range", Kind: rules.KindPass, Block: "XA", Variant: "lite", Assumed: []string{"5 % counted"}, Needs: []quantity.Need{intent("c")}},
		{Rule: "input-full-scale", Kind: rules.KindNotApplicable, Block: "XA", Assumed: []string{"6 % counted"}},
	}
	var b strings.Builder
	if err := Text(&b, run, TextOptions{}); err != nil {
		t.Fatal(err)
	}
	want := `ferry.cir: what the results rest on that nobody declared
    5 % counted
        XA (lite) supply-range pass
ferry.cir: what answers would settle, the most first
    settles 1, helps with 1  b in the intent: XA trip-delay, XA (lite) shunt-power
    helps with 1             a in the intent: XA trip-delay
`
	if !strings.Contains(b.String(), want) {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}
