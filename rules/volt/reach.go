package volt

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A search is one look for the ends of a reading over a box of causes.
type search struct {
	*plan
	most      int // how many params of one piece are taken to all their corners
	low, high found
	spare     [2][]found        // the farthest few for each end, in case one is no state when it is solved again
	outer     quantity.Interval // no state lies outside
	weight    []float64         // of each cause
	drift     [2]bool           // nobody said how far down, or up, a floating node may stand
	hunted    int               // how much work hunts took
	turned    bool              // an end was found inside the range of a cause
	why       string
	failed    bool // too much work, or more than is taken to its corners here
}

// A found end is the farthest yet: where the causes stand, and the diodes where a piece gave it.
type found struct {
	value float64
	at    []float64
	on    []bool
}

func nothing(sign int) found { return found{value: math.Inf(sign)} }

// mostSpare is how many are kept.
const mostSpare = 16

// mostParams is how many params of one piece are taken to all their corners, fewParams how many where that is too much
// work.
const mostParams, fewParams = 13, 5

// mostDense is how many unknowns an island may have to be reduced piece by piece.
const mostDense = 1500

// worthAsking is with how many params it is cheaper to ask first where the conditions are met than to visit all corners.
const worthAsking = 5

// reach finds the ends of a reading. Where its states are too many to take apart, what is found at corners is attained,
// and no limit is proved.
func (is *island) reach(r reading, b *quantity.Box) quantity.Ends {
	e, ok := is.takeApart(r, b)
	if ok {
		return e
	}
	e = is.resolved(r, b, b.Corners(nil))
	e.Outer, e.Loose = quantity.Everything, true
	e.Why = fmt.Sprintf("%d switches and uncertain values decide it in more states than can be taken apart", len(b.Causes))
	return e
}

// resolved solves the ends that a search at corners has found once more, from no state before: where a network has several,
// which one a search meets depends on where it came from, and an end is what its own state gives.
func (is *island) resolved(r reading, b *quantity.Box, e quantity.Ends) quantity.Ends {
	for _, end := range []struct {
		at    []float64
		value *float64
	}{{e.Low, &e.Lo}, {e.High, &e.Hi}} {
		if end.at == nil || math.IsInf(*end.value, 0) {
			continue
		}
		x := make([]float64, len(is.inputs))
		for i := range x {
			x[i] = b.Argument(i, end.at)
		}
		is.work.last = nil
		if v := is.read(r, x); !math.IsNaN(v) && !math.IsInf(v, 0) {
			*end.value = v
		}
	}
	return e
}

// takeApart finds the ends of a reading: in every combination of the outer causes, the pieces that the diodes make, and in
// each the corners of what stands in the matrix, over what stands on the right-hand side. What floats, or has no limit,
// is looked for at corners.
func (is *island) takeApart(r reading, b *quantity.Box) (quantity.Ends, bool) {
	if len(is.work.params) > mostSplit || is.work.size > mostDense {
		return is.large(r, b)
	}
	p, ok := is.plan(b, r)
	if !ok {
		return quantity.Ends{}, false
	}
	if p.cost() > mostEffort {
		return quantity.Ends{}, false
	}
	for _, most := range [2]int{mostParams, fewParams} {
		s := &search{plan: p, most: most, outer: quantity.Nothing, weight: make([]float64, len(b.Causes)),
			low: nothing(1), high: nothing(-1)}
		if s.run(); !s.failed {
			return s.ends(), true
		}
		if is.effort <= mostEffort || is.stopped {
			break
		}
		is.effort = 0 // less thorough, with its own share; a search at corners has one as well
	}
	return quantity.Ends{}, false
}

// run looks at every combination of the outer causes, and at what lies between them.
func (s *search) run() {
	reached := map[string]quantity.Interval{}
	s.combinations(func(at []float64) bool {
		outer := s.outer
		s.outer = quantity.Nothing
		low, high := s.alone(at)
		reached[s.key(at, -1)] = s.outer
		if low.at != nil { // what the pieces could reach may well be the same everywhere
			reached[s.key(at, -1)] = quantity.Interval{Lo: low.value, Hi: high.value}
		}
		s.outer = s.outer.Union(outer)
		return !s.failed
	})
	s.compare(reached)
	s.inside()
}

// inside looks between the ends of the causes that several coefficients share: where nothing is proved to lie beyond what
// was found at their ends, that is all; else the reading may turn, and what is found then is proved once more.
func (s *search) inside() {
	if len(s.shared) == 0 || s.failed || s.low.at == nil || s.outer == quantity.Everything {
		return
	}
	outer := s.outer
	suspects, proven := s.between()
	if len(suspects) == 0 {
		s.outer = s.outer.Union(proven)
		return
	}
	s.turn(suspects)
	if !math.IsInf(proven.Width(), 0) && s.turned && !s.failed {
		_, proven = s.between()
	}
	s.outer = outer.Union(proven).Union(quantity.Interval{Lo: s.low.value, Hi: s.high.value})
	if math.IsInf(s.outer.Width(), 0) {
		s.unproven("its elements share causes, with ranges too wide or too much work to prove a limit")
	}
}

