package volt_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// 10 V over 1 kohm and 3 kohm: 7.5 V at 2, and 2.5 mA down through the meter.
const divider = "* shuntwright: tolerances.resistors = \"0 %\"\n* shuntwright: elements.VS.tolerance = \"0 %\"\n" +
	"VS 1 0 10\nR1 1 2 1k\nVM 2 m\nR2 m 0 3k\nRL o 0 1k\n.param k=2\n"

// Positive current flows from the first node through a source to the second, in the source that is followed as in the
// one that follows (SPICE3f3 User's Manual, 3.2): a source from o to 0 pulls its current out of the 1 kohm at o.
func TestControlledSources(t *testing.T) {
	for _, c := range []struct {
		card string
		want float64
	}{
		{"E1 o 0 1 2 3", 7.5},
		{"E1 o 0 POLY(1) 2 0 1 2", 16},
		{"E1 o 0 POLY(2) 2 0 1 2 1 2 -1", 13.5},
		{"E1 0 o POLY(1) (2,0) 2", -15},
		{"E1 o 0 VALUE={v(2)*k-v(1,2)}", 12.5},
		{"E1 o 0 VALUE={k}", 2},
		{"E1 o 1 VALUE={v(2)}", 17.5},
		{"E1 o 0 TABLE {v(2)} = (0,4) (1,4)", 4},
		{"G1 o 0 2 0 1m", -7.5},
		{"G1 0 o POLY(2) 1 0 2 0 1m 0 1m", 8.5},
		{"G1 o 0 VALUE={1m*v(1)}", -10},
		{"G1 0 o CUR={3m}", 3},
		{"F1 o 0 VM 4", -10},
		{"F1 o 0 POLY(1) VM 1m 4", -11},
		{"F1 o 0 POLY(2) VM VS 0 4 1", -7.5}, // a loaded source carries a negative current: -2.5 mA
		{"F1 0 o VALUE={i(VM)}", 2.5},
		{"H1 o 0 VM 2k", 5},
		{"H1 o 1 POLY(1) VM 1 2k", 16},
		{"H1 o 0 VS 1k", -2.5},
		{"B1 o 0 V=7", 7},
		{"B1 o 0 V=v(2)/3+1k*i(VM)", 5},
		{"B1 o 0 I=i(VM)+1m", -3.5},
		{"B1 o 0 I=2m", -2},
		{"B1 o 0 V=v(o)/2+1", 2},                     // it follows itself
		{"E1 o 0 2 x 1e6\nRA o x 9k\nRB x 0 1k", 75}, // 7.5 V times 10, less 1e-5 of it
		// The meter stands in the ground line, and all that hangs on it counts: 10 V over 2 kohm and over 5 kohm.
		{"F1 0 o VG 1\nVG g 0\nR3 1 g 2k\nR4 g 1 5k", 7},
		{"F1 0 o VG 1\nVG 0 g\nR3 1 g 2k", -5},
		{"F1 0 o VA 1\nVA 1 a\nVB a b 2\nR3 b 0 2k\n* shuntwright: elements.VB.tolerance = \"0 %\"", 4}, // in a chain of sources, not all of it rails any more
		{"F1 0 o VM 1\nF2 0 q VM 2\nR5 q 0 1k", 2.5},
		// A follower of a follower: 2.5 mA, 5 mA in the meter at q, 10 mA.
		{"F1 0 q VM 2\nVQ q q2\nR5 q2 0 1k\nF2 0 o VQ 2", 10},
	} {
		d := load(t, divider+c.card, "")
		q := voltage(t, d, "o")
		meets(t, "V(o) with "+c.card+",", q.Seen, c.want, c.want, 1e-3)
		if q.Nom != q.Seen.Lo {
			t.Errorf("%s: nominal %v, seen %v", c.card, q.Nom, q.Seen)
		}
	}
}

