package sense_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// Invented parts; the numbers are like no catalogue's.
const opAmps = `
[[part]]
name = "quay-op"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]

[[part]]
name = "quay-op-twin"
role = "op-amp"
pins = ["o1", "m1", "p1", "ground", "p2", "m2", "o2", "supply"]

[part.units]
a = { out = 1, "in-" = 2, "in+" = 3 }
b = { out = 7, "in-" = 6, "in+" = 5 }
`

// benches are the rails around op amps.
const benches = rails + `* shuntwright: rails.VH = "24 V .. 36 V"
RVM VM 0 1k
RV5 V5 0 1k
RBUS BUS 0 1k
RVH VH 0 1k
`

// coefficients are what the output of a block takes of nets, by their names.
func coefficients(t need, d *design.Design, b *sense.Block, nets ...string) []float64 {
	t.Helper()
	s, ok := b.Network.Solve(b.Network.Nominal())
	if !ok {
		t.Fatalf("no solution")
	}
	var out []float64
	for _, name := range nets {
		n, ok := d.Net(name)
		k, isPort := b.Network.Port(n)
		if !ok || !isPort {
			t.Fatalf("%s is no port", name)
		}
		out = append(out, s.Of(b.Network.Reads(), k))
	}
	return out
}

// What the output takes of the two ends of the shunt and of the reference, by the formulas of the trade.
func TestOpAmpBlocks(t *testing.T) {
	for _, c := range []struct {
		name, cards string
		plus, minus string // the ends of the shunt, the one that raises the output first
		nets        []string
		want        []float64
	}{
		{"difference amplifier to ground", "RSH BUS LOAD 10m\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p 0 20k\nXA p n out 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD"}, []float64{20, -20}},
		{"with unequal ratios", "RSH BUS LOAD 10m\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 2k\nR4 p 0 20k\nXA p n out 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD"}, []float64{20. / 22 * 21, -20}},
		{"to a reference", "RSH BUS LOAD 10m\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p VM 20k\nXA p n out 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD", "VM"}, []float64{20, -20, 1}},
		{"in split legs with filters", "RSH BUS LOAD 10m\nR1A LOAD nx 400\nR1B nx n 600\nCX nx px 1n\nR2 n out 20k\nCF n out 10p\nR3A BUS px 400\nR3B px p 600\nR4 p 0 20k\nDC p V5 dd\n.model dd D\nXA p n out 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD"}, []float64{20, -20}},
		{"the other way round", "RSH BUS LOAD 10m\nR1 BUS n 1k\nR2 n out 20k\nR3 LOAD p 1k\nR4 p VM 20k\nXA p n out 0 V5 quay-op",
			"LOAD", "BUS", []string{"BUS", "LOAD", "VM"}, []float64{-20, 20, 1}},
		{"low side, non-inverting", "RL2 BUS LO 4\nRSH LO 0 10m\nR1 n 0 1k\nR2 n out 49k\nXA LO n out 0 V5 quay-op",
			"LO", "0", []string{"LO"}, []float64{50}},
		{"low side, follower behind a filter", "RL2 BUS LO 4\nRSH LO 0 10m\nRF LO p 1k\nCF p 0 1n\nXA p out out 0 V5 quay-op",
			"LO", "0", []string{"LO"}, []float64{1}},
		{"low side, inverting", "RL2 BUS LO 4\nRSH LO 0 10m\nR1 LO n 1k\nR2 n out 33k\nXA 0 n out 0 V5 quay-op",
			"0", "LO", []string{"LO"}, []float64{-33}},
		{"low side, biased, balanced", "RL2 BUS LO 4\nRSH LO 0 10m\nR1 0 n 1k\nR2 n out 20k\nR3 LO p 1k\nR4 p VM 20k\nXA p n out 0 V5 quay-op",
			"LO", "0", []string{"LO", "VM"}, []float64{20, 1}},
		{"feedback behind a resistor at the output", "RL2 BUS LO 4\nRSH LO 0 10m\nR1 n 0 1k\nR2 n ox 49k\nRO out ox 100\nCO ox 0 1u\nXA LO n out 0 V5 quay-op",
			"LO", "0", []string{"LO"}, []float64{50 + 100./1e3}},
		{"a converter in the loop", "* shuntwright: converters.ox.scale = \"0.5 V/A\"\nRL2 BUS LO 4\nRSH LO 0 10m\nR1 n 0 1k\nR2 n ox 49k\nRO out ox 100\nCO ox 0 1u\nXA LO n out 0 V5 quay-op",
			"LO", "0", []string{"LO"}, []float64{50}},
		{"a T in the feedback", "RL2 BUS LO 4\nRSH LO 0 10m\nR1 LO n 1k\nRT1 n x 10k\nRT2 x 0 1k\nRT3 x out 10k\nXA 0 n out 0 V5 quay-op",
			"0", "LO", []string{"LO"}, []float64{-(10 + 10 + 10*10/1.)}},
		{"through a pass transistor", "RSH BUS LOAD 10m\nRI BUS n 100\nRP LOAD p 100\nMP o g n n pm\n.model pm PMOS\nRG out g 10\nRO o 0 5k\nXA p n out 0 VH quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD"}, []float64{50, -50}},
		{"the reference behind a divider", "RSH BUS LOAD 10m\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p m 19k\nRA V5 m 2k\nRB m 0 2k\nXA p n out 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD", "V5"}, []float64{20, -20, 0.5}},
		{"a reference buffer", "RSH BUS LOAD 10m\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p m 20k\nEB m 0 mm 0 1\nRA V5 mm 2k\nRB mm 0 2k\nXA p n out 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD", "V5"}, []float64{20, -20, 0.5}},
		{"a sense amplifier of three op amps", "RSH BUS LOAD 10m\nXU1 BUS n1 o1 0 VH quay-op\nXU2 LOAD n2 o2 0 VH quay-op\nR1 n1 o1 10k\nRG n1 n2 2k\nR2 n2 o2 10k\nR3 o2 n 1k\nR4 n out 3k\nR5 o1 p 1k\nR6 p VM 3k\nXA p n out 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD", "VM"}, []float64{33, -33, 1}},
		{"a sense amplifier of two op amps", "RSH BUS LOAD 10m\nXU2 LOAD n1 o1 0 VH quay-op\nR1 VM n1 10k\nR2 n1 o1 1k\nR3 o1 n 1k\nR4 n out 10k\nXA BUS n out 0 VH quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD", "VM"}, []float64{11, -11, 1}},
		{"a filter stage behind", "RSH BUS LOAD 10m\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p 0 20k\nXA p n out 0 V5 quay-op\nRF out q 1k\nCF q 0 1n\nXB q o2 o2 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD"}, []float64{20, -20}},
		{"a comparator behind", "RSH BUS LOAD 10m\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p 0 20k\nXA p n out 0 V5 quay-op\nRH1 out q 1k\nRH2 q o2 100k\nXB q VM o2 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD"}, []float64{20, -20}},
		{"an ammeter in a leg", "RSH BUS LOAD 10m\nVA LOAD l2 0\nR1 l2 n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p 0 20k\nXA p n out 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD"}, []float64{20, -20}},
		{"the declared one of two", "* shuntwright: currents.RSH = { range = \"0 A .. 3 A\", from = \"BUS\" }\nRSH BUS LOAD 2\nRX LOAD END 1m\nRY END 0 9\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p 0 20k\nXA p n out 0 V5 quay-op",
			"BUS", "LOAD", []string{"BUS", "LOAD"}, []float64{20, -20}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := load(t, benches+c.cards, opAmps)
			var got []string
			for b := range sense.Blocks(d) {
				got = append(got, b.Name())
			}
			if fmt.Sprint(got) != "[XA]" {
				t.Fatalf("blocks %q", got)
			}
			b := block(t, d, "XA")
			if b.Kind != "op-amp" || names(b.Shunt) != "RSH" || d.Circuit.NetName(b.Plus.Shunt) != c.plus || d.Circuit.NetName(b.Minus.Shunt) != c.minus {
				t.Errorf("%s, shunt %q from %s to %s", b.Kind, names(b.Shunt), d.Circuit.NetName(b.Plus.Shunt), d.Circuit.NetName(b.Minus.Shunt))
			}
			for i, v := range coefficients(t, d, b, c.nets...) {
				if math.Abs(v-c.want[i]) > 1e-9*math.Abs(c.want[i]) {
					t.Errorf("%s counts %v, want %v", c.nets[i], v, c.want[i])
				}
			}
		})
	}
}

