package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// A dense circuit is a small network solved by Gaussian elimination over node voltages and branch currents: a second way to
// what the rules find. Node 0 is ground.
type dense struct {
	nodes int
	ohms  [][3]float64 // a, b, ohm
	volts [][3]float64 // a, b, V from b up to a
	null  [][3]int     // of an ideal op amp: in+, in-, out
}

func (c dense) solve(t testing.TB) []float64 {
	t.Helper()
	n := c.nodes
	size := n + len(c.volts) + len(c.null)
	m := make([][]float64, size)
	for i := range m {
		m[i] = make([]float64, size+1)
	}
	add := func(row, col int, v float64) { // rows and columns of node 0 are not there
		if row >= 0 && col >= 0 {
			m[row][col] += v
		}
	}
	for _, r := range c.ohms {
		a, b, g := int(r[0])-1, int(r[1])-1, 1/r[2]
		add(a, a, g)
		add(b, b, g)
		add(a, b, -g)
		add(b, a, -g)
	}
	for k, v := range c.volts {
		a, b, row := int(v[0])-1, int(v[1])-1, n+k
		add(a, row, 1)
		add(b, row, -1)
		add(row, a, 1)
		add(row, b, -1)
		m[row][size] = v[2]
	}
	for k, o := range c.null {
		row := n + len(c.volts) + k
		add(row, o[0]-1, 1)
		add(row, o[1]-1, -1)
		add(o[2]-1, row, 1)
	}
	for i := range m {
		p := i
		for r := i; r < size; r++ {
			if math.Abs(m[r][i]) > math.Abs(m[p][i]) {
				p = r
			}
		}
		m[i], m[p] = m[p], m[i]
		if m[i][i] == 0 {
			t.Fatal("the network has no solution")
		}
		for r := range m {
			if f := m[r][i] / m[i][i]; r != i && f != 0 {
				for col := i; col <= size; col++ {
					m[r][col] -= f * m[i][col]
				}
			}
		}
	}
	out := make([]float64, n+1)
	for i := range n {
		out[i+1] = m[i][size] / m[i][i]
	}
	return out
}

// stage is a resistor-difference stage of R1 = 10 kohm and R2 = 500 kohm, its reference leg two of 1 Mohm, at a common mode,
// the pins behind ra from va and rb from vb: its output in volts. tie joins the two pins.
func stage(t testing.TB, common, va, ra, vb, rb float64, tie bool) float64 {
	t.Helper()
	const in, p, n, out, pa, pb, a, b = 1, 2, 3, 4, 5, 6, 7, 8
	c := dense{nodes: 8}
	c.volts = [][3]float64{{in, 0, common}, {a, 0, va}, {b, 0, vb}}
	c.ohms = [][3]float64{{in, p, 10e3}, {in, n, 10e3}, {n, out, 500e3}, {pa, p, 1e6}, {pb, p, 1e6}, {a, pa, max(ra, 1e-6)}, {b, pb, max(rb, 1e-6)}}
	if tie {
		c.ohms = append(c.ohms, [3]float64{pa, pb, 1e-6})
	}
	c.null = [][3]int{{p, n, out}}
	return c.solve(t)[out]
}

// mooringDiff is such a stage.
const mooringDiff = `
[[part]]
name = "mooring-diff-two"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref-a", "ref-b", "supply"]
gain = "50 V/V exact"
direction = "bidirectional"
common-mode = { operating = "-5 V .. 62 V", survival = "-15 V .. 80 V" }
input = { model = "resistor-difference", resistance = "10 kohm exact" }
output = { low = "40 mV", high = "supply - 50 mV" }
offset = { max = "0 V" }
reference = { model = "resistor-pair", resistance = "1 Mohm exact", split = "0 %", operating = "ground .. supply" }
`

// moored is a channel of it with a network for the pins ra and rb, and lines of intent.
func moored(common, network, intent string) string {
	return `* shuntwright: rails.BUS = "` + common + `"
* shuntwright: rails.V3 = "3.3 V exact"
* shuntwright: rails.VR = "1.65 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: currents.RSH = { range = "-1 A .. 1 A", from = "BUS" }
` + intent + `RSH BUS LOAD 1m
RL LOAD 0 4
RV VR 0 1k
RT V3 0 1k
XA BUS LOAD out 0 ra rb V3 mooring-diff-two
` + network
}

