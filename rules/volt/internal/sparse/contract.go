package sparse

import "slices"

// A pair is a column whose diagonal is zero with another: each is to have its pivot in the row of the other. Fill is how many
// entries they take below the diagonal, about.
type pair struct {
	column, with int32
	fill         int
}

// contraction finds pairs for columns whose diagonal is zero, to be eliminated first in the order that it gives, and changes
// the lists of neighbours to what they are thereafter.
//
// Such a column comes with the equation of a source between two nodes, v_a - v_b = V, and is its current: it stands
// in the rows of a and b only. By itself, minimum degree would take it for one that joins a and b, and take a later column's
// pivot for it. In a pair with a it is what it is in the circuit: the equation gives v_a by v_b, the two nodes become one, and
// b inherits the neighbours of a. No two neighbours of a are joined, as they would be had a been eliminated by its diagonal.
func (a *columns) contraction(beside [][]int32) []pair {
	var pairs []pair
	var gone []bool
	var single *once
	// What may be added to the lists of neighbours. A pair joins all that are beside the one with all that are beside the other; it
	// is not worth it where both are many.
	room := 4*len(a.row) + 64
	for i := range int32(a.n) {
		if a.at(i, i) != 0 {
			continue
		}
		if single == nil {
			single, gone = newOnce(a.n), make([]bool, a.n)
		}
		if gone[i] {
			continue
		}
		tidy := func(c int32) {
			beside[c] = single.of(slices.DeleteFunc(beside[c], func(r int32) bool { return gone[r] || r == c }))
		}
		tidy(i)
		with := int32(none)
		for _, r := range beside[i] {
			// Either both stand in the row of the other or neither did before others were eliminated.
			if (a.at(r, i) == 0) != (a.at(i, r) == 0) {
				continue
			}
			if with == none || len(beside[r]) < len(beside[with]) {
				with = r
			}
		}
		if with == none {
			continue
		}
		tidy(with)
		adds := 2 * (len(beside[i]) - 1) * (len(beside[with]) - 1)
		if adds > room {
			continue
		}
		room -= adds
		gone[i], gone[with] = true, true
		for _, b := range beside[i] {
			for _, r := range beside[with] {
				if b != with && r != i && b != r {
					beside[b], beside[r] = append(beside[b], r), append(beside[r], b)
				}
			}
		}
		pairs = append(pairs, pair{i, with, len(beside[i]) + len(beside[with])})
	}
	if len(pairs) > 0 {
		for c := range beside {
			beside[c] = single.of(slices.DeleteFunc(beside[c], func(r int32) bool { return gone[r] }))
		}
	}
	return pairs
}

// at is the entry at a place, 0 where there is none.
func (a *columns) at(row, col int32) float64 {
	from := a.start[col]
	k, is := slices.BinarySearch(a.row[from:a.start[col+1]], row)
	if !is {
		return 0
	}
	return a.value[int(from)+k]
}
