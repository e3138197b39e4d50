package cli

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
		limit, err := failOn(list)
		if err != nil {
			t.Errorf("%s: %v", list, err)
		}
		got := ""
		for _, r := range results {
			if limit.breach(r) {
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
		if _, err := failOn(list); err == nil {
			t.Errorf("%q is taken", list)
		}
	}
}
