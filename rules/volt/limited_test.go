package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A ladder of many resistors that drift with one temperature, too many to prove the exact ends: a limit is proved all the
// same, for voltages and for currents, with a declared current through a shunt that drifts or without. What random states
// give stays inside.
func TestManyThatShareATemperature(t *testing.T) {
	const sections = 5
	rnd := rand.New(rand.NewPCG(71, 72))
	for _, shunt := range []bool{false, true} {
		var deck strings.Builder
		deck.WriteString("* shuntwright: temperature = \"-40 degC .. 125 degC\"\n* shuntwright: tolerances.resistors = \"1 %\"\n* shuntwright: rails.V1 = \"9 V .. 11 V\"\n")
		from := "V1"
		if shunt {
			deck.WriteString("* shuntwright: currents.RS = { range = \"-1 A .. 2 A\", from = \"V1\" }\nRS V1 s 0.5 TC=0.002,1e-6\n")
			from = "s"
		}
		var ohms, tc [2 * sections]float64
		for k := range ohms {
			ohms[k], tc[k] = math.Round(100+900*rnd.Float64()), math.Round(6000*(rnd.Float64()-0.5))*1e-6
		}
		for k := range sections {
			to := fmt.Sprint("n", k)
			fmt.Fprintf(&deck, "R%da %s %s %v TC=%v\nR%db %s 0 %v TC=%v\n", k, from, to, ohms[2*k], tc[2*k], k, to, ohms[2*k+1], tc[2*k+1])
			from = to
		}
		d := load(t, deck.String(), "")
		end := voltage(t, d, from)
		e, _ := d.Find("R0a")
		amps := volt.New(d).Current(e, design.Operating)
		for what, q := range map[string]quantity.Quantity{"voltage": end, "current": amps} {
			if !q.Known() || math.IsInf(q.Sound.Width(), 0) {
				t.Errorf("shunt %v: the %s is %v (%s), needs %v", shunt, what, q.Sound, q.Reason(true), q.Needs)
			}
			if q.Sound.Width() > 4*q.Seen.Width() {
				t.Errorf("shunt %v: the %s is seen in %v, proved in %v", shunt, what, q.Seen, q.Sound)
			}
		}
		for range 20_000 {
			heat := -40 - 27 + 165*rnd.Float64()
			v := 9 + 2*rnd.Float64()
			if shunt {
				v -= (-1 + 3*rnd.Float64()) * 0.5 * (0.99 + 0.02*rnd.Float64()) * (1 + 0.002*heat + 1e-6*heat*heat)
			}
			var r [2 * sections]float64
			for k := range r {
				r[k] = ohms[k] * (1 + tc[k]*heat) * (0.99 + 0.02*rnd.Float64())
			}
			seen := math.Inf(1) // what a section shows from its start
			var shows [sections]float64
			for k := sections - 1; k >= 0; k-- {
				shows[k] = 1 / (1/r[2*k+1] + 1/seen)
				seen = r[2*k] + shows[k]
			}
			i := v / seen
			for k := range sections {
				v *= shows[k] / (r[2*k] + shows[k])
			}
			if !end.Sound.Contains(v) || !amps.Sound.Contains(i) {
				t.Fatalf("shunt %v: %v V, %v A is reached, outside %v, %v", shunt, v, i, end.Sound, amps.Sound)
			}
		}
	}
}

// What an op amp drives stands between its own supplies, whatever other rails are about, and so does what it feeds.
func TestOutputsStayWithinTheirOwnSupply(t *testing.T) {
	d := load(t, comparator("10 V exact", "0 V .. 20 V")+"R5 OUT 0 1k", outputs)
	q := voltage(t, d, "OUT")
	meets(t, "OUT", q.Sound, 0, 10, 1e-6)
	e, _ := d.Find("R5")
	i := volt.New(d).Current(e, design.Operating)
	meets(t, "I(R5)", i.Sound, 0, 10/950., 1e-9)
	// With a declared current through a part whose drift nobody can know without a temperature.
	d = load(t, still+`* shuntwright: rails.V1 = "8 V .. 12 V"
* shuntwright: rails.V2 = "2.5 V exact"
* shuntwright: currents.R2 = { range = "-1 A .. 2 A", from = "V2" }
X0 d a b 0 V1 capstan-op
X1 V2 b a 0 V1 capstan-op
R2 V2 d 1.83 TC=0.0006`, outputs)
	q = voltage(t, d, "a")
	meets(t, "a", q.Sound, 0, 12, 1e-6)
	if d := voltage(t, d, "d"); d.Known() {
		t.Errorf("V(d) is %v with an unknown temperature", d.Sound)
	}
}

// Two nodes that float, one above the other as far as a diode lets it: their difference has one limit, and the other is
// missing, named.
func TestDifferenceOfFloatingNodes(t *testing.T) {
	q := across(t, load(t, still+`* shuntwright: rails.V1 = "8 V exact"
* shuntwright: elements.D2.drop = "0.5 V exact"
* shuntwright: elements.S3.on-resistance = "100 ohm exact"
.model free D
.model hs SW
R0 c a 1700
D2 c b free
S3 a V1 cc 0 hs`, ""), "b", "c")
	if math.Abs(q.Sound.Lo+0.5) > 1e-9 || !math.IsInf(q.Sound.Hi, 1) || q.Known() {
		t.Errorf("V(b,c) is %v, needs %v", q.Sound, q.Needs)
	}
}
