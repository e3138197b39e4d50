package volt_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Positive feedback of a gain of 2 over two equal resistors of 1 %: V(a) = V1 g1 / (g1 + g2 - 2 g2), whose denominator has
// either sign inside the tolerance. Nothing limits it there, and the reason says so; with a gain of 1.5 it is plain.
func TestPoleInsideTheTolerance(t *testing.T) {
	deck := func(gain string) string {
		return "* shuntwright: tolerances.resistors = \"1 %\"\n* shuntwright: rails.V1 = \"1 V exact\"\nR1 V1 a 1k\nR2 a o 1k\nE1 o 0 a 0 " + gain
	}
	q := voltage(t, load(t, deck("2"), ""), "a")
	if !math.IsInf(q.Sound.Lo, -1) || !math.IsInf(q.Sound.Hi, 1) || !strings.Contains(q.Reason(true), "loop gain") {
		t.Errorf("V(a) is %v, %q", q.Sound, q.Reason(true))
	}
	at := func(r1, r2 float64) float64 { return (1 / r1) / (1/r1 - 0.5/r2) }
	q = voltage(t, load(t, deck("1.5"), ""), "a")
	meets(t, "V(a)", q.Sound, at(0.99, 1.01), at(1.01, 0.99), 1e-9)
}

// One temperature moves all resistors: of two with the same coefficients the ratio stays, and a parabola's turning point at
// 27 degC - TC1 / (2 TC2) = 77 degC, inside the range, is the extreme: 1 - 1e-2 x 50 + 1e-4 x 2500 = 0.75.
func TestTurningTemperature(t *testing.T) {
	const head = "* shuntwright: temperature = \"-40 degC .. 125 degC\"\n* shuntwright: tolerances.resistors = \"0 %\"\n* shuntwright: rails.V1 = \"10 V exact\"\n"
	r := func(celsius float64) float64 { d := celsius - 27; return 1 - 1e-2*d + 1e-4*d*d }
	q := voltage(t, load(t, head+"R1 V1 a 1k\nR2 a 0 1k TC=-0.01,1e-4", ""), "a")
	meets(t, "V(a)", q.Seen, 10*0.75/1.75, 10*r(-40)/(1+r(-40)), 1e-9)
	meets(t, "V(a), nothing outside,", q.Sound, 10*0.75/1.75, 10*r(-40)/(1+r(-40)), 1e-9)
	q = voltage(t, load(t, head+"R1 V1 a 3k TC=-0.01,1e-4\nR2 a 0 1k TC=-0.01,1e-4", ""), "a")
	meets(t, "V(a) of two alike", q.Sound, 2.5, 2.5, 1e-9)
	// Two with other coefficients: their ratio turns where neither does. Found by going along the range here.
	q = voltage(t, load(t, head+"R1 V1 a 1k TC=-0.002,2e-5\nR2 a 0 1k TC=-0.004,3e-5", ""), "a")
	lo, hi := math.Inf(1), math.Inf(-1)
	for k := range 1_650_01 {
		d := -67 + float64(k)/1000
		r1, r2 := 1-0.002*d+2e-5*d*d, 1-0.004*d+3e-5*d*d
		lo, hi = min(lo, 10*r2/(r1+r2)), max(hi, 10*r2/(r1+r2))
	}
	meets(t, "V(a) of two unlike", q.Seen, lo, hi, 1e-6)
	if q.Sound.Lo > lo || q.Sound.Hi < hi {
		t.Errorf("%v leaves out %v .. %v", q.Sound, lo, hi)
	}
}

// Networks of hundreds of nodes against the node equations, solved densely.
func TestLargeNetworksObeyTheNodeEquations(t *testing.T) {
	for seed := range 3 {
		n := rapid.Custom(func(t *rapid.T) network {
			for {
				if n := drawNetwork(t, 300); n.nodes > 200 {
					return n
				}
			}
		}).Example(seed)
		want := n.solve(t)
		d := load(t, strings.Join(n.cards(), "\n"), "")
		for k := 1; k <= n.nodes; k += 40 {
			if q := voltage(t, d, fmt.Sprint("n", k)); math.Abs(q.Nom-want[k]) > 1e-9*n.size(want) || q.Seen.Lo != q.Nom {
				t.Fatalf("V(n%d) = %v, want %v", k, q.Nom, want[k])
			}
		}
	}
}
