package parse_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Any netlist, printed and read again, is the same circuit, whatever its layout was.
func TestPrintReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := drawDeck(t)
		n, diags := readText(text)
		if len(diags) > 0 {
			t.Fatalf("the deck itself is wrong: %v\n%s", spoken(n.Src, diags), text)
		}
		shown := printText(t, n)
		again, diags := readText(shown)
		if len(diags) > 0 {
			t.Fatalf("%v\n%s\nof\n%s", spoken(again.Src, diags), shown, text)
		}
		if why := different(n, again); why != "" {
			t.Fatalf("%s\n%s\nof\n%s", why, shown, text)
		}
		if a, b := strings.Join(flattened(n), "\n"), strings.Join(flattened(again), "\n"); a != b {
			t.Fatalf("flat:\n%s\nbecame\n%s\n%s\nof\n%s", a, b, shown, text)
		}
		if twice := printText(t, again); twice != shown {
			t.Fatalf("printed twice:\n%s\nafter\n%s", twice, shown)
		}
	})
}

// The names that decks are drawn from: they look like numbers, operators, paths and words of the language.
var (
	oddNodes = []string{"0", "GND", "a", "Out", "in-", "a[3]", "net-5", "+5V", "N$12", "vdd!", `"/sheet1/PHASE A"`, "gnd!", `"vcvs"`, "x1.n2", "12", "007",
		"00", "1k", "\u00b5C", `"a;b"`, `"on"`, "n_1", "*q", "#7", `"dc"`, `"value"`, "1e3", "p/q", `"//z"`, "vcc"}
	oddNumbers = []string{"1", "10k", "4.7MEG", "1e-3", "2.5u", "1mil", "0", "-3", "+5", "1.5e3k", ".5", "3.", "1d2", "0.1", "33n", "+-2", "1e-320"}
	oddParams  = []string{"k", "gain", "Rs", "_x", "a.b", "w1"}
)

// A layout writes one card token by token in some of the many ways in which that may be done.
type layout struct {
	t     *rapid.T
	lines []string // line ends
	b     strings.Builder
}

func (l *layout) end() string { return rapid.SampledFrom(l.lines).Draw(l.t, "end") }

// card writes a card whose tokens stand behind separators.
func (l *layout) card(tokens ...string) {
	for i, tok := range tokens {
		if i > 0 {
			l.b.WriteString(l.between(tok))
		} else if rapid.IntRange(0, 9).Draw(l.t, "indent") == 0 {
			l.b.WriteString(" \t")
		}
		l.b.WriteString(tok)
	}
	switch rapid.IntRange(0, 9).Draw(l.t, "tail") {
	case 0:
		l.b.WriteString(" ; a note")
	case 1:
		l.b.WriteString("\t$ a note ; {")
	case 2:
		l.b.WriteString(" // \"a note")
	case 3:
		l.b.WriteString(l.end() + "* a line" + l.end() + l.end() + "+" + l.end())
	}
	l.b.WriteString(l.end())
}

func (l *layout) between(next string) string {
	switch rapid.IntRange(0, 11).Draw(l.t, "between") {
	case 0:
		return "\t "
	case 1:
		return l.end() + "+ "
	case 2:
		return l.end() + " \t+\t"
	case 3:
		return l.end() + "* between" + l.end() + "+ "
	case 5:
		return l.end() + "$ between" + l.end() + "+ "
	case 4:
		return " ; why" + l.end() + l.end() + "# so" + l.end() + "+" + " "
	}
	comment := next == "" || strings.Contains("*#", next[:1])
	if rapid.IntRange(0, 19).Draw(l.t, "backslash") == 0 && !comment {
		return " \\" + l.end()
	}
	return " "
}

func (l *layout) pick(list []string) string { return rapid.SampledFrom(list).Draw(l.t, "of") }

func (l *layout) maybe() bool { return rapid.Bool().Draw(l.t, "maybe") }

// casing writes a word in some letter case: case never counts outside of quotes.
func (l *layout) casing(s string) string {
	switch rapid.IntRange(0, 2).Draw(l.t, "case") {
	case 0:
		return strings.ToUpper(s)
	case 1:
		return strings.ToLower(s)
	}
	return s
}

