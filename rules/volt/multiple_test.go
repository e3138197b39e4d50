package volt_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const exact = "* shuntwright: tolerances.resistors = \"0 %\"\n* shuntwright: rails.V1 = \"10 V exact\"\n"

// 10 V over a resistance at what is multiplied, by hand: lowest and highest.
func TestMultiplied(t *testing.T) {
	for _, c := range []struct {
		cards  string
		lo, hi float64
	}{
		{"R1 V1 a 1k\nR2 a 0 3k m=3", 5, 5},
		{"R1 V1 a 1k\nX2 a half m=3\n.subckt half p\nR2 p 0 6k m=2\n.ends", 5, 5},
		{"* shuntwright: elements.\"X2.I2\".tolerance = \"0 %\"\nR1 V1 a 1k\nX2 a half m=2\n.subckt half p\nR2 p 0 1meg\nI2 p 0 1m\n.ends", 8 / 1.002, 8 / 1.002},
		{"R1 V1 a 1k\nX2 a half m=2\n.subckt half p\nR2 p 0 1k\nG2 0 p p 0 0.25m\n.ends", 4, 4}, // 10 - V = 2 V - 0.5 V
		{"* shuntwright: elements.\"X2.V2\".tolerance = \"0 %\"\nR1 V1 a 1k\nX2 a half m=2\n.subckt half p\nR2 p q 1k\nV2 q 0 4\n.ends", 6, 6},
		// A diode of 1 V and RS of 2 kohm, of twice the area and two of them: 500 ohm.
		{"* shuntwright: elements.D1.drop = \"1 V exact\"\nR1 V1 a 500\nD1 a 0 dm 2 m=2", 5.5, 5.5},
		{"* shuntwright: elements.D1.drop = \"1 V exact\"\nR1 V1 a 500\nD1 a 0 dm area=4", 5.5, 5.5},
		{"* shuntwright: elements.\"X1.D1\".drop = \"1 V exact\"\nR1 V1 a 500\nX1 a half m=4\n.subckt half p\nD1 p 0 dm\n.ends", 5.5, 5.5},
		// A declared on-resistance is the whole element's; that of a model is one copy's.
		{"* shuntwright: elements.\"X1.M1\".on-resistance = \"1 kohm exact\"\nR1 V1 a 1k\nX1 a half m=4\n.subckt half p\nM1 p g 0 0 mm m=2\n.ends", 5, 10},
		{"R1 V1 a 1k\nX1 a half m=4\n.subckt half p\nS1 p 0 c 0 sm\n.ends", 2, 10},
	} {
		q := voltage(t, load(t, exact+c.cards+"\n.model dm d rs=2k\n.model mm nmos\n.model sm sw ron=1k", ""), "a")
		meets(t, c.cards, q.Seen, c.lo, c.hi, 1e-6)
	}
}

// What has no sensible multiplier, area or resistance is missing and no element of its own kind.
func TestUnknownMultiples(t *testing.T) {
	for _, cards := range []string{
		"R2 a 0 1k m=0", "R2 a 0 1k m={nope}", "D1 a 0 dm m=0", "D1 a 0 dm m={nope}", "D1 a 0 dm area=0", "D1 a 0 dm {nope}", "D1 a 0 dn", "D1 a 0 dz",
		"S1 a 0 c 0 sm m=2", "S1 a 0 c 0 sn", "V2 a 0 5 m=2", "I2 a 0 5 m=2", "G2 a 0 a 0 1 m=2", "E2 a 0 V1 0 1 m=2", "T1 a 0 b 0 Z0=50 m=2",
		"X2 a half m=-1\n.subckt half p\nR2 p 0 1k\n.ends", "V2 a 0 {temper}", "I2 a 0 {temper}", "G2 a 0 a 0 {temper}", "B2 a 0 I={k}\n.param k={temper}",
		"R2 x1.nothing a 1k\nX1 b half\n.subckt half p\nR2 p 0 1k\n.ends",
	} {
		d, diags := bind(exact+"R1 V1 a 1k\n"+cards+"\n.model dm d rs=1\n.model dn d rs={nope}\n.model dz d bv={nope}\n.model sm sw\n.model sn sw ron={nope}", "")
		if len(diags) == 0 && !strings.Contains(cards, "area") && !strings.Contains(cards, "B2") {
			t.Errorf("%s: nothing is reported", cards)
		}
		if q := voltage(t, d, "a"); q.Known() {
			t.Errorf("%s: %v", cards, q.Seen)
		}
	}
}

