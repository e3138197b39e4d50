package volt

import "math"

// assemble writes and solves the equations for the switch and diode states at hand. Groups of nodes that nothing ties
// to a held net get a leak, so that there is an answer to look at.
func (is *island) assemble(x []float64) bool {
	w := is.work
	if is.metered {
		if is.effort += w.size * w.size * w.size; is.effort > mostEffort {
			return false
		}
		if is.s.d.Circuit.Cards.Stopped() != nil {
			is.effort = mostEffort + 1 // the netlist's context is done: no answer counts any more
			return false
		}
	}
	clear(w.rows)
	for i := range w.m {
		w.m[i] = w.rows[i*w.size : (i+1)*w.size]
	}
	clear(w.x)
	is.joinGroups(x)
	is.sumUp(x)
	at := func(node int) (own, sum int) {
		own, sum = node, w.sum[node]
		if own == sum {
			own = -1
		}
		return own, sum
	}
	// known adds coefficient times a node's voltage to a row.
	known := func(row, node int, c float64) {
		if node >= 0 {
			w.m[row][node] += c
		} else {
			w.x[row] -= c * x[^node]
		}
	}
	// carry adds coefficient times an unknown current to what leaves a node.
	carry := func(node, row int, c float64) {
		if node < 0 {
			return
		}
		own, sum := at(node)
		if own >= 0 {
			w.m[own][row] += c
		}
		if sum >= 0 {
			w.m[sum][row] += c
		}
	}
	// arrive adds a known current to what arrives at a node.
	arrive := func(node int, amps float64) {
		if node < 0 {
			return
		}
		own, sum := at(node)
		if own >= 0 {
			w.x[own] += amps
		}
		if sum >= 0 {
			w.x[sum] += amps
		}
	}
	// branch lets the current of an unknown leave node a and enter node b.
	branch := func(a, b, row int) {
		carry(a, row, 1)
		carry(b, row, -1)
	}
	for i, row := range w.sum {
		if row >= 0 {
			w.m[row][i] += leak
			w.x[row] += leak * w.moved[is.find(i)]
		}
	}
	for i, r := range is.resistors {
		row := w.rowOf[i]
		ohms := is.value(r.ohms, x, least)
		if math.Abs(ohms) < least {
			ohms = least
		}
		if row < 0 {
			g := 1 / ohms
			for _, p := range [2][2]int{{r.a, r.b}, {r.b, r.a}} {
				if p[0] < 0 {
					continue
				}
				own, sum := at(p[0])
				if sum >= 0 && p[1] >= 0 && w.sum[p[1]] == sum {
					sum = -1
				}
				for _, row := range [2]int{own, sum} {
					if row >= 0 {
						known(row, p[0], g)
						known(row, p[1], -g)
					}
				}
			}
			continue
		}
		if r.state >= 0 && x[r.state] == 0 {
			w.m[row][row] = 1 // no current, which the balances need not name: beside it they could lose the leak
			continue
		}
		branch(r.a, r.b, row)
		known(row, r.a, 1)
		known(row, r.b, -1)
		w.m[row][row] = -ohms
	}
	for i, b := range is.sources {
		row := w.sourceRow + i
		branch(b.a, b.b, row)
		known(row, b.a, 1)
		known(row, b.b, -1)
		if !is.exact[i] { // gains near one would show the ohms that keep rings of sources solvable
			w.m[row][row] = -least
		}
		w.x[row] += x[b.volts]
	}
	for i, b := range is.balanced {
		row := w.balRow + i // the implied source's current into the free end
		carry(b.free, row, -1)
		known(row, b.from, 1)
		known(row, b.to, -1)
		w.x[row] += x[b.amps] * x[b.ohms]
		arrive(b.from, -x[b.amps])
		arrive(b.to, x[b.amps])
	}
	for i, c := range is.controls {
		row := w.ctrlRow + i
		branch(c.a, c.b, row)
		if c.current {
			w.m[row][row] = 1
		} else {
			known(row, c.a, 1)
			known(row, c.b, -1)
		}
		for _, t := range c.volts {
			known(row, t.p, -t.gain)
			known(row, t.n, t.gain)
		}
		for _, t := range c.amps {
			w.m[row][is.row(t.of)] -= t.gain
		}
		w.x[row] += is.value(c.offset, x, 0)
	}
	for i, d := range is.diodes {
		row := w.diodeRow + i
		if !w.on[i] {
			w.m[row][row] = 1
			continue
		}
		branch(d.anode, d.cathode, row)
		known(row, d.anode, 1)
		known(row, d.cathode, -1)
		w.m[row][row] = -max(is.value(d.ohms, x, least), least)
		w.x[row] += is.value(d.drop, x, 0)
	}
	for _, c := range is.currents {
		if c.idle < 0 || x[c.idle] == 0 {
			arrive(c.into, c.sign*x[c.amps])
		}
	}
	return gauss(w.m, w.x, w.scale)
}

// sumUp picks, in each part of a floating group that hangs together by what conducts, the node in whose row the balance of
// currents stands for the part as a whole: what flows within it cancels there exactly, where next to a conductance of a
// milliohm the leak would vanish in rounding. A free end keeps a row of its own: what arrives there is the implied
// source's.
func (is *island) sumUp(x []float64) {
	w := is.work
	held := is.find(len(is.names))
	tied := true
	for i := range is.names {
		w.sum[i] = -1
		tied = tied && is.find(i) == held
	}
	if tied {
		return
	}
	w.parts.reset()
	is.joinConducting(w.parts, x, true)
	for i := range w.pick {
		w.pick[i] = -1
	}
	for i := range is.names {
		if w.free[i] || is.find(i) == held {
			continue
		}
		p := w.parts.find(i)
		if w.pick[p] < 0 {
			w.pick[p] = i
		}
		w.sum[i] = w.pick[p]
	}
}

// mostEffort bounds the work on one bound, in multiplications of elimination: some tenths of a second.
const mostEffort = 3e7

// leak is the conductance, in siemens, that gives floating nodes an answer to look at: a current of 1 nA into it makes
// a megavolt, so that a diode that could conduct does.
const leak = 1e-15
