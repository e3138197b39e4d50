package rules_test

import (
	"math"
	"slices"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

func cause(name string, seenLo, seenHi, soundLo, soundHi float64, g quantity.Grade) quantity.Quantity {
	return (&quantity.Cause{Name: name, Unit: quantity.Volt, Nom: (seenLo + seenHi) / 2, Seen: quantity.Interval{Lo: seenLo, Hi: seenHi},
		Sound: quantity.Interval{Lo: soundLo, Hi: soundHi}, Grade: g, Note: name + " is an assumption"}).Of()
}

func volts(v float64) quantity.Quantity { return quantity.Exactly("limit", quantity.Volt, v) }

func missing(key string) quantity.Quantity {
	return quantity.Missing(quantity.Volt, quantity.Need{In: "intent", Key: key})
}

// Seen proves failures, Sound proves passes; the gap is open where something is missing, else a review.
func TestVerdicts(t *testing.T) {
	d := load(t, deck, barge)
	q := cause("q", 1, 2, 0.5, 2.5, quantity.Assumed)
	soft := cause("typ", 1, 2, 1, 2, quantity.Soft)
	for _, c := range []struct {
		name  string
		check func(p *rules.Bench) *rules.Check
		kind  rules.Kind
		level rules.Level
	}{
		{"all inside", func(p *rules.Bench) *rules.Check { return p.Within(q, volts(0.5), volts(2.5), "r") }, rules.KindPass, 0},
		{"seen outside", func(p *rules.Bench) *rules.Check { return p.AtMost(q, volts(1.9), "r") }, rules.KindFail, rules.Error},
		{"seen outside below", func(p *rules.Bench) *rules.Check { return p.AtLeast(q, volts(1.1), "r") }, rules.KindFail, rules.Error},
		{"counted outside", func(p *rules.Bench) *rules.Check { return p.AtMost(q, volts(2.4), "r") }, rules.KindReview, 0},
		{"at the limit", func(p *rules.Bench) *rules.Check { return p.AtMost(soft, volts(2.5), "r") }, rules.KindReview, 0}, // a typical value
		{"typical outside", func(p *rules.Bench) *rules.Check { return p.AtMost(soft, volts(1.5), "r") }, rules.KindFail, rules.Error},
		{"a level of its own", func(p *rules.Bench) *rules.Check { return p.AtMost(q, volts(1), "r").At(rules.Warning) }, rules.KindFail, rules.Warning},
		{"missing", func(p *rules.Bench) *rules.Check { return p.AtMost(missing("x"), volts(1), "r") }, rules.KindOpen, 0},
		{"limit missing", func(p *rules.Bench) *rules.Check { return p.AtMost(q, missing("x"), "r") }, rules.KindOpen, 0},
		{"missing, outside anyway", func(p *rules.Bench) *rules.Check {
			return p.AtMost(quantity.Calc("", quantity.Volt, func(x []float64) float64 { return x[0] + x[1]*x[1] }, cause("a", 3, 4, 3, 4, 0), missing("x")), volts(2), "r")
		}, rules.KindOpen, 0},
		{"one end fails, the other is thin", func(p *rules.Bench) *rules.Check { return p.Within(q, volts(0.9999), volts(1.5), "r").Band(0.01) }, rules.KindFail, rules.Error},
		{"one end fails, the other is missing", func(p *rules.Bench) *rules.Check { return p.Within(q, missing("x"), volts(1.5), "r") }, rules.KindFail, rules.Error},
		{"one end holds, the other is missing", func(p *rules.Bench) *rules.Check { return p.Within(q, missing("x"), volts(5), "r") }, rules.KindOpen, 0},
		{"not a number", func(p *rules.Bench) *rules.Check {
			return p.AtMost(quantity.Calc("", quantity.Volt, func([]float64) float64 { return math.NaN() }, q), volts(1), "r")
		}, rules.KindOpen, 0},
		{"no state at all", func(p *rules.Bench) *rules.Check {
			return p.AtMost(quantity.CalcStates("", quantity.Volt, func([]float64) float64 { return math.NaN() }, q), volts(1), "r")
		}, rules.KindOpen, 0},
		{"unbounded", func(p *rules.Bench) *rules.Check {
			return p.AtMost(cause("u", 1, math.Inf(1), 1, math.Inf(1), 0), volts(1e9), "r")
		}, rules.KindFail, rules.Error},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := judged(t, d, func(p *rules.Bench) { c.check(p) })
			loose := c.kind == rules.KindOpen && len(r.Needs) == 0 && r.Kind == rules.KindReview // nothing to name, no pass either
			if r.Kind != c.kind && !loose || r.Level != c.level {
				t.Errorf("%v %v (%s), want %v %v", r.Kind, r.Level, r.Message, c.kind, c.level)
			}
		})
	}
}