// alone is what one combination of the outer causes attains by itself; the farthest of it and of what was found is kept.
func (s *search) alone(at []float64) (low, high found) {
	lowest, highest := s.low, s.high
	s.low, s.high = nothing(1), nothing(-1)
	s.combination(at)
	low, high = s.low, s.high
	if lowest.at != nil && !(low.value < lowest.value) {
		s.low = lowest
	}
	if highest.at != nil && !(high.value > highest.value) {
		s.high = highest
	}
	return low, high
}

// combination looks at one combination of the outer causes.
func (s *search) combination(at []float64) {
	is, w := s.is, s.is.work
	defer s.part(at)()
	x := s.b.Arguments(at)
	clear(w.on)
	if is.excluded(x) || is.dead(x) {
		return
	}
	spans, free := s.spans(at, x)
	side := s.side(at, x)
	if free > mostSplit || side.crowded {
		s.failed = true
		return
	}
	var trees []*tree
	corners := false
	states := s.states(x)
	for i := 0; i < len(states) && !s.failed; i++ {
		copy(w.on, states[i])
		is.joinGroups(x)
		floats, fate := s.fate(x, side)
		pass := func() { // no piece of its own, but there may be some beyond
			if !s.all && len(states) < mostStates {
				states = append(states, s.beside(states, states[i])...)
			}
		}
		if corners = corners || fate == unjudged; fate != tied {
			if fate == unjudged {
				s.drifts(at, x, spans, side, floats)
			}
			pass()
			continue
		}
		pc := s.piece(at, x, spans, side, floats)
		if pc == nil {
			s.failed = is.metered && is.effort > mostEffort
			if len(states) == 1 && free > 0 { // singular at a corner of the ranges
				s.endless()
			}
			pass()
			continue
		}
		if len(pc.params) >= worthAsking {
			first, met := pc.meets()
			if met == nowhere {
				continue
			}
			if met == everywhere || len(pc.params) > s.most {
				s.many(pc, first, met, at, states[i])
				if met == somewhere {
					pass()
				}
				continue
			}
		}
		t := newTree(pc)
		t.on = states[i]
		t.run()
		s.failed = s.failed || !is.spend((pc.rows*pc.cols)<<len(pc.params))
		if !t.possible() {
			continue
		}
		trees = append(trees, t)
		s.keep(t, at, states[i])
		if !s.all && len(states) < mostStates {
			states = append(states, s.beyond(t, states, states[i])...)
		}
	}
	s.prove(trees, at, x)
	s.unseen(states, x)
	if corners {
		s.corners(at)
	}
}

// spans are what every param may be; x and at are left with each at its start. free counts those that may vary.
func (s *search) spans(at, x []float64) (out []span, free int) {
	for k, q := range s.is.work.params {
		one := s.span(k, at)
		if one.from != one.to {
			free++
		}
		for j, c := range s.own[k] {
			at[c] = one.atFrom[j]
		}
		x[q.input] = s.b.Argument(q.input, at)
		out = append(out, one)
	}
	return out, free
}

// corners visits the corners at a combination in which something floats or has no limit.
func (s *search) corners(at []float64) {
	fixed := map[int]float64{}
	for _, c := range s.plan.outer {
		if !slices.Contains(s.right, c) {
			fixed[c] = at[c]
		}
	}
	e := s.b.Corners(fixed)
	s.outer = s.outer.Union(e.Interval)
	if e.Low != nil {
		s.farther(&s.low, e.Lo, -1, e.Low, nil)
		s.farther(&s.high, e.Hi, 1, e.High, nil)
	}
}

// keep takes over the ends that a piece found.
func (s *search) keep(t *tree, at []float64, on []bool) {
	if t.low.found {
		s.farther(&s.low, t.low.value, -1, s.causes(t.pc, &t.low, at), on)
	}
	if t.high.found {
		s.farther(&s.high, t.high.value, 1, s.causes(t.pc, &t.high, at), on)
	}
	for i, k := range t.pc.params {
		for _, c := range s.own[k] {
			s.weight[c] = max(s.weight[c], t.heavy[i])
		}
	}
	for c, col := range t.pc.side.columns {
		for _, k := range t.pc.side.bundles[col.bundle].causes {
			s.weight[k] = max(s.weight[k], t.drift[c])
		}
	}
}

func (s *search) farther(f *found, v, sign float64, at []float64, on []bool) {
	v = quantity.Beyond(v, at)
	spare := &s.spare[0]
	if sign > 0 {
		spare = &s.spare[1]
	}
	full := len(*spare) == mostSpare
	if full && sign*v <= sign*(*spare)[mostSpare-1].value && f.at != nil && sign*v <= sign*f.value {
		return
	}
	one := found{v, slices.Clone(at), slices.Clone(on)}
	if f.at == nil || sign*v > sign*f.value {
		*f = one
	}
	k, again := slices.BinarySearchFunc(*spare, v, func(o found, v float64) int { return cmp.Compare(sign*v, sign*o.value) })
	if again {
		return
	}
	if full {
		*spare = (*spare)[:mostSpare-1]
	}
	if k < mostSpare {
		*spare = slices.Insert(*spare, k, one)
	}
}

