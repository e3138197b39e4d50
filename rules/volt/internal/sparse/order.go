package sparse

import "math"

// eliminationOrder orders the columns so that few entries come to be where there were none. It says in which row each column
// would best have its pivot, and how many entries the lower triangle takes at most if it has it there.
//
// First are the columns that have a zero on the diagonal, each with a neighbour of it (see contraction). Minimum degree on
// the pattern of A + A^T orders the others, except for those beside more than about ten times the square root of all, as a
// supply that everything hangs on: they would be looked at again for each of their neighbours, and are put last.
func eliminationOrder(a *columns) (order, natural []int32, fill int) {
	n := int32(a.n)
	order, natural = make([]int32, 0, n), make([]int32, n)
	for c := range natural {
		natural[c] = int32(c)
	}
	beside := a.neighbours()
	gone := make([]bool, n)
	for _, p := range a.contraction(beside) {
		i, with := p.column, p.with
		natural[i], natural[with] = with, i
		gone[i], gone[with] = true, true
		order = append(order, i, with)
		fill += p.fill
	}

	most := max(16, 10*math.Sqrt(float64(n)))
	inner := make([]int32, n) // number of a column among those that minimum degree orders
	var last, rest []int32
	for c := range n {
		inner[c] = none
		if gone[c] {
			continue
		}
		if float64(len(beside[c])) > most {
			last = append(last, c)
			continue
		}
		inner[c] = int32(len(rest))
		rest = append(rest, c)
	}
	g := graph{start: make([]int32, 0, len(rest)+1)}
	for _, c := range rest {
		g.start = append(g.start, int32(len(g.to)))
		for _, r := range beside[c] {
			if inner[r] != none {
				g.to = append(g.to, inner[r])
			}
		}
	}
	g.start = append(g.start, int32(len(g.to)))
	found, more := minimumDegree(g)
	for _, i := range found {
		order = append(order, rest[i])
	}
	order = append(order, last...)
	return order, natural, fill + more + len(last)*a.n
}

// neighbours are, for each column, the others that it shares an entry with on either side of the diagonal: the pattern of
// A + A^T.
func (a *columns) neighbours() [][]int32 {
	start := make([]int, a.n+1)
	for c := range a.n {
		for _, r := range a.row[a.start[c]:a.start[c+1]] {
			if int(r) != c {
				start[c+1]++
				start[r+1]++
			}
		}
	}
	for c := range a.n {
		start[c+1] += start[c]
	}
	all, beside := make([]int32, start[a.n]), make([][]int32, a.n)
	for c := range beside {
		beside[c] = all[start[c]:start[c]:start[c+1]]
	}
	for c := range a.n {
		for _, r := range a.row[a.start[c]:a.start[c+1]] {
			if int(r) != c {
				beside[c], beside[r] = append(beside[c], r), append(beside[r], int32(c))
			}
		}
	}
	once := newOnce(a.n)
	for c, rows := range beside {
		beside[c] = once.of(rows)
	}
	return beside
}

// once drops what a list has twice.
type once struct {
	seen []int32
	list int32
}

func newOnce(n int) *once { return &once{seen: make([]int32, n)} }

// of shortens a list in place.
func (o *once) of(list []int32) []int32 {
	o.list++
	kept := list[:0]
	for _, v := range list {
		if o.seen[v] != o.list {
			o.seen[v] = o.list
			kept = append(kept, v)
		}
	}
	return kept
}
