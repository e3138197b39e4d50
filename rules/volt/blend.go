package volt

import (
	"math"
	"slices"
)

// blend adds to the bound what the reading may be in one piece. Conditions count as multiples of them do that are added to
// the reading: where they are met that is no less (the multiples are those of the linear program in the middle of the
// ranges; any others would hold as well, and prove less).
func (m *mix) blend(pc *piece, at []float64) {
	n := len(pc.params)
	middle, ok := pc.middle()
	if !ok {
		middle.m = pc.m
	}
	for i := range pc.of {
		slack, _ := pc.slack(middle.m, n+1+i)
		multiples := make([]float64, len(pc.of))
		multiples[i] = 1
		if m.under(pc.with(0, multiples), at, -slack) {
			return // it is met nowhere
		}
	}
	for _, sign := range [2]float64{-1, 1} {
		enough := m.found.Hi + m.near/2
		if sign < 0 {
			enough = -m.found.Lo + m.near/2
		}
		most := m.most(pc.with(sign, nil), at, enough, mostParams)
		if most > enough && len(pc.of) > 0 {
			if multiples, slack := m.multiples(pc, at, middle.m, sign); multiples != nil {
				most = min(most, slack+m.most(pc.with(sign, multiples), at, enough, mostParams))
			}
		}
		most += 1e-13 * max(1, math.Abs(most))
		if sign > 0 {
			m.proven.Hi = max(m.proven.Hi, most)
		} else {
			m.proven.Lo = min(m.proven.Lo, -most)
		}
	}
}

// with is the piece with one row only: times the reading, and multiples of the conditions.
func (pc *piece) with(times float64, multiples []float64) *piece {
	n := len(pc.params)
	row := make([]float64, pc.cols)
	for c := range row {
		row[c] = times * pc.m[n*pc.cols+c]
		for i, f := range multiples {
			if f != 0 {
				row[c] += f * pc.m[(n+1+i)*pc.cols+c]
			}
		}
	}
	return &piece{params: pc.params, span: pc.span, rows: n + 1, cols: pc.cols, m: append(slices.Clone(pc.m[:n*pc.cols]), row...), side: pc.side}
}

// multiples are what the conditions are worth to the largest reading (sign 1) or smallest, and how much their slack is;
// nil where they leave nothing, or cost nothing.
func (m *mix) multiples(pc *piece, at []float64, middle []float64, sign float64) (worth []float64, slack float64) {
	n := len(pc.params)
	s := m.sideAt(at)
	row := func(r int) []float64 { return m.fold(middle[r*pc.cols+n:(r+1)*pc.cols], s) }
	var limits []float64
	var slopes [][]float64
	for i := range pc.of {
		f := row(n + 1 + i)
		limits, slopes = append(limits, f[0]), append(slopes, f[1:])
	}
	for _, slope := range s.together() {
		limits, slopes = append(limits, 1), append(slopes, slope)
	}
	y := row(n)
	gain, t := make([]float64, len(s.columns)), make([]float64, len(s.columns))
	for c := range gain {
		gain[c] = sign * y[1+c]
	}
	var p program
	if _, ok := p.solve(sign*y[0], gain, limits, slopes, t); !ok {
		return nil, 0
	}
	worth = p.worth(limits, slopes)[:len(pc.of)]
	any := false
	for i, f := range worth {
		little, _ := pc.slack(middle, n+1+i)
		slack += f * little
		any = any || f > 0
	}
	if !any {
		return nil, 0
	}
	return worth, slack
}

// A blending bounds the one row that is left of a piece.
type blending struct {
	*mix
	pc     *piece
	at     []float64
	starts []float64 // of each param: its entry where the piece has it
	follow []int     // those that follow something shared
	active []sharedCause
	enough float64
	bound  float64
	asks   bool // only whether it is less than enough everywhere
}

// under tells that the row of a piece is less than so much everywhere.
func (m *mix) under(pc *piece, at []float64, enough float64) bool {
	b := m.blending(pc, at, enough)
	b.asks = true
	return b.run(mostParams) < enough
}

// most is what the row of a piece does not exceed. Where that is no more than enough, it may be less exact. It is infinite
// where more than so many params would have to be taken to their corners.
func (m *mix) most(pc *piece, at []float64, enough float64, params int) float64 {
	return m.blending(pc, at, enough).run(params)
}

func (m *mix) blending(pc *piece, at []float64, enough float64) *blending {
	b := &blending{mix: m, pc: pc, at: slices.Clone(at), enough: enough, bound: math.Inf(-1)}
	for i := range pc.params {
		b.starts = append(b.starts, pc.span[i].from)
	}
	follows := map[int]bool{}
	for i, k := range pc.params {
		if len(m.of[k]) > 0 {
			b.follow = append(b.follow, i)
		}
		for _, c := range m.of[k] {
			follows[c] = true
		}
	}
	for i, c := range m.shared {
		if follows[i] || c.moves {
			b.active = append(b.active, c)
		}
	}
	return b
}

// run bounds the row where no more than so many params have to be taken to their corners; else the bound is infinite.
func (b *blending) run(params int) float64 {
	st, ok := b.pc.middle()
	if !ok || b.failed {
		return math.Inf(1)
	}
	b.explore(st, params)
	return b.bound
}

// settled tells that what is left cannot change the answer.
func (b *blending) settled() bool { return math.IsInf(b.bound, 1) || b.asks && b.bound >= b.enough }