const (
	tenPercent = "* shuntwright: goals.XA = { error = \"10 %\", at = \"1 A\" }\n"
	joined     = "\nRZ ra rb 0"
)

// The shift is that of the output as drawn from the one with the pins at what their networks give unloaded.
func TestReferenceImpedanceOfTheSchemes(t *testing.T) {
	rule := builtin.ReferenceImpedance
	for _, c := range []struct {
		name, network   string
		common          float64
		byNodes         float64 // V, the second solution less the ideal output
		published, half float64 // V, the trade's table of schemes
	}{
		{"both on a divider of 10 kohm and 10 kohm", "RA V3 ra 10k\nRB ra 0 10k" + joined, 58, stage(t, 58, 1.65, 10e3, 1.65, 10e3, true) - 1.65, 547.1e-3, 5e-5},
		{"both on a divider of 200 ohm and 200 ohm", "RA V3 ra 200\nRB ra 0 200" + joined, 58, stage(t, 58, 1.65, 200, 1.65, 200, true) - 1.65, 11.05e-3, 5e-6},
		{"supply and ground, 5 kohm in the supply's leg", "RA V3 ra 5k\nRB rb 0 0", 48, stage(t, 48, 3.3, 5e3, 0, 0, false) - 1.65, 109e-3, 5e-4},
		{"supply and ground, 5 kohm in the ground's leg", "RA V3 ra 0\nRB rb 0 5k", 48, stage(t, 48, 3.3, 0, 0, 5e3, false) - 1.65, 117.1e-3, 5e-5},
		{"both at the reference, one through 5 kohm", "RA VR ra 5k\nRB rb VR 0", 48, stage(t, 48, 1.65, 5e3, 1.65, 0, false) - 1.65, 113.0e-3, 5e-5},
		{"both on a divider, common mode below it", "RA V3 ra 10k\nRB ra 0 10k" + joined, 1, stage(t, 1, 1.65, 10e3, 1.65, 10e3, true) - 1.65, -0.65 * 5e3 / 515e3, 1e-6},
	} {
		t.Run(c.name, func(t *testing.T) {
			common := map[float64]string{1: "1 V exact", 48: "48 V exact", 58: "58 V exact"}[c.common]
			r := wants(t, rule, rules.KindFail, rules.Error, moored(common, c.network, tenPercent), mooringDiff)
			m := measure(t, r, "shift of the output at 0 A")
			got := (m.Min + m.Max) / 2
			if m.Max-m.Min > 1e-4 || math.Abs(got-c.byNodes) > 2e-5 || math.Abs(got-c.published) > c.half+2e-5 {
				t.Errorf("shift %v .. %v, by nodes %v, published %v", m.Min, m.Max, c.byNodes, c.published)
			}
		})
	}
	// 547 mV at 49.8 mV/A is 10.99 A; here the scale is 50 mV/A and the message says 10.9 A.
	r := judge(t, rule, moored("58 V exact", "RA V3 ra 10k\nRB ra 0 10k"+joined, tenPercent), mooringDiff)
	if math.Abs(measure(t, r, "shift of the output at 0 A").Max/49.8e-3-10.99) > 0.005 || !strings.Contains(r.Message, "10.9 A") {
		t.Errorf("%s", r.Message)
	}
	// R1 = 10 kohm and R2 = 500 kohm with one pin behind 5 kohm at 48 V: about 450 mV.
	one := edit(t, mooringDiff, `"ref-a", "ref-b"`, `"ref"`)
	deck := edit(t, moored("48 V exact", "RA V3 ra 10k\nRB ra 0 10k", tenPercent), "0 ra rb V3", "0 ra V3")
	if m := measure(t, judge(t, rule, deck, one), "shift of the output at 0 A"); math.Abs(m.Max-0.450) > 5e-4 {
		t.Errorf("the shift is %v, want 450 mV", m.Max)
	}
}

