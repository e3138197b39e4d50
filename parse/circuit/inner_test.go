package circuit

import (
	"strings"
	"testing"
)

const nested = `.subckt cell p
R1 p mid 1
R2 mid deep.1 2
X2 mid leaf
.ends
.subckt leaf q
R3 q n3 3
R4 n3 vdd 4
.ends
.global vdd
`

func TestInnerNets(t *testing.T) {
	for _, c := range []struct{ cards, want string }{
		{"R9 x1.MID 0 9\nX1 a cell", "R R9 X1.mid 0 = 9"},
		{"X1 a cell\nR9 X1.x2.n3 x1.deep.1 9", "R R9 X1.X2.n3 X1.deep.1 = 9"},
		{"X1 a cell\nR9 x1.p x1.x2.q 9", "R R9 a X1.mid = 9"},
		{"X1 a cell\nR9 x1.0 x1.vdd 9", "R R9 0 vdd = 9"},
		{"X1 a cell\nR9 x1.x2.GND x1.x2.n3 9", "R R9 0 X1.X2.n3 = 9"},
		{"X1 a cell\nX3 x1.mid leaf\nR9 x3.q x3.n3 9", "R R9 X1.mid X3.n3 = 9"},
		{"X1 x3.n3 cell\nX3 x1.mid leaf\nR9 x1.p x3.q 9", "R R9 X3.n3 X1.mid = 9"},
		{"X1 x1.p cell\nR9 x1.p 0 9", "R R9 x1.p 0 = 9"}, // the port stands for the name that it is given: a net by itself
		{"X9 b out\n.subckt out p\nX1 p cell\nR9 x1.mid x9.x1.x2.n3 9\n.ends", "R X9.R9 X9.X1.mid X9.X1.X2.n3 = 9"},
		{"R9 x5.mid net.5 9", "R R9 x5.mid net.5 = 9"},
		{"R9 vdd.1v8 x1.mid 9", "R R9 vdd.1v8 x1.mid = 9"},
		{"XA a b part-x\n.subckt part-x in out\n.ends\nR9 xa.OUT xa.in 9", "R R9 b a = 9"},
	} {
		flat, diags := deck(t, c.cards+"\n"+nested)
		same(t, c.cards, diags, nil)
		found := false
		for id, line := range drawn(flat) {
			if !strings.Contains(line, "R9") {
				continue
			}
			found = true
			if line != c.want {
				t.Errorf("%s: %s, want %s", c.cards, line, c.want)
			}
			for i, name := range flat.Cards.CardNodes(flat.Elements[id].Card) { // the name as written finds the same net
				path := strings.TrimSuffix(flat.Path(ID(id)), "R9") + flat.Cards.Names[name]
				if strings.HasPrefix(flat.Cards.Names[name], "x9.") {
					path = flat.Cards.Names[name]
				}
				if n, ok := flat.FindNet(path); !ok && !strings.Contains(c.cards, "part-x") || ok && n != flat.ElementPins(ID(id))[i] {
					t.Errorf("%s: %s is %s", c.cards, path, flat.NetName(n))
				}
			}
		}
		if !found {
			t.Errorf("%s: no R9", c.cards)
		}
		seen := map[string]bool{}
		for n, name := range flat.AllNets() {
			if at, ok := flat.FindNet(name); seen[name] || !ok || at != n {
				t.Errorf("%s: net %d is named %s, which is %d", c.cards, n, name, at)
			}
			seen[name] = true
		}
		for _, p := range flat.Pins {
			if int(p) >= flat.Nets() {
				t.Errorf("%s: a pin on net %d of %d", c.cards, p, flat.Nets())
			}
		}
	}
}

// A name that leads into an instance and to no net there is reported, and something unknown stands on it.
func TestLostInnerNets(t *testing.T) {
	for _, c := range []struct{ cards, diag, on string }{
		{"R9 x1.mud 0 9\nX1 a cell", `2:1-2:14 netlist-card: R9 names node "x1.mud", but subcircuit cell has no net mud; did you mean "x1.mid"?`, "R9 X1"},
		{"X1 a cell\nR9 x1.x2.nothing 0 9", `3:1-3:21 netlist-card: R9 names node "x1.x2.nothing", but subcircuit leaf has no net nothing`, "R9 X1.X2"},
		{"X1 a cell\nR9 x1.x7.n3 0 9", `3:1-3:16 netlist-card: R9 names node "x1.x7.n3", but subcircuit cell has no net x7.n3`, "R9 X1"},
		{"XA a part-x\nR9 xa.mid 0 9", `3:1-3:14 netlist-card: R9 names node "xa.mid", but XA is not expanded`, "R9 XA"},
		{"X1 a cell m=0\nR9 x1.mid 0 9", "2:1-2:14 netlist-card: X1 has the multiplier m=0, which is not above 0|" +
			`3:1-3:14 netlist-card: R9 names node "x1.mid", but X1 is not expanded`, "R9 X1"},
	} {
		flat, diags := deck(t, c.cards+"\n"+nested)
		same(t, c.cards, diags, strings.Split(c.diag, "|"))
		n := flat.ElementPins(must(t, flat, "R9"))[0]
		var on []string
		for _, id := range flat.On(n) {
			on = append(on, flat.Path(id))
		}
		same(t, c.cards, on, strings.Fields(c.on))
		if last := flat.Elements[len(flat.Elements)-1]; last.Kind != '?' {
			t.Errorf("%s: %q", c.cards, drawn(flat))
		}
	}
}
