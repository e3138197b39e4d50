package parse

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
)

// deck reads a text with a title line put above it; its diagnostics are one line each.
func deck(t testing.TB, text string, files ...string) (*Netlist, []string) {
	t.Helper()
	return whole(t, "a deck\n"+text, files...)
}

// whole reads a text as it stands. files are paths and texts that it may include.
func whole(t testing.TB, text string, files ...string) (*Netlist, []string) {
	t.Helper()
	return readWith(t, text, Options{Include: func(path string, _ source.FileID) ([]byte, string, error) {
		for i := 0; i < len(files); i += 2 {
			if files[i] == path {
				return []byte(files[i+1]), path, nil
			}
		}
		return nil, "", errors.New("no such file")
	}})
}

func readWith(t testing.TB, text string, opt Options) (*Netlist, []string) {
	t.Helper()
	set := source.NewSet()
	n, diags := Read(set, set.Add("deck.cir", []byte(text), source.Span{}), opt)
	return n, printed(set, diags)
}

func printed(set *source.Set, diags []source.Diagnostic) (out []string) {
	for _, d := range diags {
		p := set.Place(d.At)
		out = append(out, fmt.Sprintf("%s:%d:%d-%d:%d %s: %s", p.Path, p.Line, p.Column, p.EndLine, p.EndCol, d.Rule, d.Text()))
	}
	return out
}

// drawn is a card in short: letter, name, nodes, value, reference.
func drawn(n *Netlist, id CardID) string {
	c := &n.Cards[id]
	var b strings.Builder
	fmt.Fprintf(&b, "%c %s", c.Kind, n.CardName(id))
	for _, nd := range n.CardNodes(id) {
		b.WriteString(" " + n.Names[nd])
	}
	if v, ok := n.CardValue(id); ok {
		if v.Literal() {
			fmt.Fprintf(&b, " = %v", v.Number)
		} else {
			b.WriteString(" = " + n.Src.Text(v.At))
		}
	}
	if c.Ref != 0 {
		b.WriteString(" : " + n.Names[c.Ref])
	}
	return b.String()
}

func drawnAll(n *Netlist) (out []string) {
	for id := range n.Cards {
		out = append(out, drawn(n, CardID(id)))
	}
	return out
}

func silent(t testing.TB, diags []string) {
	t.Helper()
	for _, d := range diags {
		t.Errorf("unexpected diagnostic %s", d)
	}
}

func same(t testing.TB, what string, got, want []string) {
	t.Helper()
	g, w := strings.Join(got, "\n"), strings.Join(want, "\n")
	if g != w {
		t.Errorf("%s:\n%s\nwant:\n%s", what, g, w)
	}
}

func near(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-12*math.Abs(b) }
