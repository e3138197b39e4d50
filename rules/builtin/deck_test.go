package builtin_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/intent"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// bind binds a whole deck, title included, and part records; the deck's comment cards carry the intent.
func bind(t testing.TB, deck, records string) (*design.Design, *intent.Intent, []source.Diagnostic) {
	t.Helper()
	set := source.NewSet()
	cards, diags := parse.Read(set, set.Add("deck.cir", []byte(deck), source.Span{}), parse.Options{})
	lib := &part.Library{}
	diags = append(diags, lib.Read(set, set.Add("parts.toml", []byte(records), source.Span{}))...)
	d, found := design.Bind(set, cards, lib, nil)
	return d, d.Intent, append(diags, found...)
}

// load is bind for cards without a title, with which nothing may be wrong.
func load(t testing.TB, deck, records string) *design.Design {
	t.Helper()
	d, _, diags := bind(t, "a deck\n"+deck+"\n.end\n", records)
	for _, diag := range diags {
		t.Fatalf("%v: %s: %s\n%s", d.Src.Place(diag.At), diag.Rule, diag.Text(), deck)
	}
	return d
}

// judge is what one rule says about block XA.
func judge(t testing.TB, rule *rules.Rule, deck, records string) rules.Result {
	t.Helper()
	got := rules.JudgeAt(load(t, deck, records), []*rules.Rule{rule}, "XA")
	if len(got) != 1 {
		t.Fatalf("%d results of %s on XA", len(got), rule.ID)
	}
	return got[0]
}

// wants asserts what a rule says about XA and hands out the result.
func wants(t testing.TB, rule *rules.Rule, kind rules.Kind, level rules.Level, deck, records string) rules.Result {
	t.Helper()
	r := judge(t, rule, deck, records)
	if r.Kind != kind || r.Level != level {
		t.Errorf("%s: %v %v (%s), want %v %v\n%s", rule.ID, r.Kind, r.Level, r.Message, kind, level, deck)
	}
	return r
}

// measure is the first measure of a result with a name.
func measure(t testing.TB, r rules.Result, name string) rules.Measure {
	t.Helper()
	for _, m := range r.Measures {
		if m.Name == name {
			return m
		}
	}
	t.Fatalf("%s has no measure %q: %+v", r.Rule, name, r.Measures)
	return rules.Measure{}
}

// lacks asserts that a result names a missing input.
func lacks(t testing.TB, r rules.Result, key string) {
	t.Helper()
	if !slices.ContainsFunc(r.Needs, func(n quantity.Need) bool { return strings.Contains(n.Key, key) }) {
		t.Errorf("%s names %v as missing, not %q", r.Rule, r.Needs, key)
	}
}

// edit replaces text, which must be there, in a deck or record.
func edit(t testing.TB, text string, pairs ...string) string {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(text, pairs[i]) {
			t.Fatalf("no %q in\n%s", pairs[i], text)
		}
		text = strings.ReplaceAll(text, pairs[i], pairs[i+1])
	}
	return text
}

var all = builtin.All