// causes are the values of the causes at an end of a piece.
func (s *search) causes(pc *piece, e *end, at []float64) []float64 {
	out := slices.Clone(at)
	for i, k := range pc.params {
		part := 0.0
		switch {
		case e.part != nil:
			part = e.part[i]
		case e.side[i]:
			part = 1
		}
		s.place(k, pc.span[i], part, out)
	}
	for i := range pc.side.bundles {
		b := &pc.side.bundles[i]
		left, most, at := 1.0, 0.0, -1
		for c := b.first; c < b.first+b.columns; c++ {
			if left -= e.t[c]; e.t[c] > most {
				most, at = e.t[c], c
			}
		}
		switch {
		case at < 0:
		case b.straight:
			out[b.causes[0]] = b.from[0] + most*(pc.side.columns[at].to[0]-b.from[0])
			if most == 1 {
				out[b.causes[0]] = pc.side.columns[at].to[0]
			}
		case most == 1 || !s.mix(pc.side, b, e.t, out) && most >= left:
			for j, c := range b.causes {
				out[c] = pc.side.columns[at].to[j]
			}
		}
	}
	return out
}

// key names a combination of the outer causes, one of them left out.
func (s *search) key(at []float64, without int) string {
	b := make([]byte, 0, 8*len(s.plan.outer))
	for _, c := range s.plan.outer {
		if c != without {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(at[c]))
		}
	}
	return string(b)
}

// compare weighs each outer cause by what changes with it alone.
func (s *search) compare(reached map[string]quantity.Interval) {
	for _, c := range s.plan.outer {
		first := map[string]quantity.Interval{}
		s.combinations(func(at []float64) bool {
			reach, ok := reached[s.key(at, -1)]
			key := s.key(at, c)
			before, again := first[key]
			switch {
			case !ok:
			case !again:
				first[key] = reach
			case before.Empty() != reach.Empty():
				s.weight[c] = max(s.weight[c], math.SmallestNonzeroFloat64) // it decides which states exist
			case !reach.Empty():
				s.weigh(c, before.Lo, reach.Lo)
				s.weigh(c, before.Hi, reach.Hi)
			}
			return true
		})
	}
}

// weigh notes that a cause moves an end from a to b.
func (s *search) weigh(c int, a, b float64) {
	if d := math.Abs(a - b); d > 1e-12*max(math.Abs(a), math.Abs(b), 1e-6) || math.IsInf(d, 0) {
		s.weight[c] = max(s.weight[c], d)
	}
}

// ends are what was found, worked out again at the causes that it was found with. What no state lies outside is that,
// unless it is loose.
func (s *search) ends() quantity.Ends {
	e := quantity.Ends{Interval: quantity.Nothing, Outer: quantity.Nothing, Weight: s.weight, Why: s.why}
	if s.low.at == nil {
		return e
	}
	var low, high []bool
	e.Lo, e.Low, low = s.settle(false)
	e.Hi, e.High, high = s.settle(true)
	s.hint(e.Low, low) // last, lest those that were tried push them out
	s.hint(e.High, high)
	if e.Lo > e.Hi { // by rounding
		e.Lo, e.Hi, e.Low, e.High = e.Hi, e.Lo, e.High, e.Low
	}
	e.Outer = e.Interval.Union(quantity.Interval{Lo: quantity.Beyond(s.outer.Lo, s.low.at), Hi: quantity.Beyond(s.outer.Hi, s.high.at)})
	if least := rounding * max(s.r.floor(s.is), math.Abs(e.Lo), math.Abs(e.Hi)); e.Lo-e.Outer.Lo <= least && e.Outer.Hi-e.Hi <= least {
		if !s.turned {
			e.Outer = e.Interval
		}
	} else {
		e.Loose = true
	}
	if s.drift[0] {
		e.Outer.Lo = math.Inf(-1)
	}
	if s.drift[1] {
		e.Outer.Hi = math.Inf(1)
	}
	return e
}

// settle solves an end anew. Where it is no state, or another one than was found, which rounding can make it next to where
// a diode turns over, the next farthest takes its place.
func (s *search) settle(high bool) (value float64, at []float64, on []bool) {
	list, sign := s.spare[0], -1.0
	if high {
		list, sign = s.spare[1], 1
	}
	for _, f := range list {
		s.hint(f.at, f.on)
		v := quantity.Beyond(s.b.Value(f.at), f.at)
		if at == nil || sign*v > sign*value || math.IsNaN(value) {
			value, at, on = v, f.at, f.on
		}
		if math.Abs(v-f.value) <= rounding*max(s.r.floor(s.is), math.Abs(f.value)) || v == f.value {
			return value, at, on
		}
	}
	if math.IsNaN(value) {
		return list[0].value, list[0].at, list[0].on
	}
	return value, at, on
}

// hint says in which states the diodes settle where the causes have these values.
func (s *search) hint(at []float64, on []bool) {
	s.is.work.hint(s.b.Arguments(at)[:len(s.is.inputs)], on)
}

// rounding is how far an end that is solved anew may lie from what the search found, for each volt or ampere of it.
const rounding = 1e-7
