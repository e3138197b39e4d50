package volt

import (
	"maps"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A param is a number that stands in the matrix once, and that may vary: as a conductance between two nodes, as the
// resistance in a row that names a current, or as a gain.
type param struct {
	input int
	row   int // of a resistance: the row of its current; -1: a conductance
	a, b  int // of a conductance: its nodes
	state int // input: it stands there at 1; -1: always
	diode int // it stands there while this diode conducts; -1: always

	gains bool // a gain, in the row: of what node a is above b and, an input, above
	above int
	sign  float64
}

// The role of an input in the equations.
type role uint8

const (
	known  role = iota // on the right-hand side
	shapes             // in the matrix
	states             // which equations there are
)

// roles says which inputs are what, and what stands in the matrix.
func (is *island) roles() {
	w := is.work
	w.role = make([]role, len(is.inputs))
	w.times = make([]int, len(is.inputs))
	add := func(p param) {
		w.role[p.input] = shapes
		w.times[p.input]++
		w.params = append(w.params, p)
	}
	for i, r := range is.resistors {
		if r.state >= 0 {
			w.role[r.state] = states
		}
		if r.ohms >= 0 && (r.a != r.b || w.rowOf[i] >= 0) {
			add(param{input: r.ohms, row: w.rowOf[i], a: r.a, b: r.b, state: r.state, diode: -1})
		}
	}
	for i, d := range is.diodes {
		if d.ohms >= 0 {
			add(param{input: d.ohms, row: w.diodeRow + i, a: d.anode, b: d.cathode, state: -1, diode: i})
		}
	}
	for i, c := range is.controls {
		if c.varies() {
			add(param{input: c.gain, row: w.ctrlRow + i, a: c.p, b: c.n, state: -1, diode: -1, gains: true, above: c.above, sign: c.sign})
		}
	}
	for _, c := range is.currents {
		if c.idle >= 0 {
			w.role[c.idle] = states
		}
	}
	if is.swing >= 0 {
		w.role[is.swing] = states
	}
}

// entry is what a param adds to the matrix when its input has this value.
func (p param) entry(v float64) float64 {
	if p.gains {
		return -p.sign * v
	}
	if p.row >= 0 {
		return -atLeast(v)
	}
	return 1 / atLeast(v)
}

// stands tells that a param is in the matrix while switches and diodes are as they are.
func (w *work) stands(p param, x []float64) bool {
	return !(p.state >= 0 && x[p.state] == 0 || p.diode >= 0 && !w.on[p.diode])
}

// A plan sorts the causes of a bound by how their ends are found: every combination of what decides which equations
// there are, or moves several of their coefficients, is looked at by itself (outer); a cause of a single coefficient
// belongs to that (own); causes of the right-hand side alone go into its columns.
type plan struct {
	is     *island
	b      *quantity.Box
	r      reading
	outer  []int
	own    [][]int // of each param: its causes
	right  []int
	all    bool  // all states of the diodes are looked at
	shared []int // of outer: those that move several coefficients, between whose ends the reading may turn
	dying  bool  // one of them moves a current that may die

	// Of an outer cause that does nothing but move a current that may die: the parts of its range in which the current flows
	// one way, or not at all. Each begins with the value that stands for it among the combinations, and in each the cause
	// belongs to the right-hand side.
	parts map[int][][]float64
}

// most combinations of outer causes that are looked at.
const mostOuter = 1 << 11

func (is *island) plan(b *quantity.Box, r reading) (*plan, bool) {
	w := is.work
	own := *b
	own.Values = slices.Clone(b.Values)
	b = &own
	p := &plan{is: is, b: b, r: r, own: make([][]int, len(w.params)), parts: map[int][][]float64{}}
	uses := b.Users()
	dies := is.mortal()
	total := 1
	for c, values := range b.Values {
		if len(values) < 2 {
			continue
		}
		kind, shape := known, 0
		dying := false
		for _, i := range uses[c] {
			if i >= len(is.inputs) { // where something floats: for the corners to say
				continue
			}
			kind = max(kind, w.role[i])
			shape += w.times[i]
			dying = dying || dies[i]
		}
		whole := kind == states || dying || kind == known && len(uses[c]) > 0 && slices.ContainsFunc(values, quantity.Endless) || shape > 1 || shape == 1 && len(uses[c]) > 1
		if dying && kind == known && shape == 0 && b.Causes[c].States == nil && !slices.ContainsFunc(values, quantity.Endless) && !p.bends(c) {
			p.parts[c] = is.flows(values[0], values[len(values)-1])
			b.Values[c] = nil
			for _, part := range p.parts[c] {
				b.Values[c] = append(b.Values[c], part[0])
			}
			p.outer = append(p.outer, c)
			if total *= len(p.parts[c]); total > mostOuter {
				return nil, false
			}
			continue
		}
		bends := !whole && shape == 0 && len(uses[c]) > 0 && p.bends(c)
		switch {
		case whole || bends:
			if bends || shape > 0 && kind != states && b.Causes[c].States == nil {
				p.shared, p.dying = append(p.shared, c), p.dying || dying
			}
			p.outer = append(p.outer, c)
			if total *= len(values); total > mostOuter {
				return nil, false
			}
		case shape == 1:
			k := slices.IndexFunc(w.params, func(q param) bool { return q.input == uses[c][0] })
			p.own[k] = append(p.own[k], c)
		case len(uses[c]) > 0:
			p.right = append(p.right, c)
		}
	}
	return p, true
}

// leastFlow is the part of the range of a current that flows below which it is not looked at, unless the inputs around it
// draw more: a current that is no more than that is none that a load drives. What less of it might add to an end is added.
const leastFlow, mostFaded = 1e-4, 0.1

// faint is the part of a current's range that is faint, where the largest is so many amperes.
func (is *island) faint(most float64) float64 {
	drawn := 0.0
	for _, c := range is.currents {
		if q := is.inputs[c.amps].Sound; c.drive == unsaidOn && c.idle < 0 && !math.IsInf(q.Width(), 0) {
			drawn += max(math.Abs(q.Lo), math.Abs(q.Hi))
		}
	}
	return math.Abs(most) * min(max(leastFlow, 2*drawn/math.Abs(most)), mostFaded)
}

// flows are the parts of a current's range in which it flows one way, does not flow, and flows the other way.
func (is *island) flows(lo, hi float64) (parts [][]float64) {
	if lo < 0 {
		parts = append(parts, []float64{lo, min(hi, -is.faint(lo))})
	}
	if lo <= 0 && hi >= 0 {
		parts = append(parts, []float64{0})
	}
	if hi > 0 {
		parts = append(parts, []float64{hi, max(lo, is.faint(hi))})
	}
	return parts
}

// fades tells a part of a range in which the current goes on to nothing.
func (p *plan) fades(c int, part []float64) bool {
	return slices.ContainsFunc(p.parts[c], func(o []float64) bool { return len(o) == 1 && o[0] == 0 }) && part[0] != 0
}

// partOf is the part of such a cause's range that a value is in: by its sign, where it is no end.
func (p *plan) partOf(c int, v float64) []float64 {
	parts := p.parts[c]
	if i := slices.IndexFunc(parts, func(part []float64) bool { return part[0] == v }); i >= 0 {
		return parts[i]
	}
	for _, part := range parts {
		if v < 0 == (part[0] < 0) && part[0] != 0 {
			return part
		}
	}
	return parts[0]
}

// part lets the causes of currents that may die go over the part of their range that stands in at, and returns what takes
// that back.
func (p *plan) part(at []float64) (whole func()) {
	if len(p.parts) == 0 {
		return func() {}
	}
	values, right := slices.Clone(p.b.Values), p.right
	for _, c := range slices.Sorted(maps.Keys(p.parts)) {
		part := p.partOf(c, at[c])
		at[c], p.b.Values[c] = part[0], part
		if len(part) > 1 {
			p.right = append(slices.Clip(p.right), c)
		}
	}
	return func() { copy(p.b.Values, values); p.right = right }
}

// bends tells a cause that moves several known values, and one of them not in proportion: together they may have an
// extreme where none of them has one.
func (p *plan) bends(c int) bool {
	if p.b.Causes[c].States != nil {
		return false
	}
	known, curved := 0, false
	one := p.share(c)
	at := p.inside()
	for _, of := range p.knownOf([]int{c}) {
		switch d := one.degreeOf(at, func() float64 { return p.knownAt(of, at) }); {
		case p.is.onlyScales(of):
		case d != 0:
			known, curved = known+1, curved || d != 1
		}
	}
	return known > 1 && curved
}

// inside are values of the causes at which nothing vanishes by chance.
func (p *plan) inside() []float64 {
	at := make([]float64, len(p.b.Values))
	for i, v := range p.b.Values {
		if at[i] = v[0]; p.b.Causes[i].States == nil {
			at[i] += 0.618 * (v[len(v)-1] - v[0])
		}
	}
	return at
}

// onlyScales tells an input that is nothing but the resistance of a declared current, which counts as their product.
func (is *island) onlyScales(of int) bool {
	return slices.ContainsFunc(is.balanced, func(b balance) bool { return b.ohms == of })
}

// cost is about what it takes to reduce every piece there may be, in multiplications. It settles whether all states of
// the diodes are looked at.
func (p *plan) cost() float64 {
	w := p.is.work
	each := float64(p.b.Count(p.outer)) * float64(factoring(w.size)+(len(w.params)+len(p.right)+1)*w.size*w.size)
	live := len(p.is.live())
	all := math.Exp2(float64(live)) * each
	if p.all = live <= allStates || live <= mostAll && all <= mostEffort/4; p.all {
		return all
	}
	return mostStates * each
}

// mortal are the inputs whose current a load drives that may die behind an open switch: whether there is any is another
// state.
func (is *island) mortal() map[int]bool {
	out := map[int]bool{}
	if !slices.Contains(is.work.role, states) {
		return out
	}
	for _, b := range is.balanced {
		if b.drive != unsaidOn {
			out[b.amps] = true
		}
	}
	for _, c := range is.currents {
		if c.idle >= 0 {
			out[c.amps] = true
		}
	}
	return out
}

// combinations calls f with every combination of the outer causes, the others at their first value. f must not keep at.
func (p *plan) combinations(f func(at []float64) bool) {
	at := make([]float64, len(p.b.Values))
	for i, v := range p.b.Values {
		at[i] = v[0]
	}
	p.b.Visit(p.outer, at, func() bool { return f(at) })
}

// A span is what a param may be at one combination of the outer causes, as entries of the matrix, and the values of its
// own causes there.
type span struct {
	from, to     float64
	atFrom, atTo []float64
}

// span goes over the corners of a param's own causes.
func (p *plan) span(k int, at []float64) span {
	q := p.is.work.params[k]
	own := p.own[k]
	s := span{from: math.Inf(1), to: math.Inf(-1)}
	saved := make([]float64, len(own))
	for i, c := range own {
		saved[i] = at[c]
	}
	p.b.Visit(own, at, func() bool {
		v := q.entry(p.b.Argument(q.input, at))
		here := func() []float64 {
			out := make([]float64, len(own))
			for i, c := range own {
				out[i] = at[c]
			}
			return out
		}
		if v < s.from {
			s.from, s.atFrom = v, here()
		}
		if v > s.to {
			s.to, s.atTo = v, here()
		}
		return true
	})
	for i, c := range own {
		at[c] = saved[i]
	}
	if math.Abs(s.to) < math.Abs(s.from) { // from what leaves the others most to say, lest digits are lost
		s = span{s.to, s.from, s.atTo, s.atFrom}
	}
	return s
}
