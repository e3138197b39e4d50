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

// Calc derives a quantity from others. Over each single argument, the others held anywhere in their ranges, f must be
// monotone (rising for some values of the others and falling for others is fine): then its extremes stand at corners.
// Missing inputs, grades, sources and shared causes are carried without f knowing. f must not keep its argument.
func Calc(name string, u Unit, f func(x []float64) float64, in ...Quantity) Quantity {
	q := compose(name, u, f, in...)
	q.settle()
	return q
}

// compose is the function of causes that a calculation is, its ends not yet worked out.
func compose(name string, u Unit, f func(x []float64) float64, in ...Quantity) Quantity {
	q := Quantity{Name: name, Unit: u}
	where := make([][]int, len(in))
	for i, x := range in {
		q.partial = q.partial || x.partial
		q.Loose = q.Loose || x.Loose
		if x.Why != "" && q.Why == "" {
			q.Why = x.Why
		}
		for _, c := range x.over {
			k := q.find(c)
			if k < 0 {
				k = len(q.over)
				q.over = append(q.over, c)
			}
			where[i] = append(where[i], k)
		}
	}
	x := make([]float64, len(in))
	sub := make([]float64, len(q.over))
	q.eval = func(at []float64) float64 {
		for i := range in {
			for j, k := range where[i] {
				sub[j] = at[k]
			}
			x[i] = in[i].eval(sub[:len(where[i])])
		}
		return f(x)
	}
	return q
}

// CalcStates is Calc for a function whose NaN means "this combination is no state of the circuit" (a switch state that
// is excluded, a node that floats): such corners are passed over.
func CalcStates(name string, u Unit, f func(x []float64) float64, in ...Quantity) Quantity {
	return Calc(name, u, f, append(slices.Clip(in), Quantity{partial: true, eval: func([]float64) float64 { return 0 }})...)
}

// Minus is a - b. Where one of them is not in doubt the ends of the other are moved, which saves the search.
func Minus(name string, a, b Quantity) Quantity {
	q := compose(name, a.Unit, func(x []float64) float64 { return x[0] - x[1] }, a, b)
	switch {
	case b.point():
		q.moved(a, false, func(v float64) float64 { return v - b.Nom })
	case a.point():
		q.moved(b, true, func(v float64) float64 { return a.Nom - v })
	default:
		q.settle()
	}
	q.Grade = max(a.Grade, b.Grade)
	return q
}

// point tells a number that is not in doubt.
func (q Quantity) point() bool {
	for i := range q.over {
		if len(q.candidates(i, false)) != 1 || q.over[i].Sound != q.over[i].Seen {
			return false
		}
	}
	return len(q.Needs) == 0 && !math.IsNaN(q.Nom)
}

// moved takes everything that settle works out from v, of which q is a shifted or mirrored copy.
func (q *Quantity) moved(v Quantity, mirrored bool, f func(float64) float64) {
	q.Nom, q.Needs = f(v.Nom), v.Needs
	ends := func(i Interval) Interval {
		switch {
		case i.Empty():
			return Nothing
		case mirrored:
			return Interval{f(i.Hi), f(i.Lo)}
		}
		return Interval{f(i.Lo), f(i.Hi)}
	}
	q.Sound, q.Seen = ends(v.Sound), ends(v.Seen)
	q.weight = make([]float64, len(q.over))
	spread := func(at []float64) []float64 {
		if at == nil {
			return nil
		}
		out := make([]float64, len(q.over))
		for i, c := range q.over {
			out[i] = c.Nom
		}
		for i, c := range v.over {
			out[q.find(c)] = at[i]
		}
		return out
	}
	for i, c := range v.over {
		q.weight[q.find(c)] = v.weight[i]
	}
	q.deep = spread(v.deep)
	if q.low, q.top = spread(v.low), spread(v.top); mirrored {
		q.low, q.top, q.deep = q.top, q.low, spread(v.high)
	}
}

