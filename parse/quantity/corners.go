package quantity

import (
	"cmp"
	"math"
	"slices"
)

const (
	// budget is how many corners are all visited, cheap the same for a formula that solves no circuit; with more, the ends
	// are climbed to and around is how many corners are visited about each.
	budget, cheap, around = 512, 4096, 64
	// endless stands for an unbounded end while f is evaluated. At a corner with such an end, what comes out beyond
	// beyond is unbounded again. They leave a double enough digits for what does not depend on that end.
	endless, beyond = 1e12, 1e7
)

// candidates are the values a cause takes at corners.
func (q *Quantity) candidates(i int, seen bool) []float64 {
	c := q.over[i]
	iv := c.Sound
	if seen {
		iv = c.Seen
	}
	switch {
	case c.States != nil:
		return c.States
	case iv.Empty(): // nobody has said, and it does not matter
		return []float64{0}
	case iv.Lo == iv.Hi:
		return []float64{iv.Lo}
	}
	if math.IsInf(iv.Lo, -1) && math.IsInf(iv.Hi, 1) { // f may see only its magnitude
		return []float64{-endless, 0, endless}
	}
	out := []float64{max(iv.Lo, -endless), min(iv.Hi, endless)}
	if i < len(q.turns) {
		for _, v := range q.turns[i] {
			if v > iv.Lo && v < iv.Hi && !slices.Contains(out, v) {
				out = append(out, v)
			}
		}
		slices.Sort(out)
	}
	return out
}

// corners is one search for the ends of a quantity.
type corners struct {
	Interval
	q        *Quantity
	cand     [][]float64
	free     []int // the causes that have more than one value
	low, top []float64
	bad      bool      // f had no value where it must have one
	quiet    bool      // weights stand already
	found    *Interval // what a search attained
}

func (s *corners) at(v []float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return s.value(v)
}

// attained is the range between the two ends, solved anew; rounding may have turned them around.
func (s *corners) attained() Interval {
	if s.found != nil {
		return *s.found
	}
	lo, hi := s.at(s.low), s.at(s.top)
	return Interval{min(lo, hi), max(lo, hi)}
}

func (s *corners) value(at []float64) float64 {
	v := s.q.eval(at)
	switch {
	case math.IsNaN(v), math.IsInf(v, 0): // a pole has both signs; only a circuit's answer means it
		s.bad = s.bad || !s.q.partial
	case math.Abs(v) > beyond && slices.ContainsFunc(at, func(x float64) bool { return math.Abs(x) == endless }):
		return math.Copysign(math.Inf(1), v)
	}
	return v
}

func (s *corners) take(at []float64, v float64) {
	if v < s.Lo || s.low == nil && v == s.Lo {
		s.Lo, s.low = v, slices.Clone(at)
	}
	if v > s.Hi || s.top == nil && v == s.Hi {
		s.Hi, s.top = v, slices.Clone(at)
	}
}

// hull finds the ends of what the causes may be, by the quantity's own search where it has one.
func (q *Quantity) hull(seen bool, fixed map[int]float64) *corners {
	values := make([][]float64, len(q.over))
	for i := range q.over {
		values[i] = q.candidates(i, seen)
		if v, ok := fixed[i]; ok {
			values[i] = []float64{v}
		}
	}
	if q.search != nil {
		return q.searched(values, seen)
	}
	s := q.corners(values, nil, seen)
	if !seen && s.low != nil {
		s.probe()
	}
	if !seen && (s.bad || s.low == nil) {
		s.Interval = Everything
	} else if s.bad {
		s.low, s.top = nil, nil
	}
	return s
}

// corners looks at the corners of what the causes may be. With few it visits all of them. With many it climbs to both ends,
// one cause at a time, in every discrete state, then visits all corners of the heaviest causes around the two ends found.
// How much the effect of a cause left out of that differs between the ends of one state is what it could still add
// together with others: that much is slack, for Sound only.
func (q *Quantity) corners(values [][]float64, fixed map[int]float64, seen bool) *corners {
	s := &corners{Interval: Nothing, q: q, cand: slices.Clone(values), quiet: seen}
	at := make([]float64, len(q.over))
	total := 1.0
	for i := range q.over {
		if v, ok := fixed[i]; ok {
			s.cand[i] = []float64{v}
		}
		at[i] = s.cand[i][0]
		if n := len(s.cand[i]); n > 1 {
			s.free = append(s.free, i)
			total *= float64(n)
		}
	}
	if total <= budget || !q.partial && total <= cheap {
		s.visit(at, s.free)
	} else {
		s.search()
	}
	return s
}

// influence notes that changing one cause changes the value from a to b.
func (s *corners) influence(i int, a, b float64) {
	w := &s.q.weight[i]
	switch d := math.Abs(a - b); {
	case s.quiet && s.q.over[i].States == nil: // the weights are those of the Sound search
	case !math.IsInf(d, 0) && d <= 1e-12*max(math.Abs(a), math.Abs(b), 1e-6): // rounding
	case d > *w: // NaN compares false
		*w = d
	case math.IsInf(a, 0) != math.IsInf(b, 0):
		*w = math.Inf(1)
	case math.IsNaN(a) != math.IsNaN(b) && *w == 0:
		*w = math.SmallestNonzeroFloat64 // it decides which states exist
	}
}

