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
	bound  float64 // times the hunt's sign: it is nowhere passed
	slack  float64 // how much of that a condition missed by rounding adds
	cut    int     // where it is halved
}

// mostCells is how many cells are looked at.
const mostCells = 1000

// hunt goes through the cells of a piece, the most promising first.
func (is *island) hunt(pc *piece, sign, attained float64) *hunt {
	n := len(pc.params) + len(pc.side.columns)
	h := &hunt{is: is, pc: pc, sign: sign, best: sign * attained, outer: math.Inf(-1)}
	whole := cell{lo: make([]float64, n), hi: make([]float64, n)}
	for k := range whole.hi {
		whole.hi[k] = 1
	}
	h.add(whole)
	for seen := 1; len(h.cells) > 0; seen += 2 {
		top := 0
		for i, c := range h.cells {
			if c.bound > h.cells[top].bound {
				top = i
			}
		}
		c := h.cells[top]
		if c.bound <= h.best+h.near() || c.cut < 0 || seen >= mostCells || is.effort > mostEffort {
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
	}
	for _, c := range h.cells {
		h.outer = max(h.outer, c.bound+c.slack)
	}
	return h
}

// near is what is no more than rounding beyond what was found.
func (h *hunt) near() float64 { return 1e-10 * max(1, math.Abs(h.best)) }

// add looks at a cell, and keeps it where it may hold more than was found.
func (h *hunt) add(c cell) {
	pc := h.pc
	part, ok := pc.within(c)
	if !ok {
		c.bound, c.cut = math.Inf(1), -1
		h.cells = append(h.cells, c)
		return
	}
	n := len(pc.params)
	t := newTree(part)
	l := leaves{pc: part, width: pc.cols - n, rows: make([][]float64, 1<<n)}
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
	h.is.spend((pc.rows * pc.cols) << n * 4)
	if t.pole || slices.ContainsFunc(l.rows, func(r []float64) bool { return r == nil }) {
		c.bound, c.cut = math.Inf(1), -1
		h.cells = append(h.cells, c)
		return
	}
	e := &t.high
	if h.sign < 0 {
		e = &t.low
	}
	if !t.most.Empty() {
		h.best = max(h.best, max(h.sign*t.most.Lo, h.sign*t.most.Hi))
	}
	if e.found && (!h.at.found || h.sign*e.value > h.sign*h.at.value) {
		h.at = end{value: e.value, t: make([]float64, len(e.t)), found: true, part: make([]float64, n)}
		for j, v := range e.t {
			h.at.t[j] = c.lo[n+j] + v*(c.hi[n+j]-c.lo[n+j])
		}
		for k, to := range e.side {
			if h.at.part[k] = c.lo[k]; to {
				h.at.part[k] = c.hi[k]
			}
		}
	}
	if !t.possible() {
		return
	}
	enough := h.best
	if math.IsInf(enough, 0) {
		enough = l.least(h.sign) - 1
	}
	worth, over, slack := l.most(h.sign, enough)
	c.bound, c.slack, c.cut = enough+over, slack, l.widest(worth, over)
	if over > 0 {
		h.cells = append(h.cells, c)
	} else if !math.IsInf(h.best, 0) {
		h.outer = max(h.outer, h.best+slack)
	}
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
	pc    *piece
	width int // 1 and the columns of the right-hand side
	rows  [][]float64
	slack []float64   // of each condition
	side  [][]float64 // the corners of the right-hand side that were brought into the program
	parts []float64   // and the weights that they have in its answer
}

func (l *leaves) keep(at int, m []float64) {
	pc, n := l.pc, len(l.pc.params)
	if l.slack == nil {
		l.slack = make([]float64, len(pc.of))
	}
	for r := pc.reading(); r < pc.rows; r++ {
		l.rows[at] = append(l.rows[at], m[r*pc.cols+n:(r+1)*pc.cols]...)
	}
	for i := range pc.of {
		slack, _ := pc.slack(m, pc.reading()+1+i)
		l.slack[i] = max(l.slack[i], slack)
	}
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

// most is how far beyond enough sign times the reading may go where the conditions are met, at the most, and what each
// condition is worth to that. Corners of the right-hand side are brought into the program as they prove wanting.
func (l *leaves) most(sign, enough float64) (worth []float64, over, slack float64) {
	k := len(l.pc.of)
	worth, over = make([]float64, k), math.Inf(1)
	here, mixed := make([]float64, k), make([]float64, l.width)
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
	price := func(weights []float64, all bool) (top float64, at int, t []float64) {
		top = math.Inf(-1)
		for i := range l.rows {
			l.mixed(i, sign, weights, mixed)
			hi, ok := side.solve(mixed)
			if !ok {
				continue
			}
			if all {
				bring(i, side.t)
			}
			if hi-enough > top {
				top, at, t = hi-enough, i, append(t[:0], side.t...)
			}
		}
		return top, at, t
	}
	top, _, _ := price(worth, true)
	if over = max(top, 0); over == 0 {
		return worth, 0, side.slack
	}
	var p program
	for range 40 {
		best, ok := p.solve(0, gain, limits, slopes, l.parts)
		if !ok {
			break
		}
		copy(here, p.worth(limits, slopes))
		top, at, t := price(here, false)
		if top = max(top, 0); top < over {
			over = top
			copy(worth, here)
		}
		if over == 0 || top <= best+1e-13*max(1, math.Abs(enough)) {
			break
		}
		bring(at, t)
	}
	slack = side.slack
	for i, f := range worth {
		slack += f * l.slack[i]
	}
	return worth, over, slack
}

// An edge is the right-hand side where the conditions are met of which the corners of a cell all say the same.
type edge struct {
	side   *side
	limits []float64
	slopes [][]float64
	misses []float64 // of each condition: how far rounding may miss it
	gain   []float64
	t      []float64 // where the last answer stands
	slack  float64   // the most that a condition missed by rounding added
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
			e.limits, e.slopes, e.misses = append(e.limits, first[0]), append(e.slopes, first[1:]), append(e.misses, l.slack[i])
		}
	}
	for _, slope := range l.pc.side.together() {
		e.limits, e.slopes, e.misses = append(e.limits, 1), append(e.slopes, slope), append(e.misses, 0)
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
	if most, ok = e.p.solve(row[0], e.gain, e.limits, e.slopes, e.t); !ok {
		return 0, false
	}
	sum := 0.0
	for i, f := range e.p.worth(e.limits, e.slopes) {
		sum += f * e.misses[i]
	}
	e.slack = max(e.slack, sum)
	return most, true
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
