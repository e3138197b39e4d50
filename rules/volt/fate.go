package volt

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// The fate of a combination of diode states in which some nodes are tied to nothing.
type fate uint8

const (
	tied     fate = iota // what is asked for stands on something held
	fleeting             // a current has nowhere to go, and another state of the diodes takes it
	unjudged             // what is asked for floats, or nothing at all takes a current: each corner has to be judged
)

// mostStates is how many states of the diodes are looked at in one combination where they are found from one another;
// allStates is how many diodes there may be for all states to be looked at whatever it costs, mostAll where it costs
// little.
const mostStates, allStates, mostAll = 256, 8, 12

// live are the diodes and outputs that decide something: no diode between two nets that are held or from a node to itself,
// no output on a net that something else holds.
func (is *island) live() (out []int) {
	for k, d := range is.diodes {
		if (d.anode >= 0 || d.cathode >= 0) && d.anode != d.cathode {
			out = append(out, k)
		}
	}
	for i, c := range is.clips {
		if c.out >= 0 {
			out = append(out, is.lowOf(i), is.lowOf(i)+1)
		}
	}
	return out
}

// states are the states of the diodes to begin with: all of them where they are few, else what some corners settle in.
func (s *search) states(x []float64) (out [][]bool) {
	is := s.is
	live := is.live()
	if s.all {
		for bits := range 1 << len(live) {
			on := make([]bool, len(is.work.on))
			for i, k := range live {
				on[k] = bits>>i&1 == 1
			}
			if !is.both(on) {
				out = append(out, on)
			}
		}
		return out
	}
	add := func(x []float64) {
		is.solve(x)
		on := make([]bool, len(is.work.on))
		for _, k := range live {
			on[k] = is.work.on[k]
		}
		if !contains(out, on) {
			out = append(out, on)
		}
	}
	x = slices.Clone(x)
	add(x)
	for _, c := range s.right {
		for i, uses := range s.b.Uses[:len(is.inputs)] {
			if slices.Contains(uses, c) {
				at := x[i]
				if r := is.inputs[i].Sound; !math.IsInf(r.Width(), 0) {
					x[i] = r.Hi
					add(x)
				}
				x[i] = at
			}
		}
	}
	return out
}

// beyond are the states next to one, past each condition that is not met everywhere in it.
func (s *search) beyond(t *tree, states [][]bool, on []bool) (out [][]bool) {
	for i, of := range t.pc.of {
		if !t.broken[i] {
			continue
		}
		next := slices.Clone(on)
		for _, k := range of {
			s.is.flip(next, k)
		}
		if !contains(states, next) && !contains(out, next) {
			out = append(out, next)
		}
	}
	return out
}

func contains(states [][]bool, on []bool) bool {
	return slices.ContainsFunc(states, func(o []bool) bool { return slices.Equal(o, on) })
}

// beside are all states that differ from one in a single diode or output.
func (s *search) beside(states [][]bool, on []bool) (out [][]bool) {
	for _, k := range s.is.live() {
		next := slices.Clone(on)
		if s.is.flip(next, k); !contains(states, next) {
			out = append(out, next)
		}
	}
	return out
}

// oneAnswer tells that the circuit has one answer, which goes on without a step, whatever the values on its right-hand
// side and in its matrix: it is made of positive resistances, diodes and sources, and no node is left to the diodes alone.
func (is *island) oneAnswer(x []float64) bool {
	_, ok := is.heldReach()
	return ok && len(is.clips) == 0 && is.tiedWithoutDiodes(x)
}

// unseen says that not all states of the diodes were looked at. What was found is attained and proves nothing, unless the
// circuit has one answer and the search came to an end: then it has seen every state that it crosses into.
func (s *search) unseen(states [][]bool, x []float64) {
	if s.all {
		return
	}
	if len(states) < mostStates && s.is.oneAnswer(x) {
		return
	}
	s.unproven(fmt.Sprintf("%d diodes and outputs of amplifiers decide it, too many to look at all their states", len(s.is.diodes)+len(s.is.clips)))
}

// fate judges the nodes that nothing ties down while the diodes stand as they do. floats are their groups.
func (s *search) fate(x []float64, side *side) (floats map[int]bool, f fate) {
	is := s.is
	held := is.find(len(is.names))
	for n := range is.names {
		if g := is.find(n); g != held {
			if floats == nil {
				floats = map[int]bool{}
			}
			floats[g] = true
		}
	}
	if floats == nil {
		return nil, tied
	}
	for g := range floats {
		in, driven := s.into(g, x, side)
		switch {
		case !driven:
			if s.asks(g) {
				f = unjudged
			}
		case in.Hi > 1e-12 && !is.takes(g, true) || in.Lo < -1e-12 && !is.takes(g, false):
			return floats, unjudged
		default:
			f = max(f, fleeting)
		}
	}
	return floats, f
}