// Both op amps of a package may be blocks of their own.
func TestOpAmpsOfOnePackage(t *testing.T) {
	d := load(t, benches+"RSH1 BUS LOAD 10m\nRSH2 LO 0 10m\nRX BUS LO 4\nR1 LOAD n1 1k\nR2 n1 o1 20k\nR3 BUS p1 1k\nR4 p1 0 20k\nRG n2 0 1k\nRF n2 o2 20k\nXA o1 n1 p1 0 LO n2 o2 V5 quay-op-twin", opAmps)
	var got []string
	for b := range sense.Blocks(d) {
		got = append(got, b.Name()+" "+names(b.Shunt)+" "+d.Circuit.NetName(b.Output.Pin))
	}
	if fmt.Sprint(got) != "[XA:a RSH1 o1 XA:b RSH2 o2]" {
		t.Errorf("blocks %q", got)
	}
}

// The legs of a block go from the inputs to the ends of the shunt where resistors lead there.
func TestLegsOfOpAmpBlocks(t *testing.T) {
	d := load(t, benches+"RSH BUS LOAD 10m\nR1A LOAD nx 400\nR1B nx n 600\nR2 n out 20k\nR3 BUS p 1k\nR4 p 0 20k\nXA p n out 0 V5 quay-op\nRO out adc 1k\nCO adc 0 1n", opAmps)
	b := block(t, d, "XA")
	if names(b.Plus.Series) != "R3" || names(b.Minus.Series) != "R1A R1B" || names(b.Output.Series) != "RO" {
		t.Errorf("legs %q and %q, output %q", names(b.Plus.Series), names(b.Minus.Series), names(b.Output.Series))
	}
	if d.Circuit.NetName(b.Plus.Pin) != "p" || d.Circuit.NetName(b.Minus.Pin) != "n" || !b.HasSupply || d.Circuit.NetName(b.Supply) != "V5" {
		t.Errorf("%+v", b)
	}
}