func TestReferenceImpedance(t *testing.T) {
	rule := builtin.ReferenceImpedance
	divider := "RA V3 ra 200\nRB ra 0 200" + joined
	goal := func(error string) string {
		return "* shuntwright: goals.XA = { error = \"" + error + "\", at = \"1 A\" }\n"
	}
	// 11.049 mV as above. Half of a goal of 44.2 % at 1 A is 11.05 mV, of 44.1 % 11.025 mV; a tenth is 2.2 mV either way, a tenth
	// of 221 % 11.05 mV, of 220.9 % 11.045 mV.
	for error, level := range map[string]rules.Level{"44.1 %": rules.Error, "44.2 %": rules.Warning, "220.9 %": rules.Warning, "221 %": 0} {
		kind := rules.KindFail
		if level == 0 {
			kind = rules.KindPass
		}
		wants(t, rule, kind, level, moored("58 V exact", divider, goal(error)), mooringDiff)
	}
	// What a calibration at run time leaves is the movement: 18 V x 100 ohm / 510.1 kohm = 3.53 mV of a bus from 40 V to 58 V, and
	// nothing of one that stands still. Half of 14.2 % at 1 A is 3.55 mV, of 14.1 % 3.525 mV.
	cal := "* shuntwright: calibration.XA.offset = true\n"
	wants(t, rule, rules.KindPass, 0, moored("58 V exact", divider, goal("1 %")+cal), mooringDiff)
	r := wants(t, rule, rules.KindFail, rules.Error, moored("40 V .. 58 V", divider, goal("14.1 %")+cal), mooringDiff)
	if m := measure(t, r, "movement of the shift of the output at 0 A"); math.Abs(m.Max-18*100/510.1e3) > 2e-6 {
		t.Errorf("the movement is %v, want %v", m.Max, 18*100/510.1e3)
	}
	wants(t, rule, rules.KindFail, rules.Warning, moored("40 V .. 58 V", divider, goal("14.2 %")+cal), mooringDiff)

	// Pins on held nets ask for nothing, not even a model; nor does a buffer with 22 ohm or 47 ohm at a tight goal warn.
	bare := edit(t, mooringDiff, `reference = { model = "resistor-pair", resistance = "1 Mohm exact", split = "0 %", operating = "ground .. supply" }`, "")
	held := edit(t, moored("58 V exact", "", ""), "0 ra rb V3", "0 V3 0 V3")
	wants(t, rule, rules.KindPass, 0, held, bare)
	for _, ohms := range []string{"22", "47"} {
		buffered := "RA V3 h 10k\nRB h 0 10k\nEB b 0 h 0 1\nRI b ra " + ohms + "\nCR ra 0 1u" + joined
		r := wants(t, rule, rules.KindPass, 0, moored("58 V exact", buffered, goal("25 %")), mooringDiff)
		want := (58 - 1.65) * map[string]float64{"22": 22, "47": 47}[ohms] / 510e3
		if m := measure(t, r, "shift of the output at 0 A"); math.Abs(m.Max-want) > 2e-5 {
			t.Errorf("behind %s ohm: %v, want %v", ohms, m.Max, want)
		}
	}
	// Without a goal there is nothing to hold it against; without a current at which it applies, that is asked.
	wants(t, rule, rules.KindNotApplicable, 0, moored("58 V exact", divider, ""), mooringDiff)
	lacks(t, wants(t, rule, rules.KindOpen, 0, moored("58 V exact", divider, "* shuntwright: goals.XA.error = \"1 %\"\n"), mooringDiff), "least")
	// The remedies are found by judging again: smaller resistors, or a buffer.
	rem := rules.Judge(load(t, moored("58 V exact", divider, goal("10 %")), mooringDiff), []*rules.Rule{rule}).Results[0].Remedy
	if rem == nil || !strings.Contains(rem.Text, "RA, RB at most") || rem.Kind != rules.KindPass {
		t.Errorf("remedy %+v", rem)
	}
	rem = rules.Judge(load(t, moored("58 V exact", "RA V3 ra 300\nRB ra 0 200"+joined, goal("10 %")), mooringDiff), []*rules.Rule{rule}).Results[0].Remedy
	if rem == nil || !strings.Contains(rem.Text, "a buffer that drives the reference with 1.32 V") || rem.Kind != rules.KindPass {
		t.Errorf("remedy %+v", rem)
	}
}