func (q *Quantity) find(c *Cause) int {
	return slices.IndexFunc(q.over, func(o *Cause) bool { return o == c || o.Name == c.Name })
}

// settle works out everything that follows from over and eval.
func (q *Quantity) settle() {
	nom := make([]float64, len(q.over))
	same := true
	for i, c := range q.over {
		nom[i] = c.Nom
		same = same && c.Sound == c.Seen
	}
	q.Nom = q.eval(nom)
	q.weight = make([]float64, len(q.over))
	sound := q.hull(false)
	q.Sound, q.deep = sound.Interval, sound.low
	q.high = sound.top
	q.Grade, q.Needs = Firm, nil
	var blind []int // causes that matter and that nobody has said
	for i, c := range q.over {
		if !q.matters(i) {
			continue
		}
		q.Grade = max(q.Grade, c.Grade)
		for _, n := range c.Needs {
			if !slices.Contains(q.Needs, n) {
				q.Needs = append(q.Needs, n)
			}
		}
		if c.Seen.Empty() {
			blind = append(blind, i)
		}
	}
	switch {
	case len(blind) > 0:
		q.unsaid(blind)
	case same:
		q.Seen, q.low, q.top = Interval{sound.at(sound.low), sound.at(sound.top)}, sound.low, sound.top
	default:
		seen := q.hull(true)
		q.Seen, q.low, q.top = Interval{seen.at(seen.low), seen.at(seen.top)}, seen.low, seen.top
	}
	if q.low == nil {
		q.Seen = Nothing
	}
	if !q.Seen.Empty() {
		q.Sound = q.Sound.Union(q.Seen)
	}
}

// unsaid works out what is attained whatever the causes that nobody has said are. That needs each of them to have few
// states (the direction of a current): an end is then shown when it is reached, or passed, in every one of them.
func (q *Quantity) unsaid(blind []int) {
	q.Seen = Nothing
	n := 1
	for _, i := range blind {
		n *= len(q.over[i].States)
	}
	if n == 0 || n > 8 {
		return
	}
	fixed := map[int]float64{}
	both := Everything
	for c := range n {
		rest := c
		for _, i := range blind {
			s := q.over[i].States
			fixed[i] = s[rest%len(s)]
			rest /= len(s)
		}
		h := q.hull(true, fixed)
		if h.low == nil {
			q.low, q.top = nil, nil
			return
		}
		if lo := h.at(h.low); lo >= both.Lo {
			both.Lo, q.low = lo, h.low
		}
		if hi := h.at(h.top); hi <= both.Hi {
			both.Hi, q.top = hi, h.top
		}
	}
	if q.Seen = both; both.Empty() {
		q.Seen, q.low, q.top = Nothing, nil, nil
	}
}

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
	return []float64{max(iv.Lo, -endless), min(iv.Hi, endless)}
}

// corners is one search for the ends of a quantity.
type corners struct {
	Interval
	q        *Quantity
	cand     [][]float64
	free     []int // the causes that have more than one value
	low, top []float64
	bad      bool // f had no value where it must have one
	quiet    bool // weights stand already
}