// What stands beside a shunt without reading its current is no sense block.
func TestOpAmpsThatSenseNothing(t *testing.T) {
	for name, cards := range map[string]string{
		"an integrator":                "RSH BUS LOAD 10m\nR1 LOAD n 1k\nC2 n out 20n\nR3 BUS p 1k\nR4 p 0 20k\nXA p n out 0 V5 quay-op",
		"a comparator":                 "RL2 BUS LO 4\nRSH LO 0 10m\nXA LO VM out 0 V5 quay-op",
		"one with hysteresis":          "RL2 BUS LO 4\nRSH LO 0 10m\nR1 LO p 1k\nR2 p out 100k\nXA p VM out 0 V5 quay-op",
		"inputs swapped":               "RSH BUS LOAD 10m\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p 0 20k\nXA n p out 0 V5 quay-op",
		"a monitor of the bus":         "RSH BUS LOAD 10m\nR1 BUS p 10k\nR2 p 0 1k\nXA p out out 0 V5 quay-op",
		"a monitor of the load":        "RSH BUS LOAD 10m\nR1 LOAD p 10k\nR2 p 0 1k\nXA p out out 0 V5 quay-op",
		"an averager of both":          "RSH BUS LOAD 10m\nR1 LOAD p 10k\nR3 BUS p 10k\nR2 p 0 1k\nXA p out out 0 V5 quay-op",
		"a reference buffer":           "RSH BUS LOAD 10m\nR1 V5 p 10k\nR2 p 0 10k\nXA p out out 0 V5 quay-op",
		"both inputs on one net":       "RL2 BUS LO 4\nRSH LO 0 10m\nXA LO LO out 0 V5 quay-op",
		"a current sink":               "RSH s 0 1\nMN LOAD g s s nm\n.model nm NMOS\nXA VM s g 0 V5 quay-op",
		"a large resistor only":        "RSH BUS LOAD 10\nR1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p 0 20k\nXA p n out 0 V5 quay-op",
		"no shunt between":             "R1 LOAD n 1k\nR2 n out 20k\nR3 BUS p 1k\nR4 p 0 20k\nXA p n out 0 V5 quay-op",
		"nothing drives the inverting": "RSH BUS LOAD 10m\nXA BUS nc out 0 V5 quay-op",
	} {
		t.Run(name, func(t *testing.T) {
			for b := range sense.Blocks(load(t, benches+cards, opAmps)) {
				t.Errorf("block %s on %q", b.Name(), names(b.Shunt))
			}
		})
	}
}

