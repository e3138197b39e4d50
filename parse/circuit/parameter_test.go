package circuit

import (
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
)

func TestParameters(t *testing.T) {
	c, diags := deck(t, `R0 a 0 {late*2}
.param late = {early + 1}
.param early = 3
X1 a cell gain={late} w=2
X2 a cell
.subckt cell p params: gain=10 w={gain/10}
R1 p 0 {gain}
R2 p 0 w
R3 p 0 {half}
.param half={gain/2}
X3 p inner gain={gain*2}
.subckt inner p gain=1
R4 p 0 {gain} tc=1m,{w} l=gain
R5 p 0 {half+early}
.ends inner
.ends cell
C1 a 0 C={late}u
`)
	same(t, "diagnostics", diags, []string{
		`18:16-18:17 netlist-card: unexpected "u" in C1: expected Cname node node value`,
	})
	for path, want := range map[string]float64{
		"R0": 8, "X1.R1": 4, "X1.R2": 2, "X1.R3": 2, "X1.X3.R4": 8, "X1.X3.R5": 5,
		"X2.R1": 10, "X2.R2": 1, "X2.R3": 5, "X2.X3.R4": 20, "X2.X3.R5": 8,
	} {
		if got := c.Elements[must(t, c, path)].Value; got != want {
			t.Errorf("%s = %v, want %v", path, got, want)
		}
	}
	r4 := must(t, c, "X1.X3.R4")
	if l := c.ParamList(r4, "TC"); fmt.Sprint(l) != "[0.001 2]" {
		t.Errorf("tc = %v", l)
	}
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			if v, ok := c.Param(r4, "L"); !ok || v != 8 {
				t.Errorf("l = %v", v)
			}
		})
	}
	wait.Wait()
	if _, ok := c.Param(r4, "w"); ok {
		t.Error("R4 has no w")
	}
}

func TestTroubles(t *testing.T) {
	for _, c := range []struct{ bad, diag, good string }{
		{"R1 a 0 {gain}\n.param gain=scale*2\n.param scale={gain}", "3:13-3:20 netlist-expression: parameters need each other: gain -> scale -> gain", "R1 a 0 {gain}\n.param gain=2 scale={gain}"},
		{"R1 a 0 {x}\n.param x=x", "3:10-3:11 netlist-expression: parameters need each other: x -> x", "R1 a 0 {x}\n.param x=1"},
		{"R1 a 0 {1+gian*2}\n.param gain=1", `2:11-2:15 netlist-expression: "gian" is not defined; did you mean "gain"?`, "R1 a 0 {1+gain*2}\n.param gain=1"},
		{"V1 a 0 gian\n.param gain=1", `2:8-2:12 netlist-expression: "gian" is not defined; did you mean "gain"?`, "V1 a 0 gain\n.param gain=1"},
		{"V1 a 0 2*k\n.param k=1", `2:8-2:11 netlist-expression: "2*k" is no number and no parameter: an expression stands in braces`, "V1 a 0 {2*k}\n.param k=1"},
		{"R1 a 0 {1/(k-1)}\n.param k=1", `2:9-2:16 netlist-expression: "1/(k-1)" divides by zero`, "R1 a 0 {1/(k+1)}\n.param k=1"},
		{"R1 a 0 {1/\n+ k}\n.param k=0", `2:9-3:4 netlist-expression: "1/ k" divides by zero`, "R1 a 0 {1/\n+ k}\n.param k=1"},
		{"R1 a 0 {sqrt(-k)}\n.param k=1", `2:9-2:17 netlist-expression: "sqrt(-k)" takes the root of a negative number`, "R1 a 0 {sqrt(k)}\n.param k=1"},
		{"R1 a 0 {sqr(4)}", `2:9-2:15 netlist-expression: "sqr(4)" calls an unknown function; did you mean "sqrt"?`, "R1 a 0 {sqrt(4)}"},
		{"R1 a 0 {v(a)}", `2:9-2:13 netlist-expression: "v(a)" depends on the circuit and is no constant`, "B1 a 0 I={v(a)}"},
		{"R1 a 0 rbig\n.model rbog r", `2:1-2:12 netlist-card: R1 has no value: "rbig" is no number, no parameter and no model; did you mean "rbog"?`, "R1 a 0 rbig\n.param rbig=5"},
		{"R1 a 0 R47", `2:1-2:11 netlist-card: R1 has no value: "R47" is no number, no parameter and no model`, "R1 a 0 0.47"},
		{"R1 a 0 rm L=1u\n.model rm r", "2:1-2:15 netlist-card: R1 has no value: its model rm does not give one", "R1 a 0 1k rm\n.model rm r tc1=1m"},
		{"D1 a 0 dfast\nD2 a 0 DFAST\n.model dfust d", `2:1-2:13 netlist-card: D1 names model "dfast", which is nowhere defined; did you mean "dfust"?`, "D1 a 0 dfast\n.model dfast d mfg=ferry"},
		{"R1 a 0 1k rq", `2:1-2:13 netlist-card: R1 names model "rq", which is nowhere defined`, "R1 a 0 1k rq\n.model rq r"},
		{"D1 a 0 dn\n.model dn", "3:1-3:10 netlist-card: .model ends too early: expected .model name type(parameter=value ...)", "D1 a 0 dn\n.model dn d"},
		{"D1 a 0 dn\n.model dn d(is={1/0})", `3:17-3:20 netlist-expression: "1/0" divides by zero`, "D1 a 0 dn\n.model dn d(is={1/1})"},
		{"R1 a 0 1 tc1={nope}", `2:15-2:19 netlist-expression: "nope" is not defined`, "R1 a 0 1 tc1={1m}"},
		{"B1 a 0 V=nope", `2:10-2:14 netlist-expression: "nope" is not defined`, "B1 a 0 V=time*2"},
		{"V1 a 0 SIN(0 {nope} 1k)", `2:15-2:19 netlist-expression: "nope" is not defined`, "V1 a 0 SIN(0 1 1k)"},
		{"X1 a cell g={nope}\nX2 a cell g={nope}\n.subckt cell p g=1\nR1 p 0 {g}\nR2 p 0 {h}\n.ends", "2:14-2:18 netlist-expression: \"nope\" is not defined\n3:14-3:18 netlist-expression: \"nope\" is not defined\n6:9-6:10 netlist-expression: \"h\" is not defined", "X1 a cell\n.subckt cell p g=1\nR1 p 0 {g}\n.ends"},
	} {
		got, diags := deck(t, c.bad)
		same(t, c.bad, diags, strings.Split(c.diag, "\n"))
		for id := range got.Elements {
			if e := got.Elements[id]; (e.Kind == 'R' || e.Kind == 'V') && !math.IsNaN(e.Value) && !strings.Contains(c.bad, "0 1") {
				t.Errorf("%s: %s = %v", c.bad, got.Path(ID(id)), e.Value)
			}
		}
		if _, diags := deck(t, c.good); len(diags) > 0 {
			t.Errorf("%s: the twin is not silent: %v", c.good, diags)
		}
	}
}