// The order in which things are found does not matter: the meter's own net is asked for, or stands at the far end.
func TestMetersOfRails(t *testing.T) {
	d := load(t, divider+"H1 o 0 VG 1k\nVG g 0\nR3 1 g 2k\nR6 o p 1k\nR7 p g 1k", "")
	meets(t, "V(g)", voltage(t, d, "g").Seen, 0, 0, 1e-6)
	// i = 10 V / 2 kohm + V(o) / 2 kohm with V(o) = 1 kohm i.
	meets(t, "V(o)", voltage(t, d, "o").Seen, 10, 10, 1e-4)
	meets(t, "V(p)", voltage(t, d, "p").Seen, 5, 5, 1e-4)
	meets(t, "V(o,p)", across(t, d, "o", "p").Seen, 5, 5, 1e-4)
}

// Intent wins where an output is a declared rail, and a control may be one.
func TestDeclaredRailsAndControls(t *testing.T) {
	d := load(t, "* shuntwright: rails.a = \"1 V .. 2 V\"\n* shuntwright: rails.o = \"5 V .. 6 V\"\nE1 o 0 a 0 3\nE2 p 0 a 0 3\nR1 o 0 1k\nR2 p 0 1k\nR3 a 0 1k", "")
	meets(t, "V(o)", voltage(t, d, "o").Seen, 5, 6, 1e-9)
	meets(t, "V(p)", voltage(t, d, "p").Seen, 3, 6, 1e-9)
}

// The constant part of a law has the tolerance of a source, its gains have none.
func TestToleranceOfTheConstantPart(t *testing.T) {
	const deck = "* shuntwright: rails.a = \"1 V exact\"\nE1 o 0 POLY(1) a 0 2 3\nB1 p 0 V=-2\nR1 o 0 1k\nR2 p 0 1k\nR3 a 0 1k\n"
	d := load(t, deck, "")
	meets(t, "V(o)", voltage(t, d, "o").Seen, 5, 5, 1e-9)
	meets(t, "V(o), nothing outside,", voltage(t, d, "o").Sound, 4.9, 5.1, 1e-9)
	meets(t, "V(p), nothing outside,", voltage(t, d, "p").Sound, -2.1, -1.9, 1e-9)
	d = load(t, deck+"* shuntwright: elements.E1.tolerance = \"1 %\"\n", "")
	meets(t, "V(o)", voltage(t, d, "o").Sound, 4.98, 5.02, 1e-9)
}

// What is not linear, and currents and voltages that nobody knows, leave the answer open.
func TestUnknownControls(t *testing.T) {
	for name, c := range map[string]struct{ card, need string }{
		"a product":                            {"B1 o 0 V=v(1)*v(2)", "what B1 drives"},
		"a limit":                              {"E1 o 0 VALUE={max(v(2),0)}", "what E1 drives"},
		"a higher power":                       {"G1 o 0 POLY(1) 2 0 0 1m 1u", "what G1 drives"},
		"time":                                 {"B1 o 0 I=time", "what B1 drives"},
		"a table":                              {"E1 o 0 TABLE {v(2)} = (0,0) (10,10)", "what E1 drives"},
		"a transfer":                           {"E1 o 0 LAPLACE {v(2)} {1/(1+s)}", "what E1 drives"},
		"a source shorted by itself":           {"E1 o o 2 0 1", "what E1 drives"},
		"a floating control":                   {"E1 o 0 c 0 2\nC1 c 0 1n", "rails.c"},
		"two floating controls":                {"E1 o 0 POLY(2) c 0 d 0 1 2 -2\nC1 c 0 1n\nC2 d 0 1n", "rails.c"},
		"a floating control of a current":      {"G1 o 0 c 0 1m\nC1 c 0 1n", "rails.c"},
		"a meter between rails":                {"* shuntwright: rails.P = \"5 V\"\n* shuntwright: rails.N = \"0 V exact\"\nF1 o 0 VP 1\nVP P N 5\nR3 P 0 1k\nR4 N 0 1k", "the current through VP"},
		"meters in parallel":                   {"F1 o 0 VA 1\nVA 2 y\nVB 2 y\nR3 y 0 1k", "the current through VA"},
		"a meter beside a coil":                {"H1 o 0 VA 1\nVA 2 y\nL1 2 y 1m\nR3 y 0 1k", "the current through VA"},
		"a meter in a ring":                    {"H1 o 0 VA 1\nVA y y\nR3 y 0 1k", "the current through VA"},
		"a meter behind a declared current":    {"* shuntwright: currents.RS = { range = \"0 A .. 2 A\", from = \"1\" }\nRS 1 y 1m\nVA y z\nRZ z 0 10\nH1 o 0 VA 1", "the current through VA"},
		"a current that nothing takes":         {"G1 0 q 2 0 1m\nS1 q 0 1 0 sw\n.model sw SW\nE1 o 0 q 0 1", "rails.q"},
		"a meter of which nobody knows enough": {"F1 o 0 VA 1\nVA 2 y\nB2 y 0 V=v(1)**2", "what B2 drives"},
	} {
		t.Run(name, func(t *testing.T) {
			q := voltage(t, load(t, divider+c.card, ""), "o")
			if q.Known() && q.Sound.Hi-q.Sound.Lo < 1e6 {
				t.Errorf("V(o) is known in %v", q.Sound)
			}
			var needs []string
			for _, n := range q.Needs {
				needs = append(needs, n.Key)
			}
			if got := strings.Join(needs, ", "); got != c.need {
				t.Errorf("needs %q, want %q", got, c.need)
			}
		})
	}
}