// value is a number, an expression in braces or quotes, or a bare parameter.
func (l *layout) value() string {
	switch rapid.IntRange(0, 4).Draw(l.t, "value") {
	case 0:
		return "{" + drawExpr(l.t, 2) + "}"
	case 1:
		return "'" + strings.NewReplacer("{", "(", "}", ")", "'", "").Replace(drawExpr(l.t, 2)) + "'"
	case 2:
		return l.pick(oddParams)
	}
	return l.number()
}

func (l *layout) number() string { return l.pick(oddNumbers) }

func (l *layout) assign(name, value string) []string {
	switch rapid.IntRange(0, 2).Draw(l.t, "equals") {
	case 0:
		return []string{name, "=", value}
	case 1:
		return []string{name + "=", value}
	}
	return []string{name + "=" + value}
}

func (l *layout) assigns(names ...string) (out []string) {
	for _, name := range names {
		if !l.maybe() {
			continue
		}
		out = append(out, l.assign(l.casing(name), l.value())...)
		for range rapid.IntRange(0, 2).Draw(l.t, "more") {
			out = append(out, l.pick([]string{",", ""})+l.pick([]string{"2", "{k+1}", "1e-3"}))
		}
	}
	return out
}

// formulaTail is name=value behind an expression that nothing closes.
func (l *layout) formulaTail() (out []string) {
	if l.maybe() {
		out = append(out, l.assign(l.casing("tc1"), l.pick([]string{"1", "{k}", "-2*k", "gain"}))...)
		if l.maybe() {
			out = append(out, "{2}")
		}
	}
	return out
}

func (l *layout) node() string {
	s := l.pick(oddNodes)
	if s[0] != '"' {
		s = l.casing(s)
	}
	return s
}

func (l *layout) nodes(n int) (out []string) {
	for range n {
		out = append(out, l.node())
	}
	return out
}

// A cell is a subcircuit that can be called.
type cell struct {
	name  string
	ports int
}

// drawDeck draws a netlist in which everything that is named is there.
func drawDeck(t *rapid.T) string {
	l := &layout{t: t, lines: []string{"\n"}}
	if l.maybe() {
		l.lines = []string{"\n", "\r\n", "\r"}
	}
	l.b.WriteString(l.pick([]string{"a deck", "", "* shuntwright: rails.A = \"5 V\"", "  spaced\ttitle ", "\u00fcber"}) + l.end())
	l.card(l.casing(".global"), "VCC", `"net g"`)
	l.card(l.casing(".model"), "dm", l.casing("d")+l.pick([]string{"", "(is=1f n={k})", " (is = 1f, mfg=ferry)", " bv=5", "(ic=1,2 3)"}))
	for _, m := range [][2]string{{"qm", "npn"}, {`"q m"`, "PNP"}, {"mm", "nmos"}, {"jm", "NJF"}, {"sm", "sw"}, {"wm", "csw"}, {"om", "ltra"},
		{"um", "urc"}, {"rm", "r"}} {
		l.card(l.casing(".MODEL"), m[0], m[1]+"(", "vto="+l.number(), ")")
	}
	l.card(".model", "rk", l.pick([]string{"ako:rm", "AKO: RM"}), l.pick([]string{"", "r", "(tc1=2)", "R(tc1=2,tc2={k})"}))
	l.scope(2, nil)
	if l.maybe() {
		l.card(".tran", "1n", "1u")
	}
	if l.maybe() {
		l.card(l.casing(".end"))
	}
	return l.b.String()
}

