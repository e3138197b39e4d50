package policy

import (
	"fmt"
	"slices"
	"time"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// stand tells whether an acceptance stands by itself: whole, in time and with the policy.
func (p *Policy) stand(a *Acceptance, today time.Time) *standing {
	s := &standing{Acceptance: a}
	refuse := func(l rules.Level, format string, args ...any) *standing {
		r := s.says(l, format, args...)
		s.trouble = &r
		return s
	}
	lacks := func(key string) bool { return a.doc.Get(key) == nil && !a.doc.Refused(key) }
	for key := range a.refused() { // reported where it was read: what is left must not say more than was meant
		return refuse(rules.Error, "its %s is not understood, so it accepts nothing", key)
	}
	if a.wrong {
		return refuse(rules.Error, "not all of it is understood, so it accepts nothing")
	}
	if unknown := p.unknownRule(a.Rule); unknown != "" {
		return refuse(rules.Error, "%s", unknown)
	}
	switch {
	case lacks("at"):
		return refuse(rules.Error, `it says no at; write the path of the instance, as in at = "XA"`)
	case lacks("because"):
		return refuse(rules.Error, `it gives no reason; write because = "..."`)
	case lacks("until") && p.NeedsEnd():
		return refuse(rules.Error, `it has no end; write the last day, as in until = "2027-06-30"`)
	case a.Rule == acceptanceRule || a.Rule == policyRule:
		return refuse(rules.Error, "what is wrong with acceptances and policy cannot be accepted")
	case slices.Contains(p.Never(), a.Rule):
		return refuse(rules.Error, "policy lets nobody accept this rule")
	case !a.Until.IsZero() && today.UTC().Truncate(24*time.Hour).After(a.Until):
		s.over = true
		return refuse(rules.Warning, "it ended on %s; look at the finding again, or take it out", a.Until.Format(time.DateOnly))
	}
	s.reviewed = a.review && p.RefusesReviewed()
	return s
}

// refused yields the keys whose values were reported instead of read.
func (a *Acceptance) refused() func(func(string) bool) {
	return func(yield func(string) bool) {
		for _, f := range FileFields {
			if a.doc.Refused(f.Key) && !yield(f.Key) {
				return
			}
		}
	}
}

// unknownRule says that an id is that of no rule; "" where it is one.
func (p *Policy) unknownRule(id string) string {
	known := p.ids()
	if slices.Contains(known, id) {
		return ""
	}
	if near := source.Nearest(id, slices.Values(known)); near != "" {
		return fmt.Sprintf("there is no rule %q; did you mean %q?", id, near)
	}
	return fmt.Sprintf("there is no rule %q; the command \"shuntwright rules\" lists them", id)
}
