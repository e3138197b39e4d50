package parse

import (
	"strings"
	"testing"
)

func TestTitle(t *testing.T) {
	// SPICE3f3 User's Manual, 2.1 to 2.5: the first line is the title whatever it contains.
	for _, c := range []struct{ text, title, cards, diag string }{
		{"R1 is hot\nR2 a b 5\n", "R1 is hot", "R R2 a b = 5", ""},
		{".model d1 d\nD1 a b d1\n", "", "D D1 a b : d1", ""},
		{"* .param\nR2 a b 5", "* .param", "R R2 a b = 5", ""},
		{"\nR2 a b 5", "", "R R2 a b = 5", ""},
		{"\ufeffferry winch\r\nR2 a b 5\r\n", "ferry winch", "R R2 a b = 5", ""},
		{"... and on\nR2 a b 5", "... and on", "R R2 a b = 5", ""},
		{"Cable ferry winch 48 V\nR2 a b 5", "Cable ferry winch 48 V", "R R2 a b = 5", ""},
		{"R1 a b 10k\nR2 a b 5", "R1 a b 10k", "R R2 a b = 5",
			`deck.cir:1:1-1:11 netlist-title: the first line is the title by rule, but "R1 a b 10k" looks like an element card and is not in the circuit: put a title line above it, or read it with --first-line card`},
		{"D1 a b dm\n.model dm d\nR2 a b 5", "D1 a b dm", "R R2 a b = 5",
			`deck.cir:1:1-1:10 netlist-title: the first line is the title by rule, but "D1 a b dm" looks like an element card and is not in the circuit: put a title line above it, or read it with --first-line card`},
		{"D1 a b dm\nR2 a b 5", "D1 a b dm", "R R2 a b = 5", ""},
		{"X1 a b amp\n.subckt amp p q\n.ends\nR2 a b 5", "X1 a b amp", "R R2 a b = 5",
			`deck.cir:1:1-1:11 netlist-title: the first line is the title by rule, but "X1 a b amp" looks like an element card and is not in the circuit: put a title line above it, or read it with --first-line card`},
		{"Xenon lamp 2\nR2 a b 5", "Xenon lamp 2", "R R2 a b = 5", ""},
		{"", "", "", ""}, {"only", "only", "", ""},
	} {
		n, diags := whole(t, c.text)
		if got := n.Src.Text(n.Title); got != c.title {
			t.Errorf("%q: title %q, want %q", c.text, got, c.title)
		}
		same(t, c.text, drawnAll(n), lines(c.cards))
		same(t, c.text, diags, lines(c.diag))
	}
}

func lines(s string) []string {
	if s == "" {
		return nil
	}
	return strings.Split(strings.TrimSpace(s), "\n")
}