// Other models: the node inside at 1.2 V behind 40 kohm, a leakage of 80 nA, a pair of 760 kohm of which one leg has 5 kohm.
func TestReferenceImpedanceByModel(t *testing.T) {
	rule := builtin.ReferenceImpedance
	exact := edit(t, edit(t, tug, `"1 %"`, `"0 %"`, `"5 V +- 2 %"`, `"5 V exact"`, "0 VM VM V5", "0 ra ra V5"), "RM VM 0 100k", "RM VM 0 100k\nRA V5 ra 10k\nRB ra 0 10k") +
		"\n* shuntwright: goals.XA = { error = \"1 %\", at = \"1 A\" }"
	model := func(text string) string {
		return edit(t, tugSense, `reference = { model = "resistor-pair", resistance = "760 kohm", split = "0.06 %" }`, text)
	}
	two := `reference = { model = "two-stage", resistance = "40 kohm exact", internal = "1.2 V" }`
	r := wants(t, rule, rules.KindFail, rules.Error, exact, model(two))
	// Both pins stand on the divider: two legs of 40 kohm pull its 2.5 V towards 1.2 V through 5 kohm.
	want := (1.2 - 2.5) * 5e3 / (20e3 + 5e3)
	if m := measure(t, r, "shift of the output at 0 A"); math.Abs(m.Min-want) > 1e-6 || math.Abs(m.Max-want) > 1e-6 {
		t.Errorf("%v .. %v, want %v", m.Min, m.Max, want)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, exact, model(edit(t, two, `, internal = "1.2 V"`, ""))), "reference.internal")
	lacks(t, wants(t, rule, rules.KindOpen, 0, exact, model("")), "reference.model")
	lacks(t, wants(t, rule, rules.KindOpen, 0, exact, edit(t, model(two), `model = "differential", `, "")), "input.model")
	wants(t, rule, rules.KindPass, 0, exact, model(`reference = { model = "high-impedance" }`))
	// Each of two pins draws up to 80 nA: 160 nA through 5 kohm is 0.8 mV, above half of 1 % of 40 mV.
	r = wants(t, rule, rules.KindFail, rules.Error, exact, model(`reference = { model = "high-impedance", current = "80 nA" }`))
	if m := measure(t, r, "shift of the output at 0 A"); math.Abs(m.Min+160e-9*5e3) > 1e-6 {
		t.Errorf("%v .. %v, want 0.8 mV down", m.Min, m.Max)
	}
	// A pair on one net takes nothing from it. One at 5 V through 5 kohm and one at ground: 5 V x (760/1525 - 760/1520).
	wants(t, rule, rules.KindPass, 0, exact, edit(t, tugSense, `"760 kohm", split = "0.06 %"`, `"760 kohm exact", split = "0 %"`))
	r = judge(t, rule, edit(t, exact, "0 ra ra V5", "0 ra 0 V5", "RB ra 0 10k", "RB ra V5 10k"), edit(t, tugSense, `"760 kohm", split = "0.06 %"`, `"760 kohm exact", split = "0 %"`))
	if m := measure(t, r, "shift of the output at 0 A"); math.Abs(m.Min-5*(760./1525-0.5)) > 1e-6 {
		t.Errorf("%v .. %v, want %v", m.Min, m.Max, 5*(760./1525-0.5))
	}
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, exact, "out 0 ra ra V5", "out 0 V5"), edit(t, tugSense, `"ref-a", "ref-b", `, ""))
}

// bargeAmp is an op amp that a reference may be buffered with.
const bargeAmp = `
[[part]]
name = "barge-amp"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2.2 V .. 5.6 V", current = "0.2 mA" }
bias = { max = "2 nA" }
offset = { max = "0 V" }
output = { low = "30 mV", high = "supply - 40 mV", capacitance = "120 pF", current = "4 mA" }
`

