package circuit

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// sum is a Linear in short: its constant, then its terms in order.
func sum(c *Circuit, id ID) string {
	l := c.Linear(id)
	if l == nil {
		return "unknown"
	}
	out := "V"
	if l.Current {
		out = "I"
	}
	out += fmt.Sprintf(" %.9g", l.Const)
	for _, t := range l.Volts {
		out += fmt.Sprintf(" %+.9g(%s,%s)", t.Gain, c.NetName(t.Pos), c.NetName(t.Neg))
	}
	for _, t := range l.Amps {
		out += fmt.Sprintf(" %+.9g[%s]", t.Gain, c.Path(t.Of))
	}
	return out
}

const beside = `
VX a x 0
VY b 0 0
R1 a 0 1
R2 b 0 1
I1 c 0 1
.param k=3 none=0
`

func TestLinear(t *testing.T) {
	for _, c := range []struct{ card, want string }{
		{"E1 2 3 14 1 2.0", "V 0 +2(14,1)"}, // this and the next three: SPICE3f3 User's Manual, 3.2.2
		{"G1 2 0 5 0 0.1MMHO", "I 0 +0.0001(5,0)"},
		{"F1 13 5 VX 5", "I 0 +5[VX]"},
		{"HX 5 17 VY 0.5K", "V 0 +500[VY]"},
		{"E1 o 0 a b {k*2}", "V 0 +6(a,b)"},
		{"E1 o 0 a b {none}", "V 0"},
		{"E1 o 0 a b 2 IC=3 m=1", "V 0 +2(a,b)"},
		// POLY in the order of the SPICE2 user's guide (from memory).
		{"E1 o 0 POLY(1) a b 0 2", "V 0 +2(a,b)"},
		{"E1 o 0 POLY(1) a b 2", "V 0 +2(a,b)"},
		{"E1 o 0 POLY(2) a b c 0 2.5 {k} -1", "V 2.5 +3(a,b) -1(c,0)"},
		{"G1 o 0 POLY(3) (a,0) (b,0) (c,0) 0 0 1m 0 0 0 0", "I 0 +0.001(b,0)"},
		{"E1 o 0 POLY(2) a b c 0 5", "V 5"},
		{"F1 o 0 POLY(2) VX VY 1 0 k", "I 1 +3[VY]"},
		{"H1 o 0 POLY(1) VX 0 50", "V 0 +50[VX]"},
		// Expressions.
		{"E1 o 0 VALUE={2*v(a,b)+1}", "V 1 +2(a,b)"},
		{"E1 o 0 VALUE = { 5 }", "V 5"},
		{"E1 o 0 VOL='v(a)/k'", "V 0 +0.333333333(a,0)"},
		{"G1 o 0 CUR={1m*(v(a)-v(b))}", "I 0 +0.001(a,0) -0.001(b,0)"},
		{"F1 o 0 VALUE={-i(VX)}", "I 0 -1[VX]"},
		{"B1 o 0 V=-(v(a)+2)*-k/2 - -i(vy)", "V 3 +1.5(a,0) +1[VY]"},
		{"B1 o 0 I=v(GND,a)*sqrt(k+1)+max(1,k)", "I 3 +2(0,a)"},
		{"B1 o 0 V=k>2 ? v(a) : v(b)*v(b)", "V 0 +1(a,0)"},
		{"B1 o 0 V=if(none,time,v(b))", "V 0 +1(b,0)"},
		{"B1 o 0 V=none*v(a)+v(b,b)", "V 0"},
		{"B1 o 0 V=7", "V 7"},
		{"B1 o 0 V=v(o)/2+1", "V 1 +0.5(o,0)"},
		{"E1 o 0 TABLE {v(a)} = (0,2) (1,2) (5,2)", "V 2"},
		{"E1 o 0 TABLE {v(a)} = (0,{k})", "V 3"},
		// What is not linear, or nobody knows.
		{"B1 o 0 V=v(a)*v(b)", "unknown"},
		{"B1 o 0 V=v(a)**1", "unknown"},
		{"B1 o 0 V=1/v(a)", "unknown"},
		{"B1 o 0 V=max(v(a),0)", "unknown"},
		{"B1 o 0 V=limit(v(a),-10,10)", "unknown"},
		{"B1 o 0 V=abs(v(a))", "unknown"},
		{"B1 o 0 V=v(a)>1 ? v(a) : v(a)", "unknown"},
		{"B1 o 0 V=!v(a)", "unknown"},
		{"B1 o 0 V=v(a) > 0", "unknown"},
		{"B1 o 0 V=time", "unknown"},
		{"B1 o 0 V=v(a)+temper*0", "unknown"},
		{"B1 o 0 V=i(R1)", "unknown"},
		{"B1 o 0 V=v(a) I=2", "unknown"},
		{"B1 o 0 V=1e300*(v(a)*1e300)", "unknown"},
		{"E1 o 0 a b 2 max=5", "unknown"},
		{"E1 o 0 a b 2 tc=1m,0", "unknown"},
		{"G1 o 0 VOL={v(a)}", "unknown"},
		{"E1 o 0 CUR={v(a)}", "unknown"},
		{"E1 o 0 POLY(1) a b 0 1 0.1", "unknown"},
		{"E1 o 0 POLY(2) a b c 0 0 1 1 1", "unknown"},
		{"F1 o 0 POLY(1) VX 0 1 0 1m", "unknown"},
		{"E1 o 0 TABLE {v(a)} = (0,0) (1,1)", "unknown"},
		{"E1 o 0 TABLE {v(a)} = (0,0) (1,1) (2,2)", "unknown"}, // its end values hold beyond
		{"E1 o 0 TABLE v(a) = (0,1)", "unknown"},
		{"E1 o 0 LAPLACE {v(a)} {1}", "unknown"},
		{"E1 o 0 FREQ {v(a)} = (0,0,0)", "unknown"},
	} {
		ct, diags := deck(t, c.card+beside)
		same(t, c.card, diags, nil)
		if got := sum(ct, 0); got != c.want || ct.Behavioural(0) != (c.want == "unknown") {
			t.Errorf("%s is %s, want %s", c.card, got, c.want)
		}
	}
}

