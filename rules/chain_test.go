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
