package parse

import (
	"strings"
	"testing"
)

// Every bad card is one diagnostic and stays on the nets it mentions; beside it stands a twin that is silent.
func TestRefusals(t *testing.T) {
	const beside = "\nRN a b 1\nRN2 c d 1\n.model dm d\n.model qm npn\n.model mm nmos\n"
	for _, c := range []struct{ bad, diag, nets, good string }{
		{"R1 a b", "deck.cir:2:1-2:7 netlist-card: R1 ends too early: expected Rname node node value", "a b", "R1 a b 1"},
		{"R1 a", "deck.cir:2:1-2:5 netlist-card: R1 ends too early: expected Rname node node value", "a", "R1 a a 1"},
		{"R1 a b TC=1", "deck.cir:2:1-2:12 netlist-card: R1 has no value: expected Rname node node value", "a b", "R1 a b R=1 TC=1"},
		{"R1 a b c 10k", "deck.cir:2:1-2:13 netlist-card: R1 has two values or too many nodes: expected Rname node node value", "a b c", "R1 a b 10k"},
		{"R1 a b 10k x y", `deck.cir:2:14-2:15 netlist-card: unexpected "y" in R1: expected Rname node node value`, "a b x y", "R1 a b 10k x"},
		{"C1 a = 1", `deck.cir:2:4-2:5 netlist-card: unexpected "a" in C1: expected Cname node node value`, "a", "C1 a b C = 1"},
		{"Y1 a b 5", `deck.cir:2:1-2:3 netlist-card: "Y1" is no card: no element starts with "Y"`, "a b", "X1 a b 5"},
		{"a b", `deck.cir:2:1-2:2 netlist-card: "a" is no card: no element starts with "a"`, "b", "v1 b 0"},
		{"(R1 a b", `deck.cir:2:1-2:2 netlist-card: "(" is no card: no element starts with "("`, "R1 a b", "R1 (a b) 1"},
		{"K1 L1 0.5", "deck.cir:2:1-2:10 netlist-card: K1 names fewer than two inductors: expected Kname inductor inductor coupling", "L1", "K1 L1 L2 0.5\nL1 a 0 1\nL2 a 0 1"},
		{"V1 a 0 5 6", "deck.cir:2:1-2:11 netlist-card: V1 has two values or too many nodes: expected Vname node node [[DC] value] [AC ...] [function(...)]", "a 0", "V1 a 0 5 AC 6"},
		{"V1 a 0 PULS(0 5)", `deck.cir:2:8-2:12 netlist-card: V1 has an unknown source function "PULS"; did you mean "PULSE"?`, "a 0 PULS", "V1 a 0 PULSE(0 5)"},
		{"V1 a 0 PULSE(0 5", `deck.cir:2:1-2:17 netlist-card: V1 ends too early: expected Vname node node [[DC] value] [AC ...] [function(...)]`, "a 0", "V1 a 0 PULSE 0 5"},
		{"V1 a 0 PWL(((((((((0 1)))))))))", "deck.cir:2:19-2:20 netlist-card: V1: parentheses nest too deep", "a 0", "V1 a 0 PWL((0 1) (2 3))"},
		{"V1 a 0 SIN()", "deck.cir:2:8-2:11 netlist-card: SIN of V1 has no values", "a 0", "V1 a 0 SIN(0 1)"},
		{"V1 a 0 PWL(0 1 2)", "deck.cir:2:8-2:11 netlist-card: PWL of V1 has a time without a value", "a 0", "V1 a 0 PWL(0 1 2 3)"},
		{"V1 a 0 SIN(0 1) EXP(0 1)", "deck.cir:2:17-2:20 netlist-card: V1 has two source functions", "a 0", "V1 a 0 SIN(0 1) AC"},
		{"V1 a 0 AC 1 2 3", "deck.cir:2:1-2:16 netlist-card: V1 has more than magnitude and phase behind AC", "a 0", "V1 a 0 AC 1 2"},
		{"E1 a b c 5", "deck.cir:2:1-2:11 netlist-card: E1 ends too early: expected Ename node node control control gain", "a b c", "E1 a b c d 5"},
		{"F1 a b", "deck.cir:2:1-2:7 netlist-card: F1 ends too early: expected Fname node node source gain", "a b", "F1 a b V1 5\nV1 c 0"},
		{"B1 a b 5", `deck.cir:2:8-2:9 netlist-card: unexpected "5" in B1: expected Bname node node V=expression or I=expression`, "a b", "B1 a b V=5"},
		{"B1 a b V=1 I=2 3", `deck.cir:2:16-2:17 netlist-card: unexpected "3" in B1: expected Bname node node V=expression or I=expression`, "a b", "B1 a b V=1 I=2"},
		{"D1 a b", "deck.cir:2:1-2:7 netlist-card: D1 ends too early: expected Dname node node model", "a b", "D1 a b dm"},
		{"D1 a b c dm", "deck.cir:2:1-2:12 netlist-card: D1 has too many nodes: expected Dname node node model", "a b c dm", "D1 a b dm 2"},
		{"Q1 a b qm", "deck.cir:2:1-2:10 netlist-card: Q1 has too few nodes: expected Qname collector base emitter [substrate] model", "a b qm", "Q1 a b c qm 2"},
		{"Q1 a b c d e f qm", "deck.cir:2:1-2:18 netlist-card: Q1 has too many nodes: expected Qname collector base emitter [substrate] model", "a b c d e f qm", "Q1 a b c d qm {2}"},
		{"M1 a b c nope", "deck.cir:2:1-2:14 netlist-card: M1 has too few nodes, or its model \"nope\" is nowhere defined: expected Mname drain gate source bulk model", "a b c nope", "M1 a b c mm L=1u"},
		{"J1 a b jm", "deck.cir:2:1-2:10 netlist-card: J1 ends too early: expected Jname drain gate source model", "a b jm", "J1 a b c jm"},
		{"S1 a b c sm", "deck.cir:2:1-2:12 netlist-card: S1 ends too early: expected Sname node node control control model", "a b c sm", "S1 a b c d sm ON"},
		{"T1 a b c d", "deck.cir:2:1-2:11 netlist-card: T1 ends too early: expected Tname node node node node Z0=value ...", "a b c d", "T1 a b c d Z0=50"},
		{"X1 amp", "deck.cir:2:1-2:7 netlist-card: X1 names no node: expected Xname node ... subcircuit", "amp", "X1 a amp"},
		{"R1 a b {1+}", `deck.cir:2:11-2:12 netlist-card: R1: a value is missing after "+", found "}"`, "a b", "R1 a b {1+1}"},
		{"R1 a b {}", `deck.cir:2:9-2:10 netlist-card: R1: an expression is missing, found "}"`, "a b", "R1 a b {0}"},
		{"R1 a b {(1", `deck.cir:2:1-2:11 netlist-card: R1: "(" is not closed, found the end of the card`, "a b", "R1 a b {(1)}"},
		{"R1 a b {1", `deck.cir:2:1-2:10 netlist-card: R1: "{" is not closed, found the end of the card`, "a b", "R1 a b {1}"},
		{"R1 a b '1 2'", `deck.cir:2:11-2:12 netlist-card: R1: "'" is not closed, found "2"`, "a b", "R1 a b '1+2'"},
		{"R1 a b {c ? 1}", `deck.cir:2:14-2:15 netlist-card: R1: ":" is missing in a choice a ? b : c, found "}"`, "a b c", "R1 a b {c ? 1 : 2}"},
		{"R1 a b }", `deck.cir:2:8-2:9 netlist-card: R1: "}" closes nothing`, "a b", "R1 a b 1"},
		{`R1 a "b 10k`, "deck.cir:2:6-2:12 netlist-card: R1: a quote is not closed", "a b", `R1 a "b" 10k`},
		{".subkct amp a b", `deck.cir:2:1-2:8 netlist-card: unknown dot card ".subkct"; did you mean ".subckt"?`, "a b", ".temp 27"},
		{".if (x\n.endif", `deck.cir:2:1-2:7 netlist-card: .if: "(" is not closed, found the end of the card`, "", ".if (x)\n.elseif (y)\n.else\n.endif"},
		{".if (x)\nRX a b 5", "deck.cir:2:1-2:8 netlist-card: .if has no .endif", "-", ".if (x)\nRX a b 5\n.endif"},
		{".endif", "deck.cir:2:1-2:7 netlist-card: .endif belongs to no .if", "-", ".if 1\n.endif"},
		{".else", "deck.cir:2:1-2:6 netlist-card: .else belongs to no .if", "-", ".if 1\n.else\n.endif"},
		{".if 1\n.else\n.elseif 2\n.endif", "deck.cir:4:1-4:10 netlist-card: a branch follows .else, which is the last one", "-", ".if 1\n.elseif 2\n.else\n.endif"},
		{".subckt sa p\n.if 1\n.ends\n.endif", "deck.cir:3:1-3:6 netlist-card: .if has no .endif\ndeck.cir:5:1-5:7 netlist-card: .endif belongs to no .if", "-", ".subckt sa p\n.if 1\n.endif\n.ends"},
		{".subckt sa p\n.if 1\n.subckt sb q\n.ends sb\n.endif\n.ends", "deck.cir:4:1-4:13 netlist-subcircuit: subcircuit sb is defined under a condition inside another subcircuit, which is not understood", "-", ".if 1\n.subckt sa p\n.subckt sb q\n.ends\n.endif"},
		{".func f", "deck.cir:2:1-2:8 netlist-card: .func ends too early: expected .func name(argument, ...) {expression}", "", ".func f() {1}"},
		{".func f(x) ", "deck.cir:2:1-2:11 netlist-card: .func ends too early: expected .func name(argument, ...) {expression}", "", ".func f(x) = x"},
		{".func f(x,2) {x}", `deck.cir:2:10-2:11 netlist-card: unexpected "," in .func: expected .func name(argument, ...) {expression}`, "", ".func f(x,y) 'x'"},
		{".func f(x,x) {x}", "deck.cir:2:11-2:12 netlist-expression: function f names its argument x twice", "-", ".param f(x,y)=x"},
		{".model dn ako:", "deck.cir:2:1-2:15 netlist-card: .model ends too early: expected .model name type(parameter=value ...)", "", ".model dn ako:dm"},
		{".lib", "deck.cir:2:1-2:5 netlist-card: .lib ends too early: expected .lib file section or .lib section", "", ".lib 'a b.lib'"},
		{".lib x.lib tt", `deck.cir:2:1-2:14 netlist-include: "x.lib" cannot be included: no such file`, "-", ".lib \"a b.lib\""},
		{".options tnom={x}", "deck.cir:2:10-2:14 netlist-card: the option tnom is no plain number: what follows temperature by a coefficient is not known", "-", ".options tnom=25 acct reltol=1m"},
		{".option scale=1u", "deck.cir:2:9-2:14 netlist-card: the option scale is not understood: lengths and widths are taken as they are written, not as .option scale=1u asks", "-", ".option scale=1"},
		{".endl", "deck.cir:2:1-2:6 netlist-card: .endl closes nothing: no section of a library is open", "-", ".lib tt\nRX a\n.endl tt"},
		{".lib tt\n.endl ss", "deck.cir:3:1-3:9 netlist-card: .endl ss closes section tt", "-", ".lib tt\n.endl TT"},
		{".data rows\n1 2", "deck.cir:2:1-2:11 netlist-card: .data has no .enddata: what follows it was not read", "gone", ".data rows\n1 2\n.enddata"},
		{".subckt", "deck.cir:2:1-2:8 netlist-card: .subckt ends too early: expected .subckt name node ... [parameter=value ...]\ndeck.cir:2:1-2:8 netlist-card: subcircuit without a name has no .ends", "", ".subckt amp\n.ends"},
		{".subckt amp a b", "deck.cir:2:1-2:16 netlist-card: subcircuit amp has no .ends", "-", ".subckt amp a b\n.ends amp"},
		{".ends", "deck.cir:2:1-2:6 netlist-card: .ends closes nothing: no subcircuit is open", "-", ".subckt amp a b\n.ends"},
		{".model dn", "deck.cir:2:1-2:10 netlist-card: .model ends too early: expected .model name type(parameter=value ...)", "", ".model dn d"},
		{".model dn d(is=1", "deck.cir:2:1-2:17 netlist-card: .model ends too early: expected .model name type(parameter=value ...)", "d", ".model dn d is=1"},
		{".param 5", `deck.cir:2:8-2:9 netlist-card: unexpected "5" in .param: expected .param name=value ...`, "", ".param x=5"},
		{".param x=", "deck.cir:2:1-2:10 netlist-card: .param ends too early: expected .param name=value ...", "", ".param x=1 y=2"},
		{".include", "deck.cir:2:1-2:9 netlist-card: .include ends too early: expected .include path", "", ".include 'a b.lib'"},
		{".include x.lib", `deck.cir:2:1-2:15 netlist-include: "x.lib" cannot be included: no such file`, "-", ".inc \"a b.lib\""},
		{".global", "deck.cir:2:1-2:8 netlist-card: .global ends too early: expected .global node ...", "", ".global a"},
		{"RN c d 5", "deck.cir:3:1-3:9 netlist-card: the name RN is used twice; both elements stay in the circuit", "-", "RM c d 5"},
		{"F1 a b VQ 5\nVP c 0", `deck.cir:2:1-2:12 netlist-card: F1 names the voltage source "VQ", which is not there; did you mean "vp"?`, "-", "F1 a b VP 5\nVP c 0"},
		{".model dm d(is=2)", "deck.cir:5:1-5:12 netlist-card: model dm is defined twice; the first one holds", "-", ".model dm d"},
		{".param x=1 x=2", "deck.cir:2:14-2:15 netlist-card: parameter x is defined twice; the last one holds", "-", ".param x=1 x=1"},
		{".control\nrun", "deck.cir:2:1-2:9 netlist-card: .control has no .endc: what follows it was not read", "gone", ".control\nrun\n.endc"},
	} {
		n, diags := deck(t, c.bad+beside)
		same(t, c.bad, diags, lines(c.diag))
		if c.nets == "gone" {
			continue
		}
		var names []string
		unread := 0
		for id := range n.Cards {
			if n.Cards[id].Kind == '?' {
				unread++
				for _, nd := range n.CardNodes(CardID(id)) {
					names = append(names, n.Names[nd])
				}
			}
		}
		if c.nets == "-" && unread != 0 || c.nets != "-" && (unread != 1 || strings.Join(names, " ") != c.nets) {
			t.Errorf("%s: %d unread cards, on %q, want %q", c.bad, unread, strings.Join(names, " "), c.nets)
		}
		good := strings.Replace(beside, ".model dm d\n", map[bool]string{true: "", false: ".model dm d\n"}[strings.HasPrefix(c.good, ".model dm")], 1)
		_, diags = deck(t, c.good+good, "a b.lib", "* empty\n")
		if len(diags) > 0 {
			t.Errorf("%s: the twin is not silent: %v", c.good, diags)
		}
	}
}

