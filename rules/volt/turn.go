package volt

import (
	"math"
	"slices"
)

// A suspect is a combination of the outer causes, those that are shared left open, in which the reading may go farther
// than was found at the ends of the shared ones.
type suspect struct {
	at   []float64
	high bool
}

// turn looks inside the range of each cause that moves several coefficients at once, a temperature or the common
// resistance of two legs, where the reading may turn back between the ends of the range.
func (s *search) turn(suspects []suspect) {
	for _, x := range suspects {
		best := nothing(1)
		if x.high {
			best = nothing(-1)
		}
		at := slices.Clone(x.at)
		s.b.Visit(s.shared, at, func() bool {
			if f := s.look(at, x.high); f.at != nil && (best.at == nil || (f.value > best.value) == x.high) {
				best = f
			}
			return !s.failed
		})
		if best.at == nil {
			continue
		}
		for range 1 + min(len(s.shared)-1, 2) { // several causes: one after the other, and again
			for _, c := range s.shared {
				for i, to := range s.b.Values[c][1:] {
					best = s.turnAt(best, c, s.b.Values[c][i], to, x.high)
				}
			}
		}
	}
}

// look is the farthest at one combination of the outer causes.
func (s *search) look(at []float64, high bool) found {
	low, top := s.alone(slices.Clone(at))
	if high {
		return top
	}
	return low
}

func (s *search) end(high bool) *found {
	if high {
		return &s.high
	}
	return &s.low
}

// turnAt looks at places between two ends of a cause, where a parabola through three neighbours has its top, and closes in
// on the farthest: a reading that turns next to an end of the range shows at a top alone.
func (s *search) turnAt(best found, c int, from, to float64, high bool) found {
	const parts = 8
	before, sign := best.value, -1.0
	if high {
		sign = 1
	}
	least := 1e-9*math.Abs(before) + 1e-12
	at := slices.Clone(best.at)
	look := func(v float64) float64 {
		if s.failed {
			return math.Inf(-1)
		}
		at[c] = v
		f := s.look(at, high)
		if f.at == nil {
			return math.Inf(-1)
		}
		if sign*f.value > sign*best.value {
			best = f
		}
		return sign * f.value
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
	if sign*(best.value-before) <= least {
		return best
	}
	s.turned = true
	for range 32 {
		step /= 2
		centre := best.at[c]
		for _, v := range []float64{centre - step, centre + step} {
			if v > from && v < to {
				look(v)
			}
		}
	}
	return best
}
