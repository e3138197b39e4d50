package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// places are where the causes of a witness put the free elements, 0 to 1.
func (w wild) places(states []quantity.State) (place map[int]float64, closed, named int) {
	place = map[int]float64{}
	for _, s := range states {
		for i, e := range w.elements {
			n := w.name(i)
			switch s.Name {
			case "state of " + n:
				named++
				for k, j := range w.of('S') {
					if j == i && s.Value > 0.5 {
						closed |= 1 << k
					}
				}
			case n, "elements." + n + ".drop", "elements." + n + ".on-resistance", "rails." + wildNode(e.a):
				if s.Name[0] == 'r' && !e.rail {
					break
				}
				if e.lo < e.hi {
					place[i] = (s.Value - e.lo) / (e.hi - e.lo)
				}
			}
		}
	}
	return place, closed, named
}

// A breach is what is wrong with a bound; empty where nothing is.
func (w wild) breach(q quantity.Quantity, of func(outcome) float64, rnd *rand.Rand, samples int) string {
	known, answered := q.Known(), true
	size := 1e-3
	inside := quantity.Nothing
	var far string
	look := func(x []float64, closed int) {
		all := w.outcomes(x, closed)
		answered = answered && len(all) > 0
		if !known {
			return
		}
		for _, o := range all {
			v := of(o)
			size = max(size, o.size)
			inside = inside.Union(quantity.Point(v))
			if v < q.Sound.Lo-1e-8*o.size || v > q.Sound.Hi+1e-8*o.size {
				far = fmt.Sprintf("%.12g is possible with %v, switches %b, outside sound %v (loose %v, seen %v)", v, x, closed, q.Sound, q.Loose, q.Seen)
			}
		}
	}
	switches := 1 << len(w.of('S'))
	for k := range samples {
		x := w.at(func(i int) float64 {
			if k%2 == 0 && (w.elements[i].kind != 'V' || k%4 == 0) {
				return float64(rnd.IntN(2))
			}
			return rnd.Float64()
		})
		look(x, rnd.IntN(switches))
		if far != "" {
			return far
		}
	}
	if !known && answered {
		return fmt.Sprint("missing, though every state has an answer: ", q.Needs)
	}
	if inside.Empty() {
		return ""
	}
	if !q.Loose && (q.Seen.Lo-q.Sound.Lo > 1e-8*size || q.Sound.Hi-q.Seen.Hi > 1e-8*size) {
		return fmt.Sprintf("not loose, seen %v, sound %v", q.Seen, q.Sound)
	}
	for _, high := range []bool{false, true} {
		end := q.Seen.Lo
		if high {
			end = q.Seen.Hi
		}
		if math.IsInf(end, 0) {
			continue
		}
		place, closed, named := w.places(q.Witness(high))
		x := w.at(func(i int) float64 {
			if p, ok := place[i]; ok {
				return p
			}
			return 0.5
		})
		if len(place)+named < len(w.free())+len(w.of('S')) {
			continue // a crowd is not named to the last
		}
		all := w.outcomes(x, closed)
		if len(all) > 0 && !slices.ContainsFunc(all, func(o outcome) bool { return math.Abs(of(o)-end) <= 1e-8*o.size }) {
			var got []float64
			for _, o := range all {
				got = append(got, of(o))
			}
			return fmt.Sprintf("the witness of %v gives %v", end, got)
		}
	}
	return ""
}
