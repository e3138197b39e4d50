package volt

import (
	"math"
	"slices"
)

// A hunt looks for the farthest that a reading goes in a piece of which the conditions are met in a part of the box only.
// Where the reading goes on in the next piece without a step the corners of both say it all; where it does not, as at an
// output without feedback, whose input passes a threshold inside the box, the farthest may stand anywhere on the surface
// on which a condition is just met.
//
// The box of the params is cut into cells. Inside a cell the reading and what the conditions ask of are a mean of what
// they are at its corners, with the same weights for all of them: their numerators and their one denominator are linear
// in each entry by itself. The best weights with which the mean meets the conditions are a linear program; what its duals
// prove is nowhere passed in the cell, whatever rounding did to them. Cells that may hold more than was found are halved
// (A. H. Land, A. G. Doig, 1960, on branch and bound).
type hunt struct {
	is    *island
	pc    *piece
	sign  float64 // 1: the highest reading is looked for
	best  float64 // sign times what is attained, or missed by no more than rounding
	at    end     // the farthest that was found here
	outer float64 // sign times it: the reading does not go farther
	cells []cell
}

// A cell is a part of the box of a piece: of each of its params, then of each column of the right-hand side, from which
// part of its span to which.
type cell struct {
	lo, hi []float64
	bound  float64 // times the hunt's sign: it is nowhere passed where the conditions are met
	outer  float64 // the same where rounding may miss them, and where currents that only just flow are none; NaN: not known
	cut    int     // where it is halved
}

// mostCells is how many cells are looked at, mostMissed how many of them for what rounding may do alone. mostHunted is how
// much of that is done in one search, in multiplications; what comes after that is only bounded.
const mostCells, mostMissed, mostHunted = 1000, 200, mostEffort / 64

// hunt goes through the cells of a piece, the most promising first, no more than so many.
func (is *island) hunt(pc *piece, sign, attained float64, cells int) *hunt {
	n := len(pc.params) + len(pc.side.columns)
	h := &hunt{is: is, pc: pc, sign: sign, best: sign * attained, outer: math.Inf(-1)}
	whole := cell{lo: make([]float64, n), hi: make([]float64, n)}
	for k := range whole.hi {
		whole.hi[k] = 1
	}
	h.add(whole)
	missed := 0
	for seen := 1; len(h.cells) > 0 && seen < cells && missed < mostMissed && is.effort <= mostEffort; {
		top := 0
		for i, c := range h.cells {
			if h.rank(c) > h.rank(h.cells[top]) {
				top = i
			}
		}
		c := h.cells[top]
		if c.bound <= h.best+h.near() {
			if math.IsNaN(c.outer) { // the best was not as good when it was looked at
				h.cells = slices.Delete(h.cells, top, top+1)
				h.add(c)
				seen++
				continue
			}
			missed++
		}
		if c.cut < 0 {
			break
		}
		h.cells = slices.Delete(h.cells, top, top+1)
		middle := (c.lo[c.cut] + c.hi[c.cut]) / 2
		for half := range 2 {
			next := cell{lo: slices.Clone(c.lo), hi: slices.Clone(c.hi)}
			if half == 0 {
				next.hi[c.cut] = middle
			} else {
				next.lo[c.cut] = middle
			}
			h.add(next)
		}
		seen += 2
	}
	for _, c := range h.cells {
		if math.IsNaN(c.outer) {
			if l := h.leaves(c); l != nil {
				_, over := l.generous(c, sign, c.bound)
				c.outer = c.bound + over
			}
		}
		h.outer = max(h.outer, c.bound, c.outer)
	}
	return h
}

// rank is how promising a cell is.
func (h *hunt) rank(c cell) float64 {
	if c.bound > h.best+h.near() || math.IsNaN(c.outer) {
		return c.bound
	}
	return min(c.outer, h.best)
}

// near is what is no more than rounding beyond what was found.
func (h *hunt) near() float64 { return 1e-10 * max(1, math.Abs(h.best)) }