func TestRestIsRead(t *testing.T) {
	n, diags := deck(t, "R1 a b\n+ }\n.subckt amp p\nR2 p\nR3 p 0 1\n.ends\n+ c e\nR4 a b 1\n")
	same(t, "diagnostics", diags, []string{
		`deck.cir:3:3-3:4 netlist-card: R1: "}" closes nothing`,
		"deck.cir:5:1-5:5 netlist-card: R2 ends too early: expected Rname node node value",
		`deck.cir:8:5-8:6 netlist-card: unexpected "e" in .ends: expected .ends [name]`,
	})
	same(t, "cards", drawnAll(n), []string{"? R1 a b", "? R2 p", "R R3 p 0 = 1", "? .ends", "R R4 a b = 1"})
	if n.Cards[2].Scope != 1 || n.Cards[4].Scope != 0 {
		t.Error("the subcircuit's end was lost with its card")
	}
}

func TestOrphan(t *testing.T) {
	n, diags := whole(t, "title\n+ a b 10k\nR1 a b 1\n")
	same(t, "diagnostics", diags, []string{"deck.cir:2:1-2:10 netlist-card: a continuation line has no card before it"})
	same(t, "cards", drawnAll(n), []string{"? + a b", "R R1 a b = 1"})
}

func TestWrongEnds(t *testing.T) {
	_, diags := deck(t, ".subckt amp p\n.subckt inner q\n.ends amp\n.subckt ferry p\n.ends fery\n")
	same(t, "diagnostics", diags, []string{
		"deck.cir:4:1-4:10 netlist-card: .ends amp also closes inner, which is still open",
		`deck.cir:6:1-6:11 netlist-card: .ends fery closes no open subcircuit: it was taken to close ferry; did you mean "ferry"?`,
	})
}

func TestPortsOfSubcircuits(t *testing.T) {
	_, diags := deck(t, ".subckt amp p 0 q\n.ends\n.subckt buf p P\n.ends\n.subckt buf p\n.ends\n.subckt twice p\nR1 p 0 1\n.ends\n.subckt twice p\nR1 p 0 1\n.ends\n")
	same(t, "diagnostics", diags, []string{
		"deck.cir:2:15-2:16 netlist-subcircuit: ground is no port of a subcircuit: it is the same node everywhere",
		`deck.cir:4:15-4:16 netlist-subcircuit: port "P" of subcircuit buf is named twice`,
		"deck.cir:6:1-6:14 netlist-subcircuit: subcircuit buf is defined twice; the first one holds",
	})
}
