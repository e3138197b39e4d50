package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// disconnectAbove are the cards of two transistors back to back between a pack and what it feeds or a charger.
const disconnectAbove = `* shuntwright: rails.PACK = "20 V .. 29 V"
* shuntwright: rails.CHG = "20 V .. 34 V"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.MC = { drop = "0.5 V .. 1 V", on-resistance = "2 mohm .. 4 mohm" }
* shuntwright: elements.MD = { drop = "0.5 V .. 1 V", on-resistance = "2 mohm .. 4 mohm" }
* shuntwright: elements.SCH.on-resistance = "1 uohm exact"
* shuntwright: elements.DF.drop = "0.5 V .. 1 V"
* shuntwright: elements.LL.current = "0 A .. 20 A"
MD PACK gd MID MID pfet
MC OUT gc MID MID pfet
SCH CHG OUT c 0 hs
DF 0 OUT free
LL OUT N 1m
RL N 0 2`

// A hundred thousand allowed states of switched topologies, by formulas of their own: 2 A to 20 A and 15 mohm at the most
// stay below every diode's drop.
func TestAllowedStatesOfSwitchesStayInside(t *testing.T) {
	rnd := rand.New(rand.NewPCG(9, 10))
	in := func(lo, hi float64) float64 {
		if k := rnd.IntN(4); k < 2 {
			return []float64{lo, hi}[k]
		}
		return lo + rnd.Float64()*(hi-lo)
	}
	const models = "\n.model fet NMOS\n.model free D\n.model hs SW\n"
	for _, c := range []struct {
		name, deck, net string
		state           func() float64
	}{
		{"low side", `* shuntwright: rails.BATT = "40 V .. 58 V"
* shuntwright: currents.RSH = { range = "-5 A .. 20 A", from = "RET" }
* shuntwright: tolerances.resistors = "2 %"
RL BATT RET 4
RSH RET 0 10m`, "RET", func() float64 { return in(-5, 20) * in(9.8e-3, 10.2e-3) }},
		{"in line", `* shuntwright: rails.BATT = "40 V .. 58 V"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "PH" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.MH = { drop = "0.6 V .. 0.9 V", on-resistance = "5 mohm .. 15 mohm", exclusive-with = ["ML"] }
* shuntwright: elements.ML = { drop = "0.6 V .. 0.9 V", on-resistance = "5 mohm .. 15 mohm" }
MH BATT gh PH PH fet
ML PH gl 0 0 fet
RSH PH MOT 10m
LM MOT N 1m
RM N 0 1`, "PH", func() float64 {
			i, v := in(-20, 20), in(40, 58)
			switch rnd.IntN(3) {
			case 0:
				return v - i*in(5e-3, 15e-3)
			case 1:
				return -i * in(5e-3, 15e-3)
			}
			if i < 0 {
				return v + in(0.6, 0.9)
			}
			return -in(0.6, 0.9)
		}},
		{"low-side switch", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "COIL" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.DF = { drop = "0.5 V .. 1 V" }
* shuntwright: elements.ML = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 20 mohm" }
LC BATT COIL 80m
RSH COIL SW 10m
DF SW BATT free
ML SW g 0 0 fet`, "COIL", func() float64 {
			i := in(0, 2)
			if rnd.IntN(2) == 0 {
				return i * (in(10e-3, 20e-3) + 10e-3)
			}
			return in(9, 16) + in(0.5, 1) + i*10e-3
		}},
		{"high-side switch", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "SW" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.DF = { drop = "0.5 V .. 1 V" }
* shuntwright: elements.SH.on-resistance = "10 mohm .. 20 mohm"
SH BATT SW c 0 hs
DF 0 SW free
RSH SW COIL 10m
LC COIL N 80m
RC N 0 7`, "COIL", func() float64 {
			i := in(0, 2)
			if rnd.IntN(2) == 0 {
				return in(9, 16) - i*(in(10e-3, 20e-3)+10e-3)
			}
			return -in(0.5, 1) - i*10e-3
		}},
		{"fast decay", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: tolerances.resistors = "2 %"
* shuntwright: elements.SH.on-resistance = "10 mohm .. 20 mohm"
* shuntwright: elements.ML = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 20 mohm" }
* shuntwright: elements.DL.drop = "0.5 V .. 1 V"
* shuntwright: elements.DH.drop = "0.5 V .. 1 V"
* shuntwright: elements.LC.current = "0 A .. 4 A"
SH BATT A c 0 hs
DL 0 A free
RSH A COIL 20m
LC COIL N 80m
RC N B 5
ML B g 0 0 fet
DH B BATT free`, "COIL", func() float64 {
			i, r := in(0, 4), in(19.6e-3, 20.4e-3)
			if rnd.IntN(2) == 0 {
				return in(9, 16) - i*(in(10e-3, 20e-3)+r)
			}
			return -in(0.5, 1) - i*r
		}},
		{"hot swap", `* shuntwright: rails.BUS = "36 V .. 54 V"
* shuntwright: tolerances.resistors = "2 %"
* shuntwright: elements.MS = { drop = "0.5 V .. 1 V", on-resistance = "3 mohm .. 6 mohm" }
* shuntwright: elements.DO.drop = "0.5 V .. 1 V"
* shuntwright: elements.LW.current = "0 A .. 8 A"
RSH BUS A 2m
MS A g OUT OUT fet
DO 0 OUT free
LW OUT LOAD 1u
CL LOAD 0 1u
RL LOAD 0 10`, "OUT", func() float64 {
			if rnd.IntN(2) == 0 {
				return in(36, 54) - in(0, 8)*(in(3e-3, 6e-3)+in(1.96e-3, 2.04e-3))
			}
			return -in(0.5, 1)
		}},
		{"battery disconnect", disconnectAbove + "\n.model pfet PMOS", "OUT", func() float64 {
			i := in(0, 20)
			switch rnd.IntN(4) {
			case 0: // the charger feeds it
				return in(20, 34) - i*1e-6
			case 1: // the pack does, through both
				return in(20, 29) - i*(in(2e-3, 4e-3)+in(2e-3, 4e-3))
			case 2: // or through the body diode of the one
				return in(20, 29) - in(0.5, 1) - i*in(2e-3, 4e-3)
			}
			return -in(0.5, 1)
		}},
	} {
		q := voltage(t, load(t, c.deck+models, ""), c.net)
		seen := quantity.Nothing
		for range 100_000 {
			v := c.state()
			if v < q.Sound.Lo-1e-6 || v > q.Sound.Hi+1e-6 {
				t.Fatalf("%s: %v is possible, outside %v", c.name, v, q.Sound)
			}
			seen = seen.Union(quantity.Point(v))
		}
		meets(t, c.name+": what was met", seen, q.Seen.Lo, q.Seen.Hi, 1e-3*q.Seen.Width())
	}
}

// Up to 300 nodes with voltage-controlled currents, against the node equations solved densely by gonum. Each node has a
// conductance to ground that is larger than the transconductances together, so that there is an answer.
func TestLargeControlledNetworks(t *testing.T) {
	rnd := rand.New(rand.NewPCG(11, 12))
	for _, nodes := range []int{20, 120, 300} {
		var b strings.Builder
		g, z := mat.NewDense(nodes, nodes, nil), mat.NewVecDense(nodes, nil)
		add := func(r, c int, v float64) {
			if r > 0 && c > 0 {
				g.Set(r-1, c-1, g.At(r-1, c-1)+v)
			}
		}
		name := func(k int) string { return fmt.Sprint("n", k) }
		net := func(k int) string {
			if k == 0 {
				return "0"
			}
			return name(k)
		}
		resistor := func(k string, p, q int, ohms float64) {
			fmt.Fprintf(&b, "R%s %s %s %s\n", k, net(p), net(q), number(ohms))
			for _, e := range [][2]int{{p, q}, {q, p}} {
				add(e[0], e[0], 1/ohms)
				add(e[0], e[1], -1/ohms)
			}
		}
		for k := 1; k <= nodes; k++ {
			resistor(fmt.Sprint("G", k), k, 0, 10+90*rnd.Float64())
			resistor(fmt.Sprint("S", k), k, rnd.IntN(k), math.Pow(10, 4*rnd.Float64()-1))
			p, q, gain := 1+rnd.IntN(nodes), rnd.IntN(nodes), 4e-3*(rnd.Float64()-0.5)
			fmt.Fprintf(&b, "G%d %s 0 %s %s %s\nI%d 0 %s %s\n", k, net(k), net(p), net(q), number(gain), k, net(k), number(float64(k%7)))
			add(k, p, gain)
			add(k, q, -gain)
			z.SetVec(k-1, z.AtVec(k-1)+float64(k%7))
		}
		var want mat.VecDense
		if err := want.SolveVec(g, z); err != nil {
			t.Fatal(err)
		}
		d := load(t, b.String(), "")
		for k := 1; k <= nodes; k += 1 + nodes/5 {
			if q := voltage(t, d, name(k)); math.Abs(q.Nom-want.AtVec(k-1)) > 1e-9*mat.Norm(&want, math.Inf(1)) {
				t.Fatalf("%d nodes: V(n%d) = %v, want %v", nodes, k, q.Nom, want.AtVec(k-1))
			}
		}
	}
}
