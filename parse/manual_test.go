package parse

import "testing"

// The example lines of the SPICE3f3 User's Manual, section 3, read by the grammar alone.
func TestManualExamples(t *testing.T) {
	for _, c := range []struct{ line, want string }{
		{"RC1 12 17 1K", "R RC1 12 17 = 1000"},
		{"RMOD 3 7 RMODEL L=10u W=1u", "R RMOD 3 7 = RMODEL : RMODEL"},
		{"CBYP 13 0 1UF", "C CBYP 13 0 = 1e-06"},
		{"COSC 17 23 10U IC=3V", "C COSC 17 23 = 1e-05"},
		{"LLINK 42 69 1UH", "L LLINK 42 69 = 1e-06"},
		{"LSHUNT 23 51 10U IC=15.7MA", "L LSHUNT 23 51 = 1e-05"},
		{"K43 LAA LBB 0.999", "K K43 = 0.999"},
		{"KXFRMR L1 L2 0.87", "K KXFRMR = 0.87"},
		{"VCC 10 0 DC 6", "V VCC 10 0 = 6"},
		{"VIN 13 2 0.001 AC 1 SIN(0 1 1MEG)", "V VIN 13 2 = 0.001"},
		{"ISRC 23 21 AC 0.333 45.0 SFFM(0 1 10K 5 1K)", "I ISRC 23 21"},
		{"IIN1 1 5 AC 1 DISTOF1 DISTOF2 0.001", "I IIN1 1 5"},
		{"VMEAS 12 9", "V VMEAS 12 9"},
		{"G1 2 0 5 0 0.1MMHO", "G G1 2 0 5 0 = 0.0001"},
		{"E1 2 3 14 1 2.0", "E E1 2 3 14 1 = 2"},
		{"F1 13 5 VSENS 5", "F F1 13 5 = 5"},
		{"HX 5 17 VZ 0.5K", "H HX 5 17 = 500"},
		{"DCLMP 3 7 DMOD 3.0 IC=0.2", "D DCLMP 3 7 = 3 : DMOD"},
		{"Q23 10 24 13 QMOD IC=0.6, 5.0", "Q Q23 10 24 13 : QMOD"},
		{"Q50A 11 26 4 20 MOD1", "Q Q50A 11 26 4 20 : MOD1"},
		{"M1 24 2 0 20 TYPE1", "M M1 24 2 0 20 : TYPE1"},
		{"J1 7 2 3 JM1 OFF", "J J1 7 2 3 : JM1"},
		{"Z1 7 2 3 ZM1 OFF", "Z Z1 7 2 3 : ZM1"},
		{"s1 1 2 3 4 switch1 ON", "S s1 1 2 3 4 : switch1"},
		{"Switch1 1 2 10 0 smodel1", "S Switch1 1 2 10 0 : smodel1"},
		{"wreset 5 6 vclck lossyswitch OFF", "W wreset 5 6 : lossyswitch"},
		{"T1 1 0 2 0 Z0=50 TD=10NS", "T T1 1 0 2 0"},
		{"X1 2 4 17 3 1 MULTI", "X X1 2 4 17 3 1 : MULTI"}, // 2.4
		// SPICE2 user's guide, the resistor card.
		{"RC1 12 17 1K TC=0.001,0.015", "R RC1 12 17 = 1000"},
		// Lessons In Electric Circuits, Reference volume, chapter 7.
		{"e 3 0 0 1 999k", "E e 3 0 0 1 = 999000"},
		{"v 1 0 10", "V v 1 0 = 10"},
		{"rbogus 2 0 10k", "R rbogus 2 0 = 10000"},
	} {
		// What the line names is defined beside it.
		n, diags := deck(t, c.line+"\nLAA x 0 1\nLBB x 0 1\nL1 x 0 1\nL2 x 0 1\nVSENS x 0\nVZ x 0\nvclck x 0\n")
		silent(t, diags)
		if len(n.Cards) != 8 {
			t.Fatalf("%s: %d cards", c.line, len(n.Cards))
		}
		if got := drawn(n, 0); got != c.want {
			t.Errorf("%s\n got %s\nwant %s", c.line, got, c.want)
		}
	}
}

