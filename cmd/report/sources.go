package report

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// mostSources is how many origins of one number a line of text names; the machine formats name all.
const mostSources = 6

// origins names where a number comes from, seen from the file of the finding: "zero :21, scale :12 :14, current
// intent:9". What the line already says is not said again.
func (n *Netlist) origins(from []rules.From, home, said string) string {
	type label struct {
		text   string
		places []string
	}
	var labels []*label
	for _, f := range from {
		text := Plain(f.Text)
		i := slices.IndexFunc(labels, func(l *label) bool { return l.text == text })
		if i < 0 {
			i, labels = len(labels), append(labels, &label{text: text})
		}
		if p := n.short(f.At, home); p != "" && !slices.Contains(labels[i].places, p) {
			labels[i].places = append(labels[i].places, p)
		}
	}
	var out []string
	for _, l := range labels {
		words := l.places
		if l.text != "" && (said == "" || !strings.Contains(l.text, Plain(said)) || len(words) == 0) {
			words = append([]string{l.text}, words...)
		}
		out = append(out, strings.Join(words, " "))
	}
	return first(out, mostSources, ", ")
}

// short is a place as it stands at the right edge: ":21" in the file of the finding, "intent:9" in the intent file,
// "parts/ferry.toml:17" elsewhere, counted from the netlist's folder where it lies below it. Without a place it is "".
func (n *Netlist) short(at source.Span, home string) string {
	if at.None() {
		return ""
	}
	p := n.place(at)
	switch p.Path {
	case home:
		return fmt.Sprintf(":%d", p.Line)
	case n.Intent:
		return fmt.Sprintf("intent:%d", p.Line)
	}
	below := path.Dir(n.Path) + "/"
	return fmt.Sprintf("%s:%d", Plain(strings.TrimPrefix(p.Path, below)), p.Line)
}

// shorts are several places, each once.
func (n *Netlist) shorts(at []source.Span, home string) string {
	var out []string
	for _, a := range at {
		if s := n.short(a, home); s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return first(out, mostInstances, " ")
}
