package volt

import (
	"math"
	"slices"
)

// turn looks inside the range of each cause that moves several coefficients at once, a temperature or the common
// resistance of two legs: there the reading may turn back between the ends of the range. The other outer causes stand as
// at the end that was found. Where it does turn, the turning point is closed in on.
func (s *search) turn() {
	for _, c := range s.shared {
		for i, to := range s.b.Values[c][1:] {
			for _, high := range []bool{false, true} {
				if s.failed || s.low.at == nil {
					return
				}
				s.turnAt(c, s.b.Values[c][i], to, high)
			}
		}
	}
}

func (s *search) end(high bool) *found {
	if high {
		return &s.high
	}
	return &s.low
}

// turnAt looks at places between two ends of a cause, and where a parabola through three neighbours has its top: a reading
// that turns next to an end of the range shows there alone.
func (s *search) turnAt(c int, from, to float64, high bool) {
	const parts = 8
	f := s.end(high)
	before, sign := f.value, -1.0
	if high {
		sign = 1
	}
	width := math.Abs(s.high.value - s.low.value)
	least := 1e-9*max(width, math.Abs(before)) + 1e-12
	at := slices.Clone(f.at)
	best, farthest := from, math.Inf(-1)
	look := func(v float64) float64 {
		at[c] = v
		low, top := s.alone(slices.Clone(at))
		here := sign * low.value
		if high {
			here = top.value
		}
		if here > farthest {
			best, farthest = v, here
		}
		return here
	}
	step := (to - from) / parts
	var y [parts + 1]float64
	for k := range y {
		y[k] = look(from + float64(k)*step)
	}
	for k := 1; k < parts; k++ {
		slope, bend := (y[k+1]-y[k-1])/2, y[k+1]-2*y[k]+y[k-1]
		if top := -slope / bend; bend < 0 && math.Abs(top) < 1 {
			look(from + (float64(k)+top)*step)
		}
	}
	if math.Abs(f.value-before) <= least {
		return
	}
	s.turned = true
	for range 32 {
		step /= 2
		centre := best
		for _, v := range []float64{centre - step, centre + step} {
			if v > from && v < to {
				look(v)
			}
		}
	}
}
