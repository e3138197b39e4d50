package parse

import (
	"fmt"
	"strings"
	"testing"
)

// lawOn is a controlled source in short: its nodes and names, then what its law holds.
func lawOn(n *Netlist, id CardID) string {
	x := n.CardExtra(id)
	var b strings.Builder
	for _, nd := range n.CardNodes(id) {
		b.WriteString(n.Names[nd] + " ")
	}
	for _, ref := range x.Names {
		b.WriteString("i(" + n.Names[ref] + ") ")
	}
	fmt.Fprintf(&b, "%s(%d)", x.Law.Form, x.Law.Dimension)
	for _, a := range x.Law.Args {
		b.WriteString(" " + n.Src.Text(a.At))
		if a.Literal() {
			fmt.Fprintf(&b, "=%v", a.Number)
		}
	}
	if x.Law.Expr != nil {
		fmt.Fprintf(&b, " of %d parts", len(x.Law.Expr.Args))
	}
	for _, p := range x.Params {
		b.WriteString(" " + p.Name + "!")
	}
	return b.String()
}

// The card of a polynomial source as the SPICE2 user's guide has it (from memory): dimension, controls, coefficients.
func TestPolynomials(t *testing.T) {
	for _, c := range []struct{ card, want string }{
		{"E1 o 0 POLY(1) a b 0 2", "o 0 a b POLY(1) 0=0 2=2"},
		{"E1 o 0 poly 1 a b 0 2", "o 0 a b POLY(1) 0=0 2=2"},
		{"E1 o 0 POLY ( 2 ) (a,b) (c d) {k} 1k 'k*2' k", "o 0 a b c d POLY(2) {k} 1k=1000 'k*2' k"},
		{"G1 (o,0) POLY(3) (1,0),(2,0),(3,0), 1,-1,.5 m=2", "o 0 1 0 2 0 3 0 POLY(3) 1=1 -1=-1 .5=0.5 m!"},
		{`E1 o 0 POLY(1) "net 1" gnd 5`, "o 0 net 1 0 POLY(1) 5=5"},
		{"F1 o 0 POLY(2) VA VB 0 1 1", "o 0 i(VA) i(VB) POLY(2) 0=0 1=1 1=1"},
		{"H1 o 0 POLY(1) VA 0.5\n+ 1\n+ 2", "o 0 i(VA) POLY(1) 0.5=0.5 1=1 2=2"},
		{"E1 o 0 TABLE {v(a)} = (0,0) (1,5)", "o 0 TABLE(0) 0=0 0=0 1=1 5=5 of 1 parts"},
		{"G1 o 0 table = {v(a)-v(b)} (-1,{k}), (1 , 2m) m=1", "o 0 TABLE(0) -1=-1 {k} 1=1 2m=0.002 of 2 parts m!"},
		{"E1 o 0 TABLE '2' ((0 0) (1 1))", "o 0 TABLE(0) 0=0 0=0 1=1 1=1 of 0 parts"},
		{"E1 o 0 TABLE v(a) = (0,0) (1,5)", "o 0 TABLE(0)"}, // kept as it stands
		{"E1 o 0 LAPLACE {v(a)} {1/(1+s)}", "o 0 LAPLACE(0)"},
		{"E1 o 0 LAPLACE {v(a)} = {1/(1+s)}", "o 0 LAPLACE(0)"},
	} {
		n, diags := deck(t, c.card+"\nVA x 0\nVB y 0\n")
		silent(t, diags)
		if got := lawOn(n, 0); got != c.want {
			t.Errorf("%s\n got %s\nwant %s", c.card, got, c.want)
		}
	}
}

