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
	if !moves {
		e.Outer = e.Interval
	} else {
		e.Loose, e.Why = true, fmt.Sprintf("%d uncertain values decide it, too many to prove a limit with the sources that are among them", len(b.Causes))
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
