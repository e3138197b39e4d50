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

// Deciding is the state of the causes that decide the low or the high end of Seen, the heaviest first: those that have
// more than one value by how far they can move it, then those that stand still and whose size it follows, by what one per
// cent of it does. What does less than a ten-thousandth of the end, one per cent of what stands still less than a
// millionth, is left out.
func (q Quantity) Deciding(high bool) []State {
	states := q.Witness(high)
	end := q.At(high, nil)
	size := math.Abs(end)
	if !(size < math.Inf(1)) {
		size = 0
	}
	still := func(s State) bool { return s.States == nil && s.Seen.Lo == s.Seen.Hi }
	var out []State
	for _, s := range states {
		least := 1e-4 * size
		if still(s) {
			least = 1e-6 * size
			s.Effect = math.Abs(q.At(high, map[string]float64{s.Name: s.Value * 1.01}) - end)
		}
		if s.Effect > least { // NaN compares false
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b State) int {
		switch x, y := still(a), still(b); {
		case x && !y:
			return 1
		case y && !x:
			return -1
		}
		return cmp.Compare(b.Effect, a.Effect)
	})
	return out
}