func TestReferencePair(t *testing.T) {
	rule := builtin.ReferencePair
	pins := func(pins, cards string) string { return edit(t, tug, "0 VM VM V5", "0 "+pins+" V5") + cards }
	// The four schemes of the trade, and both pins on one divider, are silent and ask for nothing.
	bare := edit(t, tugSense, `reference = { model = "resistor-pair", resistance = "760 kohm", split = "0.06 %" }`, "")
	for _, p := range []string{"0 0", "VM VM", "V5 0", "VM 0", "0 VM", "V5 V5"} {
		wants(t, rule, rules.KindPass, 0, pins(p, ""), bare)
	}
	wants(t, rule, rules.KindPass, 0, pins("r r", "\nRA V5 r 10k\nRB r 0 10k\nCR r 0 1u"), bare)
	// An open pin: alone, with a capacitor, joined with the other one, or on another amplifier's pin only.
	for _, cards := range []string{"", "\nCR r 0 100n", "\nRR r q 100\nCR q 0 100n"} {
		r := wants(t, rule, rules.KindFail, rules.Error, pins("VM r", cards), tugSense)
		if !strings.Contains(r.Message, "ref-b (r) is open") {
			t.Errorf("%s", r.Message)
		}
	}
	wants(t, rule, rules.KindFail, rules.Error, pins("r r", ""), tugSense)
	wants(t, rule, rules.KindFail, rules.Error, pins("r r", "\nXB BUS LOAD ob 0 r r V5 tug-sense-40"), tugSense)
	// What stands behind a part that nobody knows counts as driven.
	d, _, _ := bind(t, "a deck\n"+pins("VM r", "\nXQ r V5 0 anchor")+"\n.end\n", tugSense)
	if r := rules.JudgeAt(d, []*rules.Rule{rule}, "XA")[0]; r.Kind == rules.KindFail {
		t.Errorf("%s", r.Message)
	}

	// 5 V and ground behind Ra and Rb: the middle of legs of 760 kohm moves by 2.5 V (Rb - Ra)/(1520 kohm + Ra + Rb), that of the
	// part by 0.06 % of 2.5 V = 1.5 mV, which 913 ohm make. Equal ones move nothing, whichever is larger does.
	exact := edit(t, tugSense, `"760 kohm"`, `"760 kohm exact"`)
	legs := func(a, b string) string {
		return edit(t, pins("ra rb", "\nRA V5 ra "+a+"\nRB 0 rb "+b), `tolerances.resistors = "1 %"`, `tolerances.resistors = "0 %"`)
	}
	for _, c := range []struct {
		a, b string
		kind rules.Kind
	}{{"910", "1u", rules.KindPass}, {"915", "1u", rules.KindFail}, {"1u", "910", rules.KindPass}, {"1u", "915", rules.KindFail}, {"10k", "10k", rules.KindPass}} {
		level := rules.Level(0)
		if c.kind == rules.KindFail {
			level = rules.Warning
		}
		r := wants(t, rule, c.kind, level, legs(c.a, c.b), exact)
		if c.a == "915" {
			if m := measure(t, r, "shift of the middle by unequal resistances"); math.Abs(m.Min-(5*760/(1520+0.915)-2.5)) > 1e-6 {
				t.Errorf("%v, want %v", m.Min, 5*760/(1520+0.915)-2.5)
			}
		}
	}
	// Two ways of unequal resistance to one voltage move nothing, and what is asked for is asked where it matters.
	wants(t, rule, rules.KindPass, 0, pins("ra rb", "\nRA VM ra 5k\nRB VM rb 100"), bare)
	lacks(t, wants(t, rule, rules.KindOpen, 0, legs("915", "1u"), edit(t, exact, `resistance = "760 kohm exact", `, "")), "reference.resistance")
	lacks(t, wants(t, rule, rules.KindOpen, 0, legs("915", "1u"), edit(t, exact, `, split = "0.06 %"`, "")), "reference.split")
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "out 0 VM VM V5", "out 0 V5"), edit(t, tugSense, `"ref-a", "ref-b", `, ""))
}