// published solves decks whose op amps are sources of a gain of 999k, as their book prints them, beside ideal ones.
func published(t *testing.T, cards, out string, ports map[string]float64) float64 {
	t.Helper()
	d := load(t, cards, opAmps)
	x, ok := d.Find("XA")
	if !ok {
		t.Fatal("no XA")
	}
	w := sense.NetworkOf(d, x)
	if w == nil {
		t.Fatal("no network")
	}
	s, ok := w.Solve(w.Nominal())
	if !ok {
		t.Fatal("no solution")
	}
	n, _ := d.Net(out)
	sum := 0.0
	for name, v := range ports {
		p, _ := d.Net(name)
		if k, ok := w.Port(p); ok {
			sum += v * s.Of(n, k)
		}
	}
	return sum
}

// T. R. Kuphaldt and others, Lessons In Electric Circuits, volume Reference, chapter 7 (decks and the results that SPICE
// 2g6 printed) and volume Semiconductors, chapter 8. Each op amp of a deck in turn is an ideal one here, the others stay
// sources of a gain of 999k; what is printed is rounded to four or five digits. (checked)
func TestPublishedOpAmpCircuits(t *testing.T) {
	near := func(what string, got, want, half float64) {
		t.Helper()
		if math.Abs(got-want) > half {
			t.Errorf("%s: %v, printed %v", what, got, want)
		}
	}
	for v, want := range map[float64]float64{0.5: -1.394, 1: -2.788, 3.5: -9.758} {
		near("inverting", published(t, "V1 2 0 1\nR1 3 1 3.29k\nR2 1 2 1.18k\nXA 0 1 3 0 V5 quay-op\nVV V5 0 5", "3", map[string]float64{"2": v}), want, 1e-3)
	}
	near("non-inverting", published(t, "V1 2 0 5\nRB 2 0 10k\nR1 3 1 20k\nR2 1 0 10k\nXA 2 1 3 0 V5 quay-op\nVV V5 0 5", "3", map[string]float64{"2": 5}), 15, 5e-5)
	ina := map[string]string{
		"E1 3 0 1 2 999k\nE2 6 0 4 5 999k\nXA 8 7 9 0 V5 quay-op":               "the last one ideal",
		"XU1 1 2 3 0 V5 quay-op\nE2 6 0 4 5 999k\nXA 8 7 9 0 V5 quay-op":        "two ideal",
		"XU1 1 2 3 0 V5 quay-op\nXU2 4 5 6 0 V5 quay-op\nXA 8 7 9 0 V5 quay-op": "all ideal",
	}
	for amps, what := range ina {
		for v1 := range 11 {
			deck := "V1 1 0 1\nV2 4 0 5\nR1 2 3 10k\nRG 2 5 10k\nR2 5 6 10k\nR3 3 7 10k\nR4 7 9 10k\nR5 6 8 10k\nR6 8 0 10k\nRL 9 0 10k\nVV V5 0 5\n" + amps
			at := map[string]float64{"1": float64(v1), "4": 5}
			near(what, published(t, deck, "9", at), float64(15-3*v1), 5e-4)
			near(what+", v(3,6)", published(t, deck, "3", at)-published(t, deck, "6", at), float64(3*v1-15), 5e-4)
		}
	}
	// One of four resistors of 10 kohm raised to 10.5 kohm: the common mode counts -0.02439.
	near("one resistor off", published(t, "V1 1 0 1\nR1 1 n 10k\nR2 n 9 10k\nR3 1 p 10.5k\nR4 p 0 10k\nXA p n 9 0 V5 quay-op\nVV V5 0 5", "9", map[string]float64{"1": 1}), -2.439e-2, 5e-6)
}

