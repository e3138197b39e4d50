package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// follow finds among the results of a block those that come of another's failure, so that one root is one finding: what
// is settled by the remedy of a failure of no less weight, and what only misses an input that a failure has told of. A
// root tells the places and words of what follows it.
func follow(out []Result, checks [][]*Check) {
	var roots []int
	for i := range out {
		if out[i].Kind == KindFail {
			roots = append(roots, i)
		}
	}
	settles := func(i int) int {
		if out[i].Remedy == nil {
			return 0
		}
		return len(out[i].Remedy.Settles)
	}
	slices.SortStableFunc(roots, func(a, b int) int { // the heaviest first, of those what settles most
		return cmp.Or(cmp.Compare(out[b].Level, out[a].Level), cmp.Compare(settles(b), settles(a)))
	})
	for _, i := range roots {
		if out[i].Follows != "" {
			continue
		}
		for n := range out {
			if n != i && out[n].Kind > KindPass && out[n].Follows == "" && !leads(out, n) && comesOf(out, checks, n, i) {
				out[n].Follows = out[i].Rule
			}
		}
	}
	brings(out)
}

// A place is where results are looked at together.
type place struct{ variant, block string }

// brings writes down at each failure what comes of it, and what else its remedy settles.
func brings(results []Result) {
	at := map[place][]int{}
	for i, r := range results {
		if r.Block != "" {
			at[place{r.Variant, r.Block}] = append(at[place{r.Variant, r.Block}], i)
		}
		results[i].Brings = nil
	}
	told := map[int][]followers{}
	for n, r := range results {
		if r.Follows == "" {
			continue
		}
		root := rootOf(results, at[place{r.Variant, r.Block}], r.Follows)
		if root < 0 {
			root = rootOf(results, at[place{"", r.Block}], r.Follows)
		}
		if root >= 0 {
			told[root] = tell(told[root], results[n], results[root].Variant)
		}
	}
	for i := range results {
		r := &results[i]
		for _, f := range told[i] {
			r.Brings = append(r.Brings, source.Related{At: f.at, Message: f.String()})
		}
		if r.Kind != KindFail || r.Remedy == nil {
			continue
		}
		var also []string
		for _, id := range r.Remedy.Cures {
			for _, n := range at[place{r.Variant, r.Block}] {
				if results[n].Rule == id && results[n].Follows != r.Rule {
					also = append(also, id)
				}
			}
		}
		if also != nil {
			r.Brings = append(r.Brings, source.Related{At: r.At, Message: "the remedy settles " + strings.Join(also, ", ") + " as well"})
		}
	}
}

// rootOf is which of some results is the failure of a rule; -1 where none is.
func rootOf(results []Result, among []int, rule string) int {
	for _, i := range among {
		if results[i].Rule == rule && results[i].Kind == KindFail {
			return i
		}
	}
	return -1
}

// followers are the rules that come of one failure at one place with the same words: what is missing there is missing for
// many, and is said once.
type followers struct {
	rules []string
	at    source.Span
	words string
}

// tell adds a result to what its failure, which is of a variant, tells.
func tell(told []followers, r Result, variant string) []followers {
	name := r.Rule
	if r.Variant != variant {
		name += " (" + r.Variant + ")"
	}
	for i := range told {
		if told[i].at == r.At && told[i].words == r.Message {
			told[i].rules = append(told[i].rules, name)
			return told
		}
	}
	return append(told, followers{[]string{name}, r.At, r.Message})
}

// mostFollowers are named; each result itself says what it follows.
const mostFollowers = 5

func (f followers) String() string {
	if len(f.rules) == 1 {
		return f.rules[0] + " comes of it: " + f.words
	}
	names := strings.Join(f.rules[:min(len(f.rules), mostFollowers)], ", ")
	if more := len(f.rules) - mostFollowers; more > 0 {
		names += fmt.Sprintf(", %d more", more)
	}
	return names + " come of it: " + f.words
}

// leads tells that something follows a result already.
func leads(out []Result, n int) bool {
	return slices.ContainsFunc(out, func(o Result) bool { return o.Follows == out[n].Rule })
}

// comesOf tells that result n comes of the failure i.
func comesOf(out []Result, checks [][]*Check, n, i int) bool {
	if out[n].Kind == KindFail && out[n].Level > out[i].Level {
		return false
	}
	if r := out[i].Remedy; r != nil && slices.Contains(r.Settles, out[n].Rule) {
		return true
	}
	if out[n].Kind == KindFail && allSame(checks[n], out[i].Rule) {
		return true
	}
	if out[n].Kind != KindOpen || len(out[n].Needs) == 0 {
		return false
	}
	var told []quantity.Need
	for _, c := range checks[i] {
		if c.kind == KindFail {
			told = append(told, c.told...)
		}
	}
	for _, need := range out[n].Needs {
		// "intent (or what holds it, in the netlist)" is intent
		if !slices.ContainsFunc(told, func(t quantity.Need) bool { return strings.HasPrefix(need.In, t.In) && t.Key == need.Key }) {
			return false
		}
	}
	return true
}

// allSame tells that every failure among checks is the same defect as a rule's.
func allSame(checks []*Check, rule string) bool {
	any := false
	for _, c := range checks {
		if c.kind == KindFail {
			if c.same != rule {
				return false
			}
			any = true
		}
	}
	return any
}

// Rooted makes findings again of what follows a failure that is none any more, or one of less weight than it has
// itself: accepted since, left out, or given another level.
func Rooted(results []Result) {
	type rule struct {
		place
		id string
	}
	roots := map[rule]Level{}
	for _, r := range results {
		if r.Kind == KindFail && r.Accepted == nil && r.Block != "" {
			roots[rule{place{r.Variant, r.Block}, r.Rule}] = r.Level
		}
	}
	for i := range results {
		r := &results[i]
		if r.Follows == "" {
			continue
		}
		l, ok := roots[rule{place{r.Variant, r.Block}, r.Follows}]
		if !ok { // a variant in which the root is what it is in the drawing does not repeat it
			l, ok = roots[rule{place{"", r.Block}, r.Follows}]
		}
		if !ok || r.Kind == KindFail && r.Level > l {
			r.Follows = ""
		}
	}
	brings(results)
}
