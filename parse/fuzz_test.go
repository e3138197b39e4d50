package parse

import (
	"errors"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
)

var seeds = []string{
	"title\nR1 a b 10k\n+ tc1={1+k*2} ; x\n.param k=2\n.end\n",
	"t\n.subckt amp in out params: g=1\nE1 out 0 in 0 {g}\n.ends\nX1 a b amp g='2*3'\n",
	"t\nV1 a 0 DC 5 AC 1 PULSE(0 5 1n)\nI1 a 0 PWL((0 0) (1,2))\nB1 a 0 V=v(a,b)*i(V1)\n",
	"t\nQ1 c b e m IC=0.6, 5.0 OFF\n.model m npn(bf=100\n+ is=1f)\nM1 d g s b mm\nK1 L1 L2 .9\n",
	"\ufefft\r\n.include x\r\n.include y\r\n.global vcc\r\n.tran 1 2\r\nE1 a b TABLE {v(x)} = (0,0)\r\n",
	".subckt\nR1 a\n.ends x\n* shuntwright: a = 1\n+ {((\n\"\n.control\n",
	"R1 a b 1\n'{}\"(),=\n.param\n.model\n.inc\n.include 'x\nD1 a b c d e\nY\nX\nX1 a\n",
}

// Nothing that can be written makes the reader panic, and everything it says has a place in a file.
func FuzzRead(f *testing.F) {
	for _, s := range seeds {
		f.Add(s, "R2 a b 1\n.end\nrest")
	}
	f.Fuzz(func(t *testing.T, text, included string) {
		set := source.NewSet()
		id := set.Add("deck", []byte(text), source.Span{})
		n, diags := Read(set, id, Options{Include: func(path string, _ source.FileID) ([]byte, string, error) {
			switch path {
			case "x":
				return []byte(included), "x", nil
			case "deck":
				return []byte(text), "deck", nil
			}
			return nil, "", errors.New("no such file")
		}})
		inside := func(what string, s source.Span) {
			t.Helper()
			if s.None() {
				t.Fatalf("%s has no place", what)
			}
			if end := int(s.Byte) + int(s.Len); end > len(set.File(s.File).Text) {
				t.Fatalf("%s ends at %d of %d", what, end, len(set.File(s.File).Text))
			}
			set.Text(s)
			set.Place(s)
		}
		for _, d := range diags {
			inside(d.Message, d.At)
			for _, r := range d.Related {
				inside(r.Message, r.At)
			}
		}
		for id := range n.Cards {
			c := &n.Cards[id]
			inside("card", c.At)
			if c.Name == 0 || c.Name > c.At.Len || int(c.Scope) >= len(n.Subs) || int(c.Extra) >= len(n.Extras) || int(c.Ref) >= len(n.Names) {
				t.Fatalf("card %+v", *c)
			}
			for _, nd := range n.CardNodes(CardID(id)) {
				if int(nd) >= len(n.Names) {
					t.Fatalf("card %+v", *c)
				}
			}
			if v, ok := n.CardValue(CardID(id)); ok {
				inside("value", v.At)
			}
			if x := n.CardExtra(CardID(id)); x != nil {
				for _, p := range x.Params {
					inside("parameter", p.At)
				}
			}
		}
		for _, s := range n.Subs[1:] {
			inside("subcircuit", s.At)
			if s.End < s.First || int(s.End) > len(n.Cards) {
				t.Fatalf("subcircuit %+v", s)
			}
		}
		for _, m := range n.Models {
			inside("model", m.At)
		}
		for _, p := range n.Pragmas {
			inside("pragma", p)
		}
		for _, i := range n.Ignored {
			inside("ignored", i.At)
		}
	})
}

// No expression makes the parser panic, and its parts lie within it.
func FuzzExpr(f *testing.F) {
	for _, s := range []string{"1+2*3", "{(a+b)**-2}", "v(a,b)*i(V1)", "a?b:c", "if(a<b,1k,'2')", "min(,", "v(", "((((", "\"x", "1e+", "-!+"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		e, err := ParseExpr(text)
		if err != nil {
			return
		}
		var walk func(*Expr)
		walk = func(e *Expr) {
			if e.From > e.To || int(e.To) > len(text) || e.Op == 0 {
				t.Fatalf("%q: part %+v", text, *e)
			}
			for _, a := range e.Args {
				walk(a)
			}
		}
		walk(e)
		e.Live()
		_, trouble := e.Eval(func(*Expr) (float64, bool, *Trouble) { return 1.5, true, nil })
		if trouble != nil && (trouble.Expr == nil || trouble.Message == "") {
			t.Fatalf("%q: trouble %+v", text, *trouble)
		}
	})
}
