package volt

import (
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// mostSplit is how many params of one piece are looked at here: the work grows with their cube.
const mostSplit = 200

// A crowd is a piece with more params than can be taken to all corners. Each stands in the middle of its span, and m is
// the reduced system there. What the rest of the box can do is enclosed: with every entry of D within r of 0, w stays
// within rho of its middle where rho = |Z| r (|w| + rho), and so does the row that the reading responds with to U
// (an interval iteration: R. E. Moore, R. B. Kearfott, M. J. Cloud, "Introduction to Interval Analysis", ch. 7). The
// reading's slope along a param is less the product of the two: where neither can change its sign the extreme stands at
// a known end of the span, and the param is put there. What is left is taken to its corners, or split one by one.
type crowd struct {
	pc    *piece
	most  int     // how many params are taken to all their corners
	sign  float64 // 1: the highest reading is looked for
	best  end     // attained; low and high alike are values of the reading
	outer float64 // sign times it: the reading does not go farther
	steps int
}

// A stand is one part of the box.
type stand struct {
	m    []float64
	r    []float64 // of each param: how far it may still be from where m has it
	side []bool    // of each param: at the end of its span, where r is 0
}

// mostSteps bounds the splitting.
const mostSteps = 200

// many takes over the ends of a piece with many params, and of the conditions only whether they hold everywhere, nowhere
// or in some places: then what the piece reaches counts, loosely, and its corners are settled one by one.
func (s *search) many(pc *piece, first stand, met meeting, at []float64, on []bool) {
	n := len(pc.params)
	if first.m == nil {
		s.unlimited()
		return
	}
	outer := quantity.Nothing
	defer func() {
		s.outer = s.outer.Union(outer)
		if math.IsInf(outer.Width(), 0) {
			s.unlimited()
		}
	}()
	for _, sign := range []float64{-1, 1} {
		c := pc.farthest(first, s.most, sign)
		s.failed = s.failed || !s.is.spend(c.steps*n*n*n)
		if sign > 0 {
			outer.Hi = max(outer.Hi, c.outer)
		} else {
			outer.Lo = min(outer.Lo, -c.outer)
		}
		if !c.best.found {
			continue
		}
		f := s.end(sign > 0)
		causes := s.causes(pc, &c.best, at)
		v := c.best.value
		if met != everywhere { // the diodes may stand otherwise at that corner
			on = nil
			if v = s.b.Value(causes); math.IsNaN(v) {
				continue
			}
		}
		if !math.IsInf(v, 0) {
			s.farther(f, v, sign, causes, on)
			s.farther(s.end(sign < 0), v, -sign, causes, on)
		}
	}
	for i, k := range pc.params {
		lo, hi := pc.reach(first.m, i)
		for _, c := range s.own[k] {
			s.weight[c] = max(s.weight[c], 2*first.r[i]*math.Abs(first.m[pc.reading()*pc.cols+i])*max(math.Abs(lo), math.Abs(hi)))
		}
	}
	for c, col := range pc.side.columns {
		for _, k := range pc.side.bundles[col.bundle].causes {
			s.weight[k] = max(s.weight[k], math.Abs(first.m[pc.reading()*pc.cols+n+1+c]))
		}
	}
}

// farthest is how far the reading goes over the whole box, which first sees from its middle, whatever the conditions ask.
func (pc *piece) farthest(first stand, most int, sign float64) *crowd {
	c := &crowd{pc: pc, most: min(most, mostParams-3), sign: sign, outer: math.Inf(-1)}
	c.look(stand{slices.Clone(first.m), slices.Clone(first.r), make([]bool, len(pc.params))})
	if !c.best.found {
		c.outer = math.Inf(1)
	}
	return c
}

// unlimited says that no limit is proved over so wide ranges.
func (s *search) unlimited() {
	s.unproven(fmt.Sprintf("%d uncertain values decide it over ranges too wide to prove a limit", len(s.b.Causes)))
}

// unproven says that no limit is proved, and why.
func (s *search) unproven(why string) {
	s.outer = quantity.Everything
	if s.why == "" {
		s.why = why
	}
}

// middle is the whole box, seen from its middle; ok is false where that lies beyond a pole.
func (pc *piece) middle() (st stand, ok bool) {
	n := len(pc.params)
	st = stand{m: slices.Clone(pc.m), r: make([]float64, n), side: make([]bool, n)}
	for k := range n {
		half := (pc.span[k].to - pc.span[k].from) / 2
		if !pc.shift(st.m, k, half) {
			return st, false
		}
		st.r[k] = math.Abs(half)
	}
	return st, true
}

// Where the conditions of a piece are met.
type meeting uint8

const (
	somewhere meeting = iota // or nobody knows
	nowhere
	everywhere
)

// meets asks where the conditions are met, and returns the whole box seen from its middle; without a matrix where that
// lies beyond a pole.
func (pc *piece) meets() (stand, meeting) {
	st, ok := pc.middle()
	if !ok {
		return stand{}, somewhere
	}
	w, ok := pc.wander(st)
	if !ok {
		return st, somewhere
	}
	met := everywhere
	for i := range pc.of {
		row := pc.reading() + 1 + i
		lo, hi := pc.around(st, row, w)
		slack, _ := pc.slack(st.m, row)
		if hi < -slack {
			return st, nowhere
		}
		if lo < -slack {
			met = somewhere
		}
	}
	return st, met
}

// stands tells that the conditions may all be met.
func (pc *piece) stands(most int) bool {
	if len(pc.params) > most {
		_, met := pc.meets()
		return met != nowhere
	}
	t := newTree(pc)
	t.run()
	return !t.most.Empty()
}

// shift moves a param by delta from where m has it; false where that passes a pole.
func (pc *piece) shift(m []float64, k int, delta float64) bool {
	if delta == 0 {
		return true
	}
	row := slices.Clone(m[k*pc.cols : (k+1)*pc.cols])
	d := 1 + delta*row[k]
	if d <= 1e-12*max(1, math.Abs(delta*row[k])) {
		return false
	}
	f := delta / d
	for r := range pc.rows {
		to := m[r*pc.cols : (r+1)*pc.cols]
		g := f * to[k]
		if g == 0 {
			continue
		}
		for c, v := range row {
			to[c] -= g * v
		}
	}
	return true
}

// wander encloses how far w is from where m has it; ok is false where the iteration finds no end.
func (pc *piece) wander(st stand) (w []float64, ok bool) {
	n := len(pc.params)
	w, w0 := make([]float64, n), make([]float64, n)
	for k := range n {
		lo, hi := pc.reach(st.m, k)
		w0[k] = max(math.Abs(lo), math.Abs(hi))
	}
	return w, pc.iterate(st, w, w0, false)
}

// answers encloses how far what a row responds with to U is from where m has it.
func (pc *piece) answers(st stand, row int) (u []float64, ok bool) {
	n := len(pc.params)
	u, u0 := make([]float64, n), make([]float64, n)
	for k := range n {
		u0[k] = math.Abs(st.m[row*pc.cols+k])
	}
	return u, pc.iterate(st, u, u0, true)
}

// iterate finds a spread that the rest of the box does not leave: one that the next step keeps inside itself. from is
// what is spread; across goes along the rows of Z, for the responses to U, else along its columns.
func (pc *piece) iterate(st stand, at, from []float64, across bool) bool {
	n := len(pc.params)
	next := make([]float64, n)
	step := func() {
		clear(next)
		for i := range n {
			z := st.m[i*pc.cols : i*pc.cols+n]
			if across {
				if st.r[i] > 0 {
					f := (from[i] + at[i]) * st.r[i]
					for j, v := range z {
						next[j] += f * math.Abs(v)
					}
				}
				continue
			}
			for j, v := range z {
				next[i] += math.Abs(v) * st.r[j] * (from[j] + at[j])
			}
		}
	}
	for range 40 {
		step()
		inside := true
		for k := range n {
			inside = inside && next[k] <= at[k]
		}
		if inside {
			return true
		}
		for k := range n {
			at[k] = max(at[k], next[k]*1.02+1e-12*from[k])
		}
	}
	return false
}

// encloses is a range that a row does not leave in a part of the box.
func (pc *piece) encloses(st stand, row int) (lo, hi float64) {
	w, ok := pc.wander(st)
	if !ok {
		return math.Inf(-1), math.Inf(1)
	}
	return pc.around(st, row, w)
}

// around is a range that a row does not leave while w stays as near as that: it differs from its middle by what it
// responds with in the middle to D w.
func (pc *piece) around(st stand, row int, w []float64) (lo, hi float64) {
	lo, hi = pc.reach(st.m, row)
	more := 0.0
	for k, r := range st.r {
		if r == 0 {
			continue
		}
		a, b := pc.reach(st.m, k)
		more += r * math.Abs(st.m[row*pc.cols+k]) * (max(math.Abs(a), math.Abs(b)) + w[k])
	}
	return lo - more, hi + more
}

// slope is how a row goes along a param, up (above 0) or down, in all of a part of the box; 0 where that is not certain. w
// and u are how far the row's two factors stay from where the middle has them.
func (pc *piece) slope(st stand, row, k int, w, u []float64) float64 {
	lo, hi := pc.reach(st.m, k)
	lo, hi = lo-w[k], hi+w[k]
	middle := st.m[row*pc.cols+k]
	switch {
	case math.Abs(middle) <= u[k] || lo < 0 && hi > 0:
		return 0
	case hi <= 0:
		return middle
	}
	return -middle
}

// look finds the farthest that the reading goes in a part of the box.
func (c *crowd) look(st stand) {
	pc, y := c.pc, c.pc.reading()
	c.steps++
	for {
		w, ok := pc.wander(st)
		u, too := pc.answers(st, y)
		if !ok || !too {
			c.split(st, nil)
			return
		}
		var settled []int
		var larger []bool
		for k, r := range st.r {
			if r == 0 {
				continue
			}
			if slope := pc.slope(st, y, k, w, u); slope != 0 {
				settled, larger = append(settled, k), append(larger, c.sign*slope > 0)
			}
		}
		if len(settled) == 0 {
			c.split(st, u)
			return
		}
		for i, k := range settled { // the others are enclosed better from here
			c.put(&st, k, larger[i])
		}
	}
}

// put puts a param to the end of its span where its entry is larger, or to the other.
func (c *crowd) put(st *stand, k int, larger bool) {
	half := (c.pc.span[k].to - c.pc.span[k].from) / 2
	st.side[k] = larger == (half > 0)
	delta := half
	if !st.side[k] {
		delta = -half
	}
	if !c.pc.shift(st.m, k, delta) {
		c.outer = math.Inf(1)
	}
	st.r[k] = 0
}

// split takes what is left to all its corners, or the param that may matter most to both ends.
func (c *crowd) split(st stand, u []float64) {
	pc := c.pc
	var left []int
	for k, r := range st.r {
		if r > 0 {
			left = append(left, k)
		}
	}
	if len(left) <= c.most {
		c.corners(st, left)
		return
	}
	lo, hi := pc.encloses(st, pc.reading())
	far := max(c.sign*lo, c.sign*hi)
	if c.best.found && far <= c.sign*c.best.value {
		return
	}
	if c.steps >= mostSteps {
		c.outer = max(c.outer, far)
		return
	}
	heaviest, most := left[0], -1.0
	for _, k := range left {
		weight := st.r[k] * math.Abs(st.m[k*pc.cols+k]) // what keeps the iteration from ending
		if u != nil {
			a, b := pc.reach(st.m, k)
			weight = st.r[k] * (math.Abs(st.m[pc.reading()*pc.cols+k]) + u[k]) * max(math.Abs(a), math.Abs(b))
		}
		if weight > most {
			heaviest, most = k, weight
		}
	}
	for _, larger := range []bool{true, false} {
		next := stand{slices.Clone(st.m), slices.Clone(st.r), slices.Clone(st.side)}
		c.put(&next, heaviest, larger)
		c.look(next)
	}
}

// corners takes the params that are left to all their corners.
func (c *crowd) corners(st stand, left []int) {
	pc := c.pc
	n := len(pc.params)
	for _, k := range left {
		if !pc.shift(st.m, k, -(pc.span[k].to-pc.span[k].from)/2) {
			c.outer = math.Inf(1)
			return
		}
	}
	part := &piece{rows: len(left) + 1, cols: len(left) + 1 + len(pc.side.columns), side: pc.side}
	part.m = make([]float64, 0, part.rows*part.cols)
	for _, r := range append(slices.Clone(left), pc.reading()) {
		row := st.m[r*pc.cols : (r+1)*pc.cols]
		for _, k := range left {
			part.m = append(part.m, row[k])
		}
		part.m = append(part.m, row[n:]...)
	}
	for _, k := range left {
		part.params, part.span = append(part.params, pc.params[k]), append(part.span, pc.span[k])
	}
	t := newTree(part)
	t.run()
	c.steps += 1 << len(left) / 64
	if t.pole {
		c.outer = math.Inf(1)
	}
	e := &t.high
	if c.sign < 0 {
		e = &t.low
	}
	if !e.found {
		return
	}
	c.outer = max(c.outer, c.sign*t.most.Lo, c.sign*t.most.Hi)
	if !c.best.found || c.sign*e.value > c.sign*c.best.value {
		side := slices.Clone(st.side)
		for i, k := range left {
			side[k] = e.side[i]
		}
		c.best = end{value: e.value, side: side, t: e.t, found: true}
	}
}
