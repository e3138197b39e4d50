package circuit

import (
	"math"
	"strings"
	"testing"
)

// The model card by hand: 1 kohm a square, (10u - 0.5u) / (1u - 0.5u) = 19 squares; a plate of 9.5 um by 4.5 um with
// 1e-4 F/m2 and an edge of 28 um with 2e-10 F/m: 4.275 fF + 5.6 fF.
func TestGeometry(t *testing.T) {
	c, diags := deck(t, `R1 a 0 rm L=10u W=1u
R2 a 0 rm L=10u m=2
R3 a 0 R=10k TC1=1m TC2=2u
R4 a 0 5 rm
C1 a 0 cm L=10u W=5u
C2 a 0 C=2n
R5 a 0 1k same
R6 a 0 same
.param same=7
.model same r
.model rm RES(RSH=1k NARROW=0.5u DEFW=1u TC1=1m)
.model cm C(CJ=1e-4 CJSW=2e-10 NARROW=0.5u)
`)
	same(t, "diagnostics", diags, nil)
	for i, want := range []float64{19e3, 9.5e3, 10e3, 5, 9.875e-15, 2e-9, 1e3, 7} {
		if got := c.Elements[i].Value; math.Abs(got-want) > 1e-9*want {
			t.Errorf("%s = %v, want %v", c.Path(ID(i)), got, want)
		}
	}
	if v, ok := c.Given(2, "tc2"); !ok || v != 2e-6 {
		t.Errorf("tc2 = %v", v)
	}
}

func TestNoValue(t *testing.T) {
	for _, w := range []struct{ cards, diag string }{
		{"R1 a 0 rm L=1u\n.model rm r rsh=1k", "2:1-2:15 netlist-card: R1 has no value: its model rm does not give one"},
		{"R1 a 0 rm L=1u W=1u\n.model rm r", "2:1-2:20 netlist-card: R1 has no value: its model rm does not give one"},
		{"R1 a 0 rm L=1u W=1u\n.model rm r rsh=0", "2:1-2:20 netlist-card: R1 has no value: its model rm does not give one"},
		{"R1 a 0 rm L=1u W=1u\n.model rm r rsh=1k narrow=2u", "2:1-2:20 netlist-card: R1 has no value: its model rm does not give one"},
		{"R1 a 0 rm L=1u W=1u\n.model rm r rsh=1k narrow=nope", `2:1-2:20 netlist-card: R1 has no value: its model rm does not give one|3:27-3:31 netlist-expression: "nope" is not defined`},
		{"R1 a 0 1k rm\n.model rm r r=2", "2:1-2:13 netlist-card: R1 has a value and its model rm a R, by which some dialects multiply: its value is not known"},
		{"R1 a 0 1k dm\n.model dm d", "2:1-2:13 netlist-card: R1 names model dm, which is of type D, not R"},
		{"C1 a 0 cm L=1u W=1u\n.model cm c cjsw=1n", "2:1-2:20 netlist-card: C1 has no value: its model cm does not give one"},
		{"C1 a 0 1n cm\n.model cm c c=2", "2:1-2:13 netlist-card: C1 has a value and its model cm a C, by which some dialects multiply: its value is not known"},
		{"L1 a 0 lm\n.model lm l", "2:1-2:10 netlist-card: L1 has no value: its model lm does not give one"},
	} {
		c, diags := deck(t, w.cards+"\n")
		same(t, w.cards, diags, strings.Split(w.diag, "|"))
		if v := c.Elements[0].Value; !math.IsNaN(v) {
			t.Errorf("%s: %v", w.cards, v)
		}
	}
	if _, diags := deck(t, "R1 a 0 1k rm\n.model rm r r=1\n"); len(diags) > 0 {
		t.Errorf("%q", diags)
	}
}

func TestTolerances(t *testing.T) {
	for text, want := range map[string]float64{"0.05": 0.05, "5%": 0.05, "0.1%": 0.001, "{1/20}": 0.05, "0": 0} {
		c, diags := deck(t, "R1 a 0 1k tol="+text+"\n")
		same(t, text, diags, nil)
		if v, given := c.Given(0, "TOL"); !given || math.Abs(v-want) > 1e-15 {
			t.Errorf("%s: %v", text, v)
		}
	}
	for text, diag := range map[string]string{
		"5":      "2:15-2:16 netlist-card: the tolerance of R1 is no fraction below 1: 5 % is written tol=0.05 or tol=5%",
		"-1%":    "2:15-2:18 netlist-card: the tolerance of R1 is no fraction below 1: 5 % is written tol=0.05 or tol=5%",
		"100%":   "2:15-2:19 netlist-card: the tolerance of R1 is no fraction below 1: 5 % is written tol=0.05 or tol=5%",
		"1k%":    `2:15-2:18 netlist-card: the tolerance of R1 is no fraction below 1: 5 % is written tol=0.05 or tol=5%`,
		"1Ohm%":  `2:15-2:20 netlist-expression: "1Ohm%" is no number and no parameter`,
		"{nope}": `2:16-2:20 netlist-expression: "nope" is not defined`,
	} {
		c, diags := deck(t, "R1 a 0 1k tol="+text+"\n")
		same(t, text, diags, []string{diag})
		if v, given := c.Given(0, "tol"); !given || !math.IsNaN(v) {
			t.Errorf("%s: %v", text, v)
		}
	}
	// Elsewhere a percentage is no number.
	_, diags := deck(t, "R1 a 0 5%\n")
	same(t, "value", diags, []string{`2:1-2:10 netlist-card: R1 has no value: "5%" is no number, no parameter and no model`})
}
