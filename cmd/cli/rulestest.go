package cli

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/house"
	"github.com/shuntwright/shuntwright/rules/policy"
)

func (a *app) testRules() *cobra.Command {
	return &cobra.Command{
		Use:   "test [PATH...]",
		Short: "Run the decks beside house rules",
		Long: `Run the decks beside house rules.

A PATH is a file of house rules, a folder or a glob; without one it is the folder house. The decks of the file NAME.star are
NAME.WORD.cir beside it, as in NAME.bad.cir and NAME.good.cir, with part records in parts/*.toml there. Comment cards say
what a deck expects of a rule:

  * shuntwright: finds."house/NAME" = "a text that the finding holds"
  * shuntwright: silent = ["house/NAME"]

It fails where a deck gets something else than it expects, and where the decks together do not reach every verdict that a
rule can give.`,
		Example: "  shuntwright rules test\n  shuntwright rules test house/shunt-max.star",
		RunE: func(_ *cobra.Command, paths []string) error {
			if len(paths) == 0 {
				paths = []string{houseFiles.folder}
			}
			files, unread := inputs{house: paths}.houseRules("", nil, decided{Policy: policy.None(a.rules)})
			for _, u := range unread {
				a.cannot(u.String())
			}
			if len(files) == 0 && len(unread) == 0 {
				return errors.New("rules test: there are no house rules; \"rules new NAME\" starts one")
			}
			for _, f := range files {
				a.testFile(f)
			}
			return nil
		},
	}
}

// A ruleTest is the decks of one file of house rules, run.
type ruleTest struct {
	set     *house.Set
	all     []*rules.Rule       // that a policy above the decks may name
	reached map[string][]string // verdicts by rule
	failed  []string            // lines
	decks   int
}

func (a *app) testFile(f house.File) {
	t := ruleTest{set: a.houses.open([]house.File{f}), reached: map[string][]string{}}
	t.all = slices.Concat(a.rules, t.set.List())
	if troubles := t.set.Troubles(); len(troubles) > 0 || f.Refused != "" {
		for _, line := range troubles {
			a.cannot(line)
		}
		return
	}
	stem := strings.TrimSuffix(f.Path, houseFiles.ending)
	decks, _ := filepath.Glob(escapeGlob(stem) + ".*.cir")
	for _, deck := range decks {
		t.run(deck)
	}
	for _, r := range t.set.Rules {
		for _, v := range r.Verdicts {
			if !slices.Contains(t.reached[r.ID], v) && v != rules.KindNotApplicable.String() {
				t.fail("%s: no deck reaches %s, which the rule can give; add one as %s.WORD.cir", r.ID, v, filepath.ToSlash(stem))
			}
		}
	}
	if len(t.failed) > 0 {
		a.exit = max(a.exit, ExitBreach)
	}
	for _, line := range t.failed {
		fmt.Fprintln(a.Out, report.Plain(line))
	}
	word := "holds"
	if len(t.failed) > 0 {
		word = "fails"
	}
	for _, r := range t.set.Rules {
		verdicts := slices.Sorted(slices.Values(t.reached[r.ID]))
		fmt.Fprintln(a.Out, report.Plain(fmt.Sprintf("%s %s: %d decks, reached: %s", r.ID, word, t.decks, strings.Join(verdicts, ", "))))
	}
}

func (t *ruleTest) fail(format string, args ...any) {
	t.failed = append(t.failed, fmt.Sprintf(format, args...))
}

// run judges a deck and compares it with what its comment cards expect.
func (t *ruleTest) run(path string) {
	t.decks++
	name := shown(path)
	d := inputs{}.read(context.Background(), path, t.all, func(string) {})
	for _, u := range d.unread {
		t.fail("%s", u)
	}
	if d.design == nil || len(d.unread) > 0 {
		return
	}
	rep := rules.Judge(d.design, t.set.List())
	t.set.Settle(rep)
	for _, r := range append(rules.FromDiagnostics(d.diags), rep.Results...) {
		if r.Block == "" && r.Finding() && !t.has(r.Rule) && !(r.Rule == "netlist-blocks" && t.needsNone()) {
			at := d.design.Src.Place(r.At)
			t.fail("%s:%d: %s: %s", at.Path, at.Line, r.Rule, r.Message)
		}
	}
	finds, silent := d.design.Intent.Expectations()
	expected := false
	for _, id := range slices.Concat(slices.Sorted(maps.Keys(finds)), silent) {
		i := slices.IndexFunc(t.set.Rules, func(r *house.Rule) bool { return r.ID == id })
		if i < 0 {
			var known []string
			for _, r := range t.set.Rules {
				known = append(known, r.ID)
			}
			t.fail("%s: %v", name, unknown("rule of this file", id, known))
			continue
		}
		expected = true
		t.meets(name, id, finds[id], slices.Contains(silent, id), d, rep.Results)
	}
	if !expected {
		t.fail("%s: it expects nothing; say finds.\"house/NAME\" = \"...\" or silent = [\"house/NAME\"] in a comment card", name)
	}
}

// needsNone tells that no rule looks at a block.
func (t *ruleTest) needsNone() bool {
	return !slices.ContainsFunc(t.set.Rules, func(r *house.Rule) bool { return !r.Whole })
}

func (t *ruleTest) has(id string) bool {
	return slices.ContainsFunc(t.set.Rules, func(r *house.Rule) bool { return r.ID == id })
}

// meets compares the results of one rule with what a deck expects of it: a text in a finding, or none.
func (t *ruleTest) meets(deck, id, text string, silent bool, d designRead, results []rules.Result) {
	var mine []rules.Result
	for _, r := range results {
		if r.Rule == id {
			mine = append(mine, r)
			if k := r.Kind.String(); !slices.Contains(t.reached[id], k) {
				t.reached[id] = append(t.reached[id], k)
			}
		}
	}
	switch {
	case len(mine) == 0:
		t.fail("%s: %s is not judged: the deck has no sense block; its part records stand in parts/*.toml beside it", deck, id)
	case silent && slices.ContainsFunc(mine, rules.Result.Finding):
		t.fail("%s: %s is not silent", deck, id)
		t.explain(d, mine)
	case !silent && !slices.ContainsFunc(mine, func(r rules.Result) bool { return r.Unsettled() && strings.Contains(r.Message, text) }):
		t.fail("%s: %s does not find %q", deck, id, text)
		t.explain(d, mine)
	}
}

// explain says what the rule said instead.
func (t *ruleTest) explain(d designRead, results []rules.Result) {
	for _, r := range results {
		at := d.design.Src.Place(r.At)
		t.fail("    %s:%d: %s %s: %s", at.Path, at.Line, r.Block, r.Kind, r.Message)
		for _, m := range r.Measures {
			s := quantity.ScaleFor(m.Unit, m.Min, m.Max, m.LimitMin, m.LimitMax)
			t.fail("        %s: %s .. %s, %s, margin %s", m.Name, s.Text(m.Min, quantity.Near), s.Text(m.Max, quantity.Near), allowed(m, s), s.Text(m.Margin, quantity.Down))
		}
		for _, n := range r.Needs {
			t.fail("        missing: %s", n)
		}
	}
}

// allowed is what a measure was held against.
func allowed(m rules.Measure, s quantity.Scale) string {
	low, high := s.Text(m.LimitMin, quantity.Near), s.Text(m.LimitMax, quantity.Near)
	switch {
	case math.IsNaN(m.LimitMin):
		return "at most " + high
	case math.IsNaN(m.LimitMax):
		return "at least " + low
	}
	return "allowed " + low + " .. " + high
}
