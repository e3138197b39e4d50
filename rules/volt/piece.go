package volt

import (
	"maps"
	"math"
	"slices"
)

// A piece is the island in one combination of switch and diode states, reduced to what may vary in it: a linear system
// with a handful of numbers in its matrix and on its right-hand side.
//
// With the matrix A + U D V' (D diagonal, an entry for each param) and w = V' x, the answer to a right-hand side s is
// x = inv(A) (s - U D w), and w = inv(1 + Z D) V' inv(A) s with Z = V' inv(A) U: the rows below are what w and what is
// asked respond with to U and to the columns of s. One param after the other is taken in by a step of elimination
// (J. Sherman, W. J. Morrison, 1950). Everything is a quotient of two functions that are linear in each single entry
// of D, so that with a denominator of one sign its extremes over a box stand at corners.
type piece struct {
	params []int     // of the island's
	span   []span    // of each
	rows   int       // params, then the reading, then the conditions
	cols   int       // params, then 1, then the columns of the right-hand side
	m      []float64 // rows x cols
	side   *side
	sign   int     // of the determinant
	of     [][]int // of each condition: the diodes that change their state where it is not met
}

func (pc *piece) reading() int { return len(pc.params) }

// A condition is a function of the unknowns that is at least 0 where the diodes stand as they do, and of which diodes the
// states change where it is not. by is how far it moves with each group that floats.
type condition struct {
	function
	of []int
	by map[int]float64
}

// conditions are what the diodes as they stand ask of the unknowns: an off one has at most its drop, an on one carries
// no current backwards. One between two held nets decides nothing.
func (is *island) conditions(floats map[int]bool) (cs []condition) {
	w := is.work
	for k, d := range is.diodes {
		if d.anode < 0 && d.cathode < 0 || d.anode == d.cathode {
			continue
		}
		c := condition{of: []int{k}}
		if w.on[k] {
			c.unknown = []weight{{w.diodeRow + k, 1}}
		} else {
			c.by = map[int]float64{}
			for i, node := range [2]int{d.anode, d.cathode} {
				sign := float64(2*i - 1)
				c.volts(node, sign)
				if node >= 0 && floats[is.find(node)] {
					c.by[is.find(node)] += sign
				}
			}
			if d.drop >= 0 {
				c.known = append(c.known, weight{d.drop, 1})
			}
		}
		cs = append(cs, c)
	}
	fs, of := is.clipConditions()
	for i, f := range fs {
		cs = append(cs, condition{function: f, of: []int{of[i]}})
	}
	for _, g := range slices.Sorted(maps.Keys(floats)) {
		cs = eliminate(cs, g)
	}
	return cs
}

// eliminate says without a group that floats what conditions say of it: that there is a place for it at which all of them
// are met (J. Fourier, T. Motzkin). A diode towards it and one away from it block together as long as what lies between
// their far ends is at most both drops.
func eliminate(cs []condition, group int) (out []condition) {
	var up, down []condition
	for _, c := range cs {
		switch by := c.by[group]; {
		case by > 0:
			up = append(up, c)
		case by < 0:
			down = append(down, c)
		default:
			out = append(out, c)
		}
	}
	for _, p := range up {
		for _, m := range down {
			c := condition{by: map[int]float64{}}
			for _, o := range [2]condition{p, m} {
				c.unknown, c.known = append(c.unknown, o.unknown...), append(c.known, o.known...)
				for _, k := range o.of {
					if !slices.Contains(c.of, k) {
						c.of = append(c.of, k)
					}
				}
				for g, by := range o.by {
					c.by[g] += by
				}
			}
			out = append(out, c)
		}
	}
	return out
}

// piece reduces the island as its diodes stand; x are the inputs with every param at the start of its span, at these
// values of the causes. It is nil where the equations have no single answer, whatever the params are: neither where they
// start nor at the other ends of their spans.
func (p *plan) piece(at, x []float64, spans []span, s *side, floats map[int]bool) *piece {
	if p.is.looped(nil) {
		return nil
	}
	if pc := p.pieceAt(x, spans, s, floats); pc != nil || p.is.metered && p.is.effort > mostEffort {
		return pc
	}
	at, x, spans = slices.Clone(at), slices.Clone(x), slices.Clone(spans)
	moves := false
	for k, one := range spans {
		if one.from == one.to {
			continue
		}
		moves = true
		spans[k] = span{one.to, one.from, one.atTo, one.atFrom}
		for j, c := range p.own[k] {
			at[c] = one.atTo[j]
		}
		in := p.is.work.params[k].input
		x[in] = p.b.Argument(in, at)
	}
	if !moves {
		return nil
	}
	return p.pieceAt(x, spans, s, floats)
}

