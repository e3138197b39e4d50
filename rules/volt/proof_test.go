package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A divider of two resistors that drift differently turns inside the range of the temperature, where neither of them does,
// and in the one state of its switch that does not hold the end found at the ends of the range. Found by going along the
// range here.
func TestTurnInAnotherState(t *testing.T) {
	ratio := func(d float64) float64 {
		r1, r2 := 1-0.002*d+2e-5*d*d, 1-0.004*d+3e-5*d*d
		return r2 / (r1 + r2)
	}
	least, ends := 1.0, 1.0
	for k := range 165_001 {
		least = min(least, ratio(-67+float64(k)/1000))
	}
	for _, d := range []float64{-67, 50, 0.004 / 6e-5, 98} { // the ends, and where the resistors turn
		ends = min(ends, ratio(d))
	}
	if least > ends-1e-4 {
		t.Fatalf("%v at the ends, %v between: no case", ends, least)
	}
	// With the switch closed a rail holds the node between the two.
	q := voltage(t, load(t, fmt.Sprintf(`* shuntwright: temperature = "-40 degC .. 125 degC"
* shuntwright: tolerances.resistors = "0 %%"
* shuntwright: rails.V1 = "10 V exact"
* shuntwright: rails.V2 = "%.9f V exact"
* shuntwright: elements.S1.on-resistance = "0.1 mohm exact"
R1 V1 a 1k TC=-0.002,2e-5
R2 a 0 1k TC=-0.004,3e-5
S1 V2 a c 0 sw
.model sw SW`, 5*(ends+least)), ""), "a")
	meets(t, "V(a)", q.Seen, 10*least, q.Seen.Hi, 1e-8)
	meets(t, "V(a), nothing outside,", q.Sound, 10*least, q.Sound.Hi, 1e-8)
}

// Several resistors that share a temperature, beside their tolerances: what a random draw of both gives stays inside, and
// where the bound is not called loose its ends are those of all corners at many temperatures.
func TestSharedTemperatureIsProven(t *testing.T) {
	rnd := rand.New(rand.NewPCG(61, 62))
	for round := range 60 {
		const n = 4
		var deck strings.Builder
		fmt.Fprintf(&deck, "* shuntwright: temperature = \"-40 degC .. 125 degC\"\n* shuntwright: tolerances.resistors = \"1 %%\"\n* shuntwright: rails.V1 = \"9 V .. 11 V\"\n")
		var ohms, tc1, tc2 [n]float64
		for k := range n {
			ohms[k] = math.Round(100 * math.Pow(10, 2*rnd.Float64()))
			tc1[k], tc2[k] = math.Round(8000*(rnd.Float64()-0.5))*1e-6, math.Round(40*rnd.Float64())*1e-6
		}
		between := [n]string{"V1 a", "a b", "b 0", "a 0"}
		for k := range n {
			fmt.Fprintf(&deck, "R%d %s %v TC=%v,%v\n", k, between[k], ohms[k], tc1[k], tc2[k])
		}
		q := voltage(t, load(t, deck.String(), ""), "b")
		lo, hi := math.Inf(1), math.Inf(-1)
		at := func(v, celsius float64, times [n]float64) float64 {
			d := celsius - 27
			var g [n]float64
			for k := range n {
				g[k] = 1 / (ohms[k] * times[k] * (1 + tc1[k]*d + tc2[k]*d*d))
			}
			down := 1 / (1/g[1] + 1/g[2]) // from a through b to ground
			a := v * g[0] / (g[0] + g[3] + down)
			return a * g[1] / (g[1] + g[2])
		}
		corner := func(bits int, celsius float64) float64 {
			v := 9.0
			if bits>>n&1 == 1 {
				v = 11
			}
			var times [n]float64
			for k := range n {
				times[k] = 0.99 + 0.02*float64(bits>>k&1)
			}
			return at(v, celsius, times)
		}
		for bits := range 2 << n {
			for k := range 331 {
				v := corner(bits, -40+float64(k)/2)
				lo, hi = min(lo, v), max(hi, v)
			}
		}
		for range 2000 {
			var times [n]float64
			for k := range n {
				times[k] = 0.99 + 0.02*rnd.Float64()
			}
			v := at(9+2*rnd.Float64(), -40+165*rnd.Float64(), times)
			lo, hi = min(lo, v), max(hi, v)
		}
		if lo < q.Sound.Lo-1e-9 || hi > q.Sound.Hi+1e-9 {
			t.Errorf("round %d: %v .. %v is reached, outside %v\n%s", round, lo, hi, q.Sound, deck.String())
		}
		if q.Sound.Width() > q.Seen.Width()*1.02 || q.Loose && q.Sound.Width() <= q.Seen.Width() {
			t.Errorf("round %d: seen %v, sound %v, loose %v\n%s", round, q.Seen, q.Sound, q.Loose, deck.String())
		}
		if q.Seen.Lo > lo+2e-4*hi || q.Seen.Hi < hi-2e-4*hi {
			t.Errorf("round %d: seen %v, %v .. %v is reached\n%s", round, q.Seen, lo, hi, deck.String())
		}
	}
}

