package design_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// rail is the voltage of a net that something holds.
func rail(t testing.TB, d *design.Design, name string, r design.Regime) quantity.Quantity {
	t.Helper()
	n, ok := d.Net(name)
	if !ok {
		t.Fatalf("no net %q", name)
	}
	q, held := d.Rail(n, r)
	if !held {
		t.Fatalf("nothing holds %s", name)
	}
	return q
}

func TestRails(t *testing.T) {
	d := load(t, `* shuntwright: rails.A = "10 V .. 14 V"
* shuntwright: rails.B = { operating = "10 V .. 14 V", survival = "-14 V .. 12 V" }
* shuntwright: rails.C = { operating = "10 V .. 14 V" }
* shuntwright: rails.D = "12 V"
* shuntwright: rails.E = { follows = "D", within = "0.1 V" }
* shuntwright: rails.F = "12 V exact"
R1 A B 1k
R2 C D 1k
R3 E F 1k
V1 G 0 3
V2 H G 4
V3 K F 1
R4 H 0 1k
R5 K 0 1k
R6 L 0 1k`, "")
	ends(t, "A", rail(t, d, "A", design.Operating), 10, 14, 10, 14)
	ends(t, "A in events", rail(t, d, "A", design.Survival), 10, 14, 10, 14)
	ends(t, "B", rail(t, d, "B", design.Operating), 10, 14, 10, 14)
	ends(t, "B in events", rail(t, d, "B", design.Survival), -14, 14, -14, 14)
	ends(t, "C in events", rail(t, d, "C", design.Survival), 10, 14, quantity.Everything.Lo, quantity.Everything.Hi)
	ends(t, "D", rail(t, d, "D", design.Operating), 12, 12, 11.4, 12.6)
	ends(t, "E", rail(t, d, "E", design.Operating), 11.9, 12.1, 11.3, 12.7)
	ends(t, "F", rail(t, d, "F", design.Operating), 12, 12, 12, 12)
	ends(t, "ground", rail(t, d, "gnd", design.Operating), 0, 0, 0, 0)
	// Sources that stand on each other and on a rail hold nets as well; 5 % are counted of each.
	ends(t, "H", rail(t, d, "H", design.Operating), 7, 7, 6.65, 7.35)
	ends(t, "K", rail(t, d, "K", design.Operating), 13, 13, 12.95, 13.05)
	n, _ := d.Net("L")
	if _, held := d.Rail(n, design.Operating); held {
		t.Error("a resistor holds L")
	}
	// Rails that follow one another move together.
	same := quantity.Calc("", quantity.Volt, func(x []float64) float64 { return x[0] - x[1] }, rail(t, d, "E", design.Operating), rail(t, d, "D", design.Operating))
	ends(t, "E - D", same, -0.1, 0.1, -0.1, 0.1)
}

// Rails that follow each other in a ring end nowhere, and say what is missing.
func TestRingOfRails(t *testing.T) {
	d, _ := bind("* shuntwright: rails.A = { follows = \"B\", within = \"0.1 V\" }\n* shuntwright: rails.B = { follows = \"A\", within = \"0.1 V\" }\nR1 A B 1k", "")
	n, _ := d.Net("A")
	if q, _ := d.Rail(n, design.Operating); q.Known() && !q.Seen.Empty() {
		t.Errorf("A is %v", q.Seen)
	}
}

func TestResistances(t *testing.T) {
	d := load(t, `* shuntwright: tolerances.resistors = "1 %"
* shuntwright: elements.R2.tolerance = "0.1 %"
* shuntwright: elements.R3 = { tolerance = "0 %", temperature-coefficient = "100 ppm/K" }
* shuntwright: temperature = "-35 degC .. 125 degC"
R1 a 0 1k
R2 a 0 1k
R3 a 0 1k
R4 a 0 0
R5 a 0 1k tol=0.02
R6 a 0 {2*500}`, "")
	for path, w := range map[string]float64{"R1": 0.01, "R2": 0.001, "R4": 0, "R5": 0.02, "R6": 0.01} {
		nom := 1000.0
		if path == "R4" {
			nom = 0
		}
		ends(t, path, element(t, d, path).Resistance(), nom*(1-w), nom*(1+w), nom*(1-w), nom*(1+w))
	}
	// 100 ppm/K over 100 K from 25 degC to 125 degC.
	ends(t, "R3", element(t, d, "R3").Resistance(), 990, 1010, 990, 1010)
	ends(t, "R3 tracked", element(t, d, "R3").TrackedResistance(), 990, 1010, 990, 1010)
	if q := element(t, d, "R1").TrackedResistance(); q.Known() {
		t.Errorf("the tracking of R1 is known: %v", q.Seen)
	}
	d = load(t, "R1 a 0 1k\nR2 a 0 -1k", "")
	q := element(t, d, "R1").Resistance()
	ends(t, "undeclared", q, 1000, 1000, 950, 1050)
	if q.Grade != quantity.Assumed || len(q.Notes(0)) == 0 {
		t.Errorf("undeclared: %v %q", q.Grade, q.Notes(0))
	}
	// A coefficient needs the temperature.
	d = load(t, "* shuntwright: elements.R1.temperature-coefficient = \"100 ppm/K\"\nR1 a 0 1k", "")
	if q := element(t, d, "R1").Resistance(); q.Known() || !q.Seen.Empty() {
		t.Errorf("without the temperature: %v, needs %v", q.Seen, q.Needs)
	}
}