// search is the way with many corners.
func (s *corners) search() {
	var discrete, smooth []int
	n := 1
	for _, i := range s.free {
		if s.q.over[i].States != nil && n*len(s.cand[i]) <= 1<<8 {
			discrete, n = append(discrete, i), n*len(s.cand[i])
		} else {
			smooth = append(smooth, i)
		}
	}
	states := make([][2][]float64, n) // the two ends of each
	for c := range n {
		for side := range 2 {
			at := make([]float64, len(s.cand))
			for i := range at {
				at[i] = s.cand[i][side*(len(s.cand[i])-1)]
			}
			rest := c
			for _, i := range discrete {
				at[i] = s.cand[i][rest%len(s.cand[i])]
				rest /= len(s.cand[i])
			}
			s.climb(at, smooth, float64(2*side-1))
			states[c][side] = at
		}
	}
	if s.low == nil {
		return
	}
	// Around the ends: what moves the value there, and how differently it does at the other end of the same state.
	local, slack := make([]float64, len(s.cand)), make([]float64, len(s.cand))
	for _, found := range [][]float64{s.low, s.top} {
		for _, i := range discrete {
			s.effect(found, i)
		}
		for _, ends := range states {
			if !slices.ContainsFunc(ends[:], func(at []float64) bool { return slices.Equal(at, found) }) {
				continue
			}
			for _, i := range smooth {
				a, b := s.effect(ends[0], i), s.effect(ends[1], i)
				local[i] = max(local[i], math.Abs(a), math.Abs(b))
				slack[i] = max(slack[i], math.Abs(a-b))
			}
		}
	}
	slices.SortStableFunc(smooth, func(a, b int) int { return cmp.Compare(local[b], local[a]) })
	k, room := 0, around
	for k < len(smooth) && local[smooth[k]] > 0 && len(s.cand[smooth[k]]) <= room {
		room /= len(s.cand[smooth[k]])
		k++
	}
	for _, start := range [][]float64{s.low, s.top} {
		s.visit(slices.Clone(start), smooth[:k])
	}
	if s.quiet {
		return
	}
	more := 0.0
	for _, i := range smooth[k:] {
		more += slack[i]
	}
	if more > 1e-12*s.Width() {
		s.q.Loose = s.q.Loose || more > 1e-6*s.Width()
		s.Lo, s.Hi = s.Lo-more, s.Hi+more
	}
}

// effect is how much a cause moves the value at a corner, from its first to its last value.
func (s *corners) effect(at []float64, i int) float64 {
	was := at[i]
	at[i] = s.cand[i][0]
	a := s.value(at)
	at[i] = s.cand[i][len(s.cand[i])-1]
	b := s.value(at)
	at[i] = was
	s.influence(i, a, b)
	return b - a
}

// probe looks for values outside the ends at the nominal and with single causes moved to the middle of their range, and
// to 0 where it lies inside, around each end. One outside shows that f is not monotone. Where it bends by little (two legs
// of which one grows as the other shrinks), the ends are moved out by many times as much; else (a rectifier around its
// turning point) they prove nothing.
func (s *corners) probe() {
	const little, times = 1e-3, 8
	least := 1e-6*max(math.Abs(s.Lo), math.Abs(s.Hi)) + 1e-9 // what rounding in an ill-conditioned network may do
	outside := func(v float64) float64 {
		if d := max(s.Lo-v, v-s.Hi); d > least {
			return d
		}
		return 0
	}
	bend := outside(s.q.Nom)
	for _, end := range [][]float64{s.low, s.top} {
		at := slices.Clone(end)
		for _, i := range s.free {
			if s.q.over[i].States != nil {
				continue
			}
			lo, hi := s.cand[i][0], s.cand[i][len(s.cand[i])-1]
			inside := []float64{(lo + hi) / 2}
			if lo < 0 && hi > 0 {
				inside = append(inside, 0)
			}
			most := 0.0
			for _, v := range inside {
				at[i] = v
				most = max(most, outside(s.value(at)))
			}
			at[i] = end[i]
			bend += most
		}
	}
	switch {
	case bend == 0:
	case !math.IsInf(bend, 0) && bend <= little*max(s.Width(), math.Abs(s.Lo), math.Abs(s.Hi)):
		s.Lo, s.Hi, s.q.Loose = s.Lo-times*bend, s.Hi+times*bend, true
	default:
		s.bad, s.q.Loose = true, true
	}
}

// visit evaluates every corner of the named causes around a start.
func (s *corners) visit(at []float64, free []int) {
	size := make([]int, len(free))
	n := 1
	for k, i := range free {
		size[k] = len(s.cand[i])
		n *= size[k]
	}
	values := make([]float64, n)
	for c := range n {
		rest := c
		for k, i := range free {
			at[i] = s.cand[i][rest%size[k]]
			rest /= size[k]
		}
		values[c] = s.value(at)
		s.take(at, values[c])
	}
	step := 1
	for k, i := range free {
		for c := range n {
			if c/step%size[k] > 0 {
				s.influence(i, values[c], values[c-step])
			}
		}
		step *= size[k]
	}
}

// climb walks from a corner towards an end, changing one cause at a time while that helps; at is left there.
func (s *corners) climb(at []float64, free []int, sign float64) {
	best := s.value(at)
	for again, pass := true, 0; again && pass < 8; pass++ {
		again = false
		for _, i := range free {
			for _, v := range s.cand[i] {
				old := at[i]
				if v == old {
					continue
				}
				at[i] = v
				y := s.value(at)
				s.influence(i, best, y)
				if sign*y > sign*best || math.IsNaN(best) && !math.IsNaN(y) {
					best, again = y, true
				} else {
					at[i] = old
				}
			}
		}
	}
	s.take(at, best)
}