// SPICE3f3 User's Manual, 2.1 to 2.5, and the reader of the published SPICE3f5 program source.
func TestStructure(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"continuation", "R1 a\n+ b\n+10k", "R R1 a b = 10000"},
		{"continuation behind comments", "R1 a\n* and\n\n; then\n$ more\n# still\n// so\n+ b\n   + 10k\n", "R R1 a b = 10000"},
		{"backslash", "R1 a \\\nb 10k\nR2 a b\\\n\n* and\n + 1\nR3 a b 1 ; \\\nR4 a b \\\\\n\\\n2", "R R1 a b = 10000\nR R2 a b = 1\nR R3 a b = 1\nR R4 a b = 2"},
		{"nothing but a backslash", "\\\nR1 a b 1\n \\\\ \n\\\n", "R R1 a b = 1"},
		{"form feeds", "R1 a b 1\f\n\f\nR2\fa b 2", "R R1 a b = 1\nR R2 a b = 2"},
		{"behind the end", "R1 a b 1\n.END\nR2 a b 2\n}}}", "R R1 a b = 1"},
		{"other runs", "R1 a b 1\n.data r\nR2 a b 2\n.enddata\nR3 a b 3\n.alter\nR3 a b 4\n}}}", "R R1 a b = 1\nR R3 a b = 3"},
		{"commands", "R1 a b 1\n.control\nR2 a b 2\n}}}\n.endc\nR3 a b 3", "R R1 a b = 1\nR R3 a b = 3"},
		{"macros", ".macro cell p\nR1 p 0 1\n.eom\nR2 a b 2", "R R1 p 0 = 1\nR R2 a b = 2"},
		{"sections that nobody asks for", "R1 a b 1\n.lib tt\nR2 a b 2\n.endl\nR3 a b 3", "R R1 a b = 1\nR R3 a b = 3"},
		{"empty continuation", "R1 a b\n+\n+ 10k\n+\n", "R R1 a b = 10000"},
		{"leading blanks", "\t  R1 a b 10k", "R R1 a b = 10000"},
		{"lone carriage returns", "R1 a b 1\rR2 a b\r+ 2\r", "R R1 a b = 1\nR R2 a b = 2"},
		{"DOS line ends", "R1 a b 1\r\nR2 a b\r\n+ 2\r\n", "R R1 a b = 1\nR R2 a b = 2"},
		{"no line end", "R1 a b 1", "R R1 a b = 1"},
		{"separators", "R1,a,(b)\t10k", "R R1 a b = 10000"},
		{"equals sign", "V1 a 0 DC = 5", "V V1 a 0 = 5"},
		{"trailing comments", "R1 a b 1 ; x\nR2 a b 2 $ x\nR3 a b 3 // x\nR4 a b 4;x\nR5 a b 5 $", "R R1 a b = 1\nR R2 a b = 2\nR R3 a b = 3\nR R4 a b = 4\nR R5 a b = 5"},
		{"no comments", "R1 a//b $N_0042 1\nR2 a$b c$ 2", "R R1 a//b $N_0042 = 1\nR R2 a$b c$ = 2"},
		{"odd names", `R1 n[3] in- 1` + "\n" + `R2 in+ a/b#_.! 2` + "\n" + `R3 "net 1; x" -5V 3`, "R R1 n[3] in- = 1\nR R2 in+ a/b#_.! = 2\nR R3 net 1; x -5V = 3"},
		{"names in any case", "R1 Out b 1\nR2 OUT B 2", "R R1 Out b = 1\nR R2 Out b = 2"},
		{"ground", "R1 gnd b 1\nR2 0 GND 2\nR3 00 b 3", "R R1 0 b = 1\nR R2 0 0 = 2\nR R3 00 b = 3"},
		{"end", "R1 a b 1\n.END\nR2 a b 2\nnonsense", "R R1 a b = 1"},
		{"ignored cards", ".tran 1n 1u\nR1 a b 1\n.options reltol=.01 {\n.plot v(1)", "R R1 a b = 1"},
		{"command block", ".control\nrun\nplot v(1)\n.endc\nR1 a b 1", "R R1 a b = 1"},
		{"zero ohm", "R1 a b 0", "R R1 a b = 0"},
	} {
		n, diags := deck(t, c.text)
		silent(t, diags)
		same(t, c.name, drawnAll(n), lines(c.want))
	}
}

func TestNotes(t *testing.T) {
	n, diags := whole(t, "* ShuntWright: silent = [\"x\"] \n"+
		"R1 a gnd 1\n*shuntwright : rails.A = \"1 V\"\n+ \n* shuntwrights: no\n.tran 1 2\n* Shuntwright:\n.opt x\nR2 GND b 1\n.end\n* shuntwright: late = 1\n")
	silent(t, diags)
	var pragmas []string
	for _, p := range n.Pragmas {
		pragmas = append(pragmas, n.Src.Text(p))
	}
	same(t, "pragmas", pragmas, []string{`silent = ["x"]`, `rails.A = "1 V"`, ""})
	var ignored []string
	for _, i := range n.Ignored {
		ignored = append(ignored, i.Word+"|"+n.Src.Text(i.At))
	}
	same(t, "ignored", ignored, []string{".tran|.tran 1 2", ".opt|.opt x"})
	if p := n.Src.Place(n.GroundAlias); p.Line != 2 || p.Column != 6 || p.EndCol != 9 {
		t.Errorf("gnd first at %+v", p)
	}
}

func TestSubcircuits(t *testing.T) {
	n, diags := deck(t, `.global vcc VSS
.subckt amp in out PARAMS: gain=2
R1 in out {gain}
.subckt inner p
R2 p 0 1
.ends inner
.param k=2
X1 in inner
.ends amp
R3 a b 1
.subckt outer p
.subckt deep q
R4 q 0 1
.ends
R5 a b 1
`)
	silent(t, diags)
	type sub struct {
		name  string
		up    SubID
		cards int
	}
	for i, want := range []sub{{"0", 0, 6}, {"amp", 0, 3}, {"inner", 1, 1}, {"outer", 0, 1}, {"deep", 3, 1}} {
		s := n.Subs[i]
		if got := (sub{n.Names[s.Name], s.Up, int(s.End - s.First)}); got != want {
			t.Errorf("subcircuit %d is %+v, want %+v", i, got, want)
		}
	}
	// SPICE3f3 User's Manual, 2.4: without a name .ends closes all that are open.
	for id, want := range []SubID{1, 2, 1, 0, 4, 0} {
		if n.Cards[id].Scope != want {
			t.Errorf("%s stands in %d, want %d", n.CardName(CardID(id)), n.Cards[id].Scope, want)
		}
	}
	if s := n.Subs[1]; len(s.Ports) != 2 || len(s.Params) != 1 || len(s.Locals) != 1 {
		t.Errorf("amp is %+v", s)
	}
	if len(n.Globals) != 2 {
		t.Errorf("globals %v", n.Globals)
	}
}
