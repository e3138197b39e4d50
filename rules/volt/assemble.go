package volt

import (
	"errors"
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt/internal/sparse"
)

// A share is the part that a known value (an input, the product of a declared current and its resistance, or 1) has in
// the right-hand side of a row.
type share struct {
	row, of int
	times   float64
}

// one is the known value 1 among what shares are of.
const one = -1

// assemble writes and solves the equations for the switch and diode states at hand. Groups of nodes that nothing ties
// to a held net get a leak, so that there is an answer to look at.
func (is *island) assemble(x []float64) bool {
	if !is.spend(factoring(is.work.size)) {
		return false
	}
	is.joinGroups(x)
	w := is.work
	is.write(x)
	if !w.factor() {
		return false
	}
	clear(w.x)
	for _, s := range w.shares {
		w.x[s.row] += s.times * is.known(s.of, x)
	}
	w.lu.Solve(w.x, w.x)
	return true
}

// factor factors the matrix; false where it is singular.
func (w *work) factor() bool {
	var err error
	if w.lu == nil {
		w.lu, err = sparse.Factor(w.matrix)
	} else {
		err = w.lu.Refactor(w.matrix)
	}
	var singular *sparse.Singular
	if errors.As(err, &singular) {
		w.singular = singular
	}
	return err == nil
}

// undecidable names what nothing decides where the equations have no single answer: a net, or the current of a branch; ""
// where they had one.
func (is *island) undecidable() string {
	w := is.work
	if w.singular == nil {
		return ""
	}
	k := w.singular.Column
	in := func(row int, list int) bool { return k >= row && k < row+list }
	switch {
	case k < len(is.names):
		return ": nothing decides the voltage of " + is.names[k]
	case in(w.sourceRow, len(is.sources)):
		return ": nothing decides the current of " + is.sources[k-w.sourceRow].what + ", which closes a loop of sources"
	case in(w.ctrlRow, len(is.controls)):
		return ": nothing decides the current of " + is.controls[k-w.ctrlRow].what + ", which follows itself or closes a loop of sources"
	}
	return ": the network is singular"
}

// Quality is how well the last solution of a form's island is: the residual relative to the equations' own size, about
// 1e-16 where all is well, and an estimate of the condition number of the matrix in the 1-norm, of which each decade
// costs a digit. ok is false where nothing was solved.
func (s *Solver) Quality(f Form, r design.Regime) (residual, condition float64, ok bool) {
	p, err := s.form(f, r)
	if err != nil || p.is.work.lu == nil || p.is.work.size == 0 {
		return 0, 0, false
	}
	return p.is.work.lu.Residual(), p.is.work.lu.Condition(), true
}

// factoring is about what it costs to factor so many equations, in multiplications: densely, or sparsely where they are
// many.
func factoring(n int) int {
	const dense, each = 300, 800
	if n <= dense {
		return n * n * n / 3
	}
	return dense*dense*dense/3 + each*(n-dense)
}

// spend counts work, in multiplications; false when the search for a bound has had its share, or the time is up.
func (is *island) spend(multiplications int) bool {
	if !is.metered {
		return true
	}
	if is.effort > mostEffort {
		return false
	}
	if is.effort += multiplications; is.effort > mostEffort {
		return false
	}
	if is.s.d.Circuit.Cards.Stopped() != nil {
		is.effort, is.stopped = mostEffort+1, true // the netlist's context is done: no answer counts any more
		return false
	}
	return true
}

// known is a value that shares are of.
func (is *island) known(of int, x []float64) float64 {
	switch {
	case of == one:
		return 1
	case of < len(is.inputs):
		return x[of]
	}
	b := is.balanced[of-len(is.inputs)]
	return x[b.amps] * x[b.ohms]
}