// An amplifier that is multiplied, or stands in something that is, is not judged as one.
func TestMultipliedAmplifier(t *testing.T) {
	const barge = "[[part]]\nname = \"barge-30\"\nrole = \"sense-amplifier\"\npins = [\"in+\", \"in-\", \"out\", \"ground\", \"ref\", \"supply\"]\n"
	for _, cards := range []string{
		"XA V1 a out 0 0 V1 barge-30 m=2", "X1 V1 a out cell m=2\n.subckt cell p q o\nXA p q o 0 0 p barge-30\n.ends",
	} {
		d, diags := bind(exact+"R1 V1 a 1k\nR2 a 0 1k\n"+cards, barge)
		said := false
		for _, diag := range diags {
			said = said || diag.Rule == "netlist-subcircuit" && strings.Contains(diag.Message, "2 copies in parallel")
		}
		for e := range d.Elements() {
			if e.Amplifiers() != nil {
				t.Errorf("%s: %s is an amplifier", cards, e.Path())
			}
		}
		if q := voltage(t, d, "a"); !said || q.Known() {
			t.Errorf("%s: %v, %v", cards, q.Seen, diags)
		}
	}
}

// m=k, on the card or on that of an X around it, bounds what k drawn copies bound.
func TestMultiplierIsThatManyCopies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawLoose(t, 3, 2)
		var one, many strings.Builder
		name := func(k int) string {
			if k == 0 {
				return "0"
			}
			return fmt.Sprint("n", k)
		}
		say := func(b *strings.Builder, path string, i int) {
			fmt.Fprintf(b, "* shuntwright: elements.%q.tolerance = \"%v %%\"\n", path, math.Round(100*n.tolerance[i]))
		}
		for i, r := range n.resistors {
			copies := rapid.IntRange(1, 3).Draw(t, "copies")
			a, b, ohms := name(r.a), name(r.b), number(r.value)
			if rapid.Bool().Draw(t, "in a subcircuit") {
				fmt.Fprintf(&one, "XR%d %s %s cell r=%s m=%d\n", i, a, b, ohms, copies)
				say(&one, fmt.Sprintf("XR%d.R", i), i)
			} else {
				fmt.Fprintf(&one, "R%d %s %s %s m={%d}\n", i, a, b, ohms, copies)
				say(&one, fmt.Sprint("R", i), i)
			}
			for k := range copies {
				fmt.Fprintf(&many, "R%d_%d %s %s %s\n", i, k, a, b, ohms)
				say(&many, fmt.Sprintf("R%d_%d", i, k), i)
			}
		}
		cards, rest := n.cards()[len(n.resistors):], n.names()[len(n.resistors):]
		for i := range cards {
			for _, b := range []*strings.Builder{&one, &many} {
				fmt.Fprintln(b, cards[i])
				say(b, rest[i], len(n.resistors)+i)
			}
		}
		merged := load(t, one.String()+".subckt cell p q r=1\nR p q {r}\n.ends", "")
		drawn := load(t, many.String(), "")
		for k := 1; k <= n.nodes; k++ {
			a, b := voltage(t, merged, name(k)), voltage(t, drawn, name(k))
			within := 1e-9 * max(1, math.Abs(b.Seen.Lo), math.Abs(b.Seen.Hi))
			for _, p := range [][2]float64{{a.Seen.Lo, b.Seen.Lo}, {a.Seen.Hi, b.Seen.Hi}} {
				if math.Abs(p[0]-p[1]) > within {
					t.Fatalf("%s: %v with multipliers, %v drawn\n%s\n%s", name(k), a.Seen, b.Seen, one.String(), many.String())
				}
			}
			if a.Sound.Lo < b.Sound.Lo-within || a.Sound.Hi > b.Sound.Hi+within || !b.Loose && (a.Sound.Lo > b.Sound.Lo+within || a.Sound.Hi < b.Sound.Hi-within) {
				t.Fatalf("%s: sound %v with multipliers, %v drawn\n%s", name(k), a.Sound, b.Sound, one.String())
			}
		}
	})
}