// scope writes parameters, elements, choices and subcircuits in any order.
func (l *layout) scope(depth int, cells []cell) {
	l.card("VS", l.node(), l.node())
	l.card("LA", l.node(), l.node(), "1u")
	l.card("LB", l.node(), l.node(), "L=2u")
	params := rapid.Permutation(oddParams).Draw(l.t, "parameters")
	ifs := []int{} // 0 for each .if without an .else so far
	for i := range rapid.IntRange(0, 10).Draw(l.t, "cards") {
		name := fmt.Sprintf("%d%s", i, l.pick([]string{"", "_a", "[2]", ".x", "-q", "\\"}))
		switch n := rapid.IntRange(0, 14).Draw(l.t, "card"); {
		case n == 10:
			l.card(l.casing(".func"), l.pick([]string{"f(x,y)", "f ( x )", "f()"}), l.pick([]string{"", "="}), "{"+drawExpr(l.t, 2)+"}")
		case n == 11:
			l.card(l.casing(".if"), l.condition())
			ifs = append(ifs, 0)
		case n == 12 && len(ifs) > 0 && ifs[len(ifs)-1] == 0:
			if l.maybe() {
				l.card(l.casing(".elseif"), l.condition())
			} else {
				l.card(l.casing(".else"))
				ifs[len(ifs)-1] = 1
			}
		case n == 13 && len(ifs) > 0:
			l.card(l.casing(".endif"))
			ifs = ifs[:len(ifs)-1]
		case n == 0 && len(params) > 0:
			card := append([]string{l.casing(".param")}, l.assign(l.casing(params[0]), l.value())...)
			params = params[1:]
			if len(params) > 0 && l.maybe() {
				card = append(card, l.assign(params[0], "2*"+l.pick([]string{"k", "(3-1)", "{1}"}))...)
				params = params[1:]
			}
			l.card(card...)
		case n == 1 && depth > 0 && (depth == 2 || len(ifs) == 0):
			cells = append(cells, l.subckt(fmt.Sprintf("cell%d%d", depth, i), depth, cells))
		case n == 2 && len(cells) > 0:
			c := cells[rapid.IntRange(0, len(cells)-1).Draw(l.t, "cell")]
			card := append([]string{l.casing("X" + name)}, l.nodes(c.ports)...)
			card = append(card, l.casing(c.name))
			more := l.assigns("g", "w")
			switch rapid.IntRange(0, 3).Draw(l.t, "params") {
			case 0:
				card = append(card, l.casing("params:"))
			case 1:
				if len(more) > 0 {
					more[0] = l.casing("params:") + more[0]
				}
			case 2:
				card = append(card, l.casing("param")+" :")
			}
			l.card(append(card, more...)...)
		default:
			l.element(name)
		}
	}
	for range ifs {
		l.card(".endif")
	}
}

func (l *layout) condition() string {
	return l.pick([]string{"(", " ( "}) + l.pick([]string{"k==2", "k < 1", "nope", "1", "f(1)", "gain>=k && !k"}) + ")"
}

func (l *layout) subckt(name string, depth int, cells []cell) cell {
	ports := rapid.Permutation([]string{"p", "Q[1]", `"port 3"`, "-5V", "7", "vcc"}).Draw(l.t, "ports")
	ports = ports[:rapid.IntRange(1, 4).Draw(l.t, "how many ports")]
	card := append([]string{l.casing(".subckt"), l.casing(name)}, ports...)
	if l.maybe() {
		card = append(card, l.casing("params:"))
	}
	l.card(append(card, l.assigns("g", "w")...)...)
	l.scope(depth-1, cells)
	l.card(l.casing(".ends"), l.casing(name))
	return cell{name, len(ports)}
}

