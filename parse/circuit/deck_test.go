package circuit

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// deck elaborates a text with a title line put above it, with the subcircuits whose names start with "part" taken for
// parts; its diagnostics are one line each.
func deck(t testing.TB, text string) (*Circuit, []string) {
	t.Helper()
	return limited(t, text, parse.Limits{})
}

func limited(t testing.TB, text string, most parse.Limits) (*Circuit, []string) {
	t.Helper()
	set := source.NewSet()
	id := set.Add("deck.cir", []byte("a deck\n"+text), source.Span{})
	n, diags := parse.Read(set, id, parse.Options{Limits: most})
	c, more := Elaborate(n, func(name string) bool { return strings.HasPrefix(strings.ToLower(name), "part") })
	var out []string
	for _, d := range append(diags, more...) {
		p := set.Place(d.At)
		out = append(out, fmt.Sprintf("%d:%d-%d:%d %s: %s", p.Line, p.Column, p.EndLine, p.EndCol, d.Rule, d.Text()))
	}
	return c, out
}

// drawn is every element in short: letter, path, nets, value.
func drawn(c *Circuit) (out []string) {
	for id := range c.Elements {
		var b strings.Builder
		fmt.Fprintf(&b, "%c %s", c.Elements[id].Kind, c.Path(ID(id)))
		for _, p := range c.ElementPins(ID(id)) {
			b.WriteString(" " + c.NetName(p))
		}
		if v := c.Elements[id].Value; !math.IsNaN(v) {
			fmt.Fprintf(&b, " = %.12g", v)
		}
		out = append(out, b.String())
	}
	return out
}

func same(t testing.TB, what string, got, want []string) {
	t.Helper()
	if g, w := strings.Join(got, "\n"), strings.Join(want, "\n"); g != w {
		t.Errorf("%s:\n%s\nwant:\n%s", what, g, w)
	}
}

func must(t testing.TB, c *Circuit, path string) ID {
	t.Helper()
	id, ok := c.Find(path)
	if !ok {
		t.Fatalf("no %s in %q", path, drawn(c))
	}
	return id
}