// explore bounds the row in a part of the box. Params that are not shared go to the end that is the higher one in the
// whole part, where that is certain; of those that are left, no more than so many, the heaviest goes to both of its ends,
// until what the rest could do is little enough.
func (b *blending) explore(st stand, params int) {
	pc := b.pc
	y := pc.reading()
	if b.failed = b.failed || !b.is.spend(4*len(pc.params)*len(pc.params)); b.failed || b.settled() {
		return
	}
	free := func(k int) bool { return st.r[k] > 0 && !slices.Contains(b.follow, k) }
	var u, w []float64
	for again := true; again; {
		again = false
		var ok, too bool
		if w, ok = pc.wander(st); !ok {
			w = nil
			break
		}
		if _, hi := pc.around(st, y, w); hi <= max(b.enough, b.bound) {
			b.bound = max(b.bound, hi)
			return
		}
		if u, too = pc.answers(st, y); !too {
			u = nil
			break
		}
		slopes := make([]float64, len(st.r)) // all of them before any param moves, which would leave w and u behind
		for k := range slopes {
			if free(k) {
				slopes[k] = pc.slope(st, y, k, w, u)
			}
		}
		for k, slope := range slopes {
			if slope == 0 {
				continue
			}
			if !pc.shift(st.m, k, math.Copysign(st.r[k], slope)) {
				b.bound = math.Inf(1)
				return
			}
			st.r[k], again = 0, true
		}
	}
	heaviest, most, left := -1, -1.0, 0
	for k, r := range st.r {
		if !free(k) {
			continue
		}
		left++
		weight := r * math.Abs(st.m[k*pc.cols+k])
		if u != nil {
			lo, hi := pc.reach(st.m, k)
			weight = r * (math.Abs(st.m[y*pc.cols+k]) + u[k]) * (max(math.Abs(lo), math.Abs(hi)) + w[k])
		}
		if weight > most {
			heaviest, most = k, weight
		}
	}
	switch {
	case left > params:
		b.bound = math.Inf(1)
	case left == 0:
		for _, k := range b.follow {
			if st.r[k] > 0 && !pc.shift(st.m, k, -(pc.span[k].to-pc.span[k].from)/2) {
				b.bound = math.Inf(1)
				return
			}
		}
		b.owners(0, st.m)
	default:
		half := (pc.span[heaviest].to - pc.span[heaviest].from) / 2
		for _, end := range [2]float64{half, -half} {
			next := stand{slices.Clone(st.m), slices.Clone(st.r), st.side}
			if !pc.shift(next.m, heaviest, end) {
				b.bound = math.Inf(1)
				return
			}
			next.r[heaviest] = 0
			b.explore(next, params)
		}
	}
}

// owners takes the causes that one shared coefficient has for itself to their corners.
func (b *blending) owners(i int, m []float64) {
	if i < len(b.follow) {
		b.b.Visit(b.alone[b.pc.params[b.follow[i]]], b.at, func() bool {
			b.owners(i+1, m)
			return !b.failed && !b.settled()
		})
		return
	}
	b.leaf(m)
}

// leaf bounds the row at one corner of all that is not shared.
func (b *blending) leaf(from []float64) {
	pc := b.pc
	n := len(pc.params)
	for _, c := range b.shared {
		b.at[c.cause] = c.from
	}
	first := b.sideAt(b.at)
	width := 1 + len(first.columns)
	nodes := 1
	var f form
	for _, c := range b.active {
		nodes *= len(c.nodes)
		f.dims = append(f.dims, len(c.nodes))
	}
	if b.failed = b.failed || !b.is.spend(nodes*(len(b.follow)+1)*(n+1)*pc.cols); b.failed {
		return
	}
	f.width, f.den, f.num = width, make([]float64, nodes), make([]float64, nodes*width)
	m := make([]float64, len(from))
	for node := range nodes {
		rest := node
		for _, c := range b.active {
			b.at[c.cause] = c.nodes[rest%len(c.nodes)]
			rest /= len(c.nodes)
		}
		copy(m, from)
		den := 1.0
		for _, i := range b.follow {
			q := b.is.work.params[pc.params[i]]
			delta := q.entry(b.b.Argument(q.input, b.at)) - b.starts[i]
			grows := 1 + delta*m[i*pc.cols+i] // the determinant, by that
			if !pc.shift(m, i, delta) {
				b.bound = math.Inf(1)
				return
			}
			den *= grows * b.divisor(pc.params[i])
		}
		f.den[node] = den
		here := b.sideAt(b.at)
		if !here.alike(first) {
			b.bound = math.Inf(1)
			return
		}
		num := f.num[node*width : (node+1)*width]
		for c, v := range b.fold(m[pc.reading()*pc.cols+n:(pc.reading()+1)*pc.cols], here) {
			num[c] = den * v
		}
	}
	f.side = first
	for d, c := range b.active {
		f.transform(d, c.inverse)
	}
	b.take(f, 0)
}

// divisor is what makes a polynomial of a param's entry, up to a factor that does not follow what is shared.
func (b *blending) divisor(k int) float64 {
	q := b.is.work.params[k]
	at := slices.Clone(b.at)
	out := 1.0
	for _, i := range b.below[k] {
		for _, c := range b.shared {
			at[c.cause] = c.from
		}
		c := b.shared[i].cause
		at[c] = b.at[c]
		out /= q.entry(b.mix.b.Argument(q.input, at))
	}
	return math.Abs(out)
}

// mostHalved is how often a range is halved in a row.
const mostHalved = 12

// take adds to the bound what the quotient may be over a form's box.
func (b *blending) take(f form, depth int) {
	most := f.quotient()
	if most <= max(b.enough, b.bound) || depth >= mostHalved || len(f.dims) == 0 || b.failed || !b.is.spend(len(f.den)*f.width*8) {
		b.bound = max(b.bound, most)
		return
	}
	d := depth % len(f.dims)
	b.take(f.half(d, false), depth+1)
	b.take(f.half(d, true), depth+1)
}
