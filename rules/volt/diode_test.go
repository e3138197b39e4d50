package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A switched network has switches of 1 ohm and ideal diodes with a drop beside its resistors and sources.
type switched struct {
	loose
	switches []branch // a closed one's ohms
	diodes   []branch // from a to b, the drop
}

func drawSwitched(t *rapid.T, nodes, uncertain, most int) switched {
	n := switched{loose: drawLoose(t, nodes, uncertain)}
	pair := func() (int, int) {
		a := rapid.IntRange(0, n.nodes).Draw(t, "from")
		b := rapid.IntRange(0, n.nodes-1).Draw(t, "to")
		if b >= a {
			b++
		}
		return a, b
	}
	for range rapid.IntRange(0, most).Draw(t, "switches") {
		a, b := pair()
		n.switches = append(n.switches, branch{a, b, 1})
	}
	for range rapid.IntRange(0, most).Draw(t, "diodes") {
		a, b := pair()
		n.diodes = append(n.diodes, branch{a, b, float64(rapid.IntRange(1, 12).Draw(t, "drop")) / 10})
	}
	// Loops of ideal diodes and sources have no single answer to compare currents in; voltages are compared only.
	return n
}

func (n switched) deck() string {
	var b strings.Builder
	b.WriteString(n.loose.deck())
	name := func(k int) string {
		if k == 0 {
			return "0"
		}
		return fmt.Sprint("n", k)
	}
	for i, s := range n.switches {
		fmt.Fprintf(&b, "\n* shuntwright: elements.S%d.on-resistance = \"1 ohm exact\"\nS%d %s %s c 0 sw", i, i, name(s.a), name(s.b))
	}
	for i, d := range n.diodes {
		fmt.Fprintf(&b, "\n* shuntwright: elements.D%d.drop = \"%v V exact\"\nD%d %s %s d", i, d.value, i, name(d.a), name(d.b))
	}
	return b.String() + "\nVC c 0 1\n.model sw SW\n.model d D"
}

// answers tries every combination of conducting diodes of a network whose switches stand as the bits say, and returns
// the node voltages of the first that contradicts nothing. Each conducting diode is a source with its current unknown.
func (n switched) answers(m network, closed int) ([]float64, bool) {
	m.resistors = append([]branch{}, m.resistors...)
	for i, s := range n.switches {
		if closed>>i&1 == 1 {
			m.resistors = append(m.resistors, s)
		}
	}
	for on := range 1 << len(n.diodes) {
		sources := append([]branch{}, m.sources...)
		for i, d := range n.diodes {
			if on>>i&1 == 1 {
				sources = append(sources, d)
			}
		}
		size := m.nodes + len(sources)
		a, rhs := mat.NewDense(size, size, nil), mat.NewVecDense(size, nil)
		add := func(r, c int, v float64) {
			if r > 0 && c > 0 {
				a.Set(r-1, c-1, a.At(r-1, c-1)+v)
			}
		}
		for _, r := range m.resistors {
			add(r.a, r.a, 1/r.value)
			add(r.b, r.b, 1/r.value)
			add(r.a, r.b, -1/r.value)
			add(r.b, r.a, -1/r.value)
		}
		for _, c := range m.currents {
			if c.a > 0 {
				rhs.SetVec(c.a-1, rhs.AtVec(c.a-1)-c.value)
			}
			if c.b > 0 {
				rhs.SetVec(c.b-1, rhs.AtVec(c.b-1)+c.value)
			}
		}
		for i, s := range sources {
			row := m.nodes + i + 1
			add(s.a, row, 1)
			add(s.b, row, -1)
			add(row, s.a, 1)
			add(row, s.b, -1)
			rhs.SetVec(row-1, s.value)
		}
		var x mat.VecDense
		var lu mat.LU
		lu.Factorize(a)
		if lu.Cond() > 1e13 || lu.SolveVecTo(&x, false, rhs) != nil {
			continue
		}
		v := make([]float64, m.nodes+1)
		for k := 1; k <= m.nodes; k++ {
			v[k] = x.AtVec(k - 1)
		}
		good, next := true, m.nodes+len(m.sources)
		for i, d := range n.diodes {
			if on>>i&1 == 1 {
				good = good && x.AtVec(next) >= -1e-9
				next++
			} else {
				good = good && v[d.a]-v[d.b] <= d.value+1e-9*m.size(v)
			}
		}
		if good {
			return v, true
		}
	}
	return nil, false
}