// asks tells that the reading, or a controlled source, looks at a node of a group.
func (s *search) asks(g int) bool {
	is := s.is
	in := func(n int) bool { return n >= 0 && n < len(is.names) && is.find(n) == g }
	for _, t := range s.r {
		if t.times != 0 && in(t.at) {
			return true
		}
	}
	for _, c := range is.controls {
		for _, v := range c.volts {
			if in(v.p) || in(v.n) {
				return true
			}
		}
	}
	return false
}

// into is the current that is driven into a group of nodes, in amperes: into all but the free ends of declared currents,
// whose implied source takes what arrives. driven is false where there is none.
func (s *search) into(g int, x []float64, side *side) (sum quantity.Interval, driven bool) {
	is := s.is
	times := map[int]float64{} // what enters and leaves a group cancels
	add := func(node, of int, sign float64) {
		if node >= 0 && is.find(node) == g && !is.work.free[node] {
			times[of] += sign
		}
	}
	for _, c := range is.currents {
		if !c.ring && (c.idle < 0 || x[c.idle] == 0) {
			add(c.into, c.amps, c.sign)
		}
	}
	for _, b := range is.balanced {
		add(b.from, b.amps, -1)
		add(b.to, b.amps, 1)
	}
	for _, c := range is.controls {
		a, b := c.a >= 0 && is.find(c.a) == g, c.b >= 0 && is.find(c.b) == g
		if c.current && a != b {
			return quantity.Everything, true
		}
	}
	for _, of := range slices.Sorted(maps.Keys(times)) {
		r := side.reach(of)
		a, b := times[of]*r.Lo, times[of]*r.Hi
		sum.Lo, sum.Hi = sum.Lo+min(a, b), sum.Hi+max(a, b)
		driven = driven || a != 0 || b != 0
	}
	return sum, driven
}

// tiedWithoutDiodes tells that every node hangs on something held while all diodes block.
func (is *island) tiedWithoutDiodes(x []float64) bool {
	clear(is.work.on)
	is.work.last = nil
	is.joinGroups(x)
	return is.allHeld()
}

// drifts notes how far what is asked for may stand in a state in which its group of nodes hangs on nothing and nothing is
// driven into it: where no way lets a current through to something held, nobody said.
func (s *search) drifts(at, x []float64, spans []span, side *side, floats map[int]bool) {
	is := s.is
	weight := map[int]float64{}
	node := map[int]int{}
	for _, t := range s.r {
		if t.times == 0 || t.at < 0 || t.at >= len(is.names) || !t.counts(x) || !floats[is.find(t.at)] {
			continue
		}
		if _, driven := s.into(is.find(t.at), x, side); !driven {
			weight[is.find(t.at)] += t.times
			node[is.find(t.at)] = t.at
		}
	}
	open := func(node int, out bool) bool { return math.IsInf(is.pathTo(node, x, 0, out), 1) }
	list := slices.Sorted(maps.Keys(weight))
	for i, g := range list {
		if weight[g] == 0 {
			continue
		}
		up, down := open(node[g], true), open(node[g], false)
		if len(list) == 2 && weight[g] == -weight[list[1-i]] { // what lies between the two limits their difference as well
			other := node[list[1-i]]
			up = up && math.IsInf(is.pathBetween(node[g], other, x, 0, true), 1)
			down = down && math.IsInf(is.pathBetween(node[g], other, x, 0, false), 1)
		}
		if weight[g] < 0 {
			up, down = down, up
		}
		if (!down || s.drift[0]) && (!up || s.drift[1]) {
			continue
		}
		if pc := s.piece(at, x, spans, side, floats); pc == nil || !pc.stands(s.most) {
			return
		}
		s.drift[0], s.drift[1] = s.drift[0] || down, s.drift[1] || up
		is.drifter = is.principal(g)
	}
}

// reach is the range of a known value.
func (s *side) reach(of int) quantity.Interval {
	r := quantity.Point(s.base[of])
	for _, b := range s.bundles {
		var lo, hi float64
		for _, c := range s.columns[b.first : b.first+b.columns] {
			for _, m := range c.moves {
				if m.of == of {
					lo, hi = min(lo, m.by), max(hi, m.by)
				}
			}
		}
		r.Lo, r.Hi = r.Lo+lo, r.Hi+hi
	}
	return r
}

// takes tells that a diode which is off could take a current out of a group, or bring one into it.
func (is *island) takes(g int, out bool) bool {
	in := func(n int) bool { return n >= 0 && is.find(n) == g }
	for k, d := range is.diodes {
		from, to := d.anode, d.cathode
		if !out {
			from, to = to, from
		}
		if !is.work.on[k] && !d.weak && in(from) && !in(to) {
			return true
		}
	}
	return false
}
