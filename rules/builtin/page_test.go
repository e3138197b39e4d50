package builtin_test

import (
	"fmt"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/intent"
	"github.com/shuntwright/shuntwright/rules"
)

var fence = regexp.MustCompile("(?ms)^```netlist (\\w+)\n(.*?)^```$")

// fences are the decks of a page by their word, "bad" and "good".
func fences(t *testing.T, page string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, m := range fence.FindAllStringSubmatch(page, -1) {
		if out[m[1]] != "" {
			t.Errorf("two decks are %s", m[1])
		}
		out[m[1]] = m[2]
	}
	return out
}

// unmet are the expectations of a deck that its results do not meet.
func unmet(in *intent.Intent, results []rules.Result) (out []string) {
	finds, silent := in.Expectations()
	known := func(id string) bool {
		return slices.ContainsFunc(all, func(r *rules.Rule) bool { return r.ID == id })
	}
	for _, id := range slices.Concat(slices.Collect(maps.Keys(finds)), silent) {
		if !known(id) {
			out = append(out, "no rule is called "+id)
		}
	}
	for id, text := range finds {
		if !slices.ContainsFunc(results, func(r rules.Result) bool { return r.Rule == id && r.Unsettled() && strings.Contains(r.Message, text) }) {
			out = append(out, fmt.Sprintf("%s does not find %q", id, text))
		}
	}
	for _, r := range results {
		if slices.Contains(silent, r.Rule) && r.Unsettled() {
			out = append(out, fmt.Sprintf("%s is not silent: %v: %s", r.Rule, r.Kind, r.Message))
		}
	}
	return out
}

func TestPages(t *testing.T) {
	text, err := os.ReadFile("doc/parts.toml")
	if err != nil {
		t.Fatal(err)
	}
	records := string(text)
	for _, rule := range all {
		t.Run(rule.ID, func(t *testing.T) {
			page := rule.Page
			if !strings.HasPrefix(page, "# "+rule.ID+"\n") {
				t.Errorf("the page begins %q", page[:min(len(page), 40)])
			}
			at := 0
			for _, section := range []string{"**What breaks.**", "## Computation", "## Inputs", "## Thresholds", "## A deck that fails", "## A deck that holds", "## Limits of the method", "## Source"} {
				i := strings.Index(page[at:], section)
				if i < 0 {
					t.Errorf("no %q, or not in this order", section)
					continue
				}
				at += i
			}
			if strings.Count(rule.Title, "\n") > 0 || rule.Title == "" || rule.Level == 0 || rule.Judge == nil {
				t.Errorf("title %q, level %v", rule.Title, rule.Level)
			}
			decks := fences(t, page)
			if decks["bad"] == "" || decks["good"] == "" || len(decks) != 2 {
				t.Fatalf("the page has decks %q", slices.Collect(maps.Keys(decks)))
			}
			for word, deck := range decks {
				d, in, diags := bind(t, deck, records)
				for _, diag := range diags {
					t.Errorf("%s deck: %v: %s", word, d.Src.Place(diag.At), diag.Text())
				}
				results := rules.Judge(d, all).Results
				for _, u := range unmet(in, results) {
					t.Errorf("%s deck: %s", word, u)
				}
				finds, silent := in.Expectations()
				mine := slices.IndexFunc(results, func(r rules.Result) bool { return r.Rule == rule.ID })
				switch {
				case mine < 0:
					t.Errorf("%s deck: not judged", word)
				case word == "bad":
					if finds[rule.ID] == "" || results[mine].Kind != rules.KindFail {
						t.Errorf("bad deck: expects %q, got %v %s", finds, results[mine].Kind, results[mine].Message)
					}
				default:
					if !slices.Contains(silent, rule.ID) || results[mine].Kind != rules.KindPass {
						t.Errorf("good deck: silent %q, got %v %s", silent, results[mine].Kind, results[mine].Message)
					}
					// What other rules would want to know a small deck need not say; but nothing may be wrong with it: a note
					// only quotes a number.
					for _, r := range results {
						if r.Kind == rules.KindFail && r.Level > rules.Note {
							t.Errorf("good deck: %s %v: %s", r.Rule, r.Kind, r.Message)
						}
					}
				}
			}
		})
	}
}

// The runner itself: an expectation that is not met, and one about a rule that does not exist, are noticed.
func TestExpectationsAreHeld(t *testing.T) {
	const cards = "RSH BUS LOAD 1m\nRL LOAD 0 4\nXA BUS LOAD out 0 0 0 V5 tug-sense-40\n.end\n"
	for card, want := range map[string]string{
		`finds.supply-range = "no such words"`: `supply-range does not find "no such words"`,
		`finds.suply-range = "open"`:           "no rule is called suply-range",
		`silent = ["supply-range"]`:            "supply-range is not silent",
		`silent = ["suply-range"]`:             "no rule is called suply-range",
	} {
		d, in, _ := bind(t, "a deck\n* shuntwright: "+card+"\n"+cards, tugSense)
		got := strings.Join(unmet(in, rules.Judge(d, all).Results), "\n")
		if !strings.Contains(got, want) {
			t.Errorf("%s: %q, want %q", card, got, want)
		}
	}
	_, _, diags := bind(t, "a deck\n* shuntwright: fnds.supply-range = \"x\"\n"+cards, tugSense)
	if len(diags) == 0 {
		t.Error("a mistyped key is taken")
	}
}

func TestRulesHaveTheirOwnNames(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range all {
		if seen[r.ID] {
			t.Errorf("two rules are called %s", r.ID)
		}
		seen[r.ID] = true
	}
	for _, r := range rules.Troubles {
		if seen[r.ID] {
			t.Errorf("a rule and a trouble are called %s", r.ID)
		}
	}
	// Every page in the folder belongs to a rule.
	files, err := os.ReadDir("doc")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if id, ok := strings.CutSuffix(f.Name(), ".md"); ok && !seen[id] {
			t.Errorf("doc/%s belongs to no rule", f.Name())
		}
	}
}
