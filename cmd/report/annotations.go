package report

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"github.com/shuntwright/shuntwright/rules"
)

var (
	// annotated escapes the message of a workflow command, property one of its properties; "%" goes first.
	annotated = strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A")
	property  = strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A", ":", "%3A", ",", "%2C")
)

// Annotations prints one workflow command for each finding, so that a forge shows it at its line.
func Annotations(w io.Writer, run *Run) error {
	out := bufio.NewWriter(w)
	for i := range run.Netlists {
		n := &run.Netlists[i]
		for _, g := range n.findings() {
			fmt.Fprintln(out, n.annotation(g))
		}
		for _, c := range n.Report.Cautions {
			fmt.Fprintf(out, "::notice file=%s,title=caution::%s\n", property.Replace(Plain(n.Path)), annotated.Replace(Plain(c)))
		}
	}
	return out.Flush()
}

func (n *Netlist) annotation(g *group) string {
	r, p := g.worst, n.place(g.worst.At)
	command := "notice"
	if r.Kind == rules.KindFail && r.Level > rules.Note {
		command = r.Level.String()
	}
	where := fmt.Sprintf("file=%s,line=%d", property.Replace(Plain(p.Path)), p.Line)
	if p.EndLine == p.Line {
		where += fmt.Sprintf(",col=%d,endColumn=%d", p.Column, max(p.EndCol, p.Column))
	} else {
		where += fmt.Sprintf(",endLine=%d", p.EndLine)
	}
	title := title(r)
	if command == "notice" {
		title = word(r) + ": " + title
	}
	lines := []string{r.Message}
	if need := missing(g.needs); len(need) > 0 {
		lines = append(lines, "missing: "+first(need, mostInstances, ", "))
	}
	if r.Remedy != nil {
		lines = append(lines, "remedy: "+r.Remedy.Text+" ("+verdict(r.Remedy)+")")
	}
	if r.Advice != "" {
		lines = append(lines, "remedy: "+r.Advice+" ("+unjudged+")")
	}
	if len(g.instances) > 1 {
		lines = append(lines, "instances: "+first(g.instances, mostInstances, ", "))
	}
	for i := range lines {
		lines[i] = Plain(lines[i])
	}
	return fmt.Sprintf("::%s %s,title=%s::%s", command, where, property.Replace(Plain(title)), annotated.Replace(strings.Join(lines, "\n")))
}
