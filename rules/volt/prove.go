package volt

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// prove widens what no state lies outside by the pieces of one combination. Within a piece the corners are the extremes.
// From one piece to the next the reading goes on without a step where the circuit has one answer, which the determinants
// show by their sign, and where past each condition there is a next piece; and along a line of one param it turns back
// only where what it moves the reading by changes its sign from piece to piece (the w of that param goes on without a
// step, and has one sign on the line). Where any of this is not shown, the surfaces of the conditions are looked at.
func (s *search) prove(trees []*tree, at, x []float64) {
	attained := quantity.Nothing
	up, down := make([]float64, len(s.is.work.params)), make([]float64, len(s.is.work.params))
	for _, t := range trees {
		attained = attained.Union(t.most)
		for i, k := range t.pc.params {
			const noise = 1e-9
			if t.rising[i] > noise*t.falling[i] {
				up[k] = max(up[k], t.heavy[i])
			}
			if t.falling[i] > noise*t.rising[i] {
				down[k] = max(down[k], t.heavy[i])
			}
		}
		if t.pole {
			s.endless()
		}
	}
	s.outer = s.outer.Union(attained)
	proven := s.goesOn(trees) || s.is.oneAnswer(x)
	for k := range up {
		proven = proven && min(up[k], down[k]) <= rounding/10*max(math.Abs(attained.Lo), math.Abs(attained.Hi))
	}
	if proven || s.outer == quantity.Everything {
		return
	}
	for _, t := range trees {
		if len(t.pc.params) == 0 || !slices.Contains(t.broken, true) {
			continue
		}
		for _, sign := range [2]float64{-1, 1} {
			h := s.hunt(t.pc, sign, s.end(sign > 0).value)
			if !math.IsInf(h.outer, -1) {
				s.outer = s.outer.Union(quantity.Point(sign * h.outer))
			}
			if h.at.found {
				s.farther(s.end(sign > 0), h.at.value, sign, s.causes(t.pc, &h.at, at), t.on)
			}
		}
	}
}

// hunt hunts as long as the search may, and then goes to the corners of the whole box only.
func (s *search) hunt(pc *piece, sign, attained float64) *hunt {
	is := s.is
	if s.hunted > mostHunted {
		return is.hunt(pc, sign, attained, 1)
	}
	before := is.effort
	h := is.hunt(pc, sign, attained, mostCells)
	if s.hunted += is.effort - before; !is.stopped {
		is.effort = before // it has a share of its own
	}
	return h
}

// goesOn tells that past each condition of a piece that is not met everywhere there is a piece in which it goes on.
func (s *search) goesOn(trees []*tree) bool {
	for _, t := range trees {
		for i, of := range t.pc.of {
			if !t.broken[i] {
				continue
			}
			next := slices.Clone(t.on)
			for _, k := range of {
				s.is.flip(next, k)
			}
			if !slices.ContainsFunc(trees, func(o *tree) bool { return o.pc.sign == t.pc.sign && slices.Equal(o.on, next) }) {
				return false
			}
		}
	}
	return true
}

// endless says that nothing limits the answer inside the ranges.
func (s *search) endless() {
	s.why = "inside the declared ranges a loop gain around it passes 1, where nothing limits the answer"
	s.outer = quantity.Everything
}
