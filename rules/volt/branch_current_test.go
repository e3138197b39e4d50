package volt_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// "Lessons In Electric Circuits", DC, ch. 10, two batteries: 5 A through R1, 4 A through R2, 1 A through R3; R1's comes out
// of V1, so that 5 A enter V1 at its second node.
func TestBranchCurrents(t *testing.T) {
	d := load(t, "V1 1 0 28\nV2 3 0 7\nR1 1 2 4\nR2 2 0 2\nR3 2 3 1\nL1 0 4 1m\nR4 4 3 7", "")
	for path, want := range map[string]float64{"R1": 5, "R2": 4, "R3": 1, "V1": -5, "V2": 0, "L1": -1, "R4": -1} {
		meets(t, "I("+path+")", amps(t, d, path).Seen, want, want, 1e-9)
	}
}

// A tolerance counts in the voltage and in the resistance at once: through 10 ohm +- 10 % in series with 10 ohm, on 20 V,
// 20 V / 21 ohm .. 20 V / 19 ohm.
func TestBranchCurrentMovesWithItsResistance(t *testing.T) {
	d := load(t, "* shuntwright: rails.A = \"20 V exact\"\n* shuntwright: elements.R1.tolerance = \"10 %\"\n* shuntwright: elements.R2.tolerance = \"0 %\"\nR1 A B 10\nR2 B 0 10", "")
	for _, path := range []string{"R1", "R2"} {
		meets(t, path, amps(t, d, path).Seen, 20./21, 20./19, 1e-9)
	}
}

// Between two rails: 0.5 V to 2 V over 4 ohm.
func TestBranchCurrentBetweenRails(t *testing.T) {
	d := load(t, "* shuntwright: rails.A = \"5 V .. 6 V\"\n* shuntwright: rails.B = \"4 V .. 4.5 V\"\n* shuntwright: tolerances.resistors = \"0 %\"\nR1 B A 4", "")
	meets(t, "I(R1)", amps(t, d, "R1").Seen, -0.5, -0.125, 1e-12)
}

// A declared current is what intent says, counted from the resistor's first node.
func TestBranchCurrentDeclared(t *testing.T) {
	for from, want := range map[string]quantity.Interval{"BUS": {Lo: -5, Hi: 15}, "LOAD": {Lo: -15, Hi: 5}} {
		d := load(t, "* shuntwright: rails.BUS = \"48 V exact\"\n* shuntwright: currents.RS = { range = \"-5 A .. 15 A\", from = \""+from+"\" }\nRS BUS LOAD 1m\nRL LOAD 0 4", "")
		q := amps(t, d, "RS")
		meets(t, "from "+from, q.Seen, want.Lo, want.Hi, 0)
		e, _ := d.Find("RS")
		if _, err := volt.New(d).CurrentDeck(e, design.Operating, q, true); err == nil {
			t.Error("a deck for what nothing is solved for")
		}
	}
}

// A coil carries 0 A to 2 A while it drives on and what the rail drives through 8 ohm while it is a piece of wire.
func TestBranchCurrentOfACoil(t *testing.T) {
	d := load(t, `* shuntwright: rails.BUS = "24 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.MB = { drop = "0.7 V exact", on-resistance = "0 ohm exact" }
* shuntwright: elements.LB.current = "0 A .. 2 A"
* shuntwright: elements.DF.drop = "0.7 V exact"
.model fet NMOS
.model free D
RB BUS A 8
LB A SW 80m
DF SW BUS free
MB SW g 0 0 fet`, "")
	meets(t, "I(LB)", amps(t, d, "LB").Seen, 0, 3, 1e-9)
	meets(t, "I(RB)", amps(t, d, "RB").Seen, 0, 3, 1e-6)
}

// What is missing is said: an element that nobody knows, a current that two pieces of wire share, and kinds of which no
// current is told.
func TestBranchCurrentMissing(t *testing.T) {
	d := load(t, "V1 A 0 5\nR1 A B 1k\nO1 B 0 A 0 o\n.model o LTRA\nVW B C 0\nRW B C 0\nR2 C 0 1k\nD1 C 0 d\n.model d D", "")
	for _, path := range []string{"R1", "VW", "RW", "D1"} {
		if q := amps(t, d, path); q.Known() || !q.Seen.Empty() {
			t.Errorf("I(%s) is %v", path, q.Seen)
		}
	}
}

// Where nothing limits a node, nobody knows where a current goes that arrives there; what a coil drives is known.
func TestBranchCurrentWithoutLimit(t *testing.T) {
	d := load(t, `* shuntwright: rails.BUS = "24 V exact"
* shuntwright: elements.MB.drop = "0.7 V exact"
* shuntwright: elements.MB.on-resistance = "12 ohm exact"
* shuntwright: elements.LB.current = "0 A .. 3 A"
.model fet NMOS
LB BUS A 80m
RS A SW 0
MB SW g 0 0 fet`, "")
	if q := amps(t, d, "RS"); !math.IsInf(q.Seen.Hi, 1) || q.Reason(true) == "" {
		t.Errorf("I(RS) is %v, %q", q.Seen, q.Reason(true))
	}
	meets(t, "I(LB)", amps(t, d, "LB").Seen, 0, 3, 1e-9)
}

// In a network of resistors and sources a resistor's current is the voltage across it, by the node equations, over its
// resistance; a source's is what the resistors and current sources around it leave.
func TestNominalCurrents(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawNetwork(t, 7)
		d := load(t, strings.Join(n.cards(), "\n"), "")
		v := n.solve(t)
		most := 1e-9
		current := make([]float64, len(n.resistors))
		for i, r := range n.resistors {
			current[i] = (v[r.a] - v[r.b]) / r.value
			most = max(most, math.Abs(current[i]))
		}
		close := func(name string, want float64) {
			if got := amps(t, d, name).Nom; math.Abs(got-want) > 1e-7*most {
				t.Fatalf("I(%s) = %v, want %v", name, got, want)
			}
		}
		for i := range n.resistors {
			close(fmt.Sprint("R", i), current[i])
		}
		for i, s := range n.sources {
			left := 0.0 // what flows to the source's node from the rest enters it there
			for k, r := range n.resistors {
				if r.a == s.a {
					left -= current[k]
				}
				if r.b == s.a {
					left += current[k]
				}
			}
			for _, c := range n.currents {
				if c.a == s.a {
					left -= c.value
				}
				if c.b == s.a {
					left += c.value
				}
			}
			close(fmt.Sprint("V", i), left)
		}
	})
}