// leaves goes to the corners of a cell, and takes over what is found there; nil where there is a pole.
func (h *hunt) leaves(c cell) *leaves {
	pc := h.pc
	part, ok := pc.within(c)
	if !ok {
		return nil
	}
	n := len(pc.params)
	t := newTree(part)
	l := &leaves{pc: part, width: pc.cols - n, rows: make([][]float64, 1<<n), slack: make([][]float64, 1<<n)}
	t.each = func(m []float64) {
		at := 0
		for k, to := range t.side {
			if to {
				at |= 1 << k
			}
		}
		l.keep(at, m)
	}
	t.run()
	h.is.spend((pc.rows * pc.cols * (2 + len(pc.of))) << n)
	if t.pole || slices.ContainsFunc(l.rows, func(r []float64) bool { return r == nil }) {
		return nil
	}
	l.possible = t.possible()
	if !t.most.Empty() {
		h.best = max(h.best, h.sign*t.most.Lo, h.sign*t.most.Hi)
	}
	e := &t.high
	if h.sign < 0 {
		e = &t.low
	}
	if !e.found || h.at.found && h.sign*e.value <= h.sign*h.at.value {
		return l
	}
	h.at = end{value: e.value, t: make([]float64, len(e.t)), found: true, part: make([]float64, n)}
	for j, v := range e.t {
		h.at.t[j] = c.lo[n+j] + v*(c.hi[n+j]-c.lo[n+j])
	}
	for k, to := range e.side {
		if h.at.part[k] = c.lo[k]; to {
			h.at.part[k] = c.hi[k]
		}
	}
	return l
}

// add looks at a cell, and keeps it where it may hold more than was found.
func (h *hunt) add(c cell) {
	l := h.leaves(c)
	if l == nil {
		c.bound, c.outer, c.cut = math.Inf(1), math.Inf(1), -1
		h.cells = append(h.cells, c)
		return
	}
	if !l.possible {
		return
	}
	enough := h.best
	if math.IsInf(enough, 0) {
		enough = l.least(h.sign) - 1
	}
	worth, over := l.most(h.sign, enough)
	defer func() { h.is.spend(l.work) }()
	c.bound, c.outer = enough+over, math.NaN()
	if over <= h.near() { // also false where nothing was found yet
		worth, over = l.generous(c, h.sign, enough)
		c.outer = enough + over
		if over <= rounding/2*max(1, math.Abs(enough)) {
			h.outer = max(h.outer, c.outer)
			return
		}
	} else if over == 0 {
		return
	}
	c.cut = l.widest(worth, over)
	h.cells = append(h.cells, c)
}

// within is the piece in a cell; ok is false where that lies beyond a pole.
func (pc *piece) within(c cell) (part *piece, ok bool) {
	out := *pc
	out.m = slices.Clone(pc.m)
	out.span = make([]span, len(pc.span))
	for k, s := range pc.span {
		delta := s.to - s.from
		if !out.shift(out.m, k, c.lo[k]*delta) {
			return nil, false
		}
		out.span[k] = span{from: s.from + c.lo[k]*delta, to: s.from + c.hi[k]*delta}
	}
	n := len(pc.span)
	for r := range out.rows {
		row := out.m[r*out.cols+n : (r+1)*out.cols]
		for j := range row[1:] {
			row[0] += c.lo[n+j] * row[1+j]
			row[1+j] *= c.hi[n+j] - c.lo[n+j]
		}
	}
	return &out, true
}

// leaves are what the reading and the conditions of a piece are over the right-hand side at all corners of a cell.
type leaves struct {
	pc       *piece
	width    int // 1 and the columns of the right-hand side
	rows     [][]float64
	slack    [][]float64 // of each condition
	possible bool        // no condition is missed at all corners
	side     [][]float64 // the corners of the right-hand side that were brought into the program
	parts    []float64   // and the weights that they have in its answer
	work     int         // about how many multiplications that took
}

func (l *leaves) keep(at int, m []float64) {
	pc, n := l.pc, len(l.pc.params)
	for r := pc.reading(); r < pc.rows; r++ {
		l.rows[at] = append(l.rows[at], m[r*pc.cols+n:(r+1)*pc.cols]...)
	}
	for i := range pc.of {
		slack, _ := pc.slack(m, pc.reading()+1+i)
		l.slack[at] = append(l.slack[at], slack)
	}
}