func (p *plan) pieceAt(x []float64, spans []span, s *side, floats map[int]bool) *piece {
	is, w := p.is, p.is.work
	w.least = 0
	is.write(x)
	if !is.spend(factoring(w.size)) || !w.factor() {
		return nil
	}
	pc := &piece{side: s, sign: w.lu.Determinant()}
	for k, q := range w.params {
		if spans[k].from == spans[k].to || !w.stands(q, x) || q.row < 0 && q.a == q.b {
			continue
		}
		pc.params = append(pc.params, k)
		pc.span = append(pc.span, spans[k])
	}
	fs := make([]function, 0, len(pc.params)+1+len(is.diodes))
	for _, k := range pc.params {
		var f function
		if q := w.params[k]; q.gains {
			f.volts(q.a, 1)
			f.volts(q.b, -1)
			f.known = append(f.known, weight{q.above, 1})
		} else if q.row >= 0 {
			f.unknown = []weight{{q.row, 1}}
		} else {
			f.volts(q.a, 1)
			f.volts(q.b, -1)
		}
		fs = append(fs, f)
	}
	fs = append(fs, p.r.function(x))
	for _, c := range is.conditions(floats) {
		fs, pc.of = append(fs, c.function), append(pc.of, c.of)
	}
	pc.rows, pc.cols = len(fs), len(pc.params)+1+len(s.columns)
	pc.m = make([]float64, pc.rows*pc.cols)

	v := make([]float64, w.size)
	fill := func(col int, known func(of int) float64) {
		w.lu.Solve(v, v)
		for r, f := range fs {
			sum := 0.0
			for _, t := range f.unknown {
				sum += t.times * v[t.of]
			}
			for _, t := range f.known {
				sum += t.times * known(t.of)
			}
			pc.m[r*pc.cols+col] = sum
		}
	}
	none := func(int) float64 { return 0 }
	for c, k := range pc.params {
		clear(v)
		if q := w.params[k]; q.row >= 0 {
			v[q.row] = 1
		} else {
			if q.a >= 0 {
				v[q.a] = 1
			}
			if q.b >= 0 {
				v[q.b] = -1
			}
		}
		fill(c, none)
	}
	clear(v)
	for _, t := range w.shares {
		if t.of == one {
			v[t.row] += t.times
		} else {
			v[t.row] += t.times * s.base[t.of]
		}
	}
	fill(len(pc.params), func(of int) float64 { return s.base[of] })
	by := make([]float64, len(s.base))
	for c, col := range s.columns {
		clear(v)
		for _, m := range col.moves {
			by[m.of] = m.by
		}
		for _, t := range w.shares {
			if t.of != one {
				v[t.row] += t.times * by[t.of]
			}
		}
		fill(len(pc.params)+1+c, func(of int) float64 { return by[of] })
		for _, m := range col.moves {
			by[m.of] = 0
		}
	}
	is.spend((len(pc.params) + 1 + len(s.columns)) * w.size * w.size)
	pc.prune()
	return pc
}

// prune leaves out the params that change no row: where nothing flows whatever the others do, or nothing that is looked at
// follows what flows.
func (pc *piece) prune() {
	n := len(pc.params)
	flows, counts := make([]bool, n), make([]bool, n)
	for k := range n {
		flows[k] = slices.ContainsFunc(pc.m[k*pc.cols+n:(k+1)*pc.cols], func(v float64) bool { return v != 0 })
		for r := n; r < pc.rows; r++ {
			counts[k] = counts[k] || pc.m[r*pc.cols+k] != 0
		}
	}
	for again := true; again; {
		again = false
		for k := range n {
			for j := range n {
				if pc.m[k*pc.cols+j] == 0 {
					continue
				}
				if flows[j] && !flows[k] {
					flows[k], again = true, true
				}
				if counts[k] && !counts[j] {
					counts[j], again = true, true
				}
			}
		}
	}
	var keep []int
	for k := range n {
		if flows[k] && counts[k] {
			keep = append(keep, k)
		}
	}
	if len(keep) == n {
		return
	}
	old := *pc
	pc.params, pc.span = nil, nil
	for _, k := range keep {
		pc.params, pc.span = append(pc.params, old.params[k]), append(pc.span, old.span[k])
	}
	pc.rows, pc.cols = old.rows-n+len(keep), old.cols-n+len(keep)
	pc.m = make([]float64, 0, pc.rows*pc.cols)
	for r := range old.rows {
		if r < n && !slices.Contains(keep, r) {
			continue
		}
		for _, k := range keep {
			pc.m = append(pc.m, old.m[r*old.cols+k])
		}
		pc.m = append(pc.m, old.m[r*old.cols+n:(r+1)*old.cols]...)
	}
}

// slack is how far a condition may be missed by rounding where the matrix is m: little against what it is made up of.
// margin is by how much it has to be met to be met for sure when the state is solved again.
func (pc *piece) slack(m []float64, row int) (slack, margin float64) {
	size := 0.0
	for _, v := range m[row*pc.cols+len(pc.params) : (row+1)*pc.cols] {
		size = max(size, math.Abs(v))
	}
	size = min(size, 100*pc.side.scale) // what a large resistance makes of a current is not what is reached
	return 1e-9*size + 1e-11, 1e-12*size + 2e-12
}

// reach is the range of a row over the right-hand side, at a state of the matrix m.
func (pc *piece) reach(m []float64, row int) (lo, hi float64) {
	return pc.side.over(m[row*pc.cols+len(pc.params) : (row+1)*pc.cols])
}
