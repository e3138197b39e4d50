package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Next to an end of the range of temperatures a reading may turn as well. With d = T - 27 degC, R1 = 1 kohm (1 + 1e-3 d)
// and R2 = 1 kohm (1 + a d - 1e-5 d^2), R2/R1 turns where (a - 2e-5 d)(1 + 1e-3 d) = 1e-3 (1 + a d - 1e-5 d^2): for d = -60
// of -67 .. 98 that is a = -1.64e-4.
func TestTurningNextToTheColdEnd(t *testing.T) {
	d := load(t, `* shuntwright: temperature = "-40 degC .. 125 degC"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: rails.V1 = "10 V exact"
R1 V1 a 1k TC=1e-3
R2 a 0 1k TC=-1.64e-4,-1e-5`, "")
	at := func(d float64) float64 {
		r1, r2 := 1+1e-3*d, 1-1.64e-4*d-1e-5*d*d
		return 10 * r2 / (r1 + r2)
	}
	q := voltage(t, d, "a")
	meets(t, "V(a)", q.Seen, at(98), at(-60), 1e-9)
	if q.Sound.Hi < at(-60) {
		t.Errorf("%v leaves out %v", q.Sound, at(-60))
	}
}

// One temperature and the corners of a few tolerances, against a grid of temperatures.
func TestOneTemperatureOfManyParabolas(t *testing.T) {
	for seed := range uint64(80) {
		r := rand.New(rand.NewPCG(seed, 5))
		w := drawWild(r, ingredients{nodes: 2 + r.IntN(2), resistors: 1 + r.IntN(2), rails: 1, tolerance: 0.05 * float64(seed%2)})
		tc := make([][2]float64, len(w.elements))
		lines := strings.Split(w.deck(), "\n")
		for i, e := range w.elements {
			if e.kind != 'R' || r.IntN(3) == 0 {
				continue
			}
			turn, c := -67+165*r.Float64(), math.Pow(10, -6+2*r.Float64()) // a parabola with its least somewhere in the range
			if r.IntN(2) == 0 {
				c /= -10
			}
			tc[i] = [2]float64{-2 * c * turn, c}
			for k, l := range lines {
				if strings.HasPrefix(l, w.name(i)+" ") {
					lines[k] = l + " TC=" + number(tc[i][0]) + "," + number(tc[i][1])
				}
			}
		}
		deck := "* shuntwright: temperature = \"-40 degC .. 125 degC\"\n" + strings.Join(lines, "\n")
		node := 1 + r.IntN(w.nodes)
		q := voltage(t, load(t, deck, ""), wildNode(node))
		free, met, size := w.free(), quantity.Nothing, 1.0
		for step := range 67 {
			dt := -67 + 165*float64(step)/66
			for c := range 1 << len(free) {
				side := map[int]float64{}
				for b, i := range free {
					side[i] = float64(c >> b & 1)
				}
				x := w.at(func(i int) float64 { return side[i] })
				for i := range x {
					x[i] *= 1 + tc[i][0]*dt + tc[i][1]*dt*dt
				}
				for _, o := range w.outcomes(x, 0) {
					met, size = met.Union(quantity.Point(o.volts[node])), max(size, o.size)
				}
			}
		}
		what := fmt.Sprintf("seed %d, V(n%d), with the end of the sampled %v", seed, node, met)
		meets(t, what, q.Seen, min(met.Lo, q.Seen.Lo), max(met.Hi, q.Seen.Hi), 1e-8*size)
		meets(t, what+", nothing outside,", q.Sound, min(met.Lo, q.Sound.Lo), max(met.Hi, q.Sound.Hi), 1e-8*size)
		if !q.Loose {
			meets(t, what+", exactly", q.Sound, met.Lo, met.Hi, 1e-3*size)
		}
	}
}
