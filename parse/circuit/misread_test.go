package circuit

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// What dialects write and what used to be taken for something else without a word: the elements in short (value, nets
// of two, model's type), and what is reported.
func TestNothingIsMisread(t *testing.T) {
	for _, c := range []struct{ text, want, diag string }{
		{"X1 a b s PARAMS:r=800\n.subckt s a b PARAMS:r=33\nR1 a b {r}\n.ends", "X1.R1=800", ""},
		{"X1 a b s params : r=800\n.subckt s a b param: r=33\nR1 a b {r}\n.ends", "X1.R1=800", ""},
		{"R1 a b R=4,7k", "R1=?", "R1 has more than one value behind R="},
		{"X1 a b s r=4,7k\n.subckt s a b r=1\nR1 a b {r}\n.ends", "?X1", "X1 has more than one value behind r="},
		{"D1 a b dm\n.model dm d(rs=1 2 bv=5)", "D1:D", "model dm has more than one value behind rs="},
		{"R1 a b 1k tc=1m,2u", "R1=1000", ""},
		{"V1 a 0 3.3 Rser=800", "?V1", "V1 has Rser=, which is not understood: draw what it does as an element of its own"},
		{"V1 a 0 3.3 Rser=0", "V1=3.3", ""},
		{"V1 a 0 DCV=48", "?V1", "V1 has DCV=, which is not understood: draw what it does as an element of its own"},
		{"L1 a 0 10u Rser=30m Rpar=1k ipk=3", "L1=1e-05", ""},
		{"C1 a 0 10u Rser=30m Lser=1n", "C1=1e-05", ""},
		{"C1 a 0 10u Rpar=1Meg", "?C1", "C1 has Rpar=, which is not understood: draw what it does as an element of its own"},
		{"R1 a b 33 scale=30", "R1=?", "R1 has scale=, which is not understood: draw what it does as an element of its own"},
		{`C1 a b 10u V=25 mfg="Nobody at all" type="ceramic"`, "C1=1e-05", ""},
		{`R1 a b 1k tol="5%"`, "R1=1000", `"5%" is a text and no number`},
		{`R1 a b R="2k"`, "?R1", "R1 has a text in quotes for its value: expected Rname node node value"},
		{`R1 a b '"2k"'`, "?R1", `R1: an expression is missing, found "2k"`},
		{`B1 a 0 V="x"`, "?B1", `unexpected "x" in B1: expected Bname node node V=expression or I=expression`},
		{`.param f(x)="x" s="y"` + "\nR1 a b 2", "R1=2", "function f is a text in quotes and no expression"},
		{"R1 a b 1k R=2k", "?R1", "R1 has two values or too many nodes: expected Rname node node value"},
		{"R1 a b rm 2k\n.model rm r", "R1=2000:R", ""},
		{"R1 a b rm R=2k\n.model rm r", "R1=2000:R", ""},
		{"R1 a b rx 2k", "?R1", "R1 has two values or too many nodes: expected Rname node node value"},
		{"V1 (a 0) 5", "V1=5", ""},
		{"V1 (a,0) DC(5) AC(1,2)", "V1=5", ""},
		{"V1 a 0 (5)", "V1=5", ""},
		{"V1 a 0 SINE(2 1 1k)", "V1=2", ""},
		{"V1 a 0 PULSE(0 5 0 1n 1n 1u 2u) 12", "?V1", "V1 has a value behind the parentheses of its source function: expected " +
			"Vname node node [[DC] value] [AC ...] [function(...)]"},
		{"V1 a 0 PWL(0 3 +1u 4 +1u 3)", "V1=3", ""},
		{"V1 a 0 PWL (0 3) (1u 4)", "V1=3", ""},
		{".param a=1, b=2, f(x)=x\nR1 a b {a+f(b)}", "R1=3", ""},
		{"E1 a 0 VCVS a b 2", "E1=2", ""},
		{"K1 L1 L2 K=0.5\nL1 a 0 1\nL2 b 0 1", "K1=0.5 L1=1 L2=1", ""},
		{"K1 L1 L2 0.5 core\nL1 a 0 1\nL2 b 0 1\n.model core core", "K1=0.5:CORE L1=1 L2=1", ""},
		{"X1 a s\nF1 a 0 X1.VM 5\n.subckt s p\nVM p 0\n.ends", "X1.VM=0 F1=5", ""},
		{"X1 a s\nF1 a 0 X1.VN 5\n.subckt s p\nVM p 0\n.ends", "X1.VM=0 F1=5", `F1 names "X1.VN", which is not there`},
		{"R1 a gnd! 1", "R1=1", ""},
		{"B1 a 0 V=v(GND!,gnd)+v(0)+2", "B1", ""},
		{"$Revision: 1 $\nR1 a b 1", "R1=1", ""},
		{".subckt o a\n.subckt i b\nR1 b 0 1\n.ends\nX1 a i\n.ends o\nX2 q o", "X2.X1.R1=1", ""},
		{".subckt o a\n.subckt i b\nR1 b 0 1\n.ends\nX2 q o", "", ""}, // the manual: all that is open
		{".if (0)\n.options tnom=50\n.endif", "", "the option tnom under a condition is not understood"},
		{".if (0)\n.global n1\n.endif", "", "a .global card under a condition is not understood: its nodes are not joined"},
		{".if (0)\n.model dm d\n.endif\nD1 a b dm", "D1", `D1 names model "dm", which stands only under conditions that do not hold`},
		{".param a=1\n.if (1)\n.param a=2\n.endif\n.param a=3\nR1 a b {a}", "R1=3", ""},
		{".if (1)\n.param a=2\n.endif\nR1 a b {a}", "R1=2", ""},
		{"X1 a b s gg=2\n.subckt s a b g=1\nR1 a b {g}\n.ends", "X1.R1=1", `X1 gives gg= to subcircuit s, which has no such parameter; did you mean "g"?`},
		{"X1 a b s h=2\n.subckt s a b\nR1 a b {h}\n.ends", "X1.R1=2", ""},
		{"X1 a b s h=2\n.subckt s a b\nX2 a b i\n.subckt i a b\nR1 a b {h}\n.ends i\n.ends", "X1.X2.R1=2", ""},
		{"S1 a b c d sm\n.model sm csw", "?S1:CSW", "S1 names model sm, which is of type CSW, not SW or VSWITCH"},
		{"D1 a b dm\n.model dm nmos", "?D1:NMOS", "D1 names model dm, which is of type NMOS, not D"},
		{"S1 a b c d sm IC=ON\n.model sm sw", "S1:SW", ""},
		{".if 1\nR1 a b 1\n.else if 2\nR2 a b 1\n.endif", "R1=1", `a further condition stands on a card of its own; did you mean ".elseif"?`},
		{"X1 a b s mfg=\"any\" refdes=7\n.subckt s a b g=1\nR1 a b {g}\n.ends", "X1.R1=1", ""},
		{"X1 a b s sel=1\n.subckt s a b\n.if (sel==1)\n.param z=5\n.else\n.param z=6\n.endif\nR1 a b {z}\n.ends", "X1.R1=5", ""},
		{"R1 a b {2m9}", "R1=0.002", `R1: "2m9" is read as 0.002 ohm, the digits behind the letter being lost; write 2.9m`},
		{"R1 a b 2MEG2", "R1=2e+06", `R1: "2MEG2" is read as 2e+06 ohm, the digits behind the letters being lost`},
		{"L1 a b 4R7", "L1=4", `L1: "4R7" is read as 4 H, the digits behind the letters being lost`},
		{"R1 a b {1k*log(x)}\n.param x=1", "R1=0", "R1: log is read as the natural logarithm, which some dialects have to base 10; write ln or log10"},
		{".param r=4K7\nR1 a b {r+1MILLI}", "R1=4000", `r: "4K7" is read as 4000, the digits behind the letters being lost|R1: "1MILLI" is read as 2.54e-05, a mil being 25.4e-6; milli is m`},
	} {
		circuit, diags := deck(t, c.text+"\n")
		var got []string
		for id := range circuit.Elements {
			e := &circuit.Elements[id]
			text := circuit.Path(ID(id))
			switch {
			case e.Kind == '?':
				text = "?" + text
			case !math.IsNaN(e.Value):
				text += fmt.Sprintf("=%.6g", e.Value)
			case strings.IndexByte("RCLVI", e.Kind) >= 0:
				text += "=?"
			}
			if i, _, ok := circuit.pick(circuit.card(ID(id)).Scope, circuit.card(ID(id)).Ref, circuit.insts[e.Inst].env); ok {
				text += ":" + circuit.Cards.Models[i].Type
			}
			got = append(got, text)
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s\nis read as %s, want %s", c.text, s, c.want)
		}
		for i, d := range diags {
			_, diags[i], _ = strings.Cut(d, ": ")
		}
		if s := strings.Join(diags, "|"); s != c.diag {
			t.Errorf("%s\nreports %s\nwant    %s", c.text, s, c.diag)
		}
	}
}
