package rules_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// A divider of 39 kohm into 12 kohm + 8.2 kohm leaves 20.2/59.2 = 0.341 of the output. Scale: 30 V/V x 1 mohm.
func TestScaleAndTransfer(t *testing.T) {
	d := load(t, deck+"R39 out mid 39k\nR12 mid low 12k\nR8 low 0 8.2k\n", barge)
	judged(t, d, func(p *rules.Bench) {
		n, _ := p.Design.Net("mid")
		if k := p.Transfer(n); !k.Known() || math.Abs(k.Nom-20.2/59.2) > 1e-9 {
			t.Errorf("transfer %v %v", k.Nom, k.Needs)
		}
		s := p.Scale()
		if !s.Known() || math.Abs(s.Seen.Lo-30*0.996*1e-3*0.99) > 1e-6 || math.Abs(s.Seen.Hi-30*1.004*1e-3*1.01) > 1e-6 {
			t.Errorf("scale %v %v", s.Seen, s.Needs)
		}
	})
}

// Of 1 mohm and 3 mohm in parallel the one declared with 30 A carries three quarters of 40 A: 30 mV over 0.75 mohm.
func TestParallelShunts(t *testing.T) {
	d := load(t, strings.NewReplacer("RSH BUS LOAD 1m", "RSH BUS LOAD 1m\nRS2 BUS LOAD 3m", `"-20 A .. 20 A"`, `"0 A .. 30 A"`).Replace(deck), barge)
	judged(t, d, func(p *rules.Bench) {
		i := p.ShuntCurrent(design.Operating)
		if math.Abs(i.Nom-20) > 1e-9 { // of 15 A, the middle of the range
			t.Errorf("%v A, %v", i.Nom, i.Needs)
		}
		v := quantity.Calc("drop", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] }, i, p.ShuntOhms())
		if math.Abs(v.Seen.Hi-30*1.01e-3) > 1e-9 { // the voltage is that of the declared one alone
			t.Errorf("drop %v", v.Seen)
		}
	})
}

// What arrives behind 1 kohm at a net with 3 kohm to a rail of 5 V, and the converter's 6 kohm to node 0: the output counts
// 2 kohm beside 1 kohm, 2/3 of it; the rail 6/7 kohm beside 3 kohm, 2/9 of 5 V. 1 uA over 1 || 2 kohm is 0.667 mV.
func TestArriving(t *testing.T) {
	d := load(t, deck+"RO out adc 1k tol=0\nRP adc VX 3k tol=0\n* shuntwright: rails.VX = \"5 V exact\"\n"+
		"* shuntwright: converters.adc = { range = \"0 V .. VX - 1 V\", zero = \"VX / 2\", input-resistance = \"6 kohm exact\", leakage = \"1 uA\" }\n", barge)
	judged(t, d, func(p *rules.Bench) {
		c, ok := p.Converter()
		if !ok || c.Name != "adc" {
			t.Fatalf("converter %+v", c)
		}
		q := p.Arriving(quantity.Exactly("output", quantity.Volt, 3), c.Net, design.Operating)
		if want := 2. + 10./9; math.Abs(q.Seen.Lo-(want-2e-3/3)) > 1e-9 || math.Abs(q.Seen.Hi-(want+2e-3/3)) > 1e-9 || !q.Known() {
			t.Errorf("arrives %v %v, want %v", q.Seen, q.Needs, want)
		}
		lo, hi, said := p.ConverterLimits(c, "range", design.Operating)
		zero, zeroed := p.ConverterZero(c, design.Operating)
		if !said || !zeroed || lo.Nom != 0 || hi.Nom != 4 || zero.Nom != 2.5 {
			t.Errorf("range %v .. %v, zero %v", lo.Nom, hi.Nom, zero.Nom)
		}
		if _, _, said := p.ConverterLimits(c, "survival", design.Operating); said {
			t.Error("survival is not declared")
		}
		if q := p.SeriesOhms(); q.Nom != 1000 {
			t.Errorf("series %v", q.Nom)
		}
	})
}
