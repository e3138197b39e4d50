package quantity

import (
	"cmp"
	"math"
	"slices"
)

// Calc derives a quantity from others. Over each single argument, the others held anywhere in their ranges, f must be
// monotone (rising for some values of the others and falling for others is fine): then its extremes stand at corners.
// Missing inputs, grades, sources and shared causes are carried without f knowing. f must not keep its argument.
func Calc(name string, u Unit, f func(x []float64) float64, in ...Quantity) Quantity {
	q := compose(name, u, f, in...)
	q.settle()
	return q
}

// compose is the function of causes that a calculation is, its ends not yet worked out.
func compose(name string, u Unit, f func(x []float64) float64, in ...Quantity) Quantity {
	q := Quantity{Name: name, Unit: u}
	where := make([][]int, len(in))
	known := map[string]int{}
	for i, x := range in {
		q.partial = q.partial || x.partial
		q.Loose = q.Loose || x.Loose
		q.Why[0], q.Why[1] = cmp.Or(q.Why[0], x.Reason(false)), cmp.Or(q.Why[1], x.Reason(true))
		for _, c := range x.over {
			k, ok := known[c.Name]
			if !ok {
				k = len(q.over)
				known[c.Name] = k
				q.over = append(q.over, c)
			}
			where[i] = append(where[i], k)
		}
		for j, turns := range x.turns {
			for len(q.turns) < len(q.over) {
				q.turns = append(q.turns, nil)
			}
			q.turns[where[i][j]] = append(q.turns[where[i][j]], turns...)
		}
	}
	q.in, q.uses = in, where
	x := make([]float64, len(in))
	sub := make([]float64, len(q.over))
	q.eval = func(at []float64) float64 {
		for i := range in {
			for j, k := range where[i] {
				sub[j] = at[k]
			}
			x[i] = in[i].eval(sub[:len(where[i])])
		}
		return f(x)
	}
	return q
}

// CalcStates is Calc for a function whose NaN means "this combination is no state of the circuit" (a switch state that
// is excluded, a node that floats): such corners are passed over.
func CalcStates(name string, u Unit, f func(x []float64) float64, in ...Quantity) Quantity {
	return Calc(name, u, f, append(slices.Clip(in), Quantity{partial: true, eval: func([]float64) float64 { return 0 }})...)
}

// CalcTurning is Calc for a function of one quantity, which is its only cause plus a constant, that turns back where that
// quantity is turn: there it may have an extreme, as a parabola has.
func CalcTurning(name string, u Unit, f func(x float64) float64, turn float64, in Quantity) Quantity {
	q := compose(name, u, func(x []float64) float64 { return f(x[0]) }, in)
	if len(in.over) == 1 {
		c := in.over[0]
		q.turns = [][]float64{{c.Nom + turn - in.Nom}}
	}
	q.settle()
	return q
}

// Minus is a - b. Where one of them is not in doubt the ends of the other are moved, which saves the search.
func Minus(name string, a, b Quantity) Quantity {
	q := compose(name, a.Unit, func(x []float64) float64 { return x[0] - x[1] }, a, b)
	switch {
	case b.point():
		q.moved(a, false, func(v float64) float64 { return v - b.Nom })
	case a.point():
		q.moved(b, true, func(v float64) float64 { return a.Nom - v })
	default:
		q.settle()
		aLow, aHigh := a.unproven()
		bLow, bHigh := b.unproven()
		q.Sound.Lo, q.Sound.Hi = q.Sound.Lo-aLow-bHigh, q.Sound.Hi+aHigh+bLow
	}
	q.Grade = max(a.Grade, b.Grade)
	return q
}

// unproven is how far Sound goes beyond the corners that lie at its ends: what a search could not rule out, which the
// corners of a calculation do not show.
func (q *Quantity) unproven() (low, high float64) {
	if q.search == nil || !q.Loose {
		return 0, 0
	}
	beyond := func(at []float64, end, sign float64) float64 {
		if math.IsInf(end, 0) || at == nil {
			return math.Inf(1)
		}
		if far := sign * (end - q.eval(at)); far > 0 { // NaN compares false
			return far
		}
		return 0
	}
	return beyond(q.deep, q.Sound.Lo, -1), beyond(q.high, q.Sound.Hi, 1)
}