func TestReferenceBuffers(t *testing.T) {
	rule := builtin.ReferencePair
	// A drawn ideal buffer right at a capacitor: nobody said what it stands for. With a resistor between, silent.
	follow := func(cards string) string {
		return edit(t, tug, "0 VM VM V5", "0 r r V5") + "\nRA V5 h 10k\nRB h 0 10k\n" + cards
	}
	wants(t, rule, rules.KindReview, 0, follow("EB r 0 h 0 1\nCR r 0 1u"), tugSense)
	wants(t, rule, rules.KindPass, 0, follow("EB b 0 h 0 1\nRI b r 22\nCR r 0 1u"), tugSense)
	wants(t, rule, rules.KindPass, 0, follow("EB r 0 h 0 1"), tugSense)
	// An op amp that is stable up to 120 pF.
	both := tugSense + bargeAmp
	amp := func(cards string) string {
		return edit(t, follow(cards+"\nXB h b b 0 V5 barge-amp"), `"1 %"`, `"1 %"`+"\n* shuntwright: tolerances.capacitors = \"0 %\"")
	}
	wants(t, rule, rules.KindPass, 0, amp("RI b r 22\nCR r 0 1u"), both)
	wants(t, rule, rules.KindPass, 0, amp("RZ b r 0\nCR b 0 119p"), both)
	r := wants(t, rule, rules.KindFail, rules.Warning, amp("RZ b r 0\nCR b 0 121p"), both)
	if !strings.Contains(r.Advice, "22 ohm") {
		t.Errorf("advice %q", r.Advice)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, amp("RZ b r 0\nCR b 0 1n"), edit(t, both, `, capacitance = "120 pF"`, "")), "output.capacitance")
	lacks(t, wants(t, rule, rules.KindOpen, 0, amp("RI b r 22"), edit(t, both, `high = "supply - 40 mV", capacitance`, `capacitance`)), "output.high")
	// A buffer of 5 V at 5 V cannot come closer than 40 mV.
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, amp("RI b r 22"), "RA V5 h 10k", "RA V5 h 10"), both)

	// The stage of 10 kohm and 500 kohm pulls (58 - 1.65) V / 510 kohm = 110.5 uA at the reference: 0.11 mA does not do.
	deck := moored("58 V exact", "RA V3 h 10k\nRB h 0 10k\nXB h b b 0 V3 barge-amp\nRI b ra 22"+joined, "")
	weak := mooringDiff + bargeAmp
	wants(t, rule, rules.KindPass, 0, deck, weak)
	r = wants(t, rule, rules.KindFail, rules.Warning, deck, edit(t, weak, `current = "4 mA" }`, `current = "0.11 mA" }`))
	if m := measure(t, r, "current out of the reference pins"); math.Abs(m.Max-(58.001-1.65)/510e3) > 1e-8 || !strings.Contains(r.Message, "sink") {
		t.Errorf("%v, want %v: %s", m.Max, (58.001-1.65)/510e3, r.Message)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck, edit(t, weak, `, current = "4 mA" }`, ` }`)), "output.current")
	// Below 20 uA nobody needs to say it: (10 - 1.65) V / 510 kohm is 16 uA.
	wants(t, rule, rules.KindPass, 0, edit(t, deck, `"58 V exact"`, `"10 V exact"`), edit(t, weak, `, current = "4 mA" }`, ` }`))
}

func TestReferenceRange(t *testing.T) {
	rule := builtin.ReferenceRange
	part := edit(t, tugSense, `split = "0.06 %" }`, `split = "0.06 %", operating = "ground + 0.2 V .. supply - 0.5 V" }`)
	vm := func(v string) string { return edit(t, tug, `"2.5 V +- 0.2 %"`, v) }
	wants(t, rule, rules.KindPass, 0, tug, part)
	// A pin that nothing but the part's own legs holds stands nowhere that anybody said.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, "0 VM VM V5", "0 VM r V5"), part), "rails.r")
	// 5 V less 2 % is 4.9 V, less 0.5 V 4.4 V: the limit itself is inside.
	wants(t, rule, rules.KindPass, 0, vm(`"4.4 V exact"`), part)
	r := wants(t, rule, rules.KindFail, rules.Error, vm(`"4.401 V exact"`), part)
	if m := measure(t, r, "ref-a"); !m.AtHigh || math.Abs(m.Margin+1e-3) > 1e-9 {
		t.Errorf("%+v", m)
	}
	wants(t, rule, rules.KindPass, 0, vm(`"0.2 V exact"`), part)
	wants(t, rule, rules.KindFail, rules.Error, vm(`"0.199 V exact"`), part)
	// One rail at both counts once: half of the supply is 0.5 V below it at any supply, and the supply itself never.
	wants(t, rule, rules.KindPass, 0, edit(t, tug, "0 VM VM V5", "0 r r V5")+"\nRA V5 r 1k\nRB r 0 1k", part)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, tug, "0 VM VM V5", "0 V5 V5 V5"), part)
	wants(t, rule, rules.KindPass, 0, edit(t, tug, "0 VM VM V5", "0 V5 0 V5"), edit(t, part, "ground + 0.2 V .. supply - 0.5 V", "ground .. supply"))
	lacks(t, wants(t, rule, rules.KindOpen, 0, tug, tugSense), "reference.operating")
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, tug, "* shuntwright: rails.VM = \"2.5 V +- 0.2 %\"\n", "", "RM VM 0 100k\n", ""), part), "VM")
	// A state that measures counts, one that does not is left out.
	state := func(measures string) string {
		return tug + "\n* shuntwright: states.low = { measuring = " + measures + ", rails = { V5 = \"2.9 V exact\" } }"
	}
	wants(t, rule, rules.KindFail, rules.Error, state("true"), part)
	wants(t, rule, rules.KindPass, 0, state("false"), part)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, tug, "out 0 VM VM V5", "out 0 V5"), edit(t, part, `"ref-a", "ref-b", `, ""))
}

