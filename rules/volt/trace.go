package volt

import "container/heap"

// path is the way of least resistance, in names of branches and nodes, from a node through what conducts in the last
// solution to a held net.
func (is *island) path(from int) []string {
	type edge struct {
		a, b int
		ohms float64
		what string
	}
	x := is.work.last
	var edges []edge
	for _, r := range is.resistors {
		if r.state < 0 || x[r.state] == 1 {
			edges = append(edges, edge{r.a, r.b, is.value(r.ohms, x, 0), r.what})
		}
	}
	for k, d := range is.diodes {
		if is.work.on[k] {
			edges = append(edges, edge{d.anode, d.cathode, 0, d.what})
		}
	}
	for _, b := range is.sources {
		edges = append(edges, edge{b.a, b.b, 0, b.what})
	}
	for _, b := range is.balanced {
		edges = append(edges, edge{b.from, b.to, 0, b.what})
	}
	for _, c := range is.controls {
		if !c.current {
			edges = append(edges, edge{c.a, c.b, 0, c.what})
		}
	}
	for _, c := range is.clips {
		edges = append(edges, edge{c.out, ^is.held[0], 0, "output of " + c.what})
	}
	at := map[int][]int{} // of a node: its edges
	for i, e := range edges {
		at[e.a], at[e.b] = append(at[e.a], i), append(at[e.b], i)
	}
	best := map[int]float64{from: 0}
	came := map[int]edge{}
	q := &nodeHeap{{from, 0}}
	for q.Len() > 0 {
		near := heap.Pop(q).(nodeAt)
		if near.ohms > best[near.node] {
			continue
		}
		if near.node < 0 {
			return is.walked(near.node, from, func(n int) (int, string) {
				e := came[n]
				if e.a == n {
					return e.b, e.what
				}
				return e.a, e.what
			})
		}
		for _, i := range at[near.node] {
			e := edges[i]
			to := e.b
			if e.b == near.node {
				to = e.a
			}
			if d, ok := best[to]; !ok || near.ohms+e.ohms < d {
				best[to], came[to] = near.ohms+e.ohms, e
				heap.Push(q, nodeAt{to, near.ohms + e.ohms})
			}
		}
	}
	return []string{is.names[from]}
}

// walked lists a found way from its start to its end.
func (is *island) walked(end, start int, before func(int) (int, string)) []string {
	out := []string{is.heldName(end)}
	for n := end; n != start; {
		prev, what := before(n)
		out = append([]string{is.names[prev], what}, out...)
		n = prev
	}
	return out
}

func (is *island) heldName(node int) string {
	found, name := none, "0"
	for n, k := range is.held { // of nets that a wire joins the one that something holds itself, and else the first
		if ^k != node {
			continue
		}
		if own, known := is.s.rail(n), found != none && is.s.rail(found); found == none || own && !known || own == known && n < found {
			found, name = n, is.s.d.Circuit.NetName(n)
		}
	}
	return name
}

type nodeAt struct {
	node int
	ohms float64
}

type nodeHeap []nodeAt

func (h nodeHeap) Len() int           { return len(h) }
func (h nodeHeap) Less(i, j int) bool { return h[i].ohms < h[j].ohms }
func (h nodeHeap) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *nodeHeap) Push(x any)        { *h = append(*h, x.(nodeAt)) }
func (h *nodeHeap) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}
