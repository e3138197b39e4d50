package circuit

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

// Branches are chosen by the parameters of each instance; what is not known leaves its cards as unknown.
func TestChoices(t *testing.T) {
	for _, c := range []struct{ name, text, cards, diag string }{
		{"first", ".param k=1\n.if (k==1)\nR1 a 0 1\n.elseif (k==2)\nR1 a 0 2\n.else\nR1 a 0 3\n.endif", "R1=1", ""},
		{"second", ".if k==1\nR1 a 0 1\n.elseif k==2\nR1 a 0 2\n.else\nR1 a 0 3\n.endif\n.param k=2", "R1=2", ""},
		{"last", ".param k=3\n.if {k==1}\nR1 a 0 1\n.elseif 'k==2'\nR1 a 0 2\n.else\nR1 a 0 3\n.endif", "R1=3", ""},
		{"none", ".param k=3\n.if (k==1)\nR1 a 0 1\n.endif\nR2 a 0 2", "R2=2", ""},
		{"nested", ".param k=1 m=0\n.if (k)\n.if (m)\nR1 a 0 1\n.else\nR1 a 0 2\n.endif\nR2 a 0 5\n.else\n.if (m)\nR1 a 0 3\n.endif\n.endif", "R1=2 R2=5", ""},
		{"not known", ".if (k)\nR1 a 0 1\n.else\nR1 a 0 2\n.endif\nR2 a 0 3", "?R1 ?R1 R2=3", `2:6-2:7 netlist-expression: "k" is not defined`},
		{"could not be read", ".if (k\nR1 a 0 1\n.else\nR1 a 0 2\n.endif", "?.if ?R1 ?R1", `2:1-2:7 netlist-card: .if: "(" is not closed, found the end of the card`},
		{"decided before what is not known", ".if 0\nR1 a 0 1\n.elseif k\nR1 a 0 2\n.endif", "?R1", `4:9-4:10 netlist-expression: "k" is not defined`},
		{"decided whatever is not known", ".if 1\nR1 a 0 1\n.elseif k\nR1 a 0 2\n.endif", "R1=1", ""},
		{"by instance", "X1 a cell k=1\nX2 a cell\n.subckt cell p k=0\n.if (k)\nR1 p 0 1\n.else\nR1 p 0 2\n.endif\n.ends", "X1.R1=1 X2.R1=2", ""},
		{"parameters", "X1 a cell k=1\nX2 a cell\n.subckt cell p k=0\n.param r=7\n.if (k)\n.param r=1 q=r+1\n.else\n.param q=2\n.endif\nR1 p 0 r\nR2 p 0 q\n.ends", "X1.R1=1 X1.R2=2 X2.R1=7 X2.R2=2", ""},
		{"models", "X1 a cell k=1\nX2 a cell\n.subckt cell p k=0\n.if (k)\n.model rm r rsh=1\n.else\n.model rm r rsh=2\n.endif\nR1 p 0 rm l=10u w=1u\n.ends", "X1.R1=10 X2.R1=20", ""},
		{"subcircuits", ".param k=1\nX1 a cell\n.if (k==2)\n.subckt cell p\nR1 p 0 1\n.ends\n.else\n.subckt cell p\nR1 p 0 2\n.ends\n.endif", "X1.R1=2", ""},
		{"subcircuit that may be there", "X1 a cell\n.if (k)\n.subckt cell p\nR1 p 0 1\n.ends\n.endif", "?X1", `3:6-3:7 netlist-expression: "k" is not defined`},
		{"functions", ".param k=0\n.if k\n.func f(x) {x}\n.else\n.func f(x) {2*x}\n.endif\nR1 a 0 {f(2)}", "R1=4", ""},
		{"plain cards among others", ".param k=0\n.if k\nR1 a 0 1\nM1 a b c d n\nX1 a b cell\n.else\nR1 a 0 2\n.endif\n.model n nmos", "R1=2", ""},
	} {
		circuit, diags := deck(t, c.text+"\n")
		var cards string
		for id := range circuit.Elements {
			e := &circuit.Elements[id]
			switch {
			case id > 0:
				cards += " "
				fallthrough
			default:
				if e.Kind == '?' {
					cards += "?"
				}
				cards += circuit.Path(ID(id))
				if !math.IsNaN(e.Value) {
					cards += fmt.Sprintf("=%.6g", e.Value)
				}
			}
		}
		if cards != c.cards {
			t.Errorf("%s: %s, want %s", c.name, cards, c.cards)
		}
		want := []string{c.diag}
		if c.diag == "" {
			want = nil
		}
		same(t, c.name, diags, want)
	}
}