// A. S. Sedra and K. C. Smith, Microelectronic Circuits, exercise 2.15: R1 = R3 = 2 kohm, R2 = R4 = 200 kohm, each of 1 %: the
// gain is 100, the worst common-mode gain 0.04, the rejection 68 dB. Beside it the table of (1 + G)/(4 t), derived.
func TestPublishedMismatch(t *testing.T) {
	for _, c := range []struct{ g, t, acm, cmrr, half float64 }{
		{100, 1e-2, 0.04, 68.04, 0.2}, {100, 1e-3, 0.004, 88.05, 0.03},
		{1, 1e-2, 0.019802, 33.98, 0.1}, {1, 1e-3, 0.001998, 53.98, 0.01}, {1, 1e-4, 0.00019998, 73.98, 0.01},
		{10, 1e-2, math.NaN(), 48.79, 0.2}, {10, 1e-3, math.NaN(), 68.79, 0.02},
	} {
		worst := 0.0
		d := load(t, fmt.Sprintf("%sRSH BUS LOAD 10m\nR1 LOAD n 2k\nR2 n out %vk\nR3 BUS p 2k\nR4 p 0 %vk\nXA p n out 0 V5 quay-op", benches, 2*c.g, 2*c.g), opAmps)
		b := block(t, d, "XA")
		nom := b.Network.Nominal()
		for bits := range 1 << len(nom) {
			at := make([]float64, len(nom))
			for i, v := range nom {
				at[i] = v * (1 + c.t*float64(2*(bits>>i&1)-1))
			}
			s, ok := b.Network.Solve(at)
			if !ok {
				t.Fatal("no solution")
			}
			sum := 0.0
			for k, n := range b.Network.Ports {
				if name := d.Circuit.NetName(n); name == "BUS" || name == "LOAD" {
					sum += s.Of(b.Network.Reads(), k)
				}
			}
			worst = max(worst, math.Abs(sum))
		}
		if db := 20 * math.Log10(c.g/worst); math.Abs(db-c.cmrr) > c.half {
			t.Errorf("gain %v, %v: %v dB, table %v dB", c.g, c.t, db, c.cmrr)
		}
		if math.Abs(worst-c.acm) > 0.021*c.acm {
			t.Errorf("gain %v, %v: %v, printed %v", c.g, c.t, worst, c.acm)
		}
	}
}

// Random networks: an ideal op amp is what a source of a gain of 1e9 comes to, and with no place of its own a voltage takes
// 1 of all that it follows together.
func TestRandomNetworks(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 11))
	solved := 0
	for round := range 400 {
		nets := []string{"0", "BUS", "VM", "p", "n", "x", "y", "out"}
		cards := benches
		for k := range 7 + rnd.IntN(5) {
			a, b := nets[rnd.IntN(len(nets))], nets[3+rnd.IntN(len(nets)-3)]
			if a != b {
				cards += fmt.Sprintf("R%d %s %s %d\n", k, a, b, 1000+rnd.IntN(99000))
			}
		}
		at := func(amp string) (w *sense.Network, s *sense.Solution, d *design.Design) {
			d, _ = bind(cards+amp, opAmps)
			x, _ := d.Find("XA")
			if w = sense.NetworkOf(d, x); w == nil {
				return nil, nil, d
			}
			s, _ = w.Solve(w.Nominal())
			return w, s, d
		}
		w, s, d := at("XA p n out 0 V5 quay-op")
		if w == nil || s == nil {
			continue
		}
		solved++
		out, _ := d.Net("out")
		sum := 0.0
		got := map[string]float64{}
		for k, n := range w.Ports {
			sum += s.Of(out, k)
			got[d.Circuit.NetName(n)] = s.Of(out, k)
		}
		if math.Abs(sum-1) > 1e-6*math.Abs(got["BUS"])+1e-6 {
			t.Errorf("round %d: %v together\n%s", round, sum, cards)
		}
		w, s, d = at("EX out 0 p n 1e9\nXA out f f 0 V5 quay-op")
		if w == nil || s == nil {
			t.Fatalf("round %d: no solution with a source\n%s", round, cards)
		}
		f, _ := d.Net("f")
		for k, n := range w.Ports {
			name := d.Circuit.NetName(n)
			if name == "0" { // the source counts from it
				continue
			}
			if want := got[name]; math.Abs(s.Of(f, k)-want) > 1e-4*max(1, math.Abs(want)) {
				t.Errorf("round %d: %s counts %v with a source, %v with a nullor\n%s", round, name, s.Of(f, k), want, cards)
			}
		}
	}
	if solved < 60 {
		t.Errorf("only %d networks had negative feedback", solved)
	}
}
