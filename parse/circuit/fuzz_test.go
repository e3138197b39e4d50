package circuit

import (
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// No netlist makes elaboration panic, every pin is a net, and every name leads back to what it names.
func FuzzElaborate(f *testing.F) {
	for _, s := range []string{
		"t\nX1 a b cell g={k}\n.subckt cell p q g=1\nR1 p q {g*2}\nD1 p q dm\n.ends\n.param k=2\n.model dm d(is={k})\n",
		"t\nX1 a c1\n.subckt c1 p\nX1 p c2\n.subckt c2 p\nX1 p c1\n.ends c2\n.ends c1\n.global g\nR1 g gnd 1\n",
		"t\nVX a b\nE1 c 0 POLY(2) a b b 0 1 2 {k}\nB1 c 0 I=k*(v(a,b)-i(vx))/2\nH1 b 0 POLY(1) VX 0 2 0\nE2 d 0 TABLE {v(a)} (0,1)\n.param k=2\n",
		"t\nV1 a 0 EXP(0 1 1 2 3 4)\nF1 a 0 V1 2\nK1 L1 L2 1\nL1 a 0 1\nL2 a 0 1\nB1 a 0 V=1/0\n.param a=b b=a\nR1 a 0 a\nY1 a 0\n",
		"t\nX1 x2.q c1 m=2\nX2 x1.p.n c1 r={temper}\nR1 x1.n x1.x3.n {k} m=3\n.param k={temp+k2} k2=1\n.subckt c1 p r=1\nR1 p n r tol=5% temp=3\nX3 n c2\n.ends\n.subckt c2 n\nI1 n 0 1\n.ends\n",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		set := source.NewSet()
		id := set.Add("deck", []byte(text), source.Span{})
		n, _ := parse.Read(set, id, parse.Options{Limits: parse.Limits{Elements: 10_000, HierarchyDepth: 20, PathLength: 1000}})
		c, diags := Elaborate(n, nil)
		for _, d := range diags {
			if d.At.None() || int(d.At.Byte)+int(d.At.Len) > len(text) {
				t.Fatalf("%s has no place in the text", d.Message)
			}
		}
		for i := range c.Elements {
			id := ID(i)
			for _, p := range c.ElementPins(id) {
				if int(p) >= c.Nets() {
					t.Fatalf("pin on net %d of %d", p, c.Nets())
				}
			}
			if _, ok := c.Find(c.Path(id)); !ok {
				t.Fatalf("%q is not found", c.Path(id))
			}
			c.Model(id)
			c.Ref(id)
			c.Calls(id)
			c.Control(id)
			c.Coupled(id)
			if l := c.Linear(id); l != nil {
				for _, v := range l.Volts {
					if int(v.Pos) >= c.Nets() || int(v.Neg) >= c.Nets() || v.Gain-v.Gain != 0 {
						t.Fatalf("%s: %+v", c.Path(id), *l)
					}
				}
				for _, v := range l.Amps {
					if c.Elements[v.Of].Kind != 'V' || v.Gain-v.Gain != 0 {
						t.Fatalf("%s: %+v", c.Path(id), *l)
					}
				}
			}
			c.ParamList(id, "m")
			v, warm, cold := c.Elements[i].Value, c.ValueAt(id, 90), c.ValueAt(id, 27)
			if !(v == cold || v != v && cold != cold) || !c.Warm(id) && warm == warm && warm != v {
				t.Fatalf("%s: %v, at 27 degC %v, at 90 degC %v", c.Path(id), v, cold, warm)
			}
			if s := c.Source(id); s != nil && s.Known && !(s.Levels[0] <= s.DC && s.DC <= s.Levels[1]) {
				t.Fatalf("%s: %+v", c.Path(id), *s)
			}
		}
		for net := range c.AllNets() {
			c.On(net)
		}
	})
}