// hulls are the ranges of the node voltages; ok is false where a combination of corner and switches has no answer: a loop of
// sources and diodes carries a current without end.
func (n switched) hulls(t need) (want []quantity.Interval, size float64, ok bool) {
	want = make([]quantity.Interval, n.nodes+1)
	for k := range want {
		want[k] = quantity.Nothing
	}
	size = 1
	for m := range n.corners {
		for closed := range 1 << len(n.switches) {
			v, ok := n.answers(m, closed)
			if !ok {
				return nil, 0, false
			}
			size = max(size, m.size(v))
			for k := range want {
				want[k] = want[k].Union(quantity.Point(v[k]))
			}
		}
	}
	return want, size, true
}

// Seen is the hull over corners, switches and the diode state that each of them settles in.
func TestSeenIsTheHullOfConsistentStates(t *testing.T) {
	judged := 0
	rapid.Check(t, func(t *rapid.T) {
		n := drawSwitched(t, 5, 2, 4)
		d := load(t, n.deck(), "")
		want, size, ok := n.hulls(t)
		if !ok {
			return
		}
		judged++
		for k := 1; k <= n.nodes; k++ {
			q := voltage(t, d, fmt.Sprint("n", k))
			if math.Abs(q.Seen.Lo-want[k].Lo) > 1e-5*size || math.Abs(q.Seen.Hi-want[k].Hi) > 1e-5*size {
				t.Fatalf("V(n%d) is seen in %v, the states span %v\n%s", k, q.Seen, want[k], n.deck())
			}
		}
	})
	if judged == 0 {
		t.Error("no network had an answer")
	}
}

// random draws the same networks every time.
func random(seed uint64, draw func(*rapid.T) switched) switched {
	return rapid.Custom(draw).Example(int(seed))
}

// Between the corners of its inputs a diode network may go beyond them: a rectifier's output is least where its input
// passes zero.
func TestStatesOfDiodeNetworksLieInsideSound(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 11))
	outside := 0
	for seed := range uint64(300) {
		n := random(seed, func(t *rapid.T) switched { return drawSwitched(t, 4, 3, 3) })
		for i := range n.sources { // from one sign to the other
			n.tolerance[len(n.resistors)+i] = 0
		}
		var rails strings.Builder
		for i, s := range n.sources {
			n.sources[i].value = math.Round(s.value)
			if n.sources[i].value == 0 {
				n.sources[i].value = 5
			}
			fmt.Fprintf(&rails, "* shuntwright: rails.n%d = \"%v V .. %v V\"\n", s.a, -math.Abs(n.sources[i].value), math.Abs(n.sources[i].value))
		}
		d := load(t, rails.String()+n.deck(), "")
		node := 1 + int(seed)%n.nodes
		q := voltage(t, d, fmt.Sprint("n", node))
		for range 30 {
			m := n.at(func(int) float64 { return 2*rnd.Float64() - 1 })
			for i := range m.sources {
				m.sources[i].value *= 2*rnd.Float64() - 1
			}
			v, ok := n.answers(m, rnd.IntN(1<<len(n.switches)))
			if !ok {
				continue
			}
			if x := v[node]; x < q.Sound.Lo-1e-5*m.size(v) || x > q.Sound.Hi+1e-5*m.size(v) {
				if outside++; outside < 4 {
					t.Errorf("V(n%d) = %v is possible, outside %v\n%s", node, x, q.Sound, rails.String()+n.deck())
				}
				break
			}
		}
	}
	if outside > 0 {
		t.Errorf("%d of 300 networks leave their bound", outside)
	}
}

// A declared resistance of a diode stands in series with its drop, and wins over the model's: 10 V less 0.5 V over 1 kohm and
// another.
func TestDeclaredResistanceOfADiode(t *testing.T) {
	q := voltage(t, load(t, still+`* shuntwright: rails.V1 = "10 V exact"
* shuntwright: elements.D1 = { drop = "0.5 V exact", on-resistance = "1 kohm .. 3 kohm" }
.model free D RS=1
D1 V1 a free
R1 a 0 1k`, ""), "a")
	meets(t, "a", q.Seen, 9.5/4, 9.5/2, 1e-9)
	meets(t, "a, nothing outside,", q.Sound, 9.5/4, 9.5/2, 1e-9)
}
