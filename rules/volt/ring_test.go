package volt_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

const ringing = `* shuntwright: rails.BATT = "16 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: tolerances.capacitors = "10 %"
* shuntwright: elements.LC = { current = "0 A .. 2 A", tolerance = "5 %" }
* shuntwright: elements.SL.on-resistance = "20 mohm exact"
LC BATT SW 80m
SL SW 0 c 0 ls
CS SW 0 1u
.model ls SW
.model free D
`

// A coil that nothing but a capacitor takes over from rings about the battery: 84 mH and 0.9 uF, 2 A, from 0 V when the
// switch opens, 16 V away. Half a period of the equations, stepped, gets to the same place.
func TestRingOfACoilWithACapacitor(t *testing.T) {
	swing := math.Sqrt(16*16 + 2*2*84e-3/0.9e-6)
	q := voltage(t, load(t, ringing, ""), "SW")
	meets(t, "V(SW)", q.Sound, 16-swing, 16+swing, 1e-3)
	meets(t, "V(SW), seen", q.Seen, 16-swing, 16+swing, 1e-3)
	if !q.Known() || q.Grade != quantity.Firm {
		t.Errorf("V(SW) is %v, needs %v", q.Grade, q.Needs)
	}
	v, i, most := 0.0, 2.0, 0.0
	const dt = 1e-8
	for range 2_000_000 {
		i += (16 - v) / 84e-3 * dt
		v += i / 0.9e-6 * dt
		most = max(most, v)
	}
	if math.Abs(most-(16+swing)) > 1e-3*swing {
		t.Errorf("stepped, it reaches %v, the bound is %v", most, 16+swing)
	}
	// Nobody said what the capacitor tolerates: 20 % are counted, and the drawn one is seen.
	q = voltage(t, load(t, strings.Replace(ringing, "* shuntwright: tolerances.capacitors = \"10 %\"\n", "", 1), ""), "SW")
	meets(t, "V(SW)", q.Sound, 16-math.Sqrt(256+4*84e-3/0.8e-6), 16+math.Sqrt(256+4*84e-3/0.8e-6), 1e-3)
	meets(t, "V(SW), seen", q.Seen, 16-math.Sqrt(256+4*84e-3/1e-6), 16+math.Sqrt(256+4*84e-3/1e-6), 1e-3)
	if notes := strings.Join(q.Notes(1e-3), "\n"); !strings.Contains(notes, "CS: no tolerance declared, 20 % counted") || q.Grade != quantity.Assumed {
		t.Errorf("%v: %s", q.Grade, notes)
	}
}

func TestRing(t *testing.T) {
	base := math.Sqrt(256 + 4*84e-3/0.9e-6)
	for _, c := range []struct {
		name, from, to string
		net            string
		lo, hi         float64
	}{
		// The way back ends at a diode to ground.
		{"a body diode", "SL SW 0 c 0 ls", "ML SW c 0 0 fet\n.model fet NMOS\n* shuntwright: elements.ML = { drop = \"0.5 V .. 1 V\", on-resistance = \"20 mohm exact\" }", "SW", -1, 16 + base},
		// A freewheel diode limits it before anything rings, and below the way back goes on.
		{"a freewheel diode", "CS SW 0 1u", "CS SW 0 1u\nDF SW BATT free\n* shuntwright: elements.DF.drop = \"0.5 V .. 1 V\"", "SW", 0, 17},
		// Twice the capacitor, half the energy per volt: what a snubber has stored counts, what it takes does not.
		{"a snubber", "CS SW 0 1u", "CS SW 0 1u\nCN SW SN 1u\nRN SN 0 100", "SW",
			16 - math.Sqrt(256*(1+1.1/0.9)+4*84e-3/0.9e-6), 16 + math.Sqrt(256*(1+1.1/0.9)+4*84e-3/0.9e-6)},
		// The resistance in between drops the largest current, 2 A and 16 V x sqrt(C/L), on top: 10 mohm.
		{"a shunt in between", "LC BATT SW 80m", "LC BATT A 80m\nRS A SW 10m", "A",
			16 - base - 0.01*math.Sqrt(4+256*1.1e-6/76e-3), 16 + base + 0.01*math.Sqrt(4+256*1.1e-6/76e-3)},
		{"a current that flows both ways", "0 A .. 2 A", "-2 A .. 2 A", "SW", 16 - base, 16 + base},
	} {
		if !strings.Contains(ringing, c.from) {
			t.Fatal(c.from)
		}
		deck := strings.Replace(ringing, c.from, c.to, 1)
		if strings.Contains(deck, "elements.ML") {
			deck = strings.Replace(deck, "* shuntwright: elements.SL.on-resistance = \"20 mohm exact\"\n", "", 1)
		}
		q := voltage(t, load(t, deck, ""), c.net)
		meets(t, c.name, q.Sound, c.lo, c.hi, 0.05)
	}
}

// With a declared current of the shunt the coil behind it is the one that rings.
func TestRingOfADeclaredCurrent(t *testing.T) {
	deck := `* shuntwright: rails.BATT = "16 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: tolerances.capacitors = "10 %"
* shuntwright: currents.RS = { range = "0 A .. 2 A", from = "A" }
* shuntwright: elements.LC.tolerance = "5 %"
* shuntwright: elements.SL.on-resistance = "20 mohm exact"
LC BATT A 80m
RS A SW 10m
SL SW 0 c 0 ls
CS SW 0 1u
.model ls SW`
	swing := math.Sqrt(16*16 + 2*2*84e-3/0.9e-6)
	meets(t, "V(SW)", voltage(t, load(t, deck, ""), "SW").Sound, 16-swing-0.02, 16+swing+0.02, 0.01)
	meets(t, "V(A)", voltage(t, load(t, deck, ""), "A").Sound, 16-swing-0.04, 16+swing+0.04, 0.05)
}

// What takes part in the ring and is not known leaves the node without a limit.
func TestNoRingWithoutWhatItNeeds(t *testing.T) {
	for name, change := range map[string][2]string{
		"no capacitor":                {"CS SW 0 1u\n", ""},
		"a capacitor to nowhere":      {"CS SW 0 1u", "CS SW F 1u"},
		"one without a value":         {"CS SW 0 1u", "CS SW 0 cm\n.model cm C"},
		"two coils":                   {"LC BATT SW 80m", "LC BATT SW 80m\nL2 BATT SW 80m\n* shuntwright: elements.L2.current = \"0 A .. 1 A\""},
		"coupled coils":               {"LC BATT SW 80m", "LC BATT SW 80m\nL2 p 0 80m\nRP p 0 1k\nK1 LC L2 0.99"},
		"a coil that leads elsewhere": {"LC BATT SW 80m", "LC N SW 80m\nRN N BATT 1\nDN N 0 free"},
		"a current source":            {"CS SW 0 1u", "CS SW 0 1u\nI1 0 SW 1m"},
	} {
		deck := strings.Replace(ringing, change[0], change[1], 1)
		d, _ := bind(deck, "")
		if q := voltage(t, d, "SW"); q.Known() && !math.IsInf(q.Seen.Hi, 1) {
			t.Errorf("%s: V(SW) is %v", name, q.Sound)
		}
	}
}
