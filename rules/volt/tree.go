package volt

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A tree visits all corners of a piece's params, taking in one after the other, and finds at each leaf how far the
// reading goes over the right-hand side where the conditions are met.
type tree struct {
	pc    *piece
	on    []bool      // how the diodes stand in it
	stack [][]float64 // of each depth: its matrix
	side  []bool      // of each param: at the end of its span
	flip  int         // sign of the denominator
	p     program

	low, high       end               // where the conditions are met with a margin for rounding
	most            quantity.Interval // where they are met, or missed by no more than rounding
	broken          []bool            // of each condition: not met somewhere
	met             []bool            // of each condition: met somewhere
	pole            bool              // the denominator changes its sign, or is next to nothing
	heavy           []float64         // of each param: how far it moves the reading
	drift           []float64         // of each column: the same
	rising, falling []float64         // of each param: the most that it moves the reading up or down, for a w of 1
	limits, tight   []float64
	slack           []float64 // of each limit that is a condition
	slopes          [][]float64
	gain, t         []float64
	each            func(m []float64) // called at every corner
}

// An end is the farthest that a reading goes, and where.
type end struct {
	value float64
	side  []bool
	part  []float64 // of each param instead, where it may be inside its span: how far from its start, 1 the whole span
	t     []float64
	found bool
}

func newTree(pc *piece) *tree {
	n := len(pc.params)
	t := &tree{pc: pc, stack: make([][]float64, n+1), side: make([]bool, n), flip: 1,
		low: end{value: math.Inf(1)}, high: end{value: math.Inf(-1)}, most: quantity.Nothing,
		broken: make([]bool, len(pc.of)), met: make([]bool, len(pc.of)), heavy: make([]float64, n), drift: make([]float64, len(pc.side.columns)),
		rising: make([]float64, n), falling: make([]float64, n), gain: make([]float64, len(pc.side.columns)), t: make([]float64, len(pc.side.columns))}
	t.stack[0] = pc.m
	return t
}

// run visits every corner.
func (t *tree) run() {
	t.descend(0, t.pc.m)
}

// possible tells that no condition of the piece is missed everywhere.
func (t *tree) possible() bool { return !slices.Contains(t.met, false) }

func (t *tree) descend(k int, m []float64) {
	pc := t.pc
	if k == len(pc.params) {
		t.leaf(m)
		return
	}
	t.side[k] = false
	t.descend(k+1, m)
	delta := pc.span[k].to - pc.span[k].from
	row := m[k*pc.cols : (k+1)*pc.cols]
	d := 1 + delta*row[k]
	if math.Abs(d) <= 1e-12*max(1, math.Abs(delta*row[k])) {
		t.pole = true
		return
	}
	if d < 0 {
		t.flip = -t.flip
		defer func() { t.flip = -t.flip }()
	}
	if t.stack[k+1] == nil {
		t.stack[k+1] = make([]float64, len(m))
	}
	next := t.stack[k+1]
	f := delta / d
	for r := k + 1; r < pc.rows; r++ {
		from, to := m[r*pc.cols:(r+1)*pc.cols], next[r*pc.cols:(r+1)*pc.cols]
		g := f * from[k]
		if g == 0 {
			copy(to, from)
			continue
		}
		for c, v := range row {
			to[c] = from[c] - g*v
		}
	}
	y := m[pc.reading()*pc.cols+k] * f
	lo, hi := pc.reach(m, k)
	t.heavy[k] = max(t.heavy[k], math.Abs(y*lo), math.Abs(y*hi))
	t.side[k] = true
	t.descend(k+1, next)
}