// What an expression asks for and is not there is one message, and the source is unknown.
func TestAskedForInVain(t *testing.T) {
	for _, c := range []struct{ card, diag string }{
		{"B1 o 0 V=v(nodee)", `2:10-2:18 netlist-expression: "v(nodee)" asks for the voltage of the node "nodee", which is not there; did you mean "node"?`},
		{"B1 o 0 V=max(v(node,qq),1)", `2:14-2:24 netlist-expression: "v(node,qq)" asks for the voltage of the node "qq", which is not there`},
		{"E1 o 0 VALUE={i(VZ)}", `2:15-2:20 netlist-expression: "i(VZ)" asks for the current of the voltage source "VZ", which is not there; did you mean "VX"?`},
		{"E1 o 0 TABLE {v(qq)} = (0,1)", `2:15-2:20 netlist-expression: "v(qq)" asks for the voltage of the node "qq", which is not there`},
		{"B1 o 0 V=v(node,o,0)", `2:10-2:21 netlist-expression: "v(node,o,0)" asks for a voltage: expected v(node) or v(node,node)`},
		{"B1 o 0 V=i(VX,VX)", `2:10-2:18 netlist-expression: "i(VX,VX)" asks for a current: expected i(source)`},
		{"B1 o 0 V=v({g})", `2:10-2:16 netlist-expression: "v({g})" asks for the voltage of the node "g", which is not there`},
		{"B1 o 0 V=v(node)*gain", `2:18-2:22 netlist-expression: "gain" is not defined`},
		{"B1 o 0 V=v(node)/(1-1)", `2:10-2:23 netlist-expression: "v(node)/(1-1)" divides by zero`},
		{"E1 o 0 POLY(1) node 0 0 gain", `2:25-2:29 netlist-expression: "gain" is not defined`},
	} {
		ct, diags := deck(t, c.card+"\nVX node o 0\n")
		same(t, c.card, diags, []string{c.diag})
		if !ct.Behavioural(0) {
			t.Errorf("%s is known", c.card)
		}
	}
}

// Names are those of the instance in which the card stands.
func TestLinearInInstances(t *testing.T) {
	c, diags := deck(t, `.global VDD
VDD VDD 0 5
VM p q
X1 p r cell g=2
X2 q 0 cell g=3
B9 top 0 V=v(X1.mid)+i(X2.VM)
.subckt cell in out g=1
VM in mid
R1 mid out 1
B1 out 0 V=g*v(in,mid)+v(VDD)+v(out)+i(VM)+v(0)
E1 mid 0 POLY(1) in out 0 {g}
.ends
`)
	same(t, "diagnostics", diags, nil)
	for path, want := range map[string]string{
		"X1.B1": "V 0 +2(p,X1.mid) +1(VDD,0) +1(r,0) +1[X1.VM]", "X2.B1": "V 0 +3(q,X2.mid) +1(VDD,0) +1[X2.VM]",
		"X1.E1": "V 0 +2(p,r)", "X2.E1": "V 0 +3(q,0)", "B9": "V 0 +1(X1.mid,0) +1[X2.VM]",
	} {
		if got := sum(c, must(t, c, path)); got != want {
			t.Errorf("%s is %s, want %s", path, got, want)
		}
	}
	_, diags = deck(t, "X1 a cell\nX2 b cell\nR1 q 0 1\n.subckt cell p\nB1 p 0 V=v(q)\n.ends\n")
	same(t, "diagnostics", diags, []string{`6:10-6:14 netlist-expression: "v(q)" asks for the voltage of the node "q", which is not there`})
}

// A drawn is an expression with its value at node and branch values.
type drawnExpr struct {
	text string
	at   func(x []float64) float64
}

var probes = []string{"v(a)", "v(b)", "i(VX)", "i(VY)"}

