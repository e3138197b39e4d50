package rules_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// ohms is the value of an element over its tolerance, on whatever design the bench looks at.
func ohms(p *rules.Bench, path string) (design.Element, quantity.Quantity) {
	e, _ := p.Design.Find(path)
	return e, e.Resistance()
}

func exactly(v float64) quantity.Quantity { return quantity.Exactly("limit", quantity.Ohm, v) }

// remedy judges rules on the deck and hands out the result of the first.
func remedy(t *testing.T, list ...*rules.Rule) rules.Result {
	t.Helper()
	for _, r := range rules.Judge(load(t, deck, barge), list).Results {
		if r.Rule == list[0].ID {
			return r
		}
	}
	t.Fatal("no result")
	return rules.Result{}
}

// RA is 1 kohm +- 1 %. To be at most 900 ohm it may be 900 / 1.01 = 891.08 ohm, printed 891; to be at least 1.2 kohm it
// must be 1200 / 0.99 = 1212.1 ohm, printed 1.22 kohm.
func TestRemedyValues(t *testing.T) {
	lower := &rules.Rule{ID: "lower", Level: rules.Error, Judge: func(p *rules.Bench) {
		e, r := ohms(p, "RA")
		p.AtMost(r, exactly(900), "900 ohm").Lower(e)
	}}
	raise := &rules.Rule{ID: "raise", Level: rules.Error, Judge: func(p *rules.Bench) {
		e, r := ohms(p, "RA")
		p.AtLeast(r, exactly(1200), "1.2 kohm").Raise(e)
	}}
	for rule, want := range map[*rules.Rule]string{lower: "RA at most 891 ohm", raise: "RA at least 1.22 kohm"} {
		r := remedy(t, rule)
		if r.Remedy == nil || r.Remedy.Text != want || r.Remedy.Kind != rules.KindPass || len(r.Remedy.Breaks)+len(r.Remedy.Cures) > 0 {
			t.Errorf("%s: %+v, want %q", rule.ID, r.Remedy, want)
		}
	}
}

// Of an element with a multiplier a remedy says what its card should: 2 kohm, twice in parallel, is 1 kohm +- 1 %, and the
// card may say twice 891.08 ohm or must say twice 1212.1 ohm.
func TestRemedyOfAMultipliedElement(t *testing.T) {
	d := load(t, strings.Replace(deck, "RA V5 VM 1k", "RA V5 VM 2k m=2", 1), barge)
	for _, c := range []struct {
		up    bool
		value float64
		text  string
	}{{false, 1780, "RA at most 1.78 kohm"}, {true, 2430, "RA at least 2.43 kohm"}} {
		got := rules.Judge(d, []*rules.Rule{{ID: "probe", Level: rules.Error, Judge: func(p *rules.Bench) {
			if e, r := ohms(p, "RA"); c.up {
				p.AtLeast(r, exactly(1200), "1.2 kohm").Raise(e)
			} else {
				p.AtMost(r, exactly(900), "900 ohm").Lower(e)
			}
		}}}).Results[0].Remedy
		if got == nil || got.Text != c.text || got.Kind != rules.KindPass || len(got.Changes) != 1 || got.Changes[0].Value != c.value {
			t.Errorf("%+v, want %q", got, c.text)
		}
	}
}

// A remedy that breaks another rule says which; one that breaks none is preferred; one that settles another says so.
func TestRemedyIsJudgedByAllRules(t *testing.T) {
	lower := func(id string, knobs ...string) *rules.Rule {
		return &rules.Rule{ID: id, Level: rules.Error, Judge: func(p *rules.Bench) {
			_, a := ohms(p, "RA")
			_, b := ohms(p, "RB")
			sum := quantity.Calc("sum", quantity.Ohm, func(x []float64) float64 { return x[0] + x[1] }, a, b)
			c := p.AtMost(sum, exactly(1900), "1.9 kohm")
			for _, k := range knobs {
				e, _ := p.Design.Find(k)
				c.Lower(e)
			}
		}}
	}
	keepsA := &rules.Rule{ID: "keeps-a", Level: rules.Error, Judge: func(p *rules.Bench) {
		_, a := ohms(p, "RA")
		p.AtLeast(a, exactly(950), "950 ohm")
	}}
	if r := remedy(t, lower("sum", "RA"), keepsA); r.Remedy == nil || !slices.Equal(r.Remedy.Breaks, []string{"keeps-a"}) {
		t.Errorf("only RA: %+v", r.Remedy)
	}
	if r := remedy(t, lower("sum", "RA", "RB"), keepsA); r.Remedy == nil || len(r.Remedy.Breaks) > 0 || !strings.HasPrefix(r.Remedy.Text, "RB at most") {
		t.Errorf("RA or RB: %+v", r.Remedy)
	}
	r := remedy(t, lower("sum", "RA"), lower("twin", "RA"))
	if r.Remedy == nil || !slices.Equal(r.Remedy.Cures, []string{"twin"}) || len(r.Brings) != 1 {
		t.Errorf("the twin is settled too: %+v, related %+v", r.Remedy, r.Brings)
	}
	if r := remedy(t, &rules.Rule{ID: "hopeless", Level: rules.Error, Judge: func(p *rules.Bench) {
		e, _ := ohms(p, "RA")
		p.AtMost(exactly(2), exactly(1), "1 ohm").Lower(e)
	}}); r.Remedy != nil {
		t.Errorf("no knob helps, and yet %+v", r.Remedy)
	}
	d := load(t, deck, barge)
	for _, r := range rules.Judge(d, []*rules.Rule{lower("sum", "RA")}, rules.NoRemedies).Results {
		if r.Remedy != nil {
			t.Errorf("a remedy nobody asked for: %+v", r.Remedy)
		}
	}
}

// The part that a range asks for is named with the range it would need.
func TestRemedyField(t *testing.T) {
	r := remedy(t, &rules.Rule{ID: "range", Level: rules.Error, Judge: func(p *rules.Bench) {
		lo, hi, text := p.Limits("common-mode.operating", design.Operating)
		p.Within(quantity.Exactly("pin", quantity.Volt, 61.23), lo, hi, text).Widen("common-mode.operating")
	}})
	if r.Remedy == nil || r.Remedy.Text != "a part whose common-mode.operating reaches up to 61.3 V" {
		t.Errorf("%+v", r.Remedy)
	}
}
