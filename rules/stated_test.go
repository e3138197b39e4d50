package rules_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// What no number shows comes out as it was stated, at the element it is about, without a measure.
func TestStated(t *testing.T) {
	d := load(t, deck, barge)
	rsh, _ := d.Find("RSH")
	need := quantity.Need{In: "intent", Key: "goals.XA.error"}
	for _, c := range []struct {
		does func(*rules.Bench)
		kind rules.Kind
		says string
	}{
		{func(p *rules.Bench) { p.Breach("a bad name").On(rsh).Advise("rename it") }, rules.KindFail, "a bad name"},
		{func(p *rules.Bench) { p.Holds("a good name").On(rsh) }, rules.KindPass, "a good name"},
		{func(p *rules.Bench) { p.HoldsIf("only if RSH is wound").On(rsh) }, rules.KindReview, "only if RSH is wound"},
		{func(p *rules.Bench) { p.Lacks("", need).On(rsh) }, rules.KindOpen, "cannot be judged without goals.XA.error"},
		{func(p *rules.Bench) { p.Holds("one"); p.Breach("two").On(rsh); p.HoldsIf("three") }, rules.KindFail, "two"},
		{func(p *rules.Bench) { p.Holds("one"); p.AtMost(exactly(3), exactly(2), "2") }, rules.KindFail, "outside its limit"},
	} {
		r := judged(t, d, c.does)
		if r.Kind != c.kind || r.Message != c.says {
			t.Errorf("%v %q, want %v %q", r.Kind, r.Message, c.kind, c.says)
		}
		if want := "RSH BUS LOAD 1m"; strings.Contains(c.says, "name") && c.kind == rules.KindFail && d.Src.Text(r.At) != want {
			t.Errorf("it stands at %q, want %q", d.Src.Text(r.At), want)
		}
		if r.Kind == rules.KindOpen && (len(r.Needs) != 1 || r.Needs[0] != need) {
			t.Errorf("needs %v", r.Needs)
		}
	}
	r := judged(t, d, func(p *rules.Bench) {
		p.Breach("x").Advise("rename it").Evidence(source.Related{At: rsh.Card(), Message: "here"})
	})
	if r.Advice != "rename it" || len(r.Related) != 1 || len(r.Measures) != 0 {
		t.Errorf("%+v", r)
	}
}
