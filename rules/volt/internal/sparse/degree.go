package sparse

import "slices"

// A graph has the neighbours of node i in to[start[i]:start[i+1]], each once and not i itself, each edge at both of its
// ends.
type graph struct{ start, to []int32 }

// minimumDegree orders the nodes of a graph so that eliminating them one after the other joins few: always one with few
// neighbours left. It also says how many entries the lower triangle takes at most when it comes to be eliminated so.
//
// It is the approximate minimum degree of Amestoy, Davis and Duff (SIAM J. Matrix Anal. Appl. 17, 1996): what an eliminated
// node has joined is kept as one element, a list of its neighbours, instead of as edges; the degree is bounded from above by
// sums over the elements; nodes that have come to have the same neighbours are merged; an element that lies inside another is
// dropped.
func minimumDegree(g graph) (order []int32, fill int) {
	n := len(g.start) - 1
	q := &quotient{
		list:     slices.Grow(slices.Clone(g.to), len(g.to)),
		start:    slices.Clone(g.start[:n]),
		elements: make([]int32, n),
		length:   make([]int32, n),
		weight:   make([]int32, n),
		degree:   make([]int32, n),
		seen:     make([]int64, n),
		up:       make([]int32, n),
		state:    make([]nodeState, n),
		before:   make([]int32, n),
		after:    make([]int32, n),
		hash:     make([]uint32, n),
		bucket:   make([]int32, n),
		head:     make([]int32, n+1),
		left:     n,
		mark:     1,
	}
	for d := range q.head {
		q.head[d] = none
	}
	for i := range n {
		q.weight[i], q.up[i], q.bucket[i] = 1, none, none
		q.length[i] = g.start[i+1] - g.start[i]
		q.degree[i] = q.length[i]
		q.enter(int32(i))
	}
	for q.left > 0 {
		for q.head[q.least] == none {
			q.least++
		}
		fill += q.eliminate(q.head[q.least])
	}
	return q.order(), fill
}

const none = -1

type nodeState uint8

const (
	variable nodeState = iota // not yet eliminated
	merged                    // stands with another variable, or with the element that it became part of
	element                   // eliminated
	absorbed                  // an element that lies inside another
)

// A quotient is the quotient graph while it is being eliminated. Nodes are variables first and elements later.
type quotient struct {
	// The list of a variable: the elements it belongs to, as many as elements says, and then variables it is joined to by
	// edges that no element stands for. The list of an element: its variables.
	list                    []int32
	start, elements, length []int32

	weight []int32 // unknowns that a variable stands for; negative while it is in the element being made
	degree []int32 // of a variable: an upper bound of the unknowns beside it; of an element: unknowns in it
	up     []int32 // what a merged node, or an absorbed element, went into
	state  []nodeState
	left   int // unknowns not yet eliminated

	// Variables of one degree are chained; least is no larger than the smallest that there is.
	head, before, after []int32
	least               int32

	seen []int64 // of an element: mark plus what of it lies outside of the one being made
	mark int64

	hash   []uint32 // of a variable's list, for finding equal ones
	bucket []int32  // chains of variables with like hashes
}

func (q *quotient) enter(i int32) {
	d := q.degree[i]
	q.before[i], q.after[i] = none, q.head[d]
	if q.head[d] != none {
		q.before[q.head[d]] = i
	}
	q.head[d] = i
	q.least = min(q.least, d)
}

func (q *quotient) leave(i int32) {
	if q.before[i] == none {
		q.head[q.degree[i]] = q.after[i]
	} else {
		q.after[q.before[i]] = q.after[i]
	}
	if q.after[i] != none {
		q.before[q.after[i]] = q.before[i]
	}
}

// eliminate makes the variable p an element and returns what the columns of its unknowns take below the diagonal.
func (q *quotient) eliminate(p int32) int {
	q.leave(p)
	wide := q.gather(p)
	q.measure(p)
	wide = q.revise(p, wide)
	q.merge(p)
	q.finish(p, wide)
	k := int(q.weight[p])
	q.left -= k
	return k*int(wide) + k*(k-1)/2
}

// gather makes the list of the element p: the variables beside p by edges and by elements, which p swallows. It returns how
// many unknowns they are.
func (q *quotient) gather(p int32) int32 {
	var wide int32
	own := q.list[q.start[p] : q.start[p]+q.length[p]]
	from := int32(len(q.list))
	take := func(members []int32) {
		for _, i := range members {
			if w := q.weight[i]; w > 0 && i != p {
				wide += w
				q.weight[i] = -w
				q.leave(i)
				q.list = append(q.list, i)
			}
		}
	}
	for _, e := range own[:q.elements[p]] {
		if q.state[e] == element {
			take(q.list[q.start[e] : q.start[e]+q.length[e]])
			q.state[e], q.up[e] = absorbed, p
		}
	}
	take(own[q.elements[p]:])
	q.state[p] = element
	q.start[p], q.length[p] = from, int32(len(q.list))-from
	return wide
}

func (q *quotient) members(p int32) []int32 { return q.list[q.start[p] : q.start[p]+q.length[p]] }

// measure finds for each element that shares variables with p how many unknowns it has outside of p.
func (q *quotient) measure(p int32) {
	for _, i := range q.members(p) {
		w := int64(-q.weight[i])
		for _, e := range q.list[q.start[i] : q.start[i]+q.elements[i]] {
			if q.seen[e] >= q.mark {
				q.seen[e] -= w
			} else if q.state[e] == element {
				q.seen[e] = q.mark + int64(q.degree[e]) - w
			}
		}
	}
}