// generous is what most is where rounding may miss the conditions, and where currents that only just flow may be none. It
// is not both at once: what the last of a current does to a large resistance is all rounding.
func (l *leaves) generous(c cell, sign, enough float64) (worth []float64, over float64) {
	most := func(change func(at int, row []float64)) ([]float64, float64) {
		other := l.changed(change)
		defer func() { l.work += other.work }()
		return other.most(sign, enough)
	}
	worth, over = most(func(at int, row []float64) {
		for i, slack := range l.slack[at] {
			row[(1+i)*l.width] += slack
		}
	})
	n := len(l.pc.params)
	times := make([]float64, l.width-1)
	fades := false
	for j, col := range l.pc.side.columns {
		if col.rest > 0 && c.hi[n+j] == 1 {
			times[j], fades = col.rest/(1-c.lo[n+j]), true
		}
	}
	if !fades {
		return worth, over
	}
	other, more := most(func(_ int, row []float64) {
		for r := 0; r < len(row); r += l.width {
			for j, f := range times {
				row[r+1+j] *= 1 + f
			}
		}
	})
	if more > over {
		return other, more
	}
	return worth, over
}

func (l *leaves) changed(change func(at int, row []float64)) *leaves {
	out := &leaves{pc: l.pc, width: l.width, rows: make([][]float64, len(l.rows))}
	for at, row := range l.rows {
		out.rows[at] = slices.Clone(row)
		change(at, out.rows[at])
	}
	return out
}

// row is the reading (0) or a condition (from 1) at a corner.
func (l *leaves) row(at, r int) []float64 { return l.rows[at][r*l.width : (r+1)*l.width] }

// mixed is sign times the reading and the conditions times what they are worth, at a corner.
func (l *leaves) mixed(at int, sign float64, worth, out []float64) {
	for c, v := range l.row(at, 0) {
		out[c] = sign * v
	}
	for i, f := range worth {
		if f != 0 {
			for c, v := range l.row(at, 1+i) {
				out[c] += f * v
			}
		}
	}
}

// least is the least that sign times the reading is anywhere.
func (l *leaves) least(sign float64) float64 {
	out := math.Inf(1)
	for at := range l.rows {
		lo, hi := l.pc.side.over(l.row(at, 0))
		out = min(out, sign*lo, sign*hi)
	}
	return out
}

// price is the most that sign times the reading and the conditions times what they are worth are, at a corner and at t;
// each, where it is given, is called for every corner.
func (l *leaves) price(side *edge, sign float64, worth []float64, each func(at int, t []float64)) (top float64, at int, t []float64) {
	top = math.Inf(-1)
	l.work += len(l.rows) * l.width * (len(worth) + 4*(1+len(side.limits)))
	mixed := make([]float64, l.width)
	for i := range l.rows {
		l.mixed(i, sign, worth, mixed)
		hi, ok := side.solve(mixed)
		if !ok {
			continue
		}
		if each != nil {
			each(i, side.t)
		}
		if hi > top {
			top, at, t = hi, i, append(t[:0], side.t...)
		}
	}
	return top, at, t
}

// most is how far beyond enough sign times the reading may go where the conditions are met, at the most, and what each
// condition is worth to that. Corners of the right-hand side are brought into the program as they prove wanting.
func (l *leaves) most(sign, enough float64) (worth []float64, over float64) {
	k := len(l.pc.of)
	worth, over = make([]float64, k), math.Inf(1)
	here := make([]float64, k)
	limits := make([]float64, k+1)
	limits[k] = 1
	var gain []float64
	slopes := make([][]float64, k+1)
	side := l.sameEverywhere()
	bring := func(at int, t []float64) {
		value := func(r int) float64 {
			row := l.row(at, r)
			v := row[0]
			for c, f := range t {
				v += f * row[1+c]
			}
			return v
		}
		gain = append(gain, sign*value(0)-enough)
		for i := range k {
			slopes[i] = append(slopes[i], value(1+i))
		}
		slopes[k] = append(slopes[k], -1)
		l.side, l.parts = append(l.side, slices.Clone(t)), append(l.parts, 0)
	}
	top, _, _ := l.price(side, sign, worth, bring)
	if over = max(top-enough, 0); over == 0 {
		return worth, 0
	}
	var p program
	for range 40 {
		best, ok := p.solve(0, gain, limits, slopes, l.parts)
		if !ok {
			break
		}
		copy(here, p.worth(limits, slopes))
		top, at, t := l.price(side, sign, here, nil)
		if top = max(top-enough, 0); top < over {
			over = top
			copy(worth, here)
		}
		if over == 0 || top <= best+1e-13*max(1, math.Abs(enough)) {
			break
		}
		bring(at, t)
	}
	return worth, over
}

