package volt_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A reading is a net, or a difference of nets, with its published voltage and the half of its last printed digit.
type reading struct {
	nets        string // "2" or "3,2"
	volts, half float64
}

// published checks that both ends of what is seen are the published value: with nothing but nominal values a bound is
// the DC solution.
func published(t *testing.T, name, deck string, want ...reading) {
	t.Helper()
	t.Run(name, func(t *testing.T) {
		t.Helper()
		d := load(t, deck, "")
		s := volt.New(d)
		for _, w := range want {
			a, b, two := strings.Cut(w.nets, ",")
			f := volt.At(net(t, d, a))
			if two {
				f = volt.Across(net(t, d, a), net(t, d, b))
			}
			q := witnessed(t, s, f, design.Operating)
			meets(t, fmt.Sprintf("V(%s)", w.nets), q.Seen, w.volts, w.volts, w.half)
			if math.Abs(q.Nom-w.volts) > w.half {
				t.Errorf("the nominal of V(%s) is %v, want %v", w.nets, q.Nom, w.volts)
			}
			if !q.Known() || !q.Seen.In(q.Sound) {
				t.Errorf("V(%s): needs %v, seen %v, sound %v", w.nets, q.Needs, q.Seen, q.Sound)
			}
		}
	})
}

// Netlists and answers of "Lessons In Electric Circuits" (T. R. Kuphaldt et al.), where the book prints what a SPICE run
// gives.
func TestPublishedNetworks(t *testing.T) {
	// DC, ch. 10: branch current and mesh current methods.
	published(t, "two batteries", "V1 1 0 28\nV2 3 0 7\nR1 1 2 4\nR2 2 0 2\nR3 2 3 1",
		reading{"1,2", 20, 1e-9}, reading{"2", 8, 1e-9}, reading{"2,3", 1, 1e-9})
	// DC, ch. 10: its Thevenin equivalent for R2 is 11.2 V behind 0.8 ohm, its Norton equivalent 14 A.
	published(t, "Thevenin voltage", "V1 1 0 28\nV2 3 0 7\nR1 1 2 4\nR3 2 3 1", reading{"2", 11.2, 1e-9})
	published(t, "Thevenin resistance", "I1 0 2 1\nR1 0 2 4\nR3 2 0 1", reading{"2", 0.8, 1e-9})
	published(t, "Norton equivalent", "I1 0 2 14\nRN 2 0 0.8\nR2 2 0 2", reading{"2", 8, 1e-9})
	published(t, "all three in parallel", "I1 0 2 1\nR1 0 2 4\nR2 2 0 2\nR3 2 0 1", reading{"2", 0.57143, 5e-6})
	// DC, ch. 10: unbalanced bridge.
	published(t, "bridge", "V1 1 0 24\nR1 1 2 150\nR2 1 3 50\nR3 2 3 100\nR4 2 0 300\nR5 3 0 250",
		reading{"2", 17.655, 5e-4}, reading{"3", 19.310, 5e-4}, reading{"3,2", 1.655, 5e-4},
		reading{"1,2", 150 * 42.299e-3, 150 * 5e-7}, reading{"1,3", 50 * 93.793e-3, 50 * 5e-7})
	// DC, ch. 10: delta-Y.
	published(t, "delta", "V1 1 0 10\nR1 1 2 12\nR2 1 3 18\nR3 2 3 6\nR4 2 0 18\nR5 3 0 12",
		reading{"1,2", 4.706, 5e-4}, reading{"1,3", 5.294, 5e-4}, reading{"2,3", 0.5882, 5e-5},
		reading{"2", 5.294, 5e-4}, reading{"3", 4.706, 5e-4})
	// DC, ch. 10: node voltage method.
	published(t, "node voltages", "V1 11 0 10\nV2 22 0 -4\nR1 11 1 2\nR2 1 0 4\nR3 1 2 2.5\nR4 2 0 5\nR5 2 22 1",
		reading{"1", 3.809524, 5e-7}, reading{"2", -1.547619, 5e-7})
	// DC, ch. 5: series and parallel.
	published(t, "series", "V1 1 0 9\nR1 1 2 3k\nR2 2 3 10k\nR3 3 0 5k",
		reading{"1,2", 1.5, 1e-9}, reading{"2,3", 5, 1e-9}, reading{"3", 2.5, 1e-9})
	// 0.9 mA, 4.5 mA and 9 mA, each read as the drop over one milliohm in the branch (which takes 1e-6 of it at most).
	published(t, "parallel",
		"V1 1 0 9\nR1 a 0 10k\nR2 b 0 2k\nR3 c 0 1k\nRA 1 a 1m\nRB 1 b 1m\nRC 1 c 1m",
		reading{"1,a", 0.9e-6, 0.9e-11}, reading{"1,b", 4.5e-6, 4.5e-11}, reading{"1,c", 9e-6, 9e-11})
	// Reference, ch. 7: two sources.
	published(t, "two sources", "V1 1 0 24\nV2 3 0 15\nR1 1 2 10k\nR2 2 3 8.1k\nR3 2 0 4.7k",
		reading{"2", 9.7470, 5e-5}, reading{"1,2", 10e3 * 1.425e-3, 10e3 * 5e-7}, reading{"3,2", 8.1e3 * 0.6485e-3, 8.1e3 * 5e-8})
	// DC, ch. 2: 2 A, and 6 A at 30 V, through 5 ohm: read over one milliohm of it.
	published(t, "one resistor", "v 1 0 10\nr 1 2 4.999\nrs 2 0 1m", reading{"2", 2e-3, 1e-9})
	published(t, "one resistor at 30 V", "v 1 0 30\nr 1 2 4.999\nrs 2 0 1m", reading{"2", 6e-3, 1e-9})
	// DC, ch. 6: divider at 45 V and at 180 V.
	for _, c := range []struct{ v, a, b, c float64 }{{45, 10, 20, 15}, {180, 40, 80, 60}} {
		published(t, fmt.Sprintf("divider at %v V", c.v), fmt.Sprintf("v1 1 0 %v\nr1 1 2 5k\nr2 2 3 10k\nr3 3 0 7.5k", c.v),
			reading{"1,2", c.a, 1e-9}, reading{"2,3", c.b, 1e-9}, reading{"3", c.c, 1e-9})
	}
	// DC, ch. 8: what a shunt drops.
	published(t, "shunt", "v1 1 0 12\nrshunt 1 2 1\nrload 2 0 15k", reading{"1,2", 0.7999e-3, 5e-8})
	// DC, ch. 9: 4 mA to 20 mA through 250 ohm are 1 V to 5 V; 12 mA are 3 V.
	for ma, v := range map[float64]float64{4: 1, 12: 3, 20: 5} {
		published(t, fmt.Sprintf("current loop at %v mA", ma), fmt.Sprintf("i1 0 1 %vm\nr1 1 0 250", ma), reading{"1", v, 1e-12})
	}
	// Experiments, ch. 3: the averager's netlist; the mean of 6 V, -9 V and 1.5 V is -0.5 V.
	published(t, "averager", "v1 1 0 6\nv2 2 0 -9\nv3 3 0 1.5\nr1 1 4 10k\nr2 2 4 10k\nr3 3 4 10k", reading{"4", -0.5, 1e-12})
}

