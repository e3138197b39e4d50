package volt

import (
	"math"
	"slices"
)

// turn looks inside the range of each cause that moves several coefficients at once, a temperature or the common
// resistance of two legs: there the reading may turn back between the ends of the range. The other outer causes stand as
// at the end that was found. Where it does turn, the turning point is closed in on, and the bound is loose.
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

func (s *search) turnAt(c int, from, to float64, high bool) {
	f := s.end(high)
	before := f.value
	width := math.Abs(s.high.value - s.low.value)
	least := 1e-9*max(width, math.Abs(before)) + 1e-12
	at := slices.Clone(f.at)
	look := func(v float64) float64 {
		value := f.value
		at[c] = v
		s.combination(slices.Clone(at))
		return math.Abs(f.value - value)
	}
	step := (to - from) / 4
	best := 0.0
	for _, k := range []float64{1, 2, 3} {
		if look(from+k*step) > least {
			best = from + k*step
		}
	}
	if math.Abs(f.value-before) <= least {
		return
	}
	for range 30 {
		step /= 2
		centre := best
		for _, v := range []float64{centre - step, centre + step} {
			if v > from && v < to && look(v) > 0 {
				best = v
			}
		}
	}
	bend := math.Abs(f.value-before) / 8
	s.outer.Lo, s.outer.Hi = s.outer.Lo-bend, s.outer.Hi+bend
	s.loose = true
}
