package policy

import (
	"fmt"
	"slices"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// An Off is a rule that is not judged.
type Off struct {
	Rule   string
	Reason string
	At     source.Span
}

// Off are the rules that the policy leaves out, with its reasons: those it names, and those newer than its rule set.
func (p *Policy) Off() (list []Off) {
	set, at := p.RuleSet()
	for _, r := range p.rules {
		switch e := p.doc.Get("off", r.ID); {
		case e != nil:
			list = append(list, Off{r.ID, e.Text, e.At})
		case r.Since > set:
			list = append(list, Off{r.ID, fmt.Sprintf("of rule set %d; this project keeps to %d", r.Since, set), at})
		}
	}
	return list
}

// Judged are the rules that the policy leaves in, and a result for each that it leaves out: that it was not judged is
// said and not passed over.
func (p *Policy) Judged() (list []*rules.Rule, left []rules.Result) {
	off := p.Off()
	for _, r := range p.rules {
		i := slices.IndexFunc(off, func(o Off) bool { return o.Rule == r.ID })
		if i < 0 {
			list = append(list, r)
			continue
		}
		left = append(left, rules.Result{Rule: r.ID, Kind: rules.KindNotApplicable, Off: true, At: off[i].At, Message: "off: " + off[i].Reason})
	}
	return list, left
}

// Level is the level of a plain failure of a rule, or of a trouble with an input; where it was said if the policy did.
func (p *Policy) Level(id string) (l rules.Level, at source.Span) {
	if e := p.doc.Get("levels", id); e != nil {
		return map[string]rules.Level{"note": rules.Note, "warning": rules.Warning, "error": rules.Error}[e.Text], e.At
	}
	return p.plain(id), source.Span{}
}

// plain is the level of a plain failure as the rule says.
func (p *Policy) plain(id string) rules.Level {
	if r := p.rule(id); r != nil {
		return r.Level
	}
	for _, t := range rules.Troubles {
		if t.ID == id {
			return t.Level
		}
	}
	return rules.Error
}

// level gives a failure the level that the policy wants: a plain one that level itself, a lighter one at most that. A
// heavier one stays where it is, unless the policy makes less of the rule than it does itself.
func (p *Policy) level(r *rules.Result) {
	want, at := p.Level(r.Rule)
	if at.None() {
		return
	}
	plain := p.plain(r.Rule)
	moved := func(l rules.Level) rules.Level {
		switch {
		case l < plain:
			return min(l, want)
		case l == plain, want < plain:
			return want
		}
		return max(l, want)
	}
	if r.Kind == rules.KindFail {
		r.Level = moved(r.Level)
	}
	r.Measures = slices.Clone(r.Measures)
	for i := range r.Measures {
		if r.Measures[i].Kind == rules.KindFail {
			r.Measures[i].Level = moved(r.Measures[i].Level)
		}
	}
}