// 3.3 V +- 2 % at 50 mV/A and a fixed full scale: 66 mV / 2 / 50 mV/A = 0.66 A.
func TestRatiometricMismatch(t *testing.T) {
	rule := builtin.RatiometricMismatch
	deck := func(pins, converter, more string) string {
		return `* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: rails.V3 = "3.3 V +- 2 %"
* shuntwright: rails.VR = "3.3 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: currents.RSH = { range = "-10 A .. 10 A", from = "BUS" }
* shuntwright: goals.XA = { error = "10 %", at = "2 A" }
* shuntwright: converters.out = { ` + converter + ` }
` + more + `RSH BUS LOAD 1m
RL LOAD 0 4
RV VR 0 1k
RT V3 0 1k
XA BUS LOAD out 0 ` + pins + ` V3 mooring-fifty
`
	}
	part := edit(t, mooringDiff, "mooring-diff-two", "mooring-fifty", `input = { model = "resistor-difference", resistance = "10 kohm exact" }`, `input = { model = "high-impedance" }`)
	fixed := `range = "0 V .. 3.3 V"`
	r := wants(t, rule, rules.KindFail, rules.Warning, deck("V3 0", fixed, ""), part)
	if m := measure(t, r, "movement of the reading at 0 A"); math.Abs(m.Max/50e-3-0.66) > 1e-9 || math.Abs(m.Min/50e-3+0.66) > 1e-9 || !strings.Contains(r.Message, "33.00 mV, 660 mA") {
		t.Errorf("%v .. %v: %s", m.Min, m.Max, r.Message)
	}
	// Just inside and outside: a third of the goal at 2 A is 0.66 A for 99 %.
	wants(t, rule, rules.KindPass, 0, edit(t, deck("V3 0", fixed, ""), `"10 %"`, `"99.1 %"`), part)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, deck("V3 0", fixed, ""), `"10 %"`, `"98.9 %"`), part)
	// The converse: a fixed zero against a converter that follows the supply, 1.65 V x (1/0.98 - 1) = 33.7 mV.
	r = wants(t, rule, rules.KindFail, rules.Warning, deck("VR 0", `range = "0 V .. V3", reference = "V3"`, ""), part)
	if m := measure(t, r, "movement of the reading at 0 A"); math.Abs(m.Max-1.65*(1/0.98-1)) > 1e-9 || math.Abs(m.Min-1.65*(1/1.02-1)) > 1e-9 {
		t.Errorf("%v .. %v", m.Min, m.Max)
	}
	// Both from one net, whichever: silent, though nobody said that the range is the reference's.
	for _, c := range []string{deck("V3 0", `range = "0 V .. V3"`, ""), deck("VR 0", `range = "0 V .. VR"`, ""), deck("VR 0", `range = "0 V .. V3", reference = "VR"`, ""),
		deck("V3 0", `range = "0 V .. V3", reference = "V3"`, "")} {
		wants(t, rule, rules.KindPass, 0, c, part)
	}
	// A range that ends at the supply may be what the pin takes: asked where it matters.
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck("VR 0", `range = "0 V .. V3"`, ""), part), "converters.out.reference")
	// The tolerance of a divider does not move with the supply.
	wants(t, rule, rules.KindPass, 0, edit(t, deck("r r", `range = "0 V .. V3"`, ""), `"0 %"`, `"1 %"`)+"RA V3 r 1k\nRB r 0 1k", part)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, deck("r r", fixed, ""), `"0 %"`, `"1 %"`)+"RA V3 r 1k\nRB r 0 1k", part)
	// The controls: a zero that is measured, one that follows a net, one at ground; a calibration at one supply is none of them.
	wants(t, rule, rules.KindNotApplicable, 0, deck("V3 0", fixed, "* shuntwright: calibration.XA.offset = true\n"), part)
	wants(t, rule, rules.KindFail, rules.Warning, deck("V3 0", fixed, "* shuntwright: calibration.XA.offset.supply = \"3.3 V\"\n"), part)
	wants(t, rule, rules.KindNotApplicable, 0, deck("V3 0", fixed+`, zero = "V3 / 2"`, ""), part)
	wants(t, rule, rules.KindFail, rules.Warning, deck("V3 0", fixed+`, zero = "1.65 V"`, ""), part)
	wants(t, rule, rules.KindNotApplicable, 0, deck("0 0", fixed, ""), part)
	// A current output whose load stands between supply and ground: 2.5 V +- 2 % at 0.2 V/A is 0.25 A.
	current := edit(t, lamp, `"5 V exact"`, `"5 V +- 2 %"`, "ROUT out 0 10k", "R1 out V5 20k\nR2 out 0 20k") +
		"\n* shuntwright: goals.XA = { error = \"3 %\", at = \"2 A\" }\n* shuntwright: converters.out = { range = \"0 V .. 5 V\" }"
	r = wants(t, rule, rules.KindFail, rules.Warning, current, dockCurrent)
	if m := measure(t, r, "movement of the reading at 0 A"); math.Abs(m.Max-0.05) > 1e-6 {
		t.Errorf("a current output moves by %v", m.Max)
	}
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, current, "R1 out V5 20k", "R1 out 0 20k"), dockCurrent)
	wants(t, rule, rules.KindNotApplicable, 0, deck("V3 0", `bits = 12`, ""), part)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, deck("V3 0", fixed, ""), "* shuntwright: goals.XA = { error = \"10 %\", at = \"2 A\" }\n", ""), part)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, deck("V3 0", fixed, ""), `, at = "2 A"`, ""), part), "least")
}