// point tells a number that is not in doubt.
func (q Quantity) point() bool {
	for i := range q.over {
		if len(q.candidates(i, false)) != 1 || q.over[i].Sound != q.over[i].Seen {
			return false
		}
	}
	return len(q.Needs) == 0 && !math.IsNaN(q.Nom)
}

// moved takes everything that settle works out from v, of which q is a shifted or mirrored copy.
func (q *Quantity) moved(v Quantity, mirrored bool, f func(float64) float64) {
	q.Nom, q.Needs = f(v.Nom), v.Needs
	ends := func(i Interval) Interval {
		switch {
		case i.Empty():
			return Nothing
		case mirrored:
			return Interval{f(i.Hi), f(i.Lo)}
		}
		return Interval{f(i.Lo), f(i.Hi)}
	}
	q.Sound, q.Seen = ends(v.Sound), ends(v.Seen)
	q.weight = make([]float64, len(q.over))
	at := make([]int, len(v.over)) // of a cause of v: its number here
	known := make(map[string]int, len(q.over))
	for i, c := range q.over {
		known[c.Name] = i
	}
	for i, c := range v.over {
		at[i] = known[c.Name]
	}
	spread := func(corner []float64) []float64 {
		if corner == nil {
			return nil
		}
		out := make([]float64, len(q.over))
		for i, c := range q.over {
			out[i] = c.Nom
		}
		for i, k := range at {
			out[k] = corner[i]
		}
		return out
	}
	for i, k := range at {
		q.weight[k] = v.weight[i]
	}
	if v.order != nil {
		for _, i := range v.order {
			q.order = append(q.order, at[i])
		}
	}
	q.deep = spread(v.deep)
	if q.low, q.top = spread(v.low), spread(v.top); mirrored {
		q.low, q.top, q.deep = q.top, q.low, spread(v.high)
	}
}

// settle works out everything that follows from over and eval.
func (q *Quantity) settle() {
	nom := make([]float64, len(q.over))
	same := true
	for i, c := range q.over {
		nom[i] = c.Nom
		same = same && c.Sound == c.Seen
	}
	q.Nom = q.eval(nom)
	q.weight = make([]float64, len(q.over))
	sound := q.hull(false, nil)
	q.Sound, q.deep = sound.Interval, sound.low
	q.high = sound.top
	q.Grade, q.Needs = Firm, nil
	var blind []int // causes that matter and that nobody has said
	for i, c := range q.over {
		if !q.matters(i) && sound.low != nil { // where no state was found, whatever is missing may be why
			continue
		}
		q.Grade = max(q.Grade, c.Grade)
		for _, n := range c.Needs {
			if !slices.Contains(q.Needs, n) {
				q.Needs = append(q.Needs, n)
			}
		}
		if c.Seen.Empty() {
			blind = append(blind, i)
		}
	}
	switch {
	case len(blind) > 0:
		q.unsaid(blind)
	case same:
		q.Seen, q.low, q.top = sound.attained(), sound.low, sound.top
	default:
		seen := q.hull(true, nil)
		q.Seen, q.low, q.top = seen.attained(), seen.low, seen.top
	}
	if q.low == nil {
		q.Seen = Nothing
	}
	if !q.Seen.Empty() {
		q.Sound = q.Sound.Union(q.Seen)
	}
	if q.crowded() {
		q.order = q.heaviest()
	}
}

// unsaid works out what is attained whatever the causes that nobody has said are. That needs each of them to have few
// states (the direction of a current): an end is then shown when it is reached, or passed, in every one of them.
func (q *Quantity) unsaid(blind []int) {
	q.Seen = Nothing
	n := 1
	for _, i := range blind {
		n *= len(q.over[i].States)
	}
	if n == 0 || n > 8 {
		return
	}
	fixed := map[int]float64{}
	both := Everything
	for c := range n {
		rest := c
		for _, i := range blind {
			s := q.over[i].States
			fixed[i] = s[rest%len(s)]
			rest /= len(s)
		}
		h := q.hull(true, fixed)
		if h.low == nil {
			q.low, q.top = nil, nil
			return
		}
		if lo := h.at(h.low); lo >= both.Lo {
			both.Lo, q.low = lo, h.low
		}
		if hi := h.at(h.top); hi <= both.Hi {
			both.Hi, q.top = hi, h.top
		}
	}
	if q.Seen = both; both.Empty() {
		q.Seen, q.low, q.top = Nothing, nil, nil
	}
}
