package parse_test

import (
	"strings"
	"testing"
)

// What could be read without a complaint is the same circuit when it is printed and read again, and prints the same.
func FuzzPrint(f *testing.F) {
	for _, s := range []string{
		"t\n.subckt cell p q g=1\nR1 p q {g*2} tc=1,2\n.subckt in a\nD1 a 0 dm 2 off\n.ends in\n.ends cell\n.model dm d(is=1f n={k})\n.param k=2\nX1 a b cell g=k\n",
		"* shuntwright: a = 1\nV1 a 0 DC 5 AC 1 45 PWL((0 0) (1,{k})) m=2\nI1 a 0 sin 0 1 1meg\n.tran 1n\n+ 1u ; x\n.control\nrun\n.endc\n",
		"t\nE1 a 0 VALUE={v(\"a b\",c)**-2}\nB1 a 0 i=a?b:-c!=d tc=1 {2}\nE2 a 0 POLY(1) b 0\n+ 0 1\nG1 a b \"poly\" d 1\nF1 a b V1 2\nV1 a 0\n",
		"t\nQ1 a b c s 5 area\nQ2 a b c q {7}\nM1 d g s mm l=1\n.model mm nmos vto=1\nK1 L1 L2 .9\nL1 a 0 1\nL2 b 0 1\nR1 \"a;b\" [3] R=x w=2*k\n",
		"t\nS1 a b c d sm ON\nW1 a b V1 wm\nT1 a b c d Z0=50\nO1 a b c d om\nU1 a b c um L=1\nJ1 a b c jm\nZ1 a b c jm {2}\nV1 a 0\n.global g \"on\"\n",
		"\ufeff\ufefft\r\nR1 a b ($) //\rR2 a b {$+$} (//x = 1\n.param $=1\nX1 \"\" a \"params:\"\n.foo {\n",
		"t\n.if (k==1)\nR1 a b 1\n.elseif k\n.subckt s p\n.func f(x,y) x*y\n.if f(1,2)\n.endif\n.ends\n.else\n.param k=1 g(x)={x}\n.endif\n.options tnom=25\n.alter\nR1\n",
		"t\nE1 a 0 POLY(1) c d 1 {k} k\nF1 a 0 poly 2 V1 V1 0,1 m=2\nV1 a 0\nG1 a 0 TABLE {v(b)} = (0,{k}) (1 2)\n.model m ako:n d(is=1)\nR1\\ a\\ \\\n b 1\\ ;\n.data\n1\n.enddata\n",
	} {
		if n, diags := readText(s); len(diags) > 0 {
			f.Fatalf("a seed that says nothing: %v", spoken(n.Src, diags))
		}
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		n, diags := readText(text)
		if len(diags) > 0 {
			var b strings.Builder
			if err := n.Print(&b); err != nil || !strings.HasSuffix(b.String(), ".end\n") {
				t.Fatalf("%v\n%s", err, b.String())
			}
			return
		}
		shown := printText(t, n)
		again, diags := readText(shown)
		if len(diags) > 0 {
			t.Fatalf("%v\n%s", spoken(again.Src, diags), shown)
		}
		if why := different(n, again); why != "" {
			t.Fatalf("%s\n%s", why, shown)
		}
		if twice := printText(t, again); twice != shown {
			t.Fatalf("%s\nprints again as\n%s", shown, twice)
		}
		if len(n.Cards) < 100 {
			if a, b := strings.Join(flattened(n), "\n"), strings.Join(flattened(again), "\n"); a != b {
				t.Fatalf("flat:\n%s\nbecame\n%s\n%s", a, b, shown)
			}
		}
	})
}
