package report

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/rules"
)

// A ledger is what the results of a netlist stand on that nobody declared, and what answers would settle.
type ledger struct {
	Assumptions []assumption `json:"assumptions"`
	Answers     []answer     `json:"answers"`
}

// An assumption is a default, a typical value or a nominal that verdicts stand on.
type assumption struct {
	Text    string   `json:"text"`
	Results []string `json:"results"` // "XA supply-range pass"
}

// An answer is an input that nobody has given.
type answer struct {
	Key     string   `json:"key"`
	In      string   `json:"in"`      // where it would stand
	Settles int      `json:"settles"` // results that miss nothing else
	Results []string `json:"results"` // all that ask for it
}

// ledger gathers what results rest on, what most rest on first, and what is missing, what settles most first.
func (n *Netlist) ledger() (l ledger) {
	l = ledger{[]assumption{}, []answer{}}
	assumed, asked := map[string]int{}, map[string]int{}
	for _, r := range n.Report.Results {
		if r.Kind == rules.KindNotApplicable {
			continue
		}
		name := title(r) + " " + word(r)
		for _, text := range r.Assumed {
			i, ok := assumed[text]
			if !ok {
				i = len(l.Assumptions)
				assumed[text] = i
				l.Assumptions = append(l.Assumptions, assumption{Text: text})
			}
			l.Assumptions[i].Results = append(l.Assumptions[i].Results, name)
		}
		if r.Kind != rules.KindOpen && r.Kind != rules.KindReview {
			continue
		}
		needs := distinct(r.Needs)
		for _, need := range needs {
			i, ok := asked[need.Key]
			if !ok {
				i = len(l.Answers)
				asked[need.Key] = i
				l.Answers = append(l.Answers, answer{Key: need.Key, In: need.In})
			}
			l.Answers[i].Results = append(l.Answers[i].Results, name)
			if len(needs) == 1 {
				l.Answers[i].Settles++
			}
		}
	}
	slices.SortStableFunc(l.Assumptions, func(a, b assumption) int { return cmp.Compare(len(b.Results), len(a.Results)) })
	slices.SortStableFunc(l.Answers, func(a, b answer) int {
		return cmp.Or(cmp.Compare(b.Settles, a.Settles), cmp.Compare(len(b.Results), len(a.Results)))
	})
	return l
}

// writeLedger prints the ledger for people.
func (n *Netlist) writeLedger(out io.Writer) {
	l := n.ledger()
	fmt.Fprintf(out, "%s: what the results rest on that nobody declared\n", plainPath(n.Path))
	for _, a := range l.Assumptions {
		fmt.Fprintf(out, "    %s\n        %s\n", Plain(a.Text), Plain(first(a.Results, mostInstances, ", ")))
	}
	if len(l.Assumptions) == 0 {
		fmt.Fprintln(out, "    nothing")
	}
	fmt.Fprintf(out, "%s: what answers would settle, the most first\n", plainPath(n.Path))
	width := 0
	for _, a := range l.Answers {
		width = max(width, len(a.worth()))
	}
	for _, a := range l.Answers {
		fmt.Fprintf(out, "    %-*s  %s in the %s: %s\n", width, a.worth(), Plain(a.Key), Plain(a.In), Plain(first(a.askers(), mostInstances, ", ")))
	}
	if len(l.Answers) == 0 {
		fmt.Fprintln(out, "    nothing is asked for")
	}
}

// worth is how many of the results that ask for an answer it settles by itself, and to how many more it is a part of one.
func (a answer) worth() string {
	switch more := len(a.Results) - a.Settles; {
	case more == 0:
		return fmt.Sprintf("settles %d", a.Settles)
	case a.Settles == 0:
		return fmt.Sprintf("helps with %d", more)
	default:
		return fmt.Sprintf("settles %d, helps with %d", a.Settles, more)
	}
}

// askers are the results that ask for an answer, without the word that they come out with: none of them is settled.
func (a answer) askers() (list []string) {
	for _, r := range a.Results {
		list = append(list, r[:strings.LastIndexByte(r, ' ')])
	}
	return list
}