// leaf looks at one corner of the params.
func (t *tree) leaf(m []float64) {
	pc := t.pc
	if t.flip < 0 {
		t.pole = true
		return
	}
	if t.each != nil {
		t.each(m)
	}
	n := len(pc.params)
	free := true
	t.limits, t.tight, t.slack, t.slopes = t.limits[:0], t.tight[:0], t.slack[:0], t.slopes[:0]
	for i := range pc.of {
		row := pc.reading() + 1 + i
		lo, hi := pc.reach(m, row)
		slack, margin := pc.slack(m, row)
		if hi >= -slack {
			t.met[i] = true
		} else {
			free = false
		}
		if lo < margin {
			t.broken[i] = t.broken[i] || lo < -slack
			at := m[row*pc.cols+n : (row+1)*pc.cols]
			t.limits, t.slack, t.slopes = append(t.limits, at[0]+slack), append(t.slack, slack), append(t.slopes, at[1:])
			if hi < 2*margin { // it is met nowhere but at its edge
				margin = -slack
			}
			t.tight = append(t.tight, at[0]-margin)
		}
	}
	y := m[pc.reading()*pc.cols : (pc.reading()+1)*pc.cols]
	lo, hi := pc.reach(m, pc.reading())
	for k := range n {
		t.rising[k], t.falling[k] = max(t.rising[k], -y[k]), max(t.falling[k], y[k])
	}
	if !free {
		return
	}
	for c := range t.drift {
		t.drift[c] = max(t.drift[c], math.Abs(y[n+1+c]))
	}
	if len(t.limits) == 0 {
		for _, sign := range [2]float64{-1, 1} {
			v, e := hi, &t.high
			if sign < 0 {
				v, e = lo, &t.low
			}
			t.corner(sign, y[n+1:])
			t.most = t.most.Union(quantity.Point(v + sign*t.rest()))
			t.take(e, v, sign)
		}
		return
	}
	for _, slope := range pc.side.together() {
		t.limits, t.tight, t.slopes = append(t.limits, 1), append(t.tight, 1), append(t.slopes, slope)
	}
	for _, sign := range [2]float64{1, -1} {
		for c := range t.gain {
			t.gain[c] = sign * y[n+1+c]
		}
		v, ok := t.p.solve(sign*y[n], t.gain, t.limits, t.slopes, t.t)
		if !ok {
			return
		}
		t.most = t.most.Union(quantity.Point(sign * v))
		if t.rest() > 0 {
			t.most = t.most.Union(quantity.Point(sign * t.farther(sign*y[n], v)))
		}
		if t.crosses() {
			if v, ok = t.p.solve(sign*y[n], t.gain, t.tight, t.slopes, t.t); !ok {
				continue
			}
		}
		e := &t.high
		if sign < 0 {
			e = &t.low
		}
		t.take(e, sign*v, sign)
	}
}

// crosses tells that the corner at hand misses a condition that leaves a margin for rounding.
func (t *tree) crosses() bool {
	for i, slope := range t.slopes {
		v := t.tight[i]
		for c, s := range slope {
			v += s * t.t[c]
		}
		if v < 0 {
			return true
		}
	}
	return false
}

// corner is the corner of the right-hand side that gives the farthest without conditions.
func (t *tree) corner(sign float64, slope []float64) {
	for c, v := range slope {
		t.gain[c] = sign * v
	}
	clear(t.t)
	for _, c := range t.pc.side.corner(t.gain) {
		t.t[c] = 1
	}
}

// rest is what currents that only just flow where the right-hand side stands would add if they were none.
func (t *tree) rest() (sum float64) {
	for c, col := range t.pc.side.columns {
		if col.rest > 0 && t.t[c] > 0.5 {
			sum += max(0, t.gain[c]*col.rest)
		}
	}
	return sum
}

// farther is the largest value where currents that only just flow may be none as well, and no condition is missed by
// rounding; as they are it is v.
func (t *tree) farther(constant, v float64) float64 {
	wide := func(row []float64) []float64 {
		out := slices.Clone(row)
		for c, col := range t.pc.side.columns {
			out[c] *= 1 + col.rest
		}
		return out
	}
	limits, slopes := slices.Clone(t.limits), make([][]float64, len(t.slopes))
	for i := range t.slack {
		limits[i] -= t.slack[i]
	}
	for i, row := range t.slopes {
		slopes[i] = wide(row)
	}
	var p program
	if far, ok := p.solve(constant, wide(t.gain), limits, slopes, make([]float64, len(t.gain))); ok {
		return max(v, far)
	}
	return v
}

// take keeps an end that is farther than what was found.
func (t *tree) take(e *end, v, sign float64) {
	if e.found && sign*v <= sign*e.value {
		return
	}
	e.value, e.found = v, true
	e.side, e.t = append(e.side[:0], t.side...), append(e.t[:0], t.t...)
}
