package parse_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// readText reads a text that includes nothing.
func readText(text string) (*parse.Netlist, []source.Diagnostic) {
	set := source.NewSet()
	return parse.Read(set, set.Add("deck.cir", []byte(text), source.Span{}), parse.Options{})
}

func printText(t interface{ Fatal(...any) }, n *parse.Netlist) string {
	var b strings.Builder
	if err := n.Print(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestPrint(t *testing.T) {
	for _, c := range []struct{ what, text, want string }{
		{"head", "  ferry winch \n* a note\n*shuntwright:  rails.A = \"1 V\"\n.global vcc \"net 5\"\n", "ferry winch\n.global vcc \"net 5\"\n* shuntwright: rails.A = \"1 V\"\n.end\n"},
		{"no title", ".param x=1k\n", "\n.param x=1000\n.end\n"},
		{"a title that says something", "* shuntwright: silent = []\nR1 a b 1\n", "* shuntwright: silent = []\nR1 a b 1\n.end\n"},
		{"order", "t\nR1 a b {k}\n.subckt cell p q g=2\nR2 p q g\n.subckt inner p\nR3 p 0 1\n.ends inner\n.model m d\n.ends cell\n.param k=2*3 l=1\nX1 a b cell g='k'\n",
			"t\nR1 a b {k}\n.subckt cell p q g=2\nR2 p q g\n.subckt inner p\nR3 p 0 1\n.ends inner\n.model m D\n.ends cell\n.param k={2*3}\n.param l=1\nX1 a b cell g=k\n.end\n"},
		{"choices", "t\n.param k=1\n.if (k==1)\nR1 a b 1\n.if k\n.else\n.param l=2\n.endif\n.elseif (k)\n.subckt s p\n.func f(x , y) x*y\nR1 p 0 1\n.ends\n.endif\n.if (1)\n.endif\nR2 a b 1\n",
			"t\n.param k=1\n.if (k==1)\nR1 a b 1\n.if (k)\n.else\n.param l=2\n.endif\n.elseif (k)\n.subckt s p\n.func f(x,y) {x*y}\nR1 p 0 1\n.ends s\n.endif\n.if (1)\n.endif\nR2 a b 1\n.end\n"},
		{"conditions that are not read", "t\n.if (k\nR1 a b 1\n.else\nR2 a b 1\n.endif\n.if (1)\nR3 a b 1\n.elseif )\nR4 a b 1\n.endif\nR5 a b 1\n",
			"t\n* * not read: .if (k\n* R1 a b 1\n* .endif\n* R2 a b 1\n* .endif\n.if (1)\nR3 a b 1\n* * not read: .elseif )\n* R4 a b 1\n.endif\nR5 a b 1\n.end\n"},
		{"texts", "t\nC1 a b 1n mfg=\"any one\" w=\"on\"\n.model d d(is=1 mfg=\"a b\")\n.param s=\"abc\"\nB1 a 0 V=1 note=\"x\"\n", "t\nC1 a b 1e-09 mfg=\"any one\" w=\"on\"\n.model d D(is=1 mfg=\"a b\")\n.param s=\"abc\"\nB1 a 0 V={1} note=\"x\"\n.end\n"},
		{"options", "t\n.subckt s p\n.options tnom=25 ; note\n.ends\n.data x\n1 2\n.enddata\n.alter\nR1 a b 1\n", "t\n.subckt s p\n.options tnom=25\n.ends s\n.data x\n* left out: the rows\n.enddata\n.alter\n.end\n"},
		{"backslashes", "t\nR1 a\\ \\\n  b 1\nR2 a b x\\ ; c\n.tran \\ ;\n+ 1\\ ;\nR3 a b\\ 1\n", "t\nR1 a b 1\nR2 a b x\\ ;\n.tran \\ ;\n+ 1\\ ;\nR3 a b\\ 1\n.end\n"},
		{"numbers", "t\nR1 a b 4.7meg\nR2 a b 1mil\nC1 a b .1u ic=-0\nR3 a b 33mOhm\n", "t\nR1 a b 4.7e+06\nR2 a b 2.54e-05\nC1 a b 1e-07 ic=-0\nR3 a b 0.033\n.end\n"},
		{"names", "t\nR1 \"a b\" gnd 1\nR2 -5V a[3] 1\nR3 \"//x\" $N_1 1\nQ1 a b c d \"off\"\nE1 a b \"poly\" d 1\n",
			"t\nR1 \"a b\" 0 1\nR2 -5V a[3] 1\nR3 \"//x\" $N_1 1\nQ1 a b c d \"off\"\nE1 a b \"poly\" d 1\n.end\n"},
		{"resistors", "t\nR1 a b 1k rm tc=1m 2m\nR2 a b rm\nR3 a b {rm}\nR4 a b R=5 tc1=0\nR5 a b r={x} w=w\nR6 a b 2*x\n",
			"t\nR1 a b 1000 rm tc=0.001,0.002\nR2 a b rm\nR3 a b {rm}\nR4 a b R=5 tc1=0\nR5 a b r={x} w=w\nR6 a b 2*x\n.end\n"},
		{"sources", "t\nV1 a 0 5\nV2 a 0\nV3 a 0 AC 1 45 SIN(0 1,{f}) dc=2\nI1 a 0 PWL((0 0) (1,{on}))\nV4 a 0 distof1 1 ac\nV5 a 0 {ac} m=2\n",
			"t\nV1 a 0 DC 5\nV2 a 0\nV3 a 0 DC 2 AC 1 45 SIN(0 1 {f})\nI1 a 0 PWL(0 0 1 {on})\nV4 a 0 AC\nV5 a 0 DC {ac} m=2\n.end\n"},
		{"laws", "t\nE1 a 0 VALUE {v(b)*2}\nG1 a 0 vol='v(\"x y\", b)' k=1 {2}\nB1 a 0 i = time\nE2 a 0 FREQ {v(b)}= ; why\n+ (0,0)\n",
			"t\nE1 a 0 VALUE={v(b)*2}\nG1 a 0 VOL={v(\"x y\",b)} k=1 {2}\nB1 a 0 I={time}\nE2 a 0 FREQ {v(b)}=\n+ (0,0)\n.end\n"},
		{"polynomials", "t\nE1 a 0 POLY(1) (\"x y\",c) 1 {k} k //\nF1 a 0 poly 2 V1 V1 0,1 m=2\nV1 a 0\nG1 a 0 TABLE {v(b)} = (0,{k}) (1 2) m=2\nE2 a 0 table='2*k' x 1\n",
			"t\nE1 a 0 POLY(1) \"x y\" c 1 {k} {k}\nF1 a 0 POLY(2) V1 V1 0 1 m=2\nV1 a 0\nG1 a 0 TABLE {v(b)} = (0,k) (1,2) m=2\nE2 a 0 TABLE {2*k} = (x,1)\n.end\n"},
		{"followers", "t\nV1 a 0\nF1 a 0 v1 2\nH1 a 0 V1 {g}\nW1 a 0 V1 wm on\nL1 a 0 1\nL2 b 0 1\nK1 l1 L2 .9\nK2 L1 L2 {k}\n",
			"t\nV1 a 0\nF1 a 0 v1 2\nH1 a 0 v1 {g}\nW1 a 0 v1 wm ON\nL1 a 0 1\nL2 b 0 1\nK1 l1 L2 0.9\nK2 l1 L2 {k}\n.end\n"},
		{"devices", "t\nD1 a b dm 2 off ic=0.6\nQ1 a b c qm 2 ic=0.6, 5.0\nQ2 a b c s qm {2*k}\nM1 d g s mm l=1u\nJ1 d g s jm\nS1 a b c d sm OFF\n.model qm npn\n.model mm nmos(vto=1 mfg=ferry)\n",
			"t\nD1 a b dm 2 OFF ic=0.6\nQ1 a b c qm 2 ic=0.6,5\nQ2 a b c s qm {2*k}\nM1 d g s mm l=1e-06\nJ1 d g s jm\nS1 a b c d sm OFF\n.model qm NPN\n.model mm NMOS(vto=1 mfg=ferry)\n.end\n"},
		{"models", "t\n.model base d is=1 n = 2\n.model k1 AKO: base d(is=2)\n.model k2 ako:base bv=1,2\n.model k3 ako:Base\n",
			"t\n.model base D(is=1 n=2)\n.model k1 ako:base D(is=2)\n.model k2 ako:base(bv=1,2)\n.model k3 ako:base\n.end\n"},
		{"couplings", "t\nL1 a 0 1\nL2 b 0 1\nK1 L1 L2 .9 core\nK2 L1 L2 {k} \"7\"\nK3 L1 L2 k=.8\nK4 L1 L2 {.7} \"8\"\n",
			"t\nL1 a 0 1\nL2 b 0 1\nK1 L1 L2 {0.9} core\nK2 L1 L2 {k} 7\nK3 L1 L2 k=0.8\nK4 L1 L2 {0.7} 8\n.end\n"},
		{"words that say nothing", "t\nE1 a 0 VCVS \"vcvs\" d 1\nX1 a \"params\" :b \"param:c\" s params:g=1\n",
			"t\nE1 a 0 \"vcvs\" d 1\nX1 a \"params\" :b \"param:c\" s g=1\n.end\n"},
		{"models before values", "t\nR1 a b rm 5\nR2 a b rm R=6\nR3 a b rm R=rm\nR4 a b R=rm\nR5 a b rm R=2*k\n.model rm r\nT1 a 0 b 0 tm z0=5\n",
			"t\nR1 a b 5 rm\nR2 a b rm R=6\nR3 a b R=rm\nR4 a b R=rm\nR5 a b rm R=2*k\n.model rm R\nT1 a 0 b 0 tm z0=5\n.end\n"},
		{"words that count", "t\nQ1 a b c s 5 area\nQ2 a b c qq {7}\nQ3 a b c s qm off2\n.model 7 npn\n.model qm npn\n",
			"t\nQ1 a b c s 5 area\nQ2 a b c qq {7}\nQ3 a b c s qm off2\n.model 7 NPN\n.model qm NPN\n.end\n"},
		{"lines", "t\nT1 a 0 b 0 z0=50 td=10n\nO1 a 0 b 0 om\nU1 a b 0 um l=1\n", "t\nT1 a 0 b 0 z0=50 td=1e-08\nO1 a 0 b 0 om\nU1 a b 0 um l=1\n.end\n"},
		{"passed over", "t\n.tran 1n\n+ 1u ; x\n.control\nrun\n.endc\n.ic v(1)=2\n", "t\n.tran 1n\n+ 1u\n.control\n* left out: the commands\n.endc\n.ic v(1)=2\n.end\n"},
		{"not read", "t\nR1 a\nR2 a b 1\n.subckt\nR3 a b 1\n.subckt in p\n.ends\n", "t\n* not read: R1 a\nR2 a b 1\n* * not read: .subckt\n* R3 a b 1\n* .subckt in p\n* .ends in\n* .ends\n.end\n"},
	} {
		n, _ := readText(c.text)
		got := printText(t, n)
		if got != c.want {
			t.Errorf("%s prints as:\n%s\nwant:\n%s", c.what, got, c.want)
		}
		again, _ := readText(got)
		if why := different(n, again); why != "" && !strings.Contains(c.what, "not read") {
			t.Errorf("%s: %s", c.what, why)
		}
	}
}

func TestPrintFolds(t *testing.T) {
	sum := strings.TrimSuffix(strings.Repeat("ferry+", 40), "+")
	text := "t\nX1 " + strings.Repeat("node ", 60) + "amp g={" + sum + "}\nV1 a 0 PWL(" + strings.Repeat("1 2 ", 50) + ")\nR1 a b {" + sum + "}\n"
	n, _ := readText(text)
	printed := printText(t, n)
	lines, folds := strings.Split(printed, "\n"), 0
	for i, line := range lines {
		if len(line) > 120 {
			t.Errorf("a line of %d columns: %s", len(line), line)
		}
		if i == 0 || !strings.HasPrefix(line, "+ ") {
			continue
		}
		folds++
		next := line[2 : 3+strings.IndexAny(line[2:]+" ", " +")]
		if room := 120 - len(lines[i-1]); room >= 1+len(next) {
			t.Errorf("%q would have had its place %d columns before the end of the line before", next, room)
		}
	}
	if folds < 6 {
		t.Errorf("folded %d times:\n%s", folds, printed)
	}
	again, diags := readText(printed)
	if why := different(n, again); why != "" || len(diags) > 0 {
		t.Errorf("%s %v", why, diags)
	}
}

// Includes are printed in their place.
func TestPrintIncludes(t *testing.T) {
	set := source.NewSet()
	n, _ := parse.Read(set, set.Add("deck.cir", []byte("t\nR1 a b 1\n.include x\n.param l=1\nR2 a b 2\n"), source.Span{}),
		parse.Options{Include: func(string, source.FileID) ([]byte, string, error) {
			return []byte("X1 a b c\n.param k=1\nE1 a b FREQ {v(c)}\n+ 1 2\n"), "x", nil
		}})
	if got, want := printText(t, n), "t\nR1 a b 1\nX1 a b c\n.param k=1\nE1 a b FREQ {v(c)}\n+ 1 2\n.param l=1\nR2 a b 2\n.end\n"; got != want {
		t.Errorf("prints as:\n%s", got)
	}
}

func TestExpressionText(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"1 + 2*3", ""}, {"(1+2)*3", ""}, {"1-(2-3)", ""}, {"(1-2)-3", "1-2-3"}, {"1/(2*3)", ""}, {"(2**3)**2", ""},
		{"2**(3^2)", "2**3**2"}, {"(-2)**2", ""}, {"-(2**2)", "-2**2"}, {"-(a*b)", ""}, {"2**(-3)", "2**-3"}, {"a*(-b)", "a*-b"},
		{"!(a==b)", ""}, {"(!a)==b", "!a==b"}, {"--a", ""}, {"+a", "a"}, {"(a<b)<c", "a<b<c"}, {"a<(b<c)", ""},
		{"(a&&b)||c", "a&&b||c"}, {"a&&(b||c)", ""}, {"a?b:(c?d:e)", "a?b:c?d:e"}, {"(a?b:c)?d:e", ""}, {"a?(b?c:d):e", "a?b?c:d:e"},
		{"1+(a?b:c)", ""}, {"max(a, (b+c))", "max(a,b+c)"}, {"{a+{b}}", "a+b"}, {"v(net-5, \"a b\")", "v(net-5,\"a b\")"},
		{"v(a b)", "v(a,b)"}, {"V((a+b),c)", "V({a+b},c)"}, {"v()", ""}, {"f(\"a\" \"b c\")", "f(\"a\",\"b c\")"},
		{"f(\"a\")", "f(a)"}, {"1k+1mil", "1000+2.54e-05"}, {"1e-3-2", "0.001-2"}, {"1e22", "1e+22"}, {"pi*$x.1", ""},
	} {
		want := c.want
		if want == "" {
			want = strings.ReplaceAll(c.text, " ", "")
		}
		e, err := parse.ParseExpr(c.text)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if got := e.String(); got != want {
			t.Errorf("%s prints as %s, want %s", c.text, got, want)
		}
	}
}

// No parentheses are missing, and none could be left out.
func TestExpressionTextIsMinimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := drawExpr(t, 4)
		e, err := parse.ParseExpr(text)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		shown := e.String()
		again, err := parse.ParseExpr(shown)
		if err != nil || !sameExpr(e, again) {
			t.Fatalf("%s prints as %s: %v", text, shown, err)
		}
		for i := range shown {
			if shown[i] != '(' || i > 0 && (shown[i-1] == '_' || 'a' <= shown[i-1] && shown[i-1] <= 'z') {
				continue // of a call
			}
			depth, j := 1, i+1
			for ; depth > 0; j++ {
				switch shown[j] {
				case '(':
					depth++
				case ')':
					depth--
				}
			}
			without := shown[:i] + shown[i+1:j-1] + shown[j:]
			if less, err := parse.ParseExpr(without); err == nil && sameExpr(e, less) {
				t.Fatalf("%s prints as %s, where %s would do", text, shown, without)
			}
		}
	})
}