func TestTrailers(t *testing.T) {
	n, diags := deck(t, `Q1 c b e QM IC=0.6, 5.0 OFF
D1 a k 1N4148 {ar*2} OFF TEMP=85
R1 a b R = {2*k} TC=0.001,0.015 noise = 'x'
X1 a b part PARAMS: gain = 20 off={-1m}
.model 1N4148 D(IS=1e-14, N=1.05 mfg=Ferry
+ BV = 75)
.model QM npn bf=100
.param k=2 ar={k}
+ x = (k + ar)*2 y = k>1 ? 1 : 2
`)
	silent(t, diags)
	x := n.CardExtra(0)
	if len(x.Params) != 1 || x.Params[0].Number != 0.6 || len(x.Params[0].More) != 1 || x.Params[0].More[0].Number != 5 {
		t.Errorf("IC=0.6, 5.0 read as %+v", x.Params)
	}
	if len(x.Flags) != 1 || x.Flags[0] != "off" {
		t.Errorf("OFF read as %v", x.Flags)
	}
	if got := drawn(n, 1); got != "D D1 a k = {ar*2} : 1N4148" {
		t.Error(got)
	}
	if got := drawn(n, 2); got != "R R1 a b = {2*k}" {
		t.Error(got)
	}
	if p := n.CardExtra(2).Params; len(p) != 3 || p[1].More[0].Number != 0.015 || p[2].Expr == nil {
		t.Errorf("R1 parameters %+v", p)
	}
	if p := n.CardExtra(3).Params; len(p) != 2 || p[0].Name != "gain" || p[0].Number != 20 {
		t.Errorf("X1 parameters %+v", p)
	}
	if m := n.Models[0]; m.Type != "D" || len(m.Params) != 4 || m.Params[3].Number != 75 {
		t.Errorf("model %+v", m)
	}
	if l := n.Subs[0].Locals; len(l) != 4 || l[3].Name != "y" || l[3].Expr.Op != Choice {
		t.Errorf(".param %+v", l)
	}
}

func TestDrives(t *testing.T) {
	n, diags := deck(t, `V1 a 0 PULSE(0 5 1n 1n 1n 10u 20u)
V2 a 0 pulse 0,5,1n
V3 a 0 DC=5 AC=1
V4 a 0 {vdd} SIN ( 0, {amp} 1k )
V5 a 0 PWL((0 0) (1m,5))
I1 a 0 exp(0 1m) DC 2m
`)
	silent(t, diags)
	for id, want := range []struct {
		function string
		args     int
	}{{"PULSE", 7}, {"PULSE", 3}, {"", 0}, {"SIN", 3}, {"PWL", 4}, {"EXP", 2}} {
		d := n.CardExtra(CardID(id)).Drive
		if d.Function != want.function || len(d.Args) != want.args {
			t.Errorf("%s: %s with %d arguments", n.CardName(CardID(id)), d.Function, len(d.Args))
		}
	}
	if got := drawn(n, 2); got != "V V3 a 0 = 5" {
		t.Error(got)
	}
	if got := drawn(n, 5); got != "I I1 a 0 = 0.002" {
		t.Error(got)
	}
}

func TestLaws(t *testing.T) {
	n, diags := deck(t, `E1 a 0 POLY(2) b 0 c 0 0 1 1
E2 a 0 VALUE={v(b,c)*2}
E3 a 0 TABLE {v(b)} = (0,0) (1,5)
E4 a 0 LAPLACE {v(b)} = {1/(1+s)}
G1 a 0 value = v(net-1) * 2 m=1
F1 a 0 POLY(1) VX 0 1
VX a 0
B1 a 0 V=v(a/b#)*i(VX) tc1=1
B2 a 0 I='5*2'
E5 (a,0) (b 0) 2
`)
	silent(t, diags)
	forms := []string{"POLY", "VALUE", "TABLE", "LAPLACE", "VALUE", "POLY", "", "V", "I", ""}
	for id, want := range forms {
		got := ""
		if x := n.CardExtra(CardID(id)); x != nil && x.Law != nil {
			got = x.Law.Form
		}
		nodes := map[int]uint32{0: 6, 9: 4}[id] // controls are nodes too
		if got != want || n.Cards[id].N != max(2, nodes) {
			t.Errorf("%s: law %q on %d nodes, want %q", n.CardName(CardID(id)), got, n.Cards[id].N, want)
		}
	}
	e := n.CardExtra(7).Law.Expr
	if e.Op != Binary || e.Args[0].Args[0].Text != "a/b#" || e.Args[1].Args[0].Text != "VX" || !e.Live() {
		t.Errorf("B1 read as %+v", e)
	}
	if got := drawn(n, 9); got != "E E5 a 0 b 0 = 2" {
		t.Error(got)
	}
}