// TC1 and TC2 of a card count from 27 degC: SPICE3f3 User's Manual, 3.1.1 and 3.1.2.
func TestCardTemperatureCoefficient(t *testing.T) {
	d := load(t, "* shuntwright: temperature = \"-40 degC .. 125 degC\"\n* shuntwright: tolerances.resistors = \"0 %\"\nR1 a 0 1k TC=0.001\nR2 a 0 1k", "")
	ends(t, "R1", element(t, d, "R1").Resistance(), 1000*(1-0.067), 1000*(1+0.098), 1000*(1-0.067), 1000*(1+0.098))
}

func TestCurrents(t *testing.T) {
	const cards = "R1 A B 1m\nR2 B 0 1\nV1 A 0 5"
	at := func(entry string, r design.Regime) design.Current {
		t.Helper()
		c, ok := element(t, load(t, "* shuntwright: currents.R1 = "+entry+"\n"+cards, ""), "R1").Current(r)
		if !ok {
			t.Fatalf("%s declares nothing", entry)
		}
		return c
	}
	c := at(`{ range = "-2 A .. 8 A", from = "A" }`, design.Operating)
	ends(t, "current", c.Value, -2, 8, -2, 8)
	if c.From != c.Element.Pin(0) || c.To != c.Element.Pin(1) {
		t.Error("from A it leaves pin 0")
	}
	if c := at(`{ range = "-2 A .. 8 A", from = "B" }`, design.Operating); c.From != c.Element.Pin(1) || c.To != c.Element.Pin(0) {
		t.Error("from B it leaves pin 1")
	}
	ends(t, "with a fault", at(`{ range = "0 A .. 8 A", from = "A", fault = "90 A for 20 us" }`, design.Survival).Value, 0, 90, 0, 90)
	ends(t, "with a fault, working", at(`{ range = "0 A .. 8 A", from = "A", fault = "90 A for 20 us" }`, design.Operating).Value, 0, 8, 0, 8)
	ends(t, "with a fault both ways", at(`{ range = "-1 A .. 8 A", from = "A", fault = "90 A for 20 us" }`, design.Survival).Value, -90, 90, -90, 90)
	c = at(`{ range = "-2 A .. 8 A" }`, design.Operating)
	ends(t, "without a direction", c.Value, -2, 2, -8, 8)
	if c.Value.Known() || c.Value.Needs[0].Key != "currents.R1.from" {
		t.Errorf("needs %v", c.Value.Needs)
	}
	if c := at(`{ from = "A" }`, design.Operating); c.Value.Known() {
		t.Error("without a range nothing is known")
	}
}

func TestDisagreements(t *testing.T) {
	for _, c := range []struct{ deck, rule, text string }{
		{"* shuntwright: rails.A = \"10 V .. 14 V\"\nV1 A 0 15\nR1 A 0 1k", "intent-disagreement", "A"},
		{"* shuntwright: rails.A = \"10 V .. 14 V\"\nV1 0 A 12\nR1 A 0 1k", "intent-disagreement", "A"},
		{"* shuntwright: rails.A = \"10 V .. 14 V\"\nV1 A 0 PULSE(9 12)\nR1 A 0 1k", "intent-disagreement", "A"},
		{"* shuntwright: rails.AA = \"10 V\"\nR1 A 0 1k", "intent-name", "AA"},
		{"* shuntwright: elements.R9.tolerance = \"1 %\"\nR1 A 0 1k", "intent-name", "R9"},
		{"* shuntwright: goals.XA.error = \"1 %\"\nR1 A 0 1k", "intent-name", "XA"},
		{"* shuntwright: currents.R1 = { range = \"0 A .. 2 A\", from = \"C\" }\nR1 A B 1\nR2 C B 1\nR3 A 0 1", "intent-name", "C"},
	} {
		_, diags := bind(c.deck, "")
		if len(diags) != 1 || diags[0].Rule != c.rule || !strings.Contains(diags[0].Message, c.text) {
			t.Errorf("%s\n: %v", c.deck, diags)
		}
	}
	for _, deck := range []string{
		"* shuntwright: rails.A = \"10 V .. 14 V\"\nV1 A 0 12\nR1 A 0 1k",
		"* shuntwright: rails.A = \"10 V .. 14 V\"\nV1 A 0 PULSE(10 14)\nR1 A 0 1k",
		"* shuntwright: rails.A = { operating = \"10 V .. 14 V\", survival = \"0 V .. 20 V\" }\nV1 A 0 PULSE(12 18)\nR1 A 0 1k",
		"* shuntwright: rails.a = \"10 V .. 14 V\"\nV1 A 0 12\nR1 A 0 1k", // letter case
		"* shuntwright: currents.R1 = { range = \"0 A .. 2 A\", from = \"A\" }\nR1 A B 1\nR2 B 0 1",
	} {
		if _, diags := bind(deck, ""); len(diags) > 0 {
			t.Errorf("%s\n: %v", deck, diags)
		}
	}
}