// A polynomial that cannot be read is one message, and stays on every node that it mentions.
func TestPolynomialsRefused(t *testing.T) {
	const form = ": expected Ename node node POLY(n) control control ... p0 p1 ..."
	const table = ": expected TABLE {expression} = (x,y) (x,y) ..."
	for _, c := range []struct{ bad, diag, nets, good string }{
		{"E1 a 0 POLY", "2:1-2:12: POLY of E1 has no dimension" + form, "a 0", "E1 a 0 POLY 1 a b 0 1"},
		{"E1 a 0 POLY(0) b 0 1", `2:13-2:14: POLY of E1 has the dimension "0", which is no whole number from 1 to 100` + form, "a 0 b", "E1 a 0 POLY(1) b 0 1"},
		{"E1 a 0 POLY(1.5) b 0 1", `2:13-2:16: POLY of E1 has the dimension "1.5", which is no whole number from 1 to 100` + form, "a 0 b", "E1 a 0 POLY(1.0) b 0 1"},
		{"E1 a 0 POLY(2V) b 0 c 0 1", `2:13-2:15: POLY of E1 has the dimension "2V", which is no whole number from 1 to 100` + form, "a 0 b c", "E1 a 0 POLY(2) b 0 c 0 1"},
		{"E1 a 0 POLY(1e9) b 0 1", `2:13-2:16: POLY of E1 has the dimension "1e9", which is no whole number from 1 to 100` + form, "a 0 b", "E1 a 0 POLY(1e0) b 0 1"},
		{"E1 a 0 POLY(b) b 0 1", `2:13-2:14: POLY of E1 has the dimension "b", which is no whole number from 1 to 100` + form, "a 0 b", "E1 a 0 POLY(1) b 0 b"},
		{"E1 a 0 POLY({1}) b 0 1", "2:8-2:12: POLY of E1 has an expression for a dimension, which is a whole number from 1 to 100" + form, "a 0 b", "E1 a 0 POLY(1) b 0 {1}"},
		{"E1 a 0 POLY(2) b 0 c", "2:1-2:21: POLY(2) of E1 has 3 of 4 control nodes" + form, "a 0 b c", "E1 a 0 POLY(2) b 0 c 0 1"},
		{"E1 a 0 POLY(2) b 0 {1} 2", "2:1-2:25: POLY(2) of E1 has 2 of 4 control nodes" + form, "a 0 b", "E1 a 0 POLY(1) b 0 {1} 2"},
		{"E1 a 0 POLY(2) b 0 c 0", "2:1-2:23: POLY(2) of E1 has no coefficients behind its 4 control nodes" + form, "a 0 b c", "E1 a 0 POLY(2) b 0 c 0 0"},
		{`E1 a 0 POLY(1) b 0 "c" 1`, `2:21-2:22: "c" is no coefficient for E1` + form, "a 0 b c", `E1 a 0 POLY(1) b "c" 1`},
		{"F1 a 0 POLY(1) VX", "2:1-2:18: POLY(1) of F1 has no coefficients behind its 1 source: expected Fname node node POLY(n) source ... p0 p1 ...", "a 0 VX", "F1 a 0 POLY(1) VX 1"},
		{"H1 a 0 POLY(2) VX", "2:1-2:18: POLY(2) of H1 has 1 of 2 sources: expected Hname node node POLY(n) source ... p0 p1 ...", "a 0 VX", "H1 a 0 POLY(2) VX VX 1"},
		{"F1 a 0 POLY(1) VZ 1", `2:1-2:20: F1 names the voltage source "VZ", which is not there; did you mean "vx"?`, "-", "F1 a 0 POLY(1) VX 1"},
		{"E1 a 0 TABLE {v(b)} =", "2:8-2:13: TABLE of E1 has no points" + table, "a 0 b", "E1 a 0 TABLE {v(b)} = 0 0"},
		{"E1 a 0 TABLE {v(b)} (0,1) (2)", "2:8-2:13: TABLE of E1 has a point without a value" + table, "a 0 b", "E1 a 0 TABLE {v(b)} (0,1) (2,3)"},
		{"E1 a 0 TABLE {v(b} (0,1)", `2:18-2:19: E1: "(" is not closed, found "}"`, "a 0 b", "E1 a 0 TABLE {v(b)} (0,1)"},
	} {
		const beside = "\nRN b c 1\nVX c 0\n.param b=1"
		n, diags := deck(t, c.bad+beside)
		want := strings.Replace(c.diag, ": ", " netlist-card: ", 1)
		same(t, c.bad, diags, []string{"deck.cir:" + want})
		var names []string
		for id := range n.Cards {
			if n.Cards[id].Kind == '?' {
				for _, nd := range n.CardNodes(CardID(id)) {
					names = append(names, n.Names[nd])
				}
			}
		}
		if got := strings.Join(names, " "); got != c.nets && c.nets != "-" {
			t.Errorf("%s: unread on %q, want %q", c.bad, got, c.nets)
		}
		_, diags = deck(t, c.good+beside)
		silent(t, diags)
	}
}
