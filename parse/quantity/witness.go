package quantity

import (
	"cmp"
	"math"
	"slices"
)

// Corner is what other quantities are in the state that attains the low or the high end of Seen: causes that they share
// with q stand as they do there, others at their nominal. ok is false where no state attains that end.
func (q Quantity) Corner(high bool, of []Quantity) (values []float64, ok bool) {
	corner := q.low
	if high {
		corner = q.top
	}
	if corner == nil {
		return nil, false
	}
	at := make(map[string]float64, len(corner))
	for i, c := range q.over {
		at[c.Name] = corner[i]
	}
	for _, o := range of {
		v := make([]float64, len(o.over))
		for i, c := range o.over {
			if v[i], ok = at[c.Name]; !ok {
				v[i] = c.Nom
			}
		}
		values = append(values, o.eval(v))
	}
	return values, true
}

// Deciding is the state of the causes that an end of Seen is worked out from by hand, the heaviest first: those that move it,
// by how far each does from one of its values to another; then those in proportion to which it grows or shrinks, by how much
// of it that is. What does less than a ten-thousandth of the end is left out, and what does next to nothing of what the
// heaviest does: rounding.
func (q Quantity) Deciding(high bool) []State {
	end := q.At(high, nil)
	least := 1e-4 * math.Abs(end)
	if !(least < math.Inf(1)) {
		least = 0
	}
	var moves, scales []State
	all := q.Witness(high)
	if len(all) > 0 && all[0].Effect < math.Inf(1) { // at an end of 0, too
		least = max(least, 1e-9*all[0].Effect)
	}
	for _, s := range all {
		if s.Effect > least || q.crowded() {
			moves = append(moves, s)
			continue
		}
		if s.States == nil && !q.crowded() { // one per cent of it, a hundred times
			s.Effect = 100 * math.Abs(q.At(high, map[string]float64{s.Name: s.Value * 1.01})-end)
		}
		if s.Effect > least { // NaN compares false
			scales = append(scales, s)
		}
	}
	slices.SortStableFunc(scales, func(a, b State) int { return cmp.Compare(b.Effect, a.Effect) })
	return append(moves, scales...)
}