// The reference pins at ground, the firmware counts from a net: on that net both agree, and the zero is no error of its own.
func TestReferenceOnTheZeroOfTheFirmware(t *testing.T) {
	const deck = `* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: rails.VM = "2.5 V +- 0.2 %"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BUS", least = "0.5 A" }
* shuntwright: goals.XA = { error = "5 %", at = "5 A" }
* shuntwright: tolerances.resistors = "1 %"
* shuntwright: converters.out = { range = "0 V .. V5", scale = "40 mV/A", zero = "VM" }
RSH BUS LOAD 1m
RL LOAD 0 4
RO out 0 100k
CS V5 0 100n
CM VM 0 1u
XA BUS LOAD out 0 0 0 V5 tug-sense-40`
	curedBy(t, builtin.ReferenceBias, "ref-a and ref-b on VM, which firmware takes for 0 A", deck, tugSense)
	follows := func(deck, rule string) string {
		for _, r := range rules.Judge(load(t, deck, tugSense), all).Results {
			if r.Rule == rule && r.Block == "XA" {
				return r.Follows
			}
		}
		return "no result"
	}
	if got := follows(deck, "scale-agreement"); got != "reference-bias" {
		t.Errorf("scale-agreement follows %q", got)
	}
	// a formula is no net to stand on
	formula := edit(t, deck, `zero = "VM"`, `zero = "V5 / 2"`)
	if r := remedyOf(t, builtin.ReferenceBias, formula, tugSense); r == nil || strings.Contains(r.Text, "firmware") {
		t.Errorf("remedy %+v", r)
	}
	// one pin open beside one that is driven: one finding, which reference-pair and what misses the pin's net follow
	open := edit(t, deck, "out 0 0 0 V5", "out 0 VM refb V5")
	curedBy(t, builtin.FloatingPin, "ref-b of XA moved to VM, where ref-a is", open, tugSense)
	for _, rule := range []string{"reference-pair", "reference-impedance"} {
		if got := follows(open, rule); got != "floating-pin" {
			t.Errorf("%s follows %q", rule, got)
		}
	}
}
