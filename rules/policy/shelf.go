package policy

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// What one netlist may be told of acceptances: each with a star is tried on every result of its rule, and a stranger may
// write them.
const (
	mostAcceptances = 20_000
	mostStarred     = 1_000
)

// A shelf holds the acceptances of one rule.
type shelf struct {
	named  map[string][]*standing // by path in lower case
	wild   []*standing
	judged map[string]bool // instances on which the rule was judged
	spared map[string]bool // instances to which it does not apply
	sorted []string        // of them
	order  map[*standing]int
}

// shelves hold acceptances by rule.
type shelves struct {
	of             map[string]*shelf
	count, starred int
}

// add puts an acceptance where it is looked for; it says why it is not.
func (by *shelves) add(s *standing) string {
	of := by.of[s.Rule]
	if of == nil {
		of = &shelf{named: map[string][]*standing{}, judged: map[string]bool{}, spared: map[string]bool{}, order: map[*standing]int{}}
		by.of[s.Rule] = of
	}
	switch {
	case by.count >= mostAcceptances:
		return fmt.Sprintf("there are more than %d acceptances: it accepts nothing", mostAcceptances)
	case s.at.wild() && by.starred >= mostStarred:
		return fmt.Sprintf("there are more than %d acceptances with a star: it accepts nothing", mostStarred)
	case s.at.wild():
		of.wild = append(of.wild, s)
		by.starred++
	case s.Pattern != "":
		name := strings.ToLower(s.Pattern)
		of.named[name] = append(of.named[name], s)
	}
	of.order[s] = len(of.order)
	by.count++
	return ""
}

// fitting are the acceptances for an instance, in the order in which they were read.
func (of *shelf) fitting(instance string) []*standing {
	list := slices.Clone(of.named[strings.ToLower(instance)])
	for _, s := range of.wild {
		if s.at.matches(instance) {
			list = append(list, s)
		}
	}
	slices.SortFunc(list, func(a, b *standing) int { return of.order[a] - of.order[b] })
	return list
}

// names are the instances on which the rule was judged, sorted.
func (of *shelf) names() []string {
	if len(of.sorted) < len(of.judged) {
		of.sorted = slices.Sorted(maps.Keys(of.judged))
	}
	return of.sorted
}

// stands tells that there is an instance of a name, judged or not.
func (of *shelf) stands(at pattern) bool {
	for _, names := range []map[string]bool{of.judged, of.spared} {
		for name := range names {
			if at.matches(name) {
				return true
			}
		}
	}
	return false
}
