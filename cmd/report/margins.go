package report

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// margins lists every judged rule with its tightest margin, the tightest of all first; what has no margin comes last.
func (n *Netlist) margins(out io.Writer, p paint) {
	var judged []rules.Result
	for _, r := range n.Report.Results {
		if (r.Block != "" || !trouble(r.Rule)) && r.Kind != rules.KindNotApplicable {
			judged = append(judged, r)
		}
	}
	slices.SortStableFunc(judged, tighter)

	words := []string{"word", "what", "relative", "margin", "bar"}
	table := make([][]string, len(judged))
	width := make([]int, len(words))
	for i, r := range judged {
		table[i] = []string{word(r), Plain(title(r)), "", "", ""}
		if m, ok := tightest(r); ok {
			s := scale(m)
			table[i][2] = percent(relative(m))
			table[i][3] = s.Text(m.Margin, quantity.Down)
			table[i][4] = gauge(m, s)
			if m.Name != "" {
				table[i][4] += "  " + Plain(m.Name)
			}
		} else {
			table[i][4] = Plain(r.Message)
		}
		for c, cell := range table[i][:4] {
			width[c] = max(width[c], utf8.RuneCountInString(cell))
		}
	}
	fmt.Fprintf(out, "%s: margins, tightest first\n", plainPath(n.Path))
	for _, t := range table {
		line := "    " + p.word(t[0]) + pad(t[0], width[0]) + "  " + t[1] + pad(t[1], width[1]) +
			"  " + pad(t[2], width[2]) + t[2] + "  " + pad(t[3], width[3]) + t[3] + "   " + t[4]
		fmt.Fprintln(out, strings.TrimRight(line, " "))
	}
}

// trouble tells the id of what is said of an input from that of a rule.
func trouble(id string) bool {
	for _, t := range rules.Troubles {
		if t.ID == id {
			return true
		}
	}
	return false
}

func pad(s string, width int) string {
	return strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// percent prints a relative margin: whole percents say enough beyond the nearest few.
func percent(v float64) string {
	if !finite(v) {
		return "unbounded"
	}
	if v > -0.1 && v < 0.1 {
		return quantity.ScaleFor(quantity.Ratio, 0.1).Text(v, quantity.Down)
	}
	return quantity.ScaleFor(quantity.Ratio, 10).Text(v, quantity.Down)
}