// write writes the equations: the matrix, and the shares that known values have in the right-hand side.
func (is *island) write(x []float64) {
	w := is.work
	w.matrix.Reset()
	w.shares = w.shares[:0]
	is.sumUp(x)
	add := w.matrix.Add
	share := func(row, of int, times float64) { w.shares = append(w.shares, share{row, of, times}) }
	at := func(node int) (own, sum int) {
		own, sum = node, w.sum[node]
		if own == sum {
			own = -1
		}
		return own, sum
	}
	// volts adds coefficient times a node's voltage to a row.
	volts := func(row, node int, c float64) {
		if node >= 0 {
			add(row, node, c)
		} else {
			share(row, ^node, -c)
		}
	}
	// carry adds coefficient times an unknown current to what leaves a node.
	carry := func(node, row int, c float64) {
		if node < 0 {
			return
		}
		own, sum := at(node)
		if own >= 0 {
			add(own, row, c)
		}
		if sum >= 0 {
			add(sum, row, c)
		}
	}
	// arrive adds a known current to what arrives at a node.
	arrive := func(node, of int, times float64) {
		if node < 0 {
			return
		}
		own, sum := at(node)
		if own >= 0 {
			share(own, of, times)
		}
		if sum >= 0 {
			share(sum, of, times)
		}
	}
	// branch lets the current of an unknown leave node a and enter node b.
	branch := func(a, b, row int) {
		if a != b {
			carry(a, row, 1)
			carry(b, row, -1)
		}
	}
	for i, row := range w.sum {
		if row >= 0 {
			add(row, i, leak)
			share(row, one, leak*w.moved[is.find(i)])
		}
	}
	for i, r := range is.resistors {
		if r.a == r.b && w.rowOf[i] < 0 {
			continue
		}
		row := w.rowOf[i]
		ohms := is.value(r.ohms, x, least)
		if row < 0 {
			g := 1 / atLeast(ohms)
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
						volts(row, p[0], g)
						volts(row, p[1], -g)
					}
				}
			}
			continue
		}
		if r.state >= 0 && x[r.state] == 0 {
			add(row, row, 1) // no current, which the balances need not name: beside it they could lose the leak
			continue
		}
		branch(r.a, r.b, row)
		volts(row, r.a, 1)
		volts(row, r.b, -1)
		add(row, row, -atLeast(ohms))
	}
	for i, b := range is.sources {
		row := w.sourceRow + i
		if b.a == b.b {
			add(row, row, 1)
			continue
		}
		branch(b.a, b.b, row)
		volts(row, b.a, 1)
		volts(row, b.b, -1)
		if !is.exact[i] { // gains near one would show the ohms that keep rings of sources solvable
			add(row, row, -least)
		}
		share(row, b.volts, 1)
	}
	for i, b := range is.balanced {
		row := w.balRow + i // the implied source's current into the free end
		carry(b.free, row, -1)
		volts(row, b.from, 1)
		volts(row, b.to, -1)
		share(row, len(is.inputs)+i, 1)
		arrive(b.from, b.amps, -1)
		arrive(b.to, b.amps, 1)
	}
	for i, c := range is.controls {
		row := w.ctrlRow + i
		branch(c.a, c.b, row)
		if c.current {
			add(row, row, 1)
		} else {
			volts(row, c.a, 1)
			volts(row, c.b, -1)
		}
		for _, t := range c.volts {
			volts(row, t.p, -t.gain)
			volts(row, t.n, t.gain)
		}
		for _, t := range c.amps {
			add(row, is.row(t.of), -t.gain)
		}
		if c.offset >= 0 {
			share(row, c.offset, 1)
		}
		if c.varies() {
			f := c.sign * x[c.gain]
			volts(row, c.p, -f)
			volts(row, c.n, f)
			share(row, c.above, f)
		}
	}
	is.writeClips(add, branch, func(row int, f function) {
		for _, t := range f.unknown {
			add(row, t.of, t.times)
		}
		for _, t := range f.known {
			share(row, t.of, -t.times)
		}
	})
	for i, d := range is.diodes {
		row := w.diodeRow + i
		if !w.on[i] {
			add(row, row, -1) // the sign that keeps that of the determinant when the diode turns on
			continue
		}
		branch(d.anode, d.cathode, row)
		volts(row, d.anode, 1)
		volts(row, d.cathode, -1)
		add(row, row, -max(is.value(d.ohms, x, 0), w.least))
		if d.drop >= 0 {
			share(row, d.drop, 1)
		}
	}
	for _, c := range is.currents {
		if c.idle < 0 || x[c.idle] == 0 {
			arrive(c.into, c.amps, c.sign)
		}
	}
}

// atLeast keeps a resistance away from 0 ohm.
func atLeast(ohms float64) float64 {
	if math.Abs(ohms) < least {
		return least
	}
	return ohms
}

// sumUp picks, in each part of a floating group that hangs together by what conducts, the node in whose row the balance of
// currents stands for the part as a whole: what flows within it cancels there exactly, where next to a conductance of a
// milliohm the leak would vanish in rounding. A free end keeps a row of its own: what arrives there is the implied
// source's.
func (is *island) sumUp(x []float64) {
	w := is.work
	for i := range is.names {
		w.sum[i] = -1
	}
	if is.allHeld() {
		return
	}
	held := is.find(len(is.names))
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

// mostEffort bounds the work on one bound, in multiplications: a second or two.
const mostEffort = 8e8

// leak is the conductance, in siemens, that gives floating nodes an answer to look at: a current of 1 nA into it makes
// a megavolt, so that a diode that could conduct does.
const leak = 1e-15
