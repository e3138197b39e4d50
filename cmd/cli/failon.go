package cli

import (
	"errors"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/rules"
)

// failOnWords are what --fail-on may name.
var failOnWords = []string{"error", "warning", "note", "review", "open", "never"}

// A threshold is what makes a run a breach.
type threshold struct {
	level        rules.Level // failures from here on; 0: none
	review, open bool
}

// failOn reads the list that --fail-on takes. A level stands for the heavier ones too.
func failOn(list string) (t threshold, err error) {
	words := strings.Split(list, ",")
	for i, w := range words {
		words[i] = strings.TrimSpace(w)
	}
	least := func(l rules.Level) {
		if t.level == 0 || l < t.level {
			t.level = l
		}
	}
	for _, w := range words {
		switch w {
		case "error":
			least(rules.Error)
		case "warning":
			least(rules.Warning)
		case "note":
			least(rules.Note)
		case "review":
			t.review = true
		case "open":
			t.open = true
		case "never":
		default:
			return t, unknown("word for --fail-on", w, failOnWords)
		}
	}
	if len(words) > 1 && slices.Contains(words, "never") {
		return t, errors.New("--fail-on never stands alone")
	}
	return t, nil
}

// breach tells that a result is what was asked to fail the run.
func (t threshold) breach(r rules.Result) bool {
	switch r.Kind {
	case rules.KindFail:
		return t.level > 0 && r.Level >= t.level
	case rules.KindReview:
		return t.review
	case rules.KindOpen:
		return t.open
	}
	return false
}