// revise shortens the lists of the variables of p, bounds their degrees outside of p, and lets those that have no neighbour
// outside go with p, which needs no elimination of their own. It returns how many unknowns are left in p's list.
func (q *quotient) revise(p, wide int32) int32 {
	for _, i := range q.members(p) {
		at := q.start[i]
		old, kept := q.list[at:at+q.length[i]], at
		var degree int32
		var hash uint32
		for _, e := range old[:q.elements[i]] {
			if q.state[e] != element {
				continue
			}
			if outside := q.seen[e] - q.mark; outside > 0 {
				degree += int32(outside)
				q.list[kept] = e
				kept++
				hash += uint32(e)
			} else {
				q.state[e], q.up[e] = absorbed, p
			}
		}
		count := kept - at
		for _, j := range old[q.elements[i]:] {
			if w := q.weight[j]; w > 0 && q.state[j] == variable {
				degree += w
				q.list[kept] = j
				kept++
				hash += uint32(j)
			}
		}
		if degree == 0 {
			w := -q.weight[i]
			wide -= w
			q.weight[p] += w
			q.weight[i] = 0
			q.state[i], q.up[i] = merged, p
			continue
		}
		// There is room for p: either an edge to p or an element that p swallowed has gone.
		if at+count < kept {
			q.list[kept] = q.list[at+count]
		}
		q.list[at+count] = p
		q.elements[i], q.length[i] = count+1, kept+1-at
		q.degree[i] = min(q.degree[i], degree)
		q.hash[i] = hash
	}
	return wide
}

// merge finds variables of p that have the same list, which makes them the same for good.
func (q *quotient) merge(p int32) {
	n := uint32(len(q.weight))
	members := q.members(p)
	for _, i := range members {
		if q.state[i] != variable {
			continue
		}
		slot := q.hash[i] % n
		q.after[i] = q.bucket[slot]
		q.bucket[slot] = i
	}
	for _, first := range members {
		if q.state[first] != variable {
			continue
		}
		slot := q.hash[first] % n
		i := q.bucket[slot]
		q.bucket[slot] = none
		for ; i != none; i = q.after[i] {
			if q.state[i] != variable || q.after[i] == none {
				continue
			}
			q.mark += int64(len(q.weight)) + int64(q.left) + 1
			mine := q.list[q.start[i] : q.start[i]+q.length[i]]
			for _, x := range mine {
				q.seen[x] = q.mark
			}
			for j := q.after[i]; j != none; j = q.after[j] {
				if q.state[j] == variable && q.hash[j] == q.hash[i] && q.length[j] == q.length[i] &&
					q.elements[j] == q.elements[i] && q.allSeen(j) {
					q.weight[i] += q.weight[j]
					q.weight[j] = 0
					q.state[j], q.up[j] = merged, i
				}
			}
		}
	}
	q.mark += int64(len(q.weight)) + int64(q.left) + 1
}

func (q *quotient) allSeen(j int32) bool {
	for _, x := range q.list[q.start[j] : q.start[j]+q.length[j]] {
		if q.seen[x] != q.mark {
			return false
		}
	}
	return true
}

// finish puts the variables of p back among the others, with their new degrees.
func (q *quotient) finish(p, wide int32) {
	kept := q.start[p]
	left := int32(q.left) - q.weight[p]
	for _, i := range q.members(p) {
		if q.state[i] != variable {
			continue
		}
		w := -q.weight[i]
		q.weight[i] = w
		q.degree[i] = min(q.degree[i]+wide-w, left-w)
		q.enter(i)
		q.list[kept] = i
		kept++
	}
	q.length[p] = kept - q.start[p]
	q.list = q.list[:kept]
	q.degree[p] = wide
}

// order lists the nodes element by element, those that an element swallowed before it, so that columns of like pattern
// stand together.
func (q *quotient) order() []int32 {
	n := len(q.state)
	// Chains of what goes with an element: merged nodes, and elements inside of it.
	child, next := make([]int32, n), make([]int32, n)
	for i := range child {
		child[i] = none
	}
	for i := n - 1; i >= 0; i-- {
		if u := q.up[i]; u != none {
			next[i] = child[u]
			child[u] = int32(i)
		}
	}
	out := make([]int32, 0, n)
	var with []int32 // a stack for a node and what was merged into it
	emit := func(p int32) {
		with = append(with[:0], p)
		for len(with) > 0 {
			i := with[len(with)-1]
			with = with[:len(with)-1]
			out = append(out, i)
			for c := child[i]; c != none; c = next[c] {
				if q.state[c] == merged {
					with = append(with, c)
				}
			}
		}
	}
	at := slices.Clone(child)
	var path []int32
	for root := range n {
		if q.state[root] != element {
			continue
		}
		path = append(path[:0], int32(root))
		for len(path) > 0 {
			p := path[len(path)-1]
			c := at[p]
			for c != none && q.state[c] != absorbed {
				c = next[c]
			}
			if c == none {
				path = path[:len(path)-1]
				emit(p)
				continue
			}
			at[p] = next[c]
			path = append(path, c)
		}
	}
	return out
}