// Changes are laid over; the design below does not change, the newest wins.
func TestChanges(t *testing.T) {
	d := load(t, "* shuntwright: rails.V5 = \"5 V +- 2 %\"\nRSH V5 out 1m\nR1 V5 0 1k\nXA V5 out o 0 V5 V5 barge-30\nC1 o 0 1n", barge)
	o := d.With(design.Change{Op: design.Set, Target: "r1", Value: 2000}, design.Change{Op: design.Set, Target: "R1", Value: 3000},
		design.Change{Op: design.Open, Target: "C1"}, design.Change{Op: design.Short, Target: "RSH"},
		design.Change{Op: design.Declare, Target: "V5", Text: "0 V .. 1 V"},
		design.Change{Op: design.Field, Target: "XA", Key: "supply.operating", Text: "1 V .. 2 V"},
		design.Change{Op: design.Hold, Target: "XA", Pin: "ref", Value: 1.5})
	if v := element(t, o, "R1").Value(); v != 3000 {
		t.Errorf("R1 is %v", v)
	}
	if v := element(t, d, "R1").Value(); v != 1000 {
		t.Errorf("R1 below is %v", v)
	}
	if element(t, o, "C1").Kind() != design.Gone || element(t, d, "C1").Kind() != 'C' {
		t.Error("C1 is still there, or gone below")
	}
	if !element(t, o, "RSH").Short() || element(t, d, "RSH").Short() {
		t.Error("RSH is no wire, or one below")
	}
	ends(t, "V5", rail(t, o, "V5", design.Operating), 0, 1, 0, 1)
	ends(t, "V5 below", rail(t, d, "V5", design.Operating), 4.9, 5.1, 4.9, 5.1)
	if i, _ := element(t, o, "XA").Entry("supply.operating").Limits.Constant(); i != (quantity.Interval{Lo: 1, Hi: 2}) {
		t.Errorf("supply.operating is %v", i)
	}
	if i, _ := element(t, d, "XA").Entry("supply.operating").Limits.Constant(); i != (quantity.Interval{Lo: 2.8, Hi: 5.6}) {
		t.Errorf("supply.operating below is %v", i)
	}
	if v, ok := o.Held(element(t, o, "XA"), "ref"); !ok || v != 1.5 {
		t.Errorf("ref is held at %v, %v", v, ok)
	}
	n, _ := d.Net("o")
	count := func(d *design.Design) int {
		return len(slices.Collect(func(yield func(design.Element) bool) { d.On(n)(yield) }))
	}
	if count(o) != count(d)-1 {
		t.Error("an opened element still stands on its net")
	}
}

func TestPartNumbers(t *testing.T) {
	d := load(t, "XA V5 out o 0 V5 V5 barge-30\nXB V5 out p 0 V5 V5 barge-30\nR1 V5 0 1k\nR2 out 0 1k", barge)
	a, b := element(t, d, "XA"), element(t, d, "XB")
	ends(t, "gain", a.Part("gain"), 30*0.996, 30*1.004, 30*0.996, 30*1.004)
	ends(t, "supply current", a.Part("supply.current"), 0, 1.3e-3, 0, 1.3e-3)
	if q := a.Part("bandwidth"); q.Known() || q.Needs[0].Key != "barge-30 bandwidth" {
		t.Errorf("needs %v", q.Needs)
	}
	// Two parts of one kind vary apart.
	d2 := quantity.Calc("", quantity.VoltPerVolt, func(x []float64) float64 { return x[0] - x[1] }, a.Part("gain"), b.Part("gain"))
	ends(t, "the difference of two gains", d2, -0.24, 0.24, -0.24, 0.24)
	same := quantity.Calc("", quantity.VoltPerVolt, func(x []float64) float64 { return x[0] - x[1] }, a.Part("gain"), a.Part("gain"))
	ends(t, "the difference of one", same, 0, 0, 0, 0)
	typical := barge + "cmrr = { typical = \"100 dB\" }\n"
	if q := element(t, load(t, "XA V5 out o 0 V5 V5 barge-30\nR1 V5 out 1k\nR2 out 0 1k", typical), "XA").Part("cmrr.typical"); q.Grade != quantity.Soft {
		t.Errorf("a typical value is %v", q.Grade)
	}
}

func TestGround(t *testing.T) {
	d := load(t, "R1 a 0 1k\nR2 b gnd 1k\nV1 a 0 1\nV2 b 0 1", "")
	for _, name := range []string{"0", "gnd", "GND"} {
		if n, ok := d.Net(name); !ok || n != circuit.Net(0) {
			t.Errorf("%s is net %v", name, n)
		}
	}
}