// A current that a controlled source drives on where a switch opens is not limited by anything: the state is not passed
// over.
func TestControlledCurrentsDriveOn(t *testing.T) {
	d := load(t, "* shuntwright: rails.B = \"12 V exact\"\nG1 0 a B 0 1m\nS1 a b c 0 sw\nR1 b B 1k\nVC c 0 1\n.model sw SW(RON=0.1)\n", "")
	q := voltage(t, d, "a")
	if !math.IsInf(q.Seen.Hi, 1) || !strings.Contains(q.Reason(true), "the current of G1 goes on while S1 may be open") {
		t.Errorf("V(a) is %v: %q", q.Seen, q.Reason(true))
	}
	// What follows the node has no limit either, and one that follows it backwards none at the other end.
	const followers = "E1 o 0 a 0 2\nR3 o 0 1k\nE2 p 0 POLY(1) a 0 5 -2\nR4 p 0 1k"
	d = load(t, "* shuntwright: rails.B = \"12 V exact\"\nG1 0 a B 0 1m\nS1 a b c 0 sw\nR1 b B 1k\nVC c 0 1\n.model sw SW(RON=0.1)\n"+followers, "")
	if o, p := voltage(t, d, "o"), voltage(t, d, "p"); !math.IsInf(o.Seen.Hi, 1) || !math.IsInf(p.Seen.Lo, -1) || o.Reason(true) == "" {
		t.Errorf("V(o) is %v: %q, V(p) is %v", o.Seen, o.Reason(true), p.Seen)
	}
}

// A controlled source feeds what hangs on its output, so that what goes on without a path there has no limit; with
// nothing that feeds it a rail is missing.
func TestControlledSourcesFeed(t *testing.T) {
	deck := func(feed string) string {
		return "* shuntwright: rails.z = \"12 V exact\"\nG1 0 a z 0 1m\nS1 a b c 0 sw\n" + feed + "\nVC c 0 1\nRZ z 0 1k\n.model sw SW(RON=0.1)\n"
	}
	for _, feed := range []string{"E9 b 0 z 0 1", "B9 0 b V=-v(z)", "H9 b 0 VC 1k"} {
		if q := voltage(t, load(t, deck(feed), ""), "a"); !math.IsInf(q.Seen.Hi, 1) || q.Reason(true) == "" {
			t.Errorf("%s: V(a) is %v, needs %v", feed, q.Seen, q.Needs)
		}
	}
	for _, feed := range []string{"R9 b 0 1k", "G9 b 0 z 0 1u\nR9 b 0 1k"} {
		if q := voltage(t, load(t, deck(feed), ""), "a"); math.IsInf(q.Seen.Hi, 1) || len(q.Needs) == 0 {
			t.Errorf("%s: V(a) is %v, needs %v", feed, q.Seen, q.Needs)
		}
	}
}