func (s *corners) at(v []float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return s.value(v)
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

// hull searches the corners. With few it visits all of them. With many it climbs to both ends, one cause at a time, in
// every discrete state, then visits all corners of the heaviest causes around the two ends found. How much the effect
// of a cause left out of that differs between the ends of one state is what it could still add together with others:
// that much is slack, for Sound only.
func (q *Quantity) hull(seen bool, fixed ...map[int]float64) *corners {
	s := &corners{Interval: Nothing, q: q, cand: make([][]float64, len(q.over)), quiet: seen}
	at := make([]float64, len(q.over))
	total := 1.0
	for i := range q.over {
		s.cand[i] = q.candidates(i, seen)
		for _, f := range fixed {
			if v, ok := f[i]; ok {
				s.cand[i] = []float64{v}
			}
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

// influence notes that changing one cause changes the value from a to b.
func (s *corners) influence(i int, a, b float64) {
	w := &s.q.weight[i]
	switch d := math.Abs(a - b); {
	case s.quiet && s.q.over[i].States == nil: // the weights are those of the Sound search
	case d > *w: // NaN compares false
		*w = d
	case math.IsInf(a, 0) != math.IsInf(b, 0):
		*w = math.Inf(1)
	case math.IsNaN(a) != math.IsNaN(b) && *w == 0:
		*w = math.SmallestNonzeroFloat64 // it decides which states exist
	}
}

// search is hull's way with many corners.
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
// to 0 where it lies inside, around each end. One outside shows that f is not monotone (a rectifier around its turning point): then the ends prove
// nothing.
func (s *corners) probe() {
	least := 1e-6*max(math.Abs(s.Lo), math.Abs(s.Hi)) + 1e-9 // what rounding in an ill-conditioned network may do
	outside := func(v float64) bool { return v < s.Lo-least || v > s.Hi+least }
	found := outside(s.q.Nom)
	for _, end := range [][]float64{s.low, s.top} {
		at := slices.Clone(end)
		for _, i := range s.free {
			if s.q.over[i].States != nil || found {
				continue
			}
			lo, hi := s.cand[i][0], s.cand[i][len(s.cand[i])-1]
			inside := []float64{(lo + hi) / 2}
			if lo < 0 && hi > 0 {
				inside = append(inside, 0)
			}
			for _, v := range inside {
				at[i] = v
				found = found || outside(s.value(at))
			}
			at[i] = end[i]
		}
	}
	if found {
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

// summed is a cause of its own that sums up a quantity: between 0 and its largest possible value, that value seen.
// It is for what is "the most it can be" of something (a spread, a peak), where the ends of the original no longer
// move with anything else.
func (q Quantity) summed(name string, u Unit, most func(Interval) float64) Quantity {
	c := &Cause{Name: name, Unit: u, Grade: q.Grade, Needs: q.Needs, Basis: q.Causes(),
		Sound: Interval{0, math.Inf(1)}, Seen: Nothing, Nom: math.NaN()}
	if m := most(q.Sound); !q.Sound.Empty() && !math.IsNaN(m) {
		c.Sound.Hi = m
	}
	if m := most(q.Seen); !q.Seen.Empty() && !math.IsNaN(m) {
		c.Seen, c.Nom = Interval{m, m}, m
		c.Sound.Lo, c.Sound.Hi = m, max(m, c.Sound.Hi)
	}
	s := c.Of()
	s.Why, s.Loose = q.Why, q.Loose
	return s
}

// Spread is half the width the quantity can have, relative to its nominal.
func (q Quantity) Spread() Quantity {
	return q.summed("spread of "+q.Name, Ratio, func(i Interval) float64 { return (i.Hi - i.Lo) / 2 / math.Abs(q.Nom) })
}

// Peak is the largest magnitude the quantity can have.
func (q Quantity) Peak() Quantity {
	return q.summed("largest "+q.Name, q.Unit, func(i Interval) float64 { return max(math.Abs(i.Lo), math.Abs(i.Hi)) })
}

// Effects is what each cause that matters does alone around the nominal: half the change from its low to its high
// end over Seen. Worst case, root-sum-square and "halve the heaviest" all start here.
func (q Quantity) Effects() map[*Cause]float64 {
	at := make([]float64, len(q.over))
	for i, c := range q.over {
		at[i] = c.Nom
	}
	out := map[*Cause]float64{}
	for _, i := range q.heaviest() {
		c := q.over[i]
		if c.States != nil || c.Seen.Empty() {
			continue
		}
		at[i] = c.Seen.Hi
		hi := q.eval(at)
		at[i] = c.Seen.Lo
		out[c] = (hi - q.eval(at)) / 2
		at[i] = c.Nom
	}
	return out
}
