package part

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// Match is the record of a subcircuit by its name: one of that name, suffix included, else the one whose pattern fits
// with the most letters of its own, suffix included. It is nil without a diagnostic when none fits; a tie of two
// records is a diagnostic at the first of them. Case does not count.
func (l *Library) Match(subckt string) (*Record, *source.Diagnostic) { return l.match(subckt, "") }

// MatchRole is Match among the records of one role: that of a model by its name.
func (l *Library) MatchRole(model, role string) (*Record, *source.Diagnostic) {
	return l.match(model, role)
}

// match is Match among the records of a role; "" stands for every role.
func (l *Library) match(subckt, role string) (*Record, *source.Diagnostic) {
	if l == nil {
		return nil, nil
	}
	if r := l.Get(subckt); r != nil && (role == "" || r.Role() == role) {
		return r, nil
	}
	name := strings.ToLower(subckt)
	var best, tied *Record
	var weight [2]int
	for _, r := range l.records {
		e := r.base.Get("match")
		if e == nil || role != "" && r.Role() != role {
			continue
		}
		for _, pattern := range e.Names {
			pattern = strings.ToLower(pattern + r.Suffix())
			if !glob(pattern, name) {
				continue
			}
			marks := strings.Count(pattern, "?")
			this := [2]int{len(pattern) - marks - strings.Count(pattern, "*"), marks}
			switch {
			case best == nil || this[0] > weight[0] || this[0] == weight[0] && this[1] > weight[1]:
				best, tied, weight = r, nil, this
			case this == weight && r != best:
				tied = r
			}
		}
	}
	if tied != nil {
		return nil, &source.Diagnostic{At: best.base.Get("match").At, Rule: rule,
			Message: fmt.Sprintf("%s matches %s and %s equally well", quote(subckt), best.Name(), tied.Name()),
			Related: []source.Related{{At: tied.base.Get("match").At, Message: "the patterns of " + tied.Name()}}}
	}
	return best, nil
}

// Beginning are the records of parts with codes whose name or pattern, its code left out, a subcircuit's name begins with: it
// carries another code.
func (l *Library) Beginning(subckt string) (out []*Record) {
	if l == nil {
		return nil
	}
	name := strings.ToLower(subckt)
	for _, r := range l.records {
		if r.Suffix() == "" {
			continue
		}
		bases := []string{strings.TrimSuffix(r.Name(), r.Suffix())}
		if e := r.base.Get("match"); e != nil {
			bases = append(bases, e.Names...)
		}
		if slices.ContainsFunc(bases, func(b string) bool {
			return !strings.ContainsAny(b, "*?") && strings.HasPrefix(name, strings.ToLower(b))
		}) {
			out = append(out, r)
		}
	}
	return out
}

// glob tells that a name fits a pattern in which * stands for any letters and ? for one.
func glob(pattern, name string) bool {
	p, n := []rune(pattern), []rune(name)
	i, j, star, mark := 0, 0, -1, 0
	for j < len(n) {
		switch {
		case i < len(p) && p[i] == '*':
			star, mark = i, j
			i++
		case i < len(p) && (p[i] == '?' || p[i] == n[j]):
			i++
			j++
		case star >= 0:
			mark++
			i, j = star+1, mark
		default:
			return false
		}
	}
	for i < len(p) && p[i] == '*' {
		i++
	}
	return i == len(p)
}
