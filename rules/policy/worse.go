package policy

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// slack is the share of a margin by which numbers may differ between machines.
const slack = 1e-9

// Word is what a finding is called where people read it.
func Word(r rules.Result) string {
	switch r.Kind {
	case rules.KindFail:
		return r.Level.String()
	case rules.KindOpen:
		return "undecided"
	}
	return r.Kind.String()
}

// worse says in what a finding is worse than the acceptance knew; "" where it is not.
func (a *Acceptance) worse(r rules.Result) string {
	if word := Word(r); a.found != "" && slices.Index(foundWords, word) > slices.Index(foundWords, a.found) {
		return fmt.Sprintf("it was accepted as %s", a.found)
	}
	switch name := a.more(r); name {
	case "":
	case statement:
		return "more is found than was accepted"
	default:
		return fmt.Sprintf("it was accepted without %s", name)
	}
	if len(a.Margins) == 0 || slices.Contains(a.Margins, quantity.Unbounded) && len(a.Margins) == 1 {
		return ""
	}
	if r.Kind == rules.KindOpen || len(deciding(r)) == 0 {
		return fmt.Sprintf("it was accepted at a margin of %s, and there is none any more", a.Margins[0])
	}
	for _, m := range deciding(r) {
		least, ok := a.least(m.Unit)
		switch {
		case !ok:
			return fmt.Sprintf("it was accepted at a margin of %s, and %s has none of that unit", a.Margins[0], m.Name)
		case math.IsNaN(m.Margin) && !math.IsInf(least, -1), m.Margin < least-slack*math.Abs(least):
			return fmt.Sprintf("it was accepted at a margin of %s, and this is worse", quantity.Show(least, m.Unit))
		}
	}
	return ""
}

// statement is what a check without a number is called.
const statement = "statement"

// names are what a finding is made of.
func names(r rules.Result) (list []string) {
	if r.Kind == rules.KindOpen {
		return nil
	}
	for _, m := range deciding(r) {
		list = append(list, cmp.Or(m.Name, statement))
	}
	for range r.Stated {
		list = append(list, statement)
	}
	slices.Sort(list)
	return list
}

// more is something that a finding is made of and that the acceptance does not name, or not as often; "" where there is none.
func (a *Acceptance) more(r rules.Result) string {
	if a.of == nil {
		return ""
	}
	left := slices.Clone(a.of)
	for _, name := range names(r) {
		i := slices.Index(left, name)
		if i < 0 {
			return name
		}
		left = slices.Delete(left, i, i+1)
	}
	return ""
}

// least is the margin that was accepted for a unit.
func (a *Acceptance) least(u quantity.Unit) (margin float64, ok bool) {
	for _, text := range a.Margins {
		if w, err := quantity.ReadWritten(text, u); err == nil {
			return w.Nom, true
		}
	}
	return math.Inf(-1), slices.Contains(a.Margins, quantity.Unbounded)
}

// deciding are the measures that make a result what it is.
func deciding(r rules.Result) (out []rules.Measure) {
	for _, m := range r.Measures {
		if m.Kind == r.Kind {
			out = append(out, m)
		}
	}
	return out
}