// linearExpr draws an expression that is linear by construction; constantExpr one without any probe.
func linearExpr(t *rapid.T, depth int) drawnExpr {
	kind := rapid.IntRange(0, 6).Draw(t, "kind")
	if depth == 0 {
		kind %= 2
	}
	switch kind {
	case 0:
		return constantExpr(t, depth)
	case 1:
		k := rapid.IntRange(0, len(probes)-1).Draw(t, "probe")
		return drawnExpr{probes[k], func(x []float64) float64 { return x[k] }}
	case 2:
		a := linearExpr(t, depth-1)
		return drawnExpr{"-(" + a.text + ")", func(x []float64) float64 { return -a.at(x) }}
	case 3:
		a, b := linearExpr(t, depth-1), linearExpr(t, depth-1)
		return drawnExpr{"(" + a.text + ")+" + b.text, func(x []float64) float64 { return a.at(x) + b.at(x) }}
	case 4:
		a, b := linearExpr(t, depth-1), linearExpr(t, depth-1)
		return drawnExpr{a.text + "-(" + b.text + ")", func(x []float64) float64 { return a.at(x) - b.at(x) }}
	case 5:
		a, b := constantExpr(t, depth-1), linearExpr(t, depth-1)
		if rapid.Bool().Draw(t, "behind") {
			return drawnExpr{"(" + b.text + ")*" + a.text, func(x []float64) float64 { return a.at(x) * b.at(x) }}
		}
		return drawnExpr{a.text + "*(" + b.text + ")", func(x []float64) float64 { return a.at(x) * b.at(x) }}
	}
	a := linearExpr(t, depth-1)
	by := rapid.Float64Range(0.5, 4).Draw(t, "by")
	return drawnExpr{fmt.Sprintf("(%s)/%v", a.text, by), func(x []float64) float64 { return a.at(x) / by }}
}

func constantExpr(t *rapid.T, depth int) drawnExpr {
	if depth > 0 && rapid.Bool().Draw(t, "function") {
		a := constantExpr(t, depth-1)
		return drawnExpr{"max(" + a.text + ",k)", func(x []float64) float64 { return max(a.at(x), 3) }}
	}
	v := rapid.Float64Range(0, 9).Draw(t, "constant")
	return drawnExpr{fmt.Sprint(v), func([]float64) float64 { return v }}
}

// The sum has the value of the expression wherever the circuit stands.
func TestSumIsTheExpression(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		e := linearExpr(rt, 4)
		c, diags := deck(t, "B1 o 0 V="+e.text+beside)
		l := c.Linear(0)
		if len(diags) > 0 || l == nil {
			rt.Fatalf("%s: %v, %v", e.text, diags, l)
		}
		x := rapid.SliceOfN(rapid.Float64Range(-9, 9), len(probes), len(probes)).Draw(rt, "x")
		got, size := l.Const, 1.0
		for _, v := range l.Volts {
			k := map[string]int{"a": 0, "b": 1}[c.NetName(v.Pos)]
			got, size = got+v.Gain*x[k], size+math.Abs(v.Gain*x[k])
		}
		for _, v := range l.Amps {
			k := map[string]int{"VX": 2, "VY": 3}[c.Path(v.Of)]
			got, size = got+v.Gain*x[k], size+math.Abs(v.Gain*x[k])
		}
		if want := e.at(x); math.Abs(got-want) > 1e-9*(size+math.Abs(l.Const)) {
			rt.Fatalf("%s is %s: %v, want %v", e.text, sum(c, 0), got, want)
		}
	})
}

// A sum of tens of thousands of parts is read in one go.
func TestLongSum(t *testing.T) {
	c, diags := deck(t, "B1 o 0 V=v(a)"+strings.Repeat("+v(a)", 40_000)+beside)
	same(t, "diagnostics", diags, nil)
	if l := c.Linear(0); l == nil || len(l.Volts) != 40_001 {
		t.Error("the sum was not read")
	}
}

// In an instance of two copies the current of a source inside is that of both, and so is what a current source drives.
func TestLinearInCopies(t *testing.T) {
	c, diags := deck(t, `X1 a o cell m=2
.subckt cell a o
VX a q 0
R1 q 0 1k
E1 o 0 a 0 3
G1 o 0 a 0 3
F1 o 0 VX 3
H1 o 0 VX 3
E2 o 0 VALUE={2*v(a)+4*i(VX)+6}
B1 o 0 I=2*v(a)+4*i(VX)+6
.func load(x) {x*v(a)}
B2 o 0 I=load(2)
.ends
`)
	same(t, "diagnostics", diags, nil)
	for path, want := range map[string]string{
		"X1.E1": "V 0 +3(a,0)", "X1.G1": "I 0 +6(a,0)", "X1.F1": "I 0 +3[X1.VX]", "X1.H1": "V 0 +1.5[X1.VX]",
		"X1.E2": "V 6 +2(a,0) +2[X1.VX]", "X1.B1": "I 12 +4(a,0) +4[X1.VX]", "X1.B2": "unknown",
	} {
		if got := sum(c, must(t, c, path)); got != want {
			t.Errorf("%s is %s, want %s", path, got, want)
		}
	}
}
