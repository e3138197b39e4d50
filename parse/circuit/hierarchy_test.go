package circuit

import (
	"strings"
	"testing"
)

func TestHierarchy(t *testing.T) {
	c, diags := deck(t, `.global VDD
V1 vdd 0 5
XA in Out chan
xb out gnd chan
.subckt chan hi lo
R1 HI mid 1
R2 mid lo 2
R3 mid vdd 3
XI mid inner
.subckt inner p
C1 p 0 1n
C2 p q 2n
.ends inner
U1 hi lo mid part-sense
.ends chan
X1 in 0 part-top
X2 in 0 unknown
.subckt part-top a b
R9 a b 1
.ends
`)
	// U is a uniform line; it names a model that is not there.
	same(t, "diagnostics", diags, []string{`15:1-15:24 netlist-card: U1 names model "part-sense", which is nowhere defined`})
	same(t, "elements", drawn(c), []string{
		"V V1 VDD 0 = 5",
		"R XA.R1 in XA.mid = 1", "R XA.R2 XA.mid Out = 2", "R XA.R3 XA.mid VDD = 3",
		"C XA.XI.C1 XA.mid 0 = 1e-09", "C XA.XI.C2 XA.mid XA.XI.q = 2e-09", "U XA.U1 in Out XA.mid",
		"R xb.R1 Out xb.mid = 1", "R xb.R2 xb.mid 0 = 2", "R xb.R3 xb.mid VDD = 3",
		"C xb.XI.C1 xb.mid 0 = 1e-09", "C xb.XI.C2 xb.mid xb.XI.q = 2e-09", "U xb.U1 Out 0 xb.mid",
		"X X1 in 0", "X X2 in 0",
	})
	var calls []string
	for _, s := range c.Calls(must(t, c, "XB.xi.c2")) {
		calls = append(calls, c.Cards.Src.Text(s))
	}
	same(t, "calls", calls, []string{"XI mid inner", "xb out gnd chan"})
	for path, want := range map[string]string{"OUT": "Out", "xa.MID": "XA.mid", "xa.hi": "in", "XB.lo": "0", "xb.xi.P": "xb.mid", "gnd": "0", "0": "0", "vdd": "VDD", "xa.vdd": "VDD"} {
		if n, ok := c.FindNet(path); !ok || c.NetName(n) != want {
			t.Errorf("net %s is %s, want %s", path, c.NetName(n), want)
		}
	}
	for _, path := range []string{"", ".", "mid", "xa", "xa.", "xa.nothing", "xc.mid", "R1"} {
		if n, ok := c.FindNet(path); ok {
			t.Errorf("net %q is %s", path, c.NetName(n))
		}
	}
	if _, ok := c.Find("R1"); ok {
		t.Error("R1 stands only in instances")
	}
	vdd, _ := c.FindNet("VDD")
	var on []string
	for _, id := range c.On(vdd) {
		on = append(on, c.Path(id))
	}
	same(t, "on VDD", on, []string{"V1", "XA.R3", "xb.R3"})
	if c.Ref(must(t, c, "x2")) != "unknown" || c.Ref(must(t, c, "V1")) != "" {
		t.Error("references")
	}
	same(t, "ports", c.Ports("CHAN"), []string{"hi", "lo"})
	if c.Ports("unknown") != nil {
		t.Error("ports of an unknown subcircuit")
	}
	names := 0
	for n, name := range c.AllNets() {
		if got, ok := c.FindNet(name); !ok || got != n {
			t.Errorf("net %d is named %s, which is %d", n, name, got)
		}
		names++
	}
	if names != c.Nets() {
		t.Errorf("%d of %d nets", names, c.Nets())
	}
}

func TestOnCountsAnElementOnce(t *testing.T) {
	c, _ := deck(t, "R1 a a 1\nM1 a b a a mm\n.model mm nmos\n")
	a, _ := c.FindNet("a")
	if on := c.On(a); len(on) != 2 {
		t.Errorf("on a: %v", on)
	}
}

func TestLexicalScope(t *testing.T) {
	// A nested subcircuit hides an outer one of its name, only where it stands; models likewise.
	c, diags := deck(t, `X1 a outer
X2 b cell
.subckt outer p
X3 p cell
D1 p 0 dm
.subckt cell p
R1 p 0 {k}
D2 p 0 dm
.ends cell
.param k=7
.model dm d(is=2)
.ends outer
.subckt cell p
R1 p 0 {k}
D2 p 0 dm
.ends
.param k=5
.model dm d(is=1 n={k})
`)
	same(t, "diagnostics", diags, nil)
	for path, want := range map[string]float64{"X1.X3.R1": 7, "X2.R1": 5} {
		if got := c.Elements[must(t, c, path)].Value; got != want {
			t.Errorf("%s = %v, want %v", path, got, want)
		}
	}
	for path, want := range map[string]float64{"X1.D1": 2, "X1.X3.D2": 2, "X2.D2": 1} {
		m := c.Model(must(t, c, path))
		if m == nil || m.Type != "D" || m.Params["is"] != want {
			t.Errorf("%s has %+v, want is=%v", path, m, want)
		}
	}
	if m := c.Model(must(t, c, "X2.D2")); m.Params["n"] != 5 {
		t.Errorf("n = %v", m.Params["n"])
	}
}

