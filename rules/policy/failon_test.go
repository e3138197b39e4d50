package policy

import (
	"testing"

	"github.com/shuntwright/shuntwright/rules"
)

func TestFailOn(t *testing.T) {
	results := []rules.Result{
		{Kind: rules.KindNotApplicable}, {Kind: rules.KindPass}, {Kind: rules.KindReview}, {Kind: rules.KindOpen},
		{Kind: rules.KindFail, Level: rules.Note}, {Kind: rules.KindFail, Level: rules.Warning}, {Kind: rules.KindFail, Level: rules.Error},
	}
	for list, want := range map[string]string{
		"error":         "------x",
		"warning":       "-----xx",
		"note":          "----xxx",
		"review":        "--x----",
		"open":          "---x---",
		"never":         "-------",
		"error,open":    "---x--x",
		"note, error":   "----xxx",
		"review,open":   "--xx---",
		"error,warning": "-----xx",
	} {
		limit, err := ReadFailOn("--fail-on", list)
		if err != nil {
			t.Errorf("%s: %v", list, err)
		}
		if limit.Breach(rules.Result{Kind: rules.KindFail, Level: rules.Error, Accepted: &rules.Acceptance{}}) {
			t.Errorf("%s fails on what is accepted", list)
		}
		got := ""
		for _, r := range results {
			if limit.Breach(r) {
				got += "x"
			} else {
				got += "-"
			}
		}
		if got != want {
			t.Errorf("%s: got %s, want %s", list, got, want)
		}
	}
	for _, list := range []string{"", "errors", "error,", "never,error", "all"} {
		if _, err := ReadFailOn("--fail-on", list); err == nil {
			t.Errorf("%q is taken", list)
		}
	}
}
