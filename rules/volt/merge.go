package volt

import "github.com/shuntwright/shuntwright/parse/quantity"

// merge makes one node of all that pieces of wire and sources of 0 V join, unless their current is asked for. A node
// that is joined with something held is held with it. What it joined stays in the lists, from a node to itself.
func (is *island) merge() {
	asked := map[int]bool{}
	for id := range is.asked {
		if m, ok := is.meters[id]; ok && m.wire {
			asked[m.at] = true
		}
	}
	held := make([]int, len(is.names)) // of a group's first node: the held net in it, 0 where there is none
	free := make([]bool, len(is.names))
	for _, b := range is.balanced {
		if b.free >= 0 {
			free[b.free] = true
		}
	}
	g := make(groups, len(is.names))
	g.reset()
	hold := func(n, by int) {
		if n = g.find(n); held[n] == 0 && !free[n] { // a free end is held by its implied source alone
			held[n] = by
		}
	}
	join := func(a, b int) {
		switch {
		case a < 0 && b < 0: // a short between what is held decides nothing here
		case b < 0:
			hold(a, b)
		case a < 0:
			hold(b, a)
		default:
			a, b = g.find(a), g.find(b)
			if a > b {
				a, b = b, a // the node that was reached first gives its name
			}
			if by := min(held[a], held[b]); a != b && max(held[a], held[b]) == 0 && !(by < 0 && (free[a] || free[b])) {
				g[b] = a
				held[a], free[a] = by, free[a] || free[b]
			}
		}
	}
	for i, r := range is.resistors {
		if r.ohms < 0 && r.state < 0 && !asked[i] && !is.coils[i] {
			join(r.a, r.b)
		}
	}
	for i, b := range is.sources {
		if q := is.inputs[b.volts]; !is.exact[i] && q.Sound == quantity.Point(0) && q.Seen == q.Sound {
			join(b.a, b.b)
		}
	}
	is.renumber(g, held)
}

// renumber gives each group of nodes one number, or that of what holds it, wherever nodes are named.
func (is *island) renumber(g groups, held []int) {
	to := make([]int, len(is.names))
	var names []string
	for n, name := range is.names {
		switch first := g.find(n); {
		case held[first] != 0:
			to[n] = held[first]
		case first == n:
			to[n] = len(names)
			names = append(names, name)
		default:
			to[n] = to[first]
		}
	}
	if len(names) == len(is.names) {
		return
	}
	is.names = names
	move := func(nodes ...*int) {
		for _, n := range nodes {
			if *n >= 0 {
				*n = to[*n]
			}
		}
	}
	for net, n := range is.index {
		if to[n] < 0 {
			delete(is.index, net)
			is.held[net] = ^to[n]
		} else {
			is.index[net] = to[n]
		}
	}
	for key, n := range is.amps {
		if n >= 0 {
			is.amps[key] = to[n]
		}
	}
	for i := range is.resistors {
		move(&is.resistors[i].a, &is.resistors[i].b)
	}
	for i := range is.sources {
		move(&is.sources[i].a, &is.sources[i].b)
	}
	for i := range is.currents {
		move(&is.currents[i].into)
	}
	for i := range is.balanced {
		move(&is.balanced[i].from, &is.balanced[i].to, &is.balanced[i].free)
	}
	for i := range is.controls {
		c := &is.controls[i]
		move(&c.a, &c.b)
		for k := range c.volts {
			move(&c.volts[k].p, &c.volts[k].n)
		}
		if c.varies() {
			move(&c.p, &c.n)
		}
	}
	for i := range is.clips {
		c := &is.clips[i]
		move(&c.out)
		if c.law < 0 {
			move(&c.p, &c.n)
		} else {
			move(&c.law)
		}
		for _, l := range []*level{&c.low, &c.high} {
			for k := range l.volts {
				move(&l.volts[k].of)
			}
		}
	}
	for i := range is.diodes {
		move(&is.diodes[i].anode, &is.diodes[i].cathode)
	}
}