// Amplifiers as voltage-controlled sources of gain 999k, by "Lessons In Electric Circuits": Reference, ch. 7, and Digital,
// ch. 13.
func TestPublishedAmplifiers(t *testing.T) {
	for vin, out := range map[float64]float64{0.5: -1.394, 1: -2.788, 3.5: -9.758} {
		published(t, fmt.Sprintf("inverting at %v V", vin),
			fmt.Sprintf("v1 2 0 %v\ne 3 0 0 1 999k\nr1 3 1 3.29k\nr2 1 2 1.18k", vin), reading{"3", out, 5e-4})
	}
	published(t, "non-inverting", "v1 2 0 5\nrbogus 2 0 10k\ne 3 0 2 1 999k\nr1 3 1 20k\nr2 1 0 10k",
		reading{"1", 5, 5e-5}, reading{"3", 15, 5e-5})
	for v := range 11 {
		published(t, fmt.Sprintf("instrumentation amplifier at %d V", v), fmt.Sprintf(`v1 1 0 %d
rbogus1 1 0 9e12
v2 4 0 5
rbogus2 4 0 9e12
e1 3 0 1 2 999k
e2 6 0 4 5 999k
e3 9 0 8 7 999k
rload 9 0 10k
r1 2 3 10k
rgain 2 5 10k
r2 5 6 10k
r3 3 7 10k
r4 7 9 10k
r5 6 8 10k
r6 8 0 10k`, v), reading{"9", 15 - 3*float64(v), 5e-4}, reading{"3,6", 3*float64(v) - 15, 5e-4})
	}
	// The controls are wired as printed there, which is positive feedback: the DC solution is the printed one.
	published(t, "binary-weighted converter", "v1 1 0 5\nr1 1 5 1k\nr2 1 5 2k\nr3 0 5 4k\nrfeedbk 5 6 1k\ne1 6 0 5 0 999k",
		reading{"6", -7.5, 5e-5})
	// Semiconductors, ch. 8: a follower of gain 200000 at 6 V, and the input difference of 29.99985 uV.
	published(t, "follower", "v1 1 0 6\nrbogus 1 0 1meg\ne 2 0 1 2 200k\nrload 2 0 1k",
		reading{"2", 5.999970000149999, 1e-12}, reading{"1,2", 29.99985e-6, 5e-12})
	// Semiconductors, ch. 8: one of the four 10 kohm resistors of a difference amplifier raised to 10.5 kohm, the common
	// mode arrives with -2.439E-02.
	published(t, "common mode of a difference amplifier",
		"v1 1 0 1\nrbogus 1 0 1meg\ne1 3 0 5 4 999meg\nr1 1 4 10k\nr2 4 3 10k\nr3 1 5 10.5k\nr4 5 0 10k", reading{"3", -0.02439, 5e-6})
}

