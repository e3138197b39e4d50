package source

import (
	"slices"
	"strings"
	"testing"
)

// The search over many troubles ends after so many comparisons, and a name longer than any is near none.
func TestHints(t *testing.T) {
	known := slices.Values([]string{"anchor", "capstan", "windlass"})
	h := Hints{Left: 7}
	for i, want := range []string{"capstan", "capstan", "", ""} {
		if got := h.Nearest("capstam", known); got != want {
			t.Errorf("question %d: %q, want %q", i, got, want)
		}
	}
	long := strings.Repeat("a", longest+1)
	if got := Nearest(long, slices.Values([]string{long + "b"})); got != "" {
		t.Errorf("%q", got)
	}
}
