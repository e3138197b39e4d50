package cli_test

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules/builtin"
)

// Designs of several kinds in which nothing is wrong and nothing that matters is left unsaid: no rule finds anything.
func TestCleanDesigns(t *testing.T) {
	decks, err := filepath.Glob(filepath.Join("..", "..", "testdata", "clean", "*.cir"))
	if err != nil || len(decks) < 5 {
		t.Fatalf("%d clean designs, %v", len(decks), err)
	}
	for _, deck := range decks {
		t.Run(strings.TrimSuffix(filepath.Base(deck), ".cir"), func(t *testing.T) {
			code, out, stderr := run(builtin.All, "lint", strict, deck)
			if code != 0 || !strings.Contains(out, "\n0 fail, 0 review, 0 undecided") && !strings.HasPrefix(out, "0 fail, 0 review, 0 undecided") || stderr != "" {
				t.Errorf("exit %d\n%s%s", code, out, stderr)
			}
		})
	}
}
