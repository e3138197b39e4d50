package volt

import (
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// An ascent looks for the ends of a reading on an island with more uncertain values than can be enclosed one by one: it
// goes to the corner that the signs of all sensitivities point to, works them out again there, and so on until they
// point to where it stands. Each round costs one factoring, a solve and an adjoint solve (S. W. Director, R. A. Rohrer,
// 1969). What it finds is attained, and proves nothing about the rest.
type ascent struct {
	is     *island
	b      *quantity.Box
	r      reading
	weight []float64
	uses   [][]int // of each cause: the inputs that follow it
}

// rounds is how often an ascent may change its direction.
const rounds = 6

// large finds the ends on a large island; ok is false where switches or other discrete causes stand on it.
func (is *island) large(r reading, b *quantity.Box) (quantity.Ends, bool) {
	a := &ascent{is: is, b: b, r: r, weight: make([]float64, len(b.Causes)), uses: b.Users()}
	at := make([]float64, len(b.Values))
	moves := false
	for c, v := range b.Values {
		if b.Causes[c].States != nil && len(v) > 1 && len(a.uses[c]) > 0 {
			return quantity.Ends{}, false
		}
		at[c] = v[0]
		if nom := b.Causes[c].Nom; nom >= v[0] && nom <= v[len(v)-1] {
			at[c] = nom
		}
		moves = moves || len(v) > 1
	}
	e := quantity.Ends{Weight: a.weight, Outer: quantity.Everything}
	e.Low, e.High = at, at
	// Where all that counts is seen as well, this search is the only one.
	same := !slices.ContainsFunc(b.Causes, func(c *quantity.Cause) bool { return c.Sound != c.Seen })
	if moves && (b.Seen || same) {
		e.Low, e.High = a.climb(at, -1), a.climb(at, 1)
	}
	lo, hi := quantity.Beyond(b.Value(e.Low), e.Low), quantity.Beyond(b.Value(e.High), e.High)
	if math.IsNaN(lo) || math.IsNaN(hi) {
		return quantity.Ends{}, true
	}
	e.Interval = quantity.Interval{Lo: min(lo, hi), Hi: max(lo, hi)}
	a.sensitivities(e.High)
	switch outer, ok := is.passive(r, b); {
	case !moves:
		e.Outer = e.Interval
	case ok:
		e.Outer, e.Loose = outer.Union(e.Interval), true
	default:
		e.Loose = true
		e.Why = fmt.Sprintf("%d uncertain values decide it, too many to prove a limit with the sources that are among them", len(b.Causes))
	}
	return e, true
}

// climb goes to the end that the sensitivities point to.
func (a *ascent) climb(at []float64, sign float64) []float64 {
	best := slices.Clone(at)
	value := sign * a.b.Value(best)
	for range rounds {
		slope := a.sensitivities(best)
		if slope == nil {
			break
		}
		next := slices.Clone(best)
		for c, v := range a.b.Values {
			if len(v) < 2 {
				continue
			}
			if next[c] = v[0]; sign*slope[c] > 0 {
				next[c] = v[len(v)-1]
			}
		}
		if slices.Equal(next, best) {
			break
		}
		v := sign * a.b.Value(next)
		if !(v > value) && !math.IsNaN(value) {
			break
		}
		best, value = next, v
	}
	return best
}

// sensitivities are those of the reading to each cause where the causes have these values; nil where there is no answer.
// The adjoint answer tells what a share in any row does to the reading.
func (a *ascent) sensitivities(at []float64) []float64 {
	is, w := a.is, a.is.work
	x := a.b.Arguments(at)
	if math.IsNaN(is.read(a.r, x)) {
		return nil
	}
	adjoint := make([]float64, w.size)
	for _, t := range a.r.function(x).unknown {
		adjoint[t.of] += t.times
	}
	w.lu.SolveTransposed(adjoint, adjoint)
	is.spend(w.size)
	byInput := make([]float64, len(x))
	for _, t := range a.r.function(x).known {
		byInput[t.of] += t.times
	}
	n := len(is.inputs)
	for _, s := range w.shares {
		switch g := adjoint[s.row] * s.times; {
		case s.of == one:
		case s.of < n:
			byInput[s.of] += g
		default:
			b := is.balanced[s.of-n]
			byInput[b.amps] += g * x[b.ohms]
			byInput[b.ohms] += g * x[b.amps]
		}
	}
	node := func(k int) (v, back float64) {
		if k < 0 {
			return x[^k], 0
		}
		return w.x[k], adjoint[k]
	}
	for _, p := range w.params {
		switch {
		case !w.stands(p, x):
		case p.gains:
			va, _ := node(p.a)
			vb, _ := node(p.b)
			byInput[p.input] += adjoint[p.row] * p.sign * (va - vb + x[p.above])
		case p.row >= 0:
			byInput[p.input] += adjoint[p.row] * w.x[p.row]
		default:
			va, la := node(p.a)
			vb, lb := node(p.b)
			g := 1 / atLeast(x[p.input])
			byInput[p.input] += (la - lb) * (va - vb) * g * g
		}
	}
	slope := make([]float64, len(at))
	for c, v := range a.b.Values {
		if len(v) < 2 {
			continue
		}
		from, to := v[0], v[len(v)-1]
		was := at[c]
		for _, i := range a.uses[c] {
			if i >= n || byInput[i] == 0 {
				continue
			}
			at[c] = from
			low := a.b.Argument(i, at)
			at[c] = to
			slope[c] += byInput[i] * (a.b.Argument(i, at) - low)
		}
		at[c] = was
		a.weight[c] = max(a.weight[c], math.Abs(slope[c]))
	}
	return slope
}

// passive bounds a reading of an island of positive resistances and diodes between held nets: no node is higher than the
// highest of them or lower than the lowest, since what flows out of the highest node flows in nowhere (the maximum
// principle of resistive networks: P. G. Doyle, J. L. Snell, "Random Walks and Electric Networks", 1.2.2). Currents that
// are driven into nodes lift them, each by no more than it times the resistance that its own node shows with every
// resistance at its largest (Rayleigh's monotonicity law, the same book, 1.4); that holds without diodes.
func (is *island) passive(r reading, b *quantity.Box) (quantity.Interval, bool) {
	w := is.work
	if len(is.sources)+len(is.balanced)+len(is.controls)+len(is.clips) > 0 || len(is.currents) > 0 && len(is.diodes) > 0 || len(is.currents) > 64 {
		return quantity.Everything, false
	}
	most := make([]float64, len(b.Uses))
	span := make([]quantity.Interval, len(b.Uses))
	at := make([]float64, len(b.Values))
	for i, uses := range b.Uses {
		span[i] = quantity.Nothing
		if b.Count(uses) > 64 {
			return quantity.Everything, false
		}
		b.Visit(uses, at, func() bool {
			span[i] = span[i].Union(quantity.Point(b.Argument(i, at)))
			return true
		})
		most[i] = span[i].Hi
		if quantity.Endless(span[i].Lo) {
			span[i].Lo = math.Inf(-1)
		}
		if quantity.Endless(span[i].Hi) {
			span[i].Hi = math.Inf(1)
		}
	}
	for _, p := range w.params {
		if span[p.input].Lo < 0 {
			return quantity.Everything, false
		}
	}
	reach := quantity.Nothing
	for _, k := range is.held {
		reach = reach.Union(span[k])
	}
	if reach.Empty() {
		return quantity.Everything, false
	}
	if len(is.currents) > 0 {
		is.joinGroups(most)
		w.least = least
		is.write(most)
		if !w.factor() {
			return quantity.Everything, false
		}
		w.last = nil
		v := make([]float64, w.size)
		for _, c := range is.currents {
			clear(v)
			v[c.into] = 1
			w.lu.Solve(v, v)
			i := span[c.amps]
			if c.sign < 0 {
				i = i.Mirrored()
			}
			reach.Lo, reach.Hi = reach.Lo+min(0, i.Lo)*v[c.into], reach.Hi+max(0, i.Hi)*v[c.into]
		}
	}
	var out quantity.Interval
	for _, t := range r {
		if t.times == 0 {
			continue
		}
		if t.at >= len(is.names) {
			return quantity.Everything, false // a current
		}
		here := reach
		if t.at < 0 {
			here = span[^t.at]
		}
		a, b := t.times*here.Lo, t.times*here.Hi
		out.Lo, out.Hi = out.Lo+min(a, b), out.Hi+max(a, b)
	}
	return out, true
}
