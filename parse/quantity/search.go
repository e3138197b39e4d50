package quantity

import (
	"cmp"
	"math"
	"slices"
)

// A Search finds the ends of a function of causes by what it knows of the function, where visiting corners would take
// too long or prove nothing.
type Search func(b *Box) Ends

// A Box is where a Search looks: of each cause the values it may take, two for the ends of a range, one where nothing
// is left open, any number where it has States.
type Box struct {
	Causes []*Cause
	Values [][]float64
	Uses   [][]int // of each argument of the function: the causes it is a function of
	Seen   bool    // the ends are to be attained by what is known to be allowed

	q  *Quantity
	in []Quantity
}

// Ends are what a Search found.
type Ends struct {
	Interval            // attained at Low and High
	Low, High []float64 // of each cause: its value at the end; nil where no state was found
	Outer     Interval  // no state lies outside
	Weight    []float64 // of each cause: how far it moves the function somewhere
	Loose     bool      // Outer may be wider than what is attained
	Why       string    // for an end of Outer that nothing limits
}

// CalcBy is CalcStates with a search of its own for the ends.
func CalcBy(name string, u Unit, f func(x []float64) float64, search Search, in ...Quantity) Quantity {
	q := compose(name, u, f, in...)
	q.partial, q.search = true, search
	q.settle()
	return q
}

// Argument is an argument of the function where the causes have these values.
func (b *Box) Argument(i int, at []float64) float64 {
	sub := make([]float64, len(b.Uses[i]))
	for j, k := range b.Uses[i] {
		sub[j] = at[k]
	}
	return b.in[i].eval(sub)
}

// Arguments are all arguments of the function where the causes have these values.
func (b *Box) Arguments(at []float64) []float64 {
	x := make([]float64, len(b.Uses))
	for i := range x {
		x[i] = b.Argument(i, at)
	}
	return x
}

// Users are, of each cause, the arguments that are a function of it.
func (b *Box) Users() [][]int {
	users := make([][]int, len(b.Causes))
	for i, list := range b.Uses {
		for _, c := range list {
			users[c] = append(users[c], i)
		}
	}
	return users
}

// Count is how many combinations of their values some causes have; more than 2^32 are not told apart.
func (b *Box) Count(causes []int) int {
	n := 1
	for _, c := range causes {
		if n *= len(b.Values[c]); n > 1<<32 {
			return n
		}
	}
	return n
}

// Visit gives some causes every combination of their values in turn, in at, and calls f at each until it is false. The
// first is that of their first values, the last that of their last; at is left there.
func (b *Box) Visit(causes []int, at []float64, f func() bool) {
	for k := range b.Count(causes) {
		for _, c := range causes {
			v := b.Values[c]
			at[c] = v[k%len(v)]
			k /= len(v)
		}
		if !f() {
			return
		}
	}
}

// Value is the function where the causes have these values; NaN where that is no state.
func (b *Box) Value(at []float64) float64 { return b.q.eval(at) }

// Corners searches corners in the way that stands for a Search, with causes where fixed says; what it finds proves
// nothing about what lies between.
func (b *Box) Corners(fixed map[int]float64) Ends {
	s := b.q.corners(b.Values, fixed, b.Seen)
	return Ends{Interval: s.Interval, Low: s.low, High: s.top}
}

// Endless tells a value that stands for a range without an end.
func Endless(v float64) bool { return math.Abs(v) == endless }

// Beyond is what a value means at a corner with an endless cause: one that is large is without end as well.
func Beyond(v float64, at []float64) float64 {
	if math.Abs(v) > beyond && slices.ContainsFunc(at, Endless) {
		return math.Copysign(math.Inf(1), v)
	}
	return v
}

// searched asks the quantity's own search.
func (q *Quantity) searched(values [][]float64, seen bool) *corners {
	e := q.search(&Box{Causes: q.over, Values: values, Uses: q.uses, Seen: seen, q: q, in: q.in})
	s := &corners{Interval: e.Interval, q: q, cand: values, low: e.Low, top: e.High, found: &e.Interval}
	for i, w := range e.Weight {
		if !seen || q.over[i].States != nil {
			q.weight[i] = max(q.weight[i], w)
		}
	}
	q.Why[0], q.Why[1] = cmp.Or(q.Why[0], e.Why), cmp.Or(q.Why[1], e.Why)
	if !seen {
		q.Loose = q.Loose || e.Loose
		s.Interval = e.Outer
		if e.Low == nil {
			s.Interval = Everything
		}
	}
	return s
}