// A control pin drives nothing; an output does.
func TestControlPinsAreIdle(t *testing.T) {
	d := load(t, "R1 x 0 1k\nE1 o 0 x 0 2\nG1 p 0 POLY(2) o 0 x 0 1m 1m 1m\nR2 o 0 1k\nR3 p 0 1k", "")
	for name, want := range map[string]bool{"x": true, "o": false, "p": false} {
		if got := volt.New(d).Idle(net(t, d, name), design.Operating); got != want {
			t.Errorf("%s idle: %v", name, got)
		}
	}
}

// A change that opens a meter stops what follows it, one that shorts it does not.
func TestChangedMeters(t *testing.T) {
	d := load(t, divider+"F1 0 o VM 4", "")
	at := func(c design.Change) float64 {
		o := d.With(c)
		return volt.New(o).Bound(volt.At(net(t, o, "o")), design.Operating).Nom
	}
	for op, want := range map[design.Op]float64{design.Open: 0, design.Short: 10} {
		if got := at(design.Change{Op: op, Target: "VM"}); math.Abs(got-want) > 1e-6 {
			t.Errorf("V(o) = %v with change %v of the meter, want %v", got, op, want)
		}
	}
	if got := at(design.Change{Op: design.Set, Target: "F1", Value: 2}); math.Abs(got-5) > 1e-6 {
		t.Errorf("V(o) = %v with half the gain", got)
	}
}

// A linear follows in a drawn network: what it drives is offset + sum of gains times node voltages + sum of gains times
// meter currents, in volts behind a series resistor or in amperes.
type linear struct {
	letter  byte
	a, b    int
	current bool
	offset  float64
	nodes   []weight
	meters  []weight
}

type weight struct {
	of   int
	gain float64
}

// A driven network is a network with meters, which stand in series with resistors of their own, and controlled sources.
type driven struct {
	network
	meters  []branch // the meter from a to a node of its own, from there a resistor of value to b
	linears []linear
}

func drawDriven(t *rapid.T) driven {
	d := driven{network: drawNetwork(t, 5)}
	for i := range d.resistors {
		d.resistors[i].value = max(d.resistors[i].value, 1)
	}
	node := func(what string) int { return rapid.IntRange(0, d.nodes).Draw(t, what) }
	for range rapid.IntRange(1, 3).Draw(t, "meters") {
		d.meters = append(d.meters, branch{node("meter from"), node("meter to"), math.Pow(10, rapid.Float64Range(0, 3).Draw(t, "ohms"))})
	}
	for range rapid.IntRange(1, 3).Draw(t, "linears") {
		l := linear{letter: rapid.SampledFrom([]byte("EGFHB")).Draw(t, "letter"), a: node("a"), b: node("b")}
		if l.a == l.b {
			continue
		}
		l.current = l.letter == 'G' || l.letter == 'F' || l.letter == 'B' && rapid.Bool().Draw(t, "current")
		scale := 1.0
		if l.current {
			scale = 1e-3
		}
		if l.letter == 'B' || rapid.Bool().Draw(t, "offset") {
			l.offset = scale * rapid.Float64Range(-5, 5).Draw(t, "offset")
		}
		gain := rapid.Float64Range(-2, 2)
		if l.letter != 'F' && l.letter != 'H' {
			for range rapid.IntRange(1, 2).Draw(t, "nodes") {
				l.nodes = append(l.nodes, weight{rapid.IntRange(1, d.nodes).Draw(t, "node"), scale * gain.Draw(t, "gain")})
			}
		}
		if l.letter != 'E' && l.letter != 'G' {
			ohms := 1.0
			if !l.current {
				ohms = 100
			}
			for range rapid.IntRange(1, 2).Draw(t, "follows") {
				l.meters = append(l.meters, weight{rapid.IntRange(0, len(d.meters)-1).Draw(t, "meter"), ohms * gain.Draw(t, "gain")})
			}
		}
		d.linears = append(d.linears, l)
	}
	return d
}