// Movement of 1 mA and 500 ohm, 0.5 V full scale: "Lessons In Electric Circuits", DC, ch. 8. The shunt computed there
// leaves the movement at full scale. The printed sizes have five digits.
func TestPublishedShuntSizes(t *testing.T) {
	for _, c := range []struct{ amps, ohms float64 }{{5, 100.02e-3}, {0.1, 5.0505}, {1, 500.5e-3}, {10, 50.005e-3}, {100, 5.00005e-3}} {
		published(t, fmt.Sprintf("%v A", c.amps), fmt.Sprintf("i1 0 1 %v\nrm 1 0 500\nrs 1 0 %v", c.amps, c.ohms),
			reading{"1", 0.5, 0.5 * 2e-5})
	}
}

// A junction drops 0.7 V: "Lessons In Electric Circuits", Semiconductors, ch. 3, and its zener circuits of 12.6 V.
func TestPublishedZenerCircuits(t *testing.T) {
	const zener = "\n.model z D(BV=12.6)"
	published(t, "1 k", "v1 1 0 45\nr1 1 2 1k\nd1 0 2 z"+zener, reading{"1,2", 32.4, 1e-6}, reading{"2", 12.6, 1e-6})
	published(t, "100 k", "v1 1 0 45\nr1 1 2 100k\nd1 0 2 z"+zener, reading{"1,2", 100e3 * 324e-6, 1e-6})
	published(t, "1 k with a load", "v1 1 0 45\nr1 1 2 1k\nd1 0 2 z\nrl 2 0 500"+zener, reading{"2", 500 * 25.2e-3, 1e-6})
	published(t, "the zener is off", "v1 1 0 45\nr1 1 2 100k\nd1 0 2 z\nrl 2 0 500"+zener,
		reading{"2", 224e-3, 5e-4}, reading{"1,2", 44.776, 5e-4})
	published(t, "the smallest load that still regulates", "v1 1 0 45\nr1 1 2 100k\nd1 0 2 z\nrl 2 0 38.889k"+zener, reading{"2", 12.6, 1e-3})
	published(t, "just below it", "v1 1 0 45\nr1 1 2 100k\nd1 0 2 z\nrl 2 0 38k"+zener, reading{"2", 45 * 38. / 138, 1e-6})
	// Clippers with batteries of 1.3 V and 2.3 V clip at +2.0 V and -3.0 V.
	const clipper = "\nr1 1 2 1k\nd1 2 3 d\nvb1 3 0 1.3\nd2 4 2 d\nvb2 0 4 2.3\n.model d D"
	published(t, "clipped above", "v1 1 0 5"+clipper, reading{"2", 2, 1e-6})
	published(t, "clipped below", "v1 1 0 -5"+clipper, reading{"2", -3, 1e-6})
	published(t, "not clipped", "v1 1 0 1.5"+clipper, reading{"2", 1.5, 1e-6})
	// Germanium drops 0.3 V there.
	published(t, "germanium", "* shuntwright: elements.d1.drop = \"0.3 V\"\nv1 1 0 6\nd1 1 2 g\nr1 2 0 1k\n.model g D", reading{"2", 5.7, 1e-6})
}

