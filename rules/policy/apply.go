package policy

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// A Case is one judged netlist before the policy is laid over it.
type Case struct {
	Src         *source.Set
	Results     []rules.Result
	Acceptances []Acceptance // those for this netlist
	Today       time.Time
	Others      []Acceptance // those of the same files for other netlists, which may be gone
	Partly      bool         // assembly variants were left out: what is for them is not idle
}

// An Idle acceptance accepts nothing in one netlist. One in a file may accept something in another.
type Idle struct {
	InSource bool
	At       source.Span
	Result   rules.Result // what is to be said of it where it accepts nothing anywhere
}

// Apply gives failures the level that the policy wants and accepts what may be accepted. What is wrong with an
// acceptance is a result of its own, behind the others; what it would accept stays a finding then.
func (p *Policy) Apply(c Case) (results []rules.Result, idle []Idle) {
	results = slices.Clone(c.Results)
	for i := range results {
		p.level(&results[i])
	}
	var own []rules.Result
	var all []*standing
	by := &shelves{of: map[string]*shelf{}}
	for i := range c.Acceptances {
		s := p.stand(&c.Acceptances[i], c.Today)
		if said := by.add(s); said != "" && s.trouble == nil {
			r := s.says(rules.Error, "%s", said)
			s.trouble = &r
		}
		if s.trouble != nil {
			own = append(own, *s.trouble)
		}
		all = append(all, s)
	}
	for i := range c.Others { // whether they are needed is for their netlists to say, whether they stand is not
		if s := p.stand(&c.Others[i], c.Today); s.trouble != nil {
			own = append(own, *s.trouble)
		}
	}
	for i := range results {
		by.accept(c.Src, &results[i])
	}
	rules.Rooted(results)
	hints := source.Hints{Left: 2_000_000}
	off := map[string]bool{}
	for _, o := range p.Off() {
		off[o.Rule] = true
	}
	for _, s := range all {
		switch said := s.needless(off[s.Rule], by.of[s.Rule], &hints); {
		case s.reviewed:
			if s.denied {
				own = append(own, s.says(rules.Warning, "it accepts nothing: policy refuses acceptances that stand in files under review"))
			}
		case s.trouble != nil || said == "":
		case c.Partly:
		case s.hits == nil || s.used == 0:
			idle = append(idle, Idle{s.InSource, s.At, s.says(rules.Warning, "%s", said)})
		default:
			own = append(own, s.says(rules.Warning, "%s", said))
		}
	}
	return append(results, own...), idle
}

// A standing is what becomes of an acceptance in one netlist.
type standing struct {
	*Acceptance
	trouble *rules.Result // why it accepts nothing
	over    bool          // its last day has passed
	hits    []string      // instances with a finding that it is for
	idle    []string      // instances that it fits, on which its rule finds nothing
	used    int           // findings that it accepts
	worse   bool          // there is one that has become worse
	before  *Acceptance   // another one that accepts what this would

	reviewed bool // it stands in a file under review, which the policy refuses
	denied   bool // and there is a finding that it would accept, and nothing else does
}

func (s *standing) says(l rules.Level, format string, args ...any) rules.Result {
	return rules.Result{Rule: acceptanceRule, Kind: rules.KindFail, Level: l, At: s.At,
		Message: "of " + s.Rule + s.where() + ": " + fmt.Sprintf(format, args...)}
}

func (s *standing) where() (text string) {
	if s.Pattern != "" {
		text = " at " + s.Pattern
	}
	if s.Variant != "" {
		text += " in variant " + s.Variant
	}
	return text
}

// accept looks for an acceptance of a result.
func (by *shelves) accept(set *source.Set, r *rules.Result) {
	shelf := by.of[r.Rule]
	if shelf == nil || r.Rule == acceptanceRule || r.Rule == policyRule {
		return
	}
	at := Instance(set, *r)
	if r.Kind > rules.KindNotApplicable {
		shelf.judged[at] = true
	} else {
		shelf.spared[at] = true
	}
	var against []source.Related
	var denied []*standing
	list := shelf.fitting(at)
	for _, s := range list {
		if s.Variant != "" && !strings.EqualFold(s.Variant, r.Variant) {
			continue
		}
		if r.Kind <= rules.KindPass {
			s.idle = append(s.idle, at)
			continue
		}
		s.hits = append(s.hits, at)
		why := s.Acceptance.worse(*r)
		switch {
		case s.over:
			against = append(against, source.Related{At: s.At, Message: "it was accepted until " + s.Until.Format(time.DateOnly)})
		case s.trouble != nil:
		case why != "":
			s.worse = true
			against = append(against, source.Related{At: s.At, Message: why})
		case s.reviewed:
			denied = append(denied, s)
		case r.Accepted == nil:
			r.Accepted, s.used = &s.Acceptance.Acceptance, s.used+1
		default:
			for _, o := range list {
				if &o.Acceptance.Acceptance == r.Accepted {
					s.before = o.Acceptance
				}
			}
		}
	}
	if r.Accepted != nil {
		return
	}
	for _, s := range denied {
		s.denied = true
		against = append(against, source.Related{At: s.At, Message: "policy refuses this acceptance: it stands in a file under review"})
	}
	if against != nil {
		r.Related = append(slices.Clone(r.Related), against...)
	}
}

// needless says why the acceptance is not needed as it stands; "" where it is.
func (s *standing) needless(off bool, of *shelf, hints *source.Hints) string {
	wild := s.at.wild()
	idle := slices.DeleteFunc(slices.Clone(s.idle), func(at string) bool { return slices.Contains(s.hits, at) }) // in some variant only
	switch {
	case off:
		return "the rule is off, and finds nothing: take it out"
	case len(s.hits) == 0 && len(s.idle) > 0:
		return fmt.Sprintf("nothing is found on %s: take it out", list(s.idle))
	case len(s.hits) == 0 && s.Variant != "" && of.stands(s.at):
		return fmt.Sprintf("nothing is found there in variant %s that is not found in the drawing as well", s.Variant)
	case len(s.hits) == 0:
		near := hints.Nearest(s.Pattern, slices.Values(of.names()))
		if near != "" {
			return fmt.Sprintf("there is nothing of that name; did you mean %q?", near)
		}
		if len(of.judged) > 0 {
			return fmt.Sprintf("there is nothing of that name; the rule was judged on %s", list(of.names()))
		}
		return "there is nothing of that name"
	case s.used == 0 && !s.worse && s.before != nil:
		return fmt.Sprintf("what it accepts is accepted already by another one, at %s", s.before.Pattern)
	case wild && len(idle) > 0:
		return fmt.Sprintf("needlessly broad: it covers %s as well, where nothing is found; name %s", list(idle), list(s.hits))
	case wild && len(s.hits) == 1 && s.hits[0] != "":
		return fmt.Sprintf("needlessly broad: it accepts one finding; name %s", s.hits[0])
	}
	return ""
}

// mostNamed is how many instances a message names.
const mostNamed = 5

func list(names []string) string {
	names = slices.Compact(slices.Sorted(slices.Values(names)))
	if more := len(names) - mostNamed; more > 0 {
		return strings.Join(names[:mostNamed], ", ") + fmt.Sprintf(" and %d more", more)
	}
	return strings.Join(names, ", ")
}