// comparator is an op amp with positive feedback, on a supply and behind an input.
func comparator(supply, in string) string {
	return fmt.Sprintf(`* shuntwright: rails.VS = "%s"
* shuntwright: rails.IN = "%s"
* shuntwright: tolerances.resistors = "5 %%"
R1 IN P 10k
R2 P OUT 22k
R3 M 0 10k
R4 VS M 10k
XU P M OUT 0 VS capstan-op
`, supply, in)
}

// A comparator of an op amp stops at its supply whatever its loop gain: 5 V at the most, and its input a divider below.
func TestOutputsLimitWhatIsNotProven(t *testing.T) {
	d := load(t, comparator("5 V exact", "0 V .. 5 V"), outputs)
	for _, net := range []string{"OUT", "P"} {
		q := voltage(t, d, net)
		if q.Sound.Lo < -1e-3 || q.Sound.Hi > 5+1e-3 {
			t.Errorf("V(%s) is bounded by %v, its rails are 0 V and 5 V (%s)", net, q.Sound, q.Reason(true))
		}
	}
}

// What a coil carries beside a diode that a bias current may turn over: 58 V and the body diode's 1.2 V below ground over
// 25.74 ohm, in the ferry's holding brake.
func TestCoilBesideADiode(t *testing.T) {
	d := worked(t, "ferry-drive")
	e, ok := d.Find("LBR")
	if !ok {
		t.Fatal("the ferry has no LBR")
	}
	q := volt.New(d).Current(e, design.Operating)
	if want := 59.2 / 25.74; math.Abs(q.Seen.Hi-want) > 1e-4 || math.Abs(q.Sound.Hi-want) > 1e-4 {
		t.Errorf("I(LBR) is seen up to %v, sound up to %v, want %v", q.Seen.Hi, q.Sound.Hi, want)
	}
}

// Coils that alone join the star point of a motor carry currents that sum to 0 there.
func TestStarOfCoils(t *testing.T) {
	q := voltage(t, load(t, `* shuntwright: rails.BUS = "12 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.LA.current = "-2 A .. 2 A"
* shuntwright: elements.LB.current = "-2 A .. 2 A"
* shuntwright: elements.S1.on-resistance = "1 mohm exact"
* shuntwright: elements.S2.on-resistance = "1 mohm exact"
S1 BUS A c 0 sw
D1 0 A free
D2 A BUS free
S2 BUS B c 0 sw
D3 0 B free
D4 B BUS free
LA A N1 1m
RA N1 N 1
LB B N2 1m
RB N2 N 1
.model sw SW
.model free D`, ""), "N")
	if math.IsInf(q.Seen.Width(), 0) {
		t.Errorf("V(N) is %v: %s", q.Seen, q.Reason(true))
	}
}

// Two declared currents whose shunts share a temperature stand on the right-hand side alone, and the middle between their
// far ends turns where neither of them does: 10 V - (p1 + 0.9 p2) / 2 with p1 = 1 - 2e-3 d + 2e-5 d² and
// p2 = 1 - 4e-3 d + 3e-5 d², whose sum is least at d = 5.6e-3 / 9.4e-5 = 59.57 K, with 1.9 - 5.6e-3² / 1.88e-4.
func TestTurnOnTheRightHandSide(t *testing.T) {
	q := voltage(t, load(t, `* shuntwright: temperature = "-40 degC .. 125 degC"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: rails.V1 = "10 V exact"
* shuntwright: currents.R1 = { range = "1 A exact", from = "V1" }
* shuntwright: currents.R2 = { range = "0.9 A exact", from = "V1" }
R1 V1 a 1 TC=-0.002,2e-5
R2 V1 b 1 TC=-0.004,3e-5
RL1 a 0 9
RL2 b 0 9
RX a m 1k
RY b m 1k`, ""), "m")
	want := 10 - (1.9-5.6e-3*5.6e-3/1.88e-4)/2
	meets(t, "V(m)", q.Seen, q.Seen.Lo, want, 1e-8)
	meets(t, "V(m), nothing outside,", q.Sound, q.Sound.Lo, want, 1e-8)
}
