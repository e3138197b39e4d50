package volt

import (
	"math"
	"slices"
)

// place gives a param's own causes values at which its entry stands at a part of its span.
func (s *search) place(k int, span span, part float64, at []float64) {
	own, q := s.own[k], s.is.work.params[k]
	mean := func(f float64) float64 {
		for j, c := range own {
			at[c] = span.atFrom[j] + f*(span.atTo[j]-span.atFrom[j])
			if f == 1 {
				at[c] = span.atTo[j]
			}
		}
		return q.entry(s.b.Argument(q.input, at))
	}
	if part == 0 || part == 1 {
		mean(part)
		return
	}
	meet(mean, span.from+part*(span.to-span.from))
}

// mix gives the causes of a bundle values at which its known values are the mean that t says: a current and a resistance of
// which the product is wanted as well, one after the other. ok is false, and nothing is changed, where that is not found.
func (s *search) mix(side *side, b *bundle, t, at []float64) (ok bool) {
	known := slices.DeleteFunc(s.knownOf(b.causes), s.is.onlyScales) // nothing asks for those
	want := map[int]float64{}
	for _, of := range known {
		want[of] = side.base[of]
	}
	for c := b.first; c < b.first+b.columns; c++ {
		for _, m := range side.columns[c].moves {
			want[m.of] += t[c] * m.by
		}
	}
	try := slices.Clone(at)
	left := slices.Clone(b.causes)
	for len(left) > 0 {
		found := false
		for _, of := range known {
			mine := slices.DeleteFunc(slices.Clone(left), func(c int) bool { return !s.follows(of, c) })
			if len(mine) != 1 {
				continue
			}
			c := mine[0]
			v := s.b.Values[c]
			from, to := v[0], v[len(v)-1]
			meet(func(f float64) float64 {
				if try[c] = from + f*(to-from); f == 1 {
					try[c] = to
				}
				return s.knownAt(of, try)
			}, want[of])
			left = slices.DeleteFunc(left, func(o int) bool { return o == c })
			found = true
		}
		if !found {
			return false
		}
	}
	for _, of := range known {
		if v := s.knownAt(of, try); math.Abs(v-want[of]) > 1e-9*max(1, math.Abs(v)) {
			return false
		}
	}
	copy(at, try)
	return true
}

// follows tells that a known value is a function of a cause.
func (p *plan) follows(known, c int) bool {
	if n := len(p.is.inputs); known >= n {
		b := p.is.balanced[known-n]
		return slices.Contains(p.b.Uses[b.amps], c) || slices.Contains(p.b.Uses[b.ohms], c)
	}
	return slices.Contains(p.b.Uses[known], c)
}

// meet leaves a function that goes from its value at 0 to that at 1 without turning back next to where it is so much.
func meet(f func(float64) float64, want float64) {
	rises := f(0) < f(1)
	lo, hi := 0.0, 1.0
	switch {
	case (want <= f(0)) == rises:
		hi = 0
	case (want >= f(1)) == rises:
		lo = 1
	}
	for lo < hi {
		m := (lo + hi) / 2
		if m == lo || m == hi {
			break
		}
		if (f(m) < want) == rises {
			lo = m
		} else {
			hi = m
		}
	}
	f(lo)
}
