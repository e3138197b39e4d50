package policy

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// policyRule is the id under which troubles with a policy are reported.
const policyRule = "policy-field"

// A Policy is what a team has decided. It does not change once read.
type Policy struct {
	doc   *field.Doc // nil where there is no file
	rules []*rules.Rule
}

// None is the policy where nobody has written one.
func None(list []*rules.Rule) *Policy { return &Policy{rules: list} }

// Read reads a policy file. What it cannot use it reports under policy-field.
func Read(set *source.Set, id source.FileID, list []*rules.Rule) (*Policy, []source.Diagnostic) {
	at := source.Span{Pos: source.Pos{File: id}, Len: uint32(len(set.File(id).Text))}
	doc, diags := field.ReadTable(set, at, policyRule, policy)
	p := &Policy{doc, list}
	diags = append(diags, p.check()...)
	slices.SortStableFunc(diags, func(a, b source.Diagnostic) int { return cmp.Compare(a.At.Byte, b.At.Byte) })
	return p, diags
}

// check finds what a policy says that cannot be meant.
func (p *Policy) check() (diags []source.Diagnostic) {
	fail := func(at source.Span, format string, args ...any) {
		diags = append(diags, source.Diagnostic{At: at, Rule: policyRule, Message: fmt.Sprintf(format, args...)})
	}
	for e := range p.doc.Under() {
		switch e.Field.Key {
		case "rule-set":
			if e.Count < 1 || e.Count > p.newest() {
				fail(e.ValueAt, "there is no rule set %d; known are 1 to %d", e.Count, p.newest())
			}
		case "fail-on":
			if _, err := ReadFailOn("fail-on", e.Text); err != nil {
				fail(e.ValueAt, "%s", err)
			}
		case "levels.*":
			if said := p.unknownRule(e.Path[1]); said != "" {
				fail(e.PathAt[1], "%s", said)
			}
		case "off.*":
			id := e.Path[1]
			if said := p.unknownRule(id); said != "" {
				fail(e.PathAt[1], "%s", said)
			} else if p.rule(id) == nil {
				fail(e.PathAt[1], "%s is said of the inputs and is not off; accept it, or give it another level", id)
			}
		case "acceptances.never":
			for i, id := range e.Names {
				if said := p.unknownRule(id); said != "" {
					fail(e.NamesAt[i], "%s", said)
				}
			}
		}
	}
	return diags
}

// ids are those of all that can be found: rules, and troubles with inputs.
func (p *Policy) ids() (ids []string) {
	for _, r := range p.rules {
		ids = append(ids, r.ID)
	}
	for _, t := range rules.Troubles {
		ids = append(ids, t.ID)
	}
	return ids
}

func (p *Policy) rule(id string) *rules.Rule {
	if i := slices.IndexFunc(p.rules, func(r *rules.Rule) bool { return r.ID == id }); i >= 0 {
		return p.rules[i]
	}
	return nil
}

// newest is the number of the newest rule set.
func (p *Policy) newest() int {
	n := 1
	for _, r := range p.rules {
		n = max(n, r.Since)
	}
	return n
}

// RuleSet is the number of the rule set that is judged, and where that was said.
func (p *Policy) RuleSet() (n int, at source.Span) {
	if e := p.doc.Get("rule-set"); e != nil && e.Count >= 1 && e.Count <= p.newest() {
		return e.Count, e.At
	}
	return p.newest(), source.Span{}
}

// FailOn is what fails a run, as written, and where; "" where the policy says nothing.
func (p *Policy) FailOn() (list string, at source.Span) {
	if e := p.doc.Get("fail-on"); e != nil {
		if _, err := ReadFailOn("", e.Text); err == nil {
			return e.Text, e.At
		}
	}
	return "", source.Span{}
}

// Parts are the files, folders or globs of part records, counted from the folder of the policy, and where each was named.
func (p *Policy) Parts() (paths []string, at []source.Span) {
	if e := p.doc.Get("parts"); e != nil {
		return e.Names, e.NamesAt
	}
	return nil, nil
}

// House are the files, folders or globs of house rules, counted from the folder of the policy, and where each was named.
func (p *Policy) House() (paths []string, at []source.Span) {
	if e := p.doc.Get("house"); e != nil {
		return e.Names, e.NamesAt
	}
	return nil, nil
}

// NeedsEnd tells that an acceptance must have an end.
func (p *Policy) NeedsEnd() bool {
	e := p.doc.Get("acceptances", "until")
	return e == nil || e.Text != "optional"
}

// Never are the rules whose findings cannot be accepted.
func (p *Policy) Never() []string {
	if e := p.doc.Get("acceptances", "never"); e != nil {
		return e.Names
	}
	return nil
}

// RefusesReviewed tells that acceptances in files under review do not count; also where the word was not understood: what was meant was hardly the default.
func (p *Policy) RefusesReviewed() bool {
	e := p.doc.Get("acceptances", "under-review")
	return e != nil && e.Text == "refused" || p.doc.Refused("acceptances", "under-review")
}

// At is where the policy says a key, given by its components; no place where it does not.
func (p *Policy) At(path ...string) source.Span {
	if e := p.doc.Get(path...); e != nil {
		return e.At
	}
	return source.Span{}
}
