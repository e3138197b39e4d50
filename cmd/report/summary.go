package report

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// A Summary counts results, not what a printer makes of them.
type Summary struct {
	Fail     Failures `json:"fail"`
	Review   int      `json:"review"`
	Open     int      `json:"open"`
	Pass     int      `json:"pass"`
	Accepted int      `json:"accepted"`
	Follow   int      `json:"follow,omitempty"` // what comes of another finding and is told there
	Off      int      `json:"off,omitempty"`    // rules that the policy leaves out, for each netlist
}

// Failures are counted by level.
type Failures struct {
	Error   int `json:"error"`
	Warning int `json:"warning"`
	Note    int `json:"note"`
}

// Summary counts the results of every netlist.
func (run *Run) Summary() (s Summary) {
	for _, n := range run.Netlists {
		for _, r := range n.Report.Results {
			if r.Accepted != nil {
				s.Accepted++
				continue
			}
			if r.Follows != "" {
				s.Follow++
				continue
			}
			switch r.Kind {
			case rules.KindNotApplicable:
				if r.Off {
					s.Off++
				}
			case rules.KindPass:
				s.Pass++
			case rules.KindReview:
				s.Review++
			case rules.KindOpen:
				s.Open++
			case rules.KindFail:
				switch r.Level {
				case rules.Error:
					s.Fail.Error++
				case rules.Warning:
					s.Fail.Warning++
				default:
					s.Fail.Note++
				}
			}
		}
	}
	return s
}

func (s Summary) String() string {
	f := s.Fail
	out := fmt.Sprintf("%d fail", f.Error+f.Warning+f.Note)
	var levels []string
	for _, l := range []struct {
		n    int
		word string
	}{{f.Error, "error"}, {f.Warning, "warning"}, {f.Note, "note"}} {
		if l.n > 0 {
			levels = append(levels, fmt.Sprintf("%d %s", l.n, l.word))
		}
	}
	if levels != nil {
		out += " (" + strings.Join(levels, ", ") + ")"
	}
	out += fmt.Sprintf(", %d review, %d undecided, %d pass", s.Review, s.Open, s.Pass)
	if s.Accepted > 0 {
		out += fmt.Sprintf(", %d accepted", s.Accepted)
	}
	if s.Follow > 0 {
		out += fmt.Sprintf(", %d that follow", s.Follow)
	}
	if s.Off > 0 {
		out += fmt.Sprintf(", %d off", s.Off)
	}
	return out
}

// oneAnswer is the missing input that by itself settles most results of one netlist, and how many.
func (run *Run) oneAnswer() (key string, settles int) {
	for _, n := range run.Netlists {
		alone := map[string]int{}
		for _, r := range n.Report.Results {
			if keys := missing(r.Needs); len(keys) == 1 && r.Finding() && (r.Kind == rules.KindOpen || r.Kind == rules.KindReview) {
				alone[keys[0]]++
			}
		}
		for k, c := range alone {
			if cmp.Or(cmp.Compare(c, settles), cmp.Compare(key, k)) > 0 {
				key, settles = k, c
			}
		}
	}
	return key, settles
}

// missing are the keys of inputs that are asked for, each once.
func missing(needs []quantity.Need) []string {
	keys := []string{}
	for _, n := range distinct(needs) {
		keys = append(keys, n.Key)
	}
	return keys
}