func TestSheetResistance(t *testing.T) {
	// SPICE3f3 User's Manual, 3.1: R = RSH (L - NARROW) / (W - NARROW).
	c, diags := deck(t, "RMOD 3 7 RMODEL L=10u W=1u\n.model RMODEL R(RSH=1k NARROW=0.5u)\n")
	same(t, "diagnostics", diags, nil)
	if v := c.Elements[0].Value; math.Abs(v-19e3) > 1e-6 {
		t.Errorf("RMOD = %v", v)
	}
	if c.Ref(0) != "RMODEL" || c.Model(0) == nil {
		t.Error("RMOD has lost its model")
	}
	c, _ = deck(t, "R1 a b rbig\n.param rbig=5\n")
	if c.Ref(0) != "" || c.Elements[0].Value != 5 {
		t.Error("a parameter was taken for a model")
	}
}

func TestBehavioural(t *testing.T) {
	c, diags := deck(t, `B1 a 0 V=5
B2 a 0 I={k*2}
B3 a 0 V=v(b)**2
B4 a 0 V=time
E1 a 0 b 0 2
E2 a 0 VALUE={v(b)}
E3 a 0 POLY(1) b 0 0 1 1
G1 a 0 b 0 {k}
F1 a 0 V1 2
F2 a 0 POLY(1) V1 0 1
V1 b 0
.param k=3
`)
	same(t, "diagnostics", diags, nil)
	for id, want := range []bool{false, false, true, true, false, false, true, false, false, false, false} {
		if got := c.Behavioural(ID(id)); got != want {
			t.Errorf("%s behavioural: %v", c.Path(ID(id)), got)
		}
	}
	if s := c.Source(0); s == nil || !s.Known || s.DC != 5 || s.Current {
		t.Errorf("B1 is %+v", s)
	}
	if s := c.Source(1); s == nil || s.DC != 6 || !s.Current || s.Levels != [2]float64{6, 6} {
		t.Errorf("B2 is %+v", s)
	}
	if c.Source(2) != nil || c.Source(4) != nil {
		t.Error("sources that are none")
	}
	if c.Law(2).Form != "V" || c.Law(6).Form != "POLY" || c.Law(4) != nil {
		t.Error("laws")
	}
}
