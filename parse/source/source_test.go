package source

import (
	"slices"
	"testing"
)

func TestPlace(t *testing.T) {
	set := NewSet()
	for _, c := range []struct {
		name, text string
		at, length uint32
		want       Place
	}{
		{"first", "R1 a b 1\n", 0, 8, Place{"f", 1, 1, 1, 9}},
		{"second line", "t\nR1 a b 1\n", 2, 8, Place{"f", 2, 1, 2, 9}},
		{"across a continuation", "t\nR1 a\n+ b 1\n", 2, 10, Place{"f", 2, 1, 3, 6}},
		{"carriage return and line feed", "t\r\nR1\r\n", 3, 2, Place{"f", 2, 1, 2, 3}},
		{"carriage return alone", "t\rR1\rR2\r", 5, 2, Place{"f", 3, 1, 3, 3}},
		{"columns count code points", "* \u00b5\u03a9 R1", 7, 2, Place{"f", 1, 6, 1, 8}},
		{"at the end", "t\n", 2, 0, Place{"f", 2, 1, 2, 1}},
	} {
		id := set.Add("f", []byte(c.text), Span{})
		if got := set.Place(Span{Pos{id, c.at}, c.length}); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	if got := set.Place(Span{}); got != (Place{}) {
		t.Errorf("no place is at %+v", got)
	}
}

func TestChain(t *testing.T) {
	set := NewSet()
	top := set.Add("top", []byte(".include a\n"), Span{})
	byTop := Span{Pos{top, 0}, 10}
	a := set.Add("a", []byte("x\n.include b\n"), byTop)
	byA := Span{Pos{a, 2}, 10}
	b := set.Add("b", nil, byA)
	if got := set.Chain(b); !slices.Equal(got, []Span{byA, byTop}) {
		t.Errorf("%v", got)
	}
	if got := set.Chain(top); got != nil {
		t.Errorf("%v", got)
	}
	if got := set.Text(byA); got != ".include b" {
		t.Errorf("%q", got)
	}
}

func TestNearest(t *testing.T) {
	known := []string{"survival", "operating", "supply", "current"}
	for name, want := range map[string]string{
		"survivl": "survival", "Suply": "supply", "opreating": "operating", "current": "current", "voltage": "", "x": "", "": "",
	} {
		if got := Nearest(name, slices.Values(known)); got != want {
			t.Errorf("%q is near %q, want %q", name, got, want)
		}
	}
	d := Diagnostic{Message: `unknown key "survivl"`, Near: "survival"}
	if got, want := d.Text(), `unknown key "survivl"; did you mean "survival"?`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
