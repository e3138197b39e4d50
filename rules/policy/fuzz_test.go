package policy

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// Whatever a file of acceptances says: it means the same twice, every complaint has a place, no result is lost, and what
// is accepted has a reason, an end and a path that fits.
func FuzzAccept(f *testing.F) {
	for _, s := range []string{"[[accept.winch-name]]\nat = \"X*\"\n" + forever, "accept.winch-name = [{ at = \"**\", because = \"x\", until = \"2027-01-01\" }]",
		"[[accept.winch-name]]\nat = \"XA\"\nmargin = [\"-0.2 V\", \"unbounded\"]\nfound = \"note\"\nnetlist = \"**/[a\"\n" + forever, "[[accept.\"a.b\"]]\n", "[[accept]]\n", "accept = 1"} {
		f.Add(s)
	}
	given := []rules.Result{fails("winch-name", "XA", rules.Error, "-0.1 V"), fails("winch-rope", "XA.XS", rules.Warning, "-1 A"), fails("winch-name", "XA.XS", rules.Note, "unbounded"),
		{Rule: "winch-name", Block: "XB", Kind: rules.KindOpen}, {Rule: "winch-rope", Block: "XB", Kind: rules.KindPass}}
	f.Fuzz(func(t *testing.T, text string) {
		once := func() string {
			set := source.NewSet()
			list, diags := ReadFile(set, set.Add("accepted.toml", []byte(text), source.Span{}), false)
			results, idle := None(ferry).Apply(Case{Src: set, Results: given, Acceptances: list, Today: today})
			for _, d := range diags {
				if d.At.File == 0 || d.Rule != acceptanceRule {
					t.Errorf("%q has no place", d.Message)
				}
			}
			for i, r := range results {
				if i < len(given) && (r.Rule != given[i].Rule || r.Block != given[i].Block || r.Kind != given[i].Kind) {
					t.Errorf("result %d has become another", i)
				}
				if a := r.Accepted; a != nil && (a.Because == "" || a.Until.IsZero() || !readPattern(a.Pattern).matches(r.Block) || a.Rule != r.Rule || !given[i].Finding()) {
					t.Errorf("%s %s is accepted by %+v", r.Block, r.Rule, a)
				}
				if i >= len(given) && r.At.None() {
					t.Errorf("%q has no place", r.Message)
				}
			}
			return said(results, idle)
		}
		if a, b := once(), once(); a != b {
			t.Errorf("read twice:\n%s\n%s", a, b)
		}
	})
}

// Whatever is recorded is read as what it was.
func FuzzRecord(f *testing.F) {
	f.Add("XA", "known", "drive \"team\"", "a/winch[1].cir")
	f.Add("X\\\x7f\n", "\u2028é", "\x00", "*{a}?.cir")
	f.Fuzz(func(t *testing.T, block, because, owner, netlist string) {
		for _, s := range []string{block, because, owner, netlist} {
			if s == "" || !utf8.ValidString(s) || strings.TrimSpace(s) == "" || strings.Count(netlist, "{") > mostBraces {
				t.Skip()
			}
		}
		r := fails("winch-name", block, rules.Error, "-0.281 V")
		text, written, left := None(ferry).Record(source.NewSet(), []rules.Result{r}, Baseline{netlist, because, owner, today})
		if written != 1 || left != 0 {
			t.Fatalf("%d written, %d left", written, left)
		}
		set, list := accepting(t, text)
		if a := list[0]; a.Pattern != block || a.Because != because || a.Owner != owner || !a.For(netlist) {
			t.Errorf("%+v for %q, of\n%s", a, netlist, text)
		}
		if results, _ := None(ferry).Apply(Case{Src: set, Results: []rules.Result{r}, Acceptances: list, Today: today}); results[0].Accepted == nil {
			t.Errorf("not accepted, of\n%s", text)
		}
	})
}
