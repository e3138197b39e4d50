package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// Positive feedback about a gain at which nothing limits the node any more: V(a) = V1 / (1 - (k - 1) R1/R2), resistors of
// 2 % to 20 %. Where the denominator has either sign in the ranges nothing limits the bound and the reason says so, else the
// ends are at corners. The same once more by a current that follows the node, and by one that follows a meter.
func TestPoleOrExact(t *testing.T) {
	rnd := rand.New(rand.NewPCG(41, 42))
	poles := 0
	for round := range 60 {
		by := []float64{0.02, 0.05, 0.2}[rnd.IntN(3)]
		gain := math.Round((1.5+rnd.Float64())*1000) / 1000
		head := fmt.Sprintf("* shuntwright: tolerances.resistors = \"%v %%\"\n* shuntwright: rails.V1 = \"1 V .. 2 V\"\nR1 V1 a 1k\n", 100*by)
		for name, c := range map[string]struct {
			cards string
			den   func(r1, r2 float64) float64
		}{
			"voltage": {fmt.Sprintf("R2 a o 1k\nE1 o 0 a 0 %v", gain), func(r1, r2 float64) float64 { return 1 - (gain-1)*r1/r2 }},
			"current": {fmt.Sprintf("R2 a 0 1k\nG1 0 a a 0 %vm", gain), func(r1, r2 float64) float64 { return 1 + r1/r2 - gain*r1/1000 }},
			"meter":   {fmt.Sprintf("VM a m 0\nR2 m 0 1k\nF1 0 a VM %v", gain), func(r1, r2 float64) float64 { return 1 - (gain-1)*r1/r2 }},
			"ohms":    {fmt.Sprintf("VM a m 0\nR2 m 0 1k\nH1 o 0 VM %vk\nR3 a o 1e12\n", gain), func(r1, r2 float64) float64 { return 1 + r1/r2 }},
		} {
			lo, hi, sign := math.Inf(1), math.Inf(-1), 0.0
			pole := false
			for bits := range 8 {
				f := func(k int) float64 { return 1 + by*float64(2*(bits>>k&1)-1) }
				den := c.den(1000*f(0), 1000*f(1))
				pole = pole || sign*den < 0 || den == 0
				sign = den
				v := (1 + float64(bits>>2&1)) / den
				lo, hi = min(lo, v), max(hi, v)
			}
			q := voltage(t, load(t, head+c.cards, ""), "a")
			what := fmt.Sprintf("round %d, %s, gain %v, %v", round, name, gain, by)
			if pole {
				poles++
				if !math.IsInf(q.Sound.Lo, -1) || !math.IsInf(q.Sound.Hi, 1) || !strings.Contains(q.Reason(true), "loop gain") {
					t.Errorf("%s: %v, %q", what, q.Sound, q.Reason(true))
				}
				continue
			}
			within := 1e-9 * max(1, math.Abs(lo), math.Abs(hi))
			if name == "ohms" {
				within = 1e-7
			}
			meets(t, what+", sound", q.Sound, lo, hi, within)
			meets(t, what+", seen", q.Seen, lo, hi, within)
		}
	}
	if poles < 20 {
		t.Errorf("only %d poles", poles)
	}
}