func TestFunctions(t *testing.T) {
	c, diags := deck(t, `.func twice(x) {2*x}
.param k=3 area(w,l)='w*l' seven()=7
R1 a 0 {twice(k)}
R2 a 0 {area(2,twice(2))+seven()}
R3 a 0 {twice(x)}
X1 a cell k=10
.param x={twice(twice(k))}
.subckt cell p k=1
.func own(y) = {y*k}
.func twice(y) = {y+k}
R1 p 0 {own(2)}
R2 p 0 {twice(1)}
R3 p 0 {area(own(1),2)}
.ends
R4 a 0 {max(twice(1),1)}
.func max(a,b) {a-b}
R5 a 0 {max(3,1)}
.func pick(i) {i>0 ? pick(i-1) : 5}
R6 a 0 {pick(3)}
`)
	same(t, "diagnostics", diags, nil)
	for path, want := range map[string]float64{"R1": 6, "R2": 15, "R3": 24, "X1.R1": 20, "X1.R2": 11, "X1.R3": 20, "R4": 1, "R5": 2, "R6": 5} {
		if got := c.Elements[must(t, c, path)].Value; got != want {
			t.Errorf("%s = %v, want %v", path, got, want)
		}
	}
}

func TestFunctionTroubles(t *testing.T) {
	for _, c := range []struct{ text, diag string }{
		{".func f(x) {1/x}\nR1 a 0 {1+f(0)}", `3:11-3:15 netlist-expression: "f(0)" fails in function f: "1/x" divides by zero`},
		{".func f(x) {x}\nR1 a 0 {f(1,2)}", `3:9-3:15 netlist-expression: "f(1,2)" takes 1 value, not 2`},
		{".func f(x) {y}\nR1 a 0 {f(1)}", `3:9-3:13 netlist-expression: "f(1)" fails in function f: "y" is not defined`},
		{".func f(x) {x}\nR1 a 0 {g(1)}", `3:9-3:13 netlist-expression: "g(1)" calls an unknown function`},
		{".func f(x) {f(x+1)}\nR1 a 0 {f(1)}", `3:9-3:13 netlist-expression: "f(1)" fails: functions call each other deeper than 100, or take more than 1000000 steps or 50000000 in the whole netlist`},
		{".func f(x) {x>0?f(x-1)+f(x-1):1}\nR1 a 0 {f(40)}", `3:9-3:14 netlist-expression: "f(40)" fails: functions call each other deeper than 100, or take more than 1000000 steps or 50000000 in the whole netlist`},
		{".func f(x) {g(x)}\n.func g(x) {1/x}\nR1 a 0 {f(0)}", `4:9-4:13 netlist-expression: "f(0)" fails in function g: "1/x" divides by zero`},
	} {
		c2, diags := deck(t, c.text+"\n")
		same(t, c.text, diags, []string{c.diag})
		if v := c2.Elements[must(t, c2, "R1")].Value; !math.IsNaN(v) {
			t.Errorf("%s: R1 = %v", c.text, v)
		}
	}
}

func TestKindsOfModels(t *testing.T) {
	c, diags := deck(t, `D1 a 0 d3
.model d1 d(is=1 rs=2 bv=30)
.model d2 ako:d1 (rs=3)
.model d3 AKO: d2 d(bv=40 n=2)
Q1 a b 0 q1
.model q1 ako:d1 npn
D2 a 0 d4
.model d4 ako:d9
D3 a 0 d5
.model d5 ako:d6
.model d6 ako:d5
`)
	slices.Sort(diags)
	same(t, "diagnostics", diags, []string{
		`11:1-11:17 netlist-card: model d5 is a kind of "d6", which comes to nothing: it is a kind of itself, or its condition is not known`,
		`12:1-12:17 netlist-card: model d6 is a kind of "d5", which comes to nothing: it is a kind of itself, or its condition is not known`,
		`7:1-7:21 netlist-card: model q1 is a kind of "d1", whose type D is another`,
		`9:1-9:17 netlist-card: model d4 is a kind of "d9", which is nowhere defined`,
	})
	m := c.Model(must(t, c, "D1"))
	if m == nil || m.Type != "D" || fmt.Sprint(m.Params) != "map[bv:40 is:1 n:2 rs:3]" {
		t.Errorf("%+v", m)
	}
	for _, path := range []string{"Q1", "D2", "D3"} {
		if m := c.Model(must(t, c, path)); m != nil {
			t.Errorf("%s: %+v", path, m)
		}
	}
}
