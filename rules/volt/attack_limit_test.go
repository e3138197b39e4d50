package volt_test

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Resistors of up to 95 % between rails have limits, however many there are: no node leaves the range of the rails and
// ground. With controlled sources a bound may be without end, which then has a reason.
func TestManyValuesHaveALimitOrAReason(t *testing.T) {
	for seed := range uint64(150) {
		r := rand.New(rand.NewPCG(seed, 71))
		w := drawWild(r, ingredients{nodes: 14 + r.IntN(10), resistors: 3, rails: 1 + r.IntN(2), controls: 3 * int(seed%2), spanning: true, tolerance: 0.95})
		lo, hi, currents := 0.0, 0.0, false
		for _, e := range w.elements {
			if e.rail {
				lo, hi = min(lo, e.lo), max(hi, e.hi)
			}
			currents = currents || e.kind == 'I'
		}
		node := wildNode(1 + r.IntN(14))
		q := voltage(t, load(t, w.deck(), ""), node)
		switch passive := seed%2 == 0; {
		case passive && math.IsInf(q.Sound.Width(), 0), passive && !currents && (q.Sound.Lo < lo-1e-8 || q.Sound.Hi > hi+1e-8):
			t.Errorf("seed %d: V(%s) is %v, the rails %v .. %v\n%s", seed, node, q.Sound, lo, hi, w.deck())
		case math.IsInf(q.Sound.Width(), 0) && q.Reason(true) == "":
			t.Errorf("seed %d: V(%s) is %v for no reason\n%s", seed, node, q.Sound, w.deck())
		}
	}
}