// cards are the network with each controlled source written in one of the forms that say the same.
func (d driven) cards(t *rapid.T) []string {
	name := func(k int) string { return strings.Replace(fmt.Sprint("n", k), "n0", "0", 1) }
	out := d.network.cards()
	for i, m := range d.meters {
		out = append(out, fmt.Sprintf("VM%d %s m%d", i, name(m.a), i), fmt.Sprintf("RM%d m%d %s %s", i, i, name(m.b), number(m.value)))
	}
	for i, l := range d.linears {
		a := name(l.a)
		if !l.current {
			a = fmt.Sprint("s", i)
			out = append(out, fmt.Sprintf("RS%d %s %s 50", i, a, name(l.a)))
		}
		head := fmt.Sprintf("%c%d %s %s ", l.letter, i, a, name(l.b))
		text := number(l.offset)
		var controls, gains []string
		for _, w := range l.nodes {
			text += fmt.Sprintf(" + v(%s)*(%s)", name(w.of), number(w.gain))
			controls, gains = append(controls, name(w.of), "0"), append(gains, number(w.gain))
		}
		for _, w := range l.meters {
			text += fmt.Sprintf(" - -(%s)*i(VM%d)", number(w.gain), w.of)
			controls, gains = append(controls, fmt.Sprint("VM", w.of)), append(gains, number(w.gain))
		}
		switch plain := l.offset == 0 && len(gains) == 1; {
		case l.letter == 'B' && l.current:
			head += "I=" + text
		case l.letter == 'B':
			head += "V=" + text
		case plain && rapid.Bool().Draw(t, "plain"):
			head += strings.Join(controls, " ") + " " + gains[0]
		case rapid.Bool().Draw(t, "polynomial"):
			head += fmt.Sprintf("POLY(%d) %s %s %s", len(gains), strings.Join(controls, " "), number(l.offset), strings.Join(gains, " "))
		default:
			head += "VALUE={" + text + "}"
		}
		out = append(out, head)
	}
	return out
}

// solve writes the network down as modified node equations of its own: node voltages (meters' and sources' inner nodes
// behind them), then the currents of sources, meters and controlled sources, all as unknowns. ok is false where they
// are too near to having no answer.
func (d driven) solve() (v []float64, ok bool) {
	inner := func(m int) int { return d.nodes + 1 + m }
	behind := func(l int) int { return d.nodes + 1 + len(d.meters) + l }
	nodes := d.nodes + 1 + len(d.meters) + len(d.linears)
	size := nodes + len(d.sources) + len(d.meters) + len(d.linears)
	a, z := mat.NewDense(size, size, nil), mat.NewVecDense(size, nil)
	add := func(r, c int, v float64) { a.Set(r, c, a.At(r, c)+v) }
	resistor := func(p, q int, ohms float64) {
		add(p, p, 1/ohms)
		add(q, q, 1/ohms)
		add(p, q, -1/ohms)
		add(q, p, -1/ohms)
	}
	// through lets the unknown current of a row leave p and arrive at q, and starts its equation with V(p) - V(q).
	through := func(row, p, q int) {
		add(p, row, 1)
		add(q, row, -1)
		add(row, p, 1)
		add(row, q, -1)
	}
	for _, r := range d.resistors {
		resistor(r.a, r.b, r.value)
	}
	for _, c := range d.currents {
		z.SetVec(c.a, z.AtVec(c.a)-c.value)
		z.SetVec(c.b, z.AtVec(c.b)+c.value)
	}
	for i, s := range d.sources {
		through(nodes+i, s.a, s.b)
		z.SetVec(nodes+i, s.value)
	}
	meter := nodes + len(d.sources)
	for i, m := range d.meters {
		through(meter+i, m.a, inner(i))
		resistor(inner(i), m.b, m.value)
	}
	for i, l := range d.linears {
		row := meter + len(d.meters) + i
		if l.current {
			add(l.a, row, 1)
			add(l.b, row, -1)
			add(row, row, 1)
			add(behind(i), behind(i), 1) // there is no such node
		} else {
			through(row, behind(i), l.b)
			resistor(behind(i), l.a, 50)
		}
		for _, w := range l.nodes {
			add(row, w.of, -w.gain)
		}
		for _, w := range l.meters {
			add(row, meter+w.of, -w.gain)
		}
		z.SetVec(row, l.offset)
	}
	for c := range size { // node 0
		a.Set(0, c, 0)
	}
	a.Set(0, 0, 1)
	z.SetVec(0, 0)
	var lu mat.LU
	lu.Factorize(a)
	var x mat.VecDense
	if err := lu.SolveVecTo(&x, false, z); err != nil || lu.Cond() > 1e7 {
		return nil, false
	}
	return x.RawVector().Data[:nodes], true
}

