package circuit

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

func TestMultipliers(t *testing.T) {
	c, diags := deck(t, `.param two=2
R1 a 0 12 M=3
R2 a 0 {two*6} m={two}
C1 a 0 3n m=2
L1 a 0 3u m=2
D1 a 0 dm 2 m=4
J1 a b 0 jm m=2
V1 a 0 5 m=1
X1 a cell m=3
X2 a own m=3
X3 a held
.subckt cell p
R1 p 0 6 m=2
C1 p 0 1n
L1 p 0 6u
V1 q 0 4
I1 p 0 2m
I2 p 0 SIN(0.5m 1m 50)
B1 p 0 I=4m
B2 q 0 V=4
E1 q 0 p 0 2
G1 p 0 q 0 2
F1 p 0 V1 2
H1 q 0 V1 6
X1 p inner m=two
.ends
.subckt inner p
R1 p 0 60
.ends
.subckt own p m=1
R1 p 0 {m}
.ends
.subckt held p
.param m=7
R1 p 0 {m} m=2
.ends
.model dm d
.model jm njf
`)
	same(t, "diagnostics", diags, nil)
	for path, want := range map[string]float64{
		"R1": 4, "R2": 6, "C1": 6e-9, "L1": 1.5e-6, "D1": 2, "V1": 5, "X1.R1": 1, "X1.C1": 3e-9, "X1.L1": 2e-6, "X1.V1": 4,
		"X1.I1": 6e-3, "X1.B1": 12e-3, "X1.B2": 4, "X1.E1": 2, "X1.G1": 6, "X1.F1": 2, "X1.H1": 2, "X1.X1.R1": 10,
		"X2.R1": 3, "X3.R1": 3.5,
	} {
		id := must(t, c, path)
		if got := c.Elements[id].Value; math.Abs(got-want) > 1e-12*want {
			t.Errorf("%s = %v, want %v", path, got, want)
		}
		if got := c.Total(id, c.Single(id, want)); math.Abs(got-want) > 1e-12*want {
			t.Errorf("%s: there and back %v, want %v", path, got, want)
		}
	}
	for path, want := range map[string]float64{"R1": 3, "D1": 4, "J1": 2, "V1": 1, "X1.R1": 6, "X1.V1": 3, "X1.X1.R1": 6, "X2.R1": 1, "X3.R1": 2} {
		if got := c.Copies(must(t, c, path)); got != want {
			t.Errorf("%s stands for %v copies, want %v", path, got, want)
		}
	}
	// A sine of 0.5 mA +- 1 mA, three times, and the constant 2 mA.
	for path, want := range map[string]string{"X1.I2": "[-0.0015 0.0045]", "X1.I1": "[0.006 0.006]", "X1.B1": "[0.012 0.012]", "X1.B2": "[4 4]"} {
		if s := c.Source(must(t, c, path)); s == nil || !s.Known || fmt.Sprintf("%.6g", s.Levels) != want {
			t.Errorf("%s: %+v, want %s", path, s, want)
		}
	}
	if got := c.Single(must(t, c, "X1.R1"), 1); got != 6 {
		t.Errorf("the card of X1.R1 says %v for 1 ohm", got)
	}
}

func TestBadMultipliers(t *testing.T) {
	for _, c := range []struct{ cards, diag, drawn string }{
		{"R1 a 0 1k m=0", "2:1-2:14 netlist-card: R1 has the multiplier m=0, which is not above 0", "R R1 a 0"},
		{"D1 a 0 dm m=-2\n.model dm d", "2:1-2:15 netlist-card: D1 has the multiplier m=-2, which is not above 0", "? D1 a 0"},
		{"C1 a 0 1n m={1-1}", "2:1-2:18 netlist-card: C1 has the multiplier m=0, which is not above 0", "C C1 a 0"},
		{"R1 a 0 1k m={nope}", `2:1-2:19 netlist-card: R1 has a multiplier m without a value|2:14-2:18 netlist-expression: "nope" is not defined`, "R R1 a 0"},
		{"R1 a 0 1k m={temper}", "2:1-2:21 netlist-card: R1 has a multiplier m without a value|" +
			`2:14-2:20 netlist-expression: "temper" depends on temperature, which is understood in the value of an R only`, "R R1 a 0"},
		{"V1 a 0 5 m=2", "2:1-2:13 netlist-card: V1 has a multiplier m, which only R, C, L, D, M, Q, J, Z and X cards may have: draw the copies one by one", "? V1 a 0"},
		{"I1 a 0 5 m=2", "2:1-2:13 netlist-card: I1 has a multiplier m, which only R, C, L, D, M, Q, J, Z and X cards may have: draw the copies one by one", "? I1 a 0"},
		{"E1 a 0 b 0 5 m=2", "2:1-2:17 netlist-card: E1 has a multiplier m, which only R, C, L, D, M, Q, J, Z and X cards may have: draw the copies one by one", "? E1 a 0 b 0"},
		{"X1 a cell m=0\n.subckt cell p\nR1 p 0 1\n.ends", "2:1-2:14 netlist-card: X1 has the multiplier m=0, which is not above 0", "? X1 a"},
		{"X1 a cell m=2\n.subckt cell p\nR1 p 0 {m}\n.ends", `4:9-4:10 netlist-expression: "m" is not defined`, "R X1.R1 a 0"},
		{"X1 a cell m=1e200\n.subckt cell p\nX2 p deep m=1e200\n.ends\n.subckt deep p\nR1 p 0 1\n.ends", "4:1-4:18 netlist-card: 1e+200 copies of X2 in parallel have no finite value", "? X1.X2 a"},
		{"R1 a 0 1e-300 m=1e300", "2:1-2:22 netlist-card: 1e+300 copies of R1 in parallel have no finite value", "R R1 a 0"},
		{"XA a 0 part-x m=2", "2:1-2:18 netlist-subcircuit: XA stands for 2 copies in parallel by a multiplier m, and part-x is taken as one part: draw the copies one by one", "? XA a 0"},
		{"XA a 0 part-x m=1", "", "X XA a 0"},
		{"XA a 0 nowhere m=2", "2:1-2:19 netlist-subcircuit: XA stands for 2 copies in parallel by a multiplier m, and nowhere is taken as one part: draw the copies one by one", "? XA a 0"},
		{"X1 a cell m=3\n.subckt cell p\nXA p 0 part-x m=2\n.ends", "4:1-4:18 netlist-subcircuit: XA stands for 6 copies in parallel by a multiplier m, and part-x is taken as one part: draw the copies one by one", "? X1.XA a 0"},
		{"XA a 0 part-x m=2\n.subckt part-x p q m=5\n.ends", "", "X XA a 0"},
	} {
		flat, diags := deck(t, c.cards+"\n")
		same(t, c.cards, []string{strings.Join(diags, "|")}, []string{c.diag})
		same(t, c.cards, drawn(flat), []string{c.drawn})
	}
}
