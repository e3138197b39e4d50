package report

import (
	"bufio"
	"fmt"
	"io"

	"github.com/shuntwright/shuntwright/parse/source"
)

// TextOptions say how text looks.
type TextOptions struct {
	Color   bool
	Margins bool // list the margin of every judged rule, passes included
}

// Text prints findings for people: a first line in the form that editors parse, evidence under it, and at the end one
// line that counts everything.
func Text(w io.Writer, run *Run, opt TextOptions) error {
	out := bufio.NewWriter(w)
	p := newPaint(opt.Color)
	wrote := false
	for i := range run.Netlists {
		n := &run.Netlists[i]
		for _, g := range n.findings() {
			wrote = true
			n.finding(out, g, p)
		}
	}
	if opt.Margins {
		for i := range run.Netlists {
			if wrote {
				fmt.Fprintln(out)
			}
			wrote = true
			run.Netlists[i].margins(out, p)
			run.Netlists[i].growth(out, p)
		}
	}
	if run.Ledger {
		for i := range run.Netlists {
			if wrote {
				fmt.Fprintln(out)
			}
			wrote = true
			run.Netlists[i].writeLedger(out)
		}
	}
	if wrote {
		fmt.Fprintln(out)
	}
	for _, n := range run.Netlists {
		if len(n.Report.Blocks) == 0 {
			continue
		}
		for _, c := range n.Report.Cautions {
			fmt.Fprintf(out, "%s: %s: %s\n", plainPath(n.Path), p.word("caution"), Plain(c))
		}
	}
	if len(run.Netlists) > 0 {
		fmt.Fprint(out, run.Summary())
		if key, settles := run.oneAnswer(); settles > 1 {
			fmt.Fprintf(out, "; one answer settles %d: %s", settles, Plain(key))
		}
		fmt.Fprintln(out)
	}
	return out.Flush()
}

func (n *Netlist) finding(out io.Writer, g *group, p paint) {
	r := g.worst
	fmt.Fprintf(out, "%s: %s: %s: %s\n", position(n.place(r.At)), p.word(word(r)), Plain(title(r)), Plain(r.Message))
	for _, line := range lay(n.evidence(g)) {
		fmt.Fprintln(out, line)
	}
}

func position(p source.Place) string {
	return fmt.Sprintf("%s:%d:%d", plainPath(p.Path), p.Line, p.Column)
}