func TestControlledNetworksObeyTheNodeEquations(t *testing.T) {
	checked := 0
	rapid.Check(t, func(rt *rapid.T) {
		n := drawDriven(rt)
		want, ok := n.solve()
		if !ok {
			return
		}
		checked++
		cards := strings.Join(n.cards(rt), "\n")
		d := load(rt, cards, "")
		for k := 1; k <= n.nodes; k++ {
			q := voltage(rt, d, fmt.Sprint("n", k))
			if math.IsNaN(q.Nom) || math.Abs(q.Nom-want[k]) > 1e-6*n.size(want) {
				rt.Fatalf("V(n%d) = %v, want %v, needs %v\n%s", k, q.Nom, want[k], q.Needs, cards)
			}
		}
		for i := range n.meters {
			if q := voltage(rt, d, fmt.Sprint("m", i)); math.IsNaN(q.Nom) || math.Abs(q.Nom-want[n.nodes+1+i]) > 1e-6*n.size(want) {
				rt.Fatalf("V(m%d) = %v, want %v\n%s", i, q.Nom, want[n.nodes+1+i], cards)
			}
		}
	})
	if checked < 20 {
		t.Errorf("only %d networks had an answer", checked)
	}
}

// To a small signal constants are at rest, gains and meters work on: 1 V between the shunt's ends over 5 kohm between
// the pins and 100 ohm to each.
func TestControlledSourcesPassASignalOn(t *testing.T) {
	const records = `[[part]]
name = "hawser-21"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "supply"]
gain = "20 V/V"
supply = { operating = "3 V .. 6 V", current = "1 mA" }
input = { model = "differential", resistance = "5 kohm exact" }
bias = { max = "20 uA", mismatch = "0.5 uA" }
`
	for legs, want := range map[string]float64{
		"R1 a p 100\nR2 b m 100":                                5000. / 5200,
		"E1 e 0 POLY(1) a 0 3 1\nR1 e p 100\nR2 b m 100":        5000. / 5200,
		"R1 a p 100\nB1 b c V=2\nR2 c m 100":                    5000. / 5200,
		"R1 a p 100\nR2 b m 100\nB1 m 0 I=2m":                   5000. / 5200,
		"R1 a y 100\nVY y p\nR2 b m 100\nF1 0 m VY 0.5":         5000. / 5250, // 100 i + 5000 i + 100 (1.5 i) = 1 V
		"R1 a y 100\nVY y p\nR2 b m 100\nF1 0 m POLY(1) VY 1 1": 5000. / 5300,
	} {
		d := load(t, `* shuntwright: rails.V5 = "5 V exact"
* shuntwright: tolerances.resistors = "0 %"
RSH a b 1m
XA p m out 0 V5 hawser-21
`+legs, records)
		amp, _ := d.Find("XA")
		meets(t, "the factor with "+legs, volt.New(d).Factor(amp, "", net(t, d, "a"), net(t, d, "b"), false).Seen, want, want, 1e-9)
	}
	d := load(t, "* shuntwright: rails.V5 = \"5 V exact\"\nRSH a b 1m\nXA p m out 0 V5 hawser-21\nR1 a p 100\nR2 b m 100\nB1 m 0 I=v(a)*v(b)", records)
	amp, _ := d.Find("XA")
	if q := volt.New(d).Factor(amp, "", net(t, d, "a"), net(t, d, "b"), false); q.Known() {
		t.Errorf("the factor is %v beside a law that is not linear", q.Seen)
	}
}