// Reaching the end of an operating range is inside, reaching a rating is not.
func TestEquality(t *testing.T) {
	d := load(t, deck, barge)
	q := cause("q", 1, 2, 1, 2, 0)
	for _, c := range []struct {
		limit  float64
		rating bool
		kind   rules.Kind
	}{{2, false, rules.KindPass}, {2, true, rules.KindFail}, {2.001, true, rules.KindPass}, {1.999, false, rules.KindFail}} {
		r := judged(t, d, func(p *rules.Bench) {
			if k := p.AtMost(q, volts(c.limit), "r"); c.rating {
				k.Rating()
			}
		})
		if r.Kind != c.kind {
			t.Errorf("2 V at a limit of %v V, rating %v: %v", c.limit, c.rating, r.Kind)
		}
	}
	// The sum of a tenth and two is three tenths, for a range that ends there.
	sum := quantity.Calc("s", quantity.Volt, func(x []float64) float64 { return x[0] + x[1] }, volts(0.1), quantity.Exactly("two tenths", quantity.Volt, 0.2))
	if r := judged(t, d, func(p *rules.Bench) { p.AtMost(sum, quantity.Exactly("end", quantity.Volt, 0.3), "r") }); r.Kind != rules.KindPass {
		t.Errorf("0.1 V + 0.2 V at a limit of 0.3 V: %v", r.Kind)
	}
}

// Within a tenth of a limit's size a check with a band warns.
func TestBand(t *testing.T) {
	d := load(t, deck, barge)
	for v, want := range map[float64][2]any{
		8.9: {rules.KindPass, rules.Level(0)}, 9.1: {rules.KindFail, rules.Warning}, 9.99: {rules.KindFail, rules.Warning}, 10.1: {rules.KindFail, rules.Error},
		-8.9: {rules.KindPass, rules.Level(0)}, -9.1: {rules.KindFail, rules.Warning}, -10.1: {rules.KindFail, rules.Error},
	} {
		r := judged(t, d, func(p *rules.Bench) {
			p.Within(quantity.Exactly("q", quantity.Volt, v), quantity.Exactly("lo", quantity.Volt, -10), quantity.Exactly("hi", quantity.Volt, 10), "r").Rating().Band(0.1)
		})
		if r.Kind != want[0] || r.Level != want[1] {
			t.Errorf("%v V within 10 V: %v %v", v, r.Kind, r.Level)
		}
	}
	// What is only counted inside the band is a review and no warning.
	r := judged(t, d, func(p *rules.Bench) { p.AtMost(cause("q", 8, 8, 7.6, 9.5, quantity.Assumed), volts(10), "r").Band(0.1) })
	if r.Kind != rules.KindReview {
		t.Errorf("counted inside the band: %v %v", r.Kind, r.Level)
	}
}

// One net is one variable: a quantity and its limit that share it do not pair its opposite ends.
func TestSharedLimits(t *testing.T) {
	d := load(t, deck, barge)
	vs := cause("VS", 4.5, 5.5, 4.5, 5.5, 0)
	out := quantity.Calc("half", quantity.Volt, func(x []float64) float64 { return x[0] / 2 }, vs)
	high := quantity.Calc("swing", quantity.Volt, func(x []float64) float64 { return x[0] - 2.2 }, vs)
	if r := judged(t, d, func(p *rules.Bench) { p.AtMost(out, high, "r") }); r.Kind != rules.KindPass {
		t.Errorf("VS/2 below VS - 2.2 V: %v", r.Kind)
	}
}

// The worst check decides; a rule that ends without one is open with what it asked for, or says why it has none.
func TestWorstCheckDecides(t *testing.T) {
	d := load(t, deck, barge)
	pass := func(p *rules.Bench) { p.AtMost(volts(1), volts(2), "a") }
	review := func(p *rules.Bench) { p.AtMost(cause("q", 1, 2, 0, 3, 0), volts(2.5), "b") }
	open := func(p *rules.Bench) { p.AtMost(missing("x"), volts(2), "c") }
	fail := func(p *rules.Bench) { p.AtMost(volts(3), volts(2), "d") }
	all := []func(*rules.Bench){pass, review, open, fail}
	for i := range all {
		r := judged(t, d, func(p *rules.Bench) {
			for _, f := range all[:i+1] {
				f(p)
			}
		})
		if want := []rules.Kind{rules.KindPass, rules.KindReview, rules.KindOpen, rules.KindFail}[i]; r.Kind != want || r.Measures[0].Kind != want {
			t.Errorf("%v, the first measure %v, want %v", r.Kind, r.Measures[0].Kind, want)
		}
	}
	r := judged(t, d, func(p *rules.Bench) { p.Part("bandwidth") })
	if r.Kind != rules.KindOpen || !slices.ContainsFunc(r.Needs, func(n quantity.Need) bool { return n.Key == "barge-30 bandwidth" }) {
		t.Errorf("asked only: %v, needs %v", r.Kind, r.Needs)
	}
	if r := judged(t, d, func(*rules.Bench) {}); r.Kind != rules.KindOpen {
		t.Errorf("nothing done: %v", r.Kind)
	}
	if r := judged(t, d, func(p *rules.Bench) { p.Skip("no reason") }); r.Kind != rules.KindNotApplicable || r.Finding() {
		t.Errorf("skipped: %v", r.Kind)
	}
}