// element writes an element of any letter but X.
func (l *layout) element(name string) {
	letter := l.pick(strings.Split("R C L K V I E G F H B D Q J Z M S W T O U", " "))
	card := []string{l.casing(letter) + name}
	put := func(words ...string) { card = append(card, words...) }
	on := func(n int) { put(l.nodes(n)...) }
	some := func(words ...string) {
		if l.maybe() {
			put(words...)
		}
	}
	switch letter {
	case "R", "C", "L":
		on(2)
		switch rapid.IntRange(0, 3).Draw(l.t, "value") {
		case 0:
			put(l.value())
			some(l.pick([]string{"rm", "RM", "{rm}"}))
		case 1:
			put(l.casing("rm"), l.number())
		case 2:
			some(l.casing("rm"))
			fallthrough
		default:
			put(l.assign(l.casing(letter), l.value())...)
		}
		some(`mfg="any one"`)
		put(l.assigns("tc", "w", "ic")...)
	case "K":
		put(l.casing("LA"), l.casing("LB"))
		switch rapid.IntRange(0, 2).Draw(l.t, "coupling") {
		case 0:
			put(l.value())
		case 1:
			put(l.pick([]string{".9", "{k}", "0.5"}), l.pick([]string{"core", `"a core"`}))
		case 2:
			put(l.assign(l.casing("k"), l.value())...)
		}
	case "V", "I":
		on(2)
		switch rapid.IntRange(0, 2).Draw(l.t, "dc") {
		case 0:
			put(l.casing("dc"), l.value())
		case 1:
			put(l.value())
		}
		if l.maybe() {
			put(l.casing("ac"))
			some(l.value())
		}
		switch rapid.IntRange(0, 4).Draw(l.t, "function") {
		case 0:
			put(l.casing("pulse")+"("+l.number(), l.value(), l.value()+")")
		case 1:
			put(l.casing("pwl"), "((0", l.number()+"),", "(1,", l.value(), "))")
		case 2:
			put(l.casing(l.pick([]string{"sin", "sine"})), l.number(), l.number(), l.value())
		case 3:
			put("PWL", "(", "0", l.number(), "+1", l.value(), "+2u", "3", ")")
		}
		put(l.assigns("m")...)
	case "E", "G":
		on(2)
		some(map[string]string{"E": l.casing("vcvs"), "G": l.casing("vccs")}[letter])
		switch rapid.IntRange(0, 4).Draw(l.t, "law") {
		case 0:
			put(l.pick([]string{"c", "N$2", `"value"`, `"poly"`, "in-"}), l.node(), l.value())
			put(l.assigns("m")...)
		case 1:
			put(l.casing(l.pick([]string{"value = ", "VALUE", "vol=", "cur ="})), "{"+drawExpr(l.t, 3)+"}")
			put(l.formulaTail()...)
		case 2:
			put("POLY("+l.pick([]string{"1)", "1 )"}), "(c", ",", l.node()+")", l.value(), l.value())
			put(l.assigns("m")...)
		case 3:
			put(l.casing("table"), l.pick([]string{"", "="}), "{"+drawExpr(l.t, 2)+"}", l.pick([]string{"", "="}), "(0,", l.value()+")", l.number(), l.value())
			put(l.assigns("m")...)
		case 4:
			put("LAPLACE", "{v(a)}", l.pick([]string{"{1}", "\\ ;\n+ 2"}), "(3)")
		}
	case "F", "H":
		on(2)
		if l.maybe() {
			put(l.casing("VS"), l.value())
			put(l.assigns("m")...)
		} else {
			put("value=" + drawExpr(l.t, 2))
			put(l.formulaTail()...)
		}
	case "B":
		on(2)
		put(l.pick([]string{"V=", "i = ", "I="}), drawExpr(l.t, 3))
		put(l.formulaTail()...)
	case "D", "J", "Z":
		on(map[string]int{"D": 2, "J": 3, "Z": 3}[letter])
		put(map[string]string{"D": l.casing("dm"), "J": "jm", "Z": "JM"}[letter])
		some(l.value())
		some(l.casing("off"))
		put(l.assigns("ic", "temp")...)
	case "Q":
		on(rapid.IntRange(3, 4).Draw(l.t, "substrate"))
		put(l.pick([]string{"qm", "QM", `"q m"`}))
		some(l.value())
		some(l.casing("off"))
		put(l.assigns("ic")...)
	case "M":
		on(rapid.IntRange(3, 4).Draw(l.t, "bulk"))
		put("mm")
		some(l.casing("off"))
		put(l.assigns("l", "w")...)
	case "S":
		on(4)
		put("sm")
		some(l.casing("on"))
	case "W":
		on(2)
		put("vs", "wm")
		some("OFF")
	case "T":
		on(4)
		put("Z0=" + l.number())
		put(l.assigns("td")...)
	case "O":
		on(4)
		put("om")
	case "U":
		on(3)
		put("um", "L=1u")
	}
	l.card(card...)
}

// drawExpr draws an expression with parentheses where they matter and where they do not.
func drawExpr(t *rapid.T, depth int) string {
	pick := func(list ...string) string { return rapid.SampledFrom(list).Draw(t, "part") }
	if depth == 0 {
		return pick("1", "2k", "0.5", "1e-3", "3meg", ".25", "1e3", "k", "gain", "Rs", "_x", "a.b", "pi", "time", "v(a)", "V( net-5, \"a b\" )",
			"i(VS)", "v(12)", "\u00b5", "v({k}, 2)", "f(\"x y\" \"z\")")
	}
	sub := func() string { return drawExpr(t, depth-1) }
	switch rapid.IntRange(0, 7).Draw(t, "kind") {
	case 0:
		return "(" + sub() + ")"
	case 1:
		return pick("-", "!", "+") + sub()
	case 2:
		return pick("max", "f", "LIMIT") + "(" + sub() + pick(",", " , ") + sub() + ")"
	case 3:
		return sub() + "?" + sub() + " : " + sub()
	case 4:
		return "{" + sub() + "}"
	}
	return sub() + pick("", " ") + pick("+", "-", "*", "/", "**", "^", "<", ">", "<=", ">=", "==", "!=", "<>", "&&", "||") + pick("", "\t") + sub()
}