func TestWrongCalls(t *testing.T) {
	c, diags := deck(t, `X1 a b cell
X2 a cell
X3 a b broken
X4 a cell m=2
X5 a cell m=1
.subckt cell p
R1 p 0 1
.ends
.subckt broken p p
R1 p 0 1
.ends
`)
	same(t, "diagnostics", diags, []string{
		`10:18-10:19 netlist-subcircuit: port "p" of subcircuit broken is named twice`,
		"2:1-2:12 netlist-subcircuit: X1 gives 2 nodes to subcircuit cell, which has 1 port",
	})
	same(t, "elements", drawn(c), []string{"? X1 a b", "R X2.R1 a 0 = 1", "? X3 a b", "R X4.R1 a 0 = 0.5", "R X5.R1 a 0 = 1"})
}

func TestRecursion(t *testing.T) {
	c, diags := deck(t, `X1 a ping
X2 a self
.subckt ping p
R1 p 0 1
X1 p pong
.ends
.subckt pong p
X1 p ping
.ends
.subckt self p
X1 p self
.ends
`)
	same(t, "diagnostics", diags, []string{
		"9:1-9:10 netlist-subcircuit: subcircuit ping contains itself: ping -> pong -> ping",
		"12:1-12:10 netlist-subcircuit: subcircuit self contains itself: self -> self",
	})
	same(t, "elements", drawn(c), []string{"R X1.R1 a 0 = 1", "? X1.X1.X1 a", "? X2.X1 a"})
}

func TestBadCardsStayOnTheirNets(t *testing.T) {
	c, diags := deck(t, "R1 a b 1\nR2 b\nXA a cell\n.subckt cell p\nD1 p n\nR3 p 0 1\n.ends\n")
	if len(diags) != 2 {
		t.Error(diags)
	}
	same(t, "elements", drawn(c), []string{"R R1 a b = 1", "? R2 b", "? XA.D1 a XA.n", "R XA.R3 a 0 = 1"})
}

func TestManyNames(t *testing.T) {
	var bad, wide strings.Builder
	bad.WriteString("Y1")
	wide.WriteString("X1")
	for i := range 300 {
		bad.WriteString(" n" + strings.Repeat("i", i))
		wide.WriteString(" n" + strings.Repeat("i", i))
	}
	wide.WriteString(" part-wide")
	c, diags := deck(t, bad.String()+"\n"+wide.String()+"\n")
	if len(diags) != 2 || !strings.Contains(diags[1], "netlist-limit: X1 has more than 255 pins") {
		t.Error(diags)
	}
	pins := 0
	for _, e := range c.Elements {
		if e.Kind != '?' {
			t.Errorf("kind %c", e.Kind)
		}
		pins += int(e.N)
	}
	if pins != 600 {
		t.Errorf("%d pins, want 600", pins)
	}
}

func TestTwins(t *testing.T) {
	c, diags := deck(t, "R1 a b 1\nr1 c d 2\n")
	same(t, "diagnostics", diags, []string{"3:1-3:9 netlist-card: the name r1 is used twice; both elements stay in the circuit"})
	if id := must(t, c, "R1"); c.Elements[id].Value != 1 || len(c.Elements) != 2 {
		t.Errorf("elements %v", drawn(c))
	}
}

func TestNamedElements(t *testing.T) {
	c, diags := deck(t, `XA a cell
V1 a 0 1
.subckt cell p
V1 p 0
L1 p 0 1
L2 p 0 1
K1 l1 L2 0.5
F1 p 0 v1 2
W1 p 0 V1 sw OFF
S1 p 0 p 0 vsw on
.ends
.model sw csw
.model vsw sw
`)
	same(t, "diagnostics", diags, nil)
	if id, ok := c.Control(must(t, c, "XA.F1")); !ok || c.Path(id) != "XA.V1" {
		t.Error("F1 follows the wrong source")
	}
	if id, ok := c.Control(must(t, c, "XA.W1")); !ok || c.Path(id) != "XA.V1" {
		t.Error("W1 follows the wrong source")
	}
	if _, ok := c.Control(must(t, c, "XA.V1")); ok {
		t.Error("V1 follows nothing")
	}
	if !c.IsCoupled(must(t, c, "XA.L2")) || c.IsCoupled(must(t, c, "XA.K1")) {
		t.Error("XA.L2 is not coupled, or the coupling is")
	}
	if l := c.Coupled(must(t, c, "XA.K1")); len(l) != 2 || c.Path(l[1]) != "XA.L2" {
		t.Error("K1 couples", l)
	}
	if !c.Flag(must(t, c, "XA.W1"), "off") || !c.Flag(must(t, c, "XA.S1"), "ON") || c.Flag(must(t, c, "XA.W1"), "on") {
		t.Error("flags")
	}
}
