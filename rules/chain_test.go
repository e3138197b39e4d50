package rules_test

import (
	"math"
	"testing"

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