// An edge is the right-hand side where the conditions are met of which the corners of a cell all say the same.
type edge struct {
	side   *side
	limits []float64
	slopes [][]float64
	gain   []float64
	t      []float64 // where the last answer stands
	p      program
}

// sameEverywhere finds the conditions that are one and the same at all corners, up to a factor: whether a current flows
// backwards does not hang on the resistance that it flows through.
func (l *leaves) sameEverywhere() *edge {
	e := &edge{side: l.pc.side, t: make([]float64, l.width-1), gain: make([]float64, l.width-1)}
	for i := range l.pc.of {
		first := l.row(0, 1+i)
		size := scale(first[0], first[1:])
		same := true
		for at := 1; at < len(l.rows) && same; at++ {
			row := l.row(at, 1+i)
			times := scale(row[0], row[1:]) / size
			for c, v := range row {
				same = same && math.Abs(v-times*first[c]) <= 1e-13*times*size
			}
		}
		if same {
			e.limits, e.slopes = append(e.limits, first[0]), append(e.slopes, first[1:])
		}
	}
	for _, slope := range l.pc.side.together() {
		e.limits, e.slopes = append(e.limits, 1), append(e.slopes, slope)
	}
	return e
}

// solve is the most that a row is there; ok is false where nothing is left.
func (e *edge) solve(row []float64) (most float64, ok bool) {
	if len(e.limits) == 0 {
		clear(e.t)
		for _, c := range e.side.corner(row[1:]) {
			e.t[c] = 1
		}
		_, most = e.side.over(row)
		return most, true
	}
	copy(e.gain, row[1:])
	return e.p.solve(row[0], e.gain, e.limits, e.slopes, e.t)
}

// widest is what is to be halved: the param along which the reading and the conditions change most, or a column of the
// right-hand side that the program gives different values at different corners, where it takes much from that; -1 where
// nothing changes. A condition that is worth nothing here counts for little, and for something: it may be met nowhere.
func (l *leaves) widest(worth []float64, over float64) int {
	const little = 1e-6
	n := len(l.pc.params)
	size := make([]float64, 1+len(worth))
	for at := range l.rows {
		for r := range size {
			for _, v := range l.row(at, r) {
				size[r] = max(size[r], math.Abs(v))
			}
		}
	}
	best, most := -1, 0.0
	byColumn := make([]float64, l.width)
	for k := range n {
		change := 0.0
		for at := range l.rows {
			if at>>k&1 == 1 {
				continue
			}
			sum := 0.0
			for r := range size {
				f := 1.0
				if r > 0 {
					f = max(worth[r-1], little*size[0]/size[r])
				}
				from, to := l.row(at, r), l.row(at|1<<k, r)
				for c := range from {
					if d := math.Abs(to[c] - from[c]); d > 1e-12*size[r] {
						sum += f * d
						byColumn[c] = max(byColumn[c], f*d)
					}
				}
			}
			change = max(change, sum)
		}
		if change > most {
			best, most = k, change
		}
	}
	apart := over / 4
	for _, b := range l.pc.side.bundles {
		if b.columns > 1 {
			continue
		}
		if d := l.spread(b.first) * byColumn[1+b.first]; d > apart {
			best, apart = n+b.first, d
		}
	}
	return best
}

// spread is how far apart a column stands at what the program's answer is a mean of.
func (l *leaves) spread(column int) float64 {
	mean, all := 0.0, 0.0
	for i, f := range l.parts {
		mean, all = mean+f*l.side[i][column], all+f
	}
	if all == 0 {
		return 0
	}
	mean /= all
	sum := 0.0
	for i, f := range l.parts {
		sum += f / all * math.Abs(l.side[i][column]-mean)
	}
	return sum
}
