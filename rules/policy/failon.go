package policy

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// FailOnWords are what a list of what fails a run may name.
var FailOnWords = []string{"error", "warning", "note", "review", "open", "never"}

// A FailOn is what makes a run a breach.
type FailOn struct {
	level        rules.Level // failures from here on; 0: none
	review, open bool
}

// ReadFailOn reads a comma list; name is what the list is called in errors. A level stands for the heavier ones too.
func ReadFailOn(name, list string) (f FailOn, err error) {
	words := strings.Split(list, ",")
	for i, w := range words {
		words[i] = strings.TrimSpace(w)
	}
	least := func(l rules.Level) {
		if f.level == 0 || l < f.level {
			f.level = l
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
			f.review = true
		case "open":
			f.open = true
		case "never":
		default:
			if near := source.Nearest(w, slices.Values(FailOnWords)); near != "" {
				return f, fmt.Errorf("no word for %s %q; did you mean %q?", name, w, near)
			}
			return f, fmt.Errorf("no word for %s %q; there are %s", name, w, strings.Join(FailOnWords, ", "))
		}
	}
	if len(words) > 1 && slices.Contains(words, "never") {
		return f, fmt.Errorf("%s never stands alone", name)
	}
	return f, nil
}

// Breach tells that a result is what was asked to fail the run. One that is accepted is not.
func (f FailOn) Breach(r rules.Result) bool {
	if !r.Unsettled() {
		return false
	}
	switch r.Kind {
	case rules.KindFail:
		return f.level > 0 && r.Level >= f.level
	case rules.KindReview:
		return f.review
	case rules.KindOpen:
		return f.open
	}
	return false
}