// The commutating diode across a coil lets the switch see the supply and 0.7 V: "Lessons In Electric Circuits",
// Semiconductors, ch. 3.
func TestPublishedCommutatingDiode(t *testing.T) {
	d := load(t, `* shuntwright: rails.BATT = "12 V exact"
L1 BATT 1 1
D1 1 BATT d
S1 1 0 c 0 s
VC c 0 1
RL 1 2 1k
RP 2 0 9k
.model d D
.model s SW(RON=1m)`, "")
	if q := voltage(t, d, "1"); math.Abs(q.Seen.Hi-12.7) > 1e-3 {
		t.Errorf("the switch sees %v, want 12.7 V", q.Seen.Hi)
	}
}

// The resistance of a cube of twelve equal resistors is 7/12 along an edge, 3/4 across a face and 5/6 through the body,
// by superposition (a textbook exercise). A four-dimensional cube has 2/3 between opposite corners.
func TestPublishedCubes(t *testing.T) {
	cube := func(dims, to int) string {
		var b strings.Builder
		for at := range 1 << dims {
			for k := range dims {
				if next := at ^ 1<<k; at < next {
					fmt.Fprintf(&b, "R%d_%d %d %d 1\n", at, next, at, next)
				}
			}
		}
		fmt.Fprintf(&b, "I1 0 %d 1", to)
		return b.String()
	}
	published(t, "edge", cube(3, 1), reading{"1", 7. / 12, 1e-12})
	published(t, "face", cube(3, 3), reading{"3", 3. / 4, 1e-12})
	published(t, "body", cube(3, 7), reading{"7", 5. / 6, 1e-12})
	published(t, "four dimensions", cube(4, 15), reading{"15", 2. / 3, 1e-12})
	// An endless ladder of 2 ohm in series and 1 ohm across has 1 + sqrt 3 ohm: its value put at the end stays the same.
	published(t, "ladder", fmt.Sprintf("I1 0 1 1\nRS 1 2 2\nRP 2 0 1\nRE 2 0 %.17g", 1+math.Sqrt(3)), reading{"1", 1 + math.Sqrt(3), 1e-12})
}

// The R/2R ladder terminated by 2R gives 5 V / 8 per code into an open end: "Lessons In Electric Circuits", Digital,
// ch. 13, reads 1.25 V per code behind a feedback of 2R, twice that.
func TestPublishedLadderConverter(t *testing.T) {
	for code := range 8 {
		bit := func(k int) float64 { return 5 * float64(code>>k&1) }
		published(t, fmt.Sprintf("code %d", code), fmt.Sprintf(`v0 b0 0 %v
v1 b1 0 %v
v2 b2 0 %v
rt 1 0 2k
r0 b0 1 2k
rs1 1 2 1k
r1 b1 2 2k
rs2 2 3 1k
r2 b2 3 2k`, bit(0), bit(1), bit(2)), reading{"3", 0.625 * float64(code), 1e-9})
	}
}
