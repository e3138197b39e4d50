package volt

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// enclose narrows what no state of a bound lies outside, where the search proved little, to what its elements alone allow.
func (is *island) enclose(q *quantity.Quantity, r reading) {
	if !q.Loose && !math.IsInf(q.Sound.Width(), 0) || q.Seen.Empty() || is.floated || math.IsInf(q.Seen.Width(), 0) {
		return
	}
	most, ok := is.passive(r)
	if !ok {
		return
	}
	q.Sound = quantity.Interval{Lo: max(q.Sound.Lo, most.Lo), Hi: min(q.Sound.Hi, most.Hi)}.Union(q.Seen)
	if !math.IsInf(q.Sound.Lo, 0) {
		q.Why[0] = ""
	}
	if !math.IsInf(q.Sound.Hi, 0) {
		q.Why[1] = ""
	}
	q.Loose = q.Loose && q.Sound != q.Seen
}

// passive bounds a reading of an island of positive resistances, diodes, sources and outputs that stop between two held
// levels, whatever its switches, diodes and outputs do. Without sources between nodes and without currents no node is
// higher than the highest that is held or lower than the lowest, since what flows out of the highest node flows in
// nowhere, and a diode lets nothing in from lower down (the maximum principle of resistive networks: P. G. Doyle,
// J. L. Snell, "Random Walks and Electric Networks", 1.2.2); a node that only diodes tie may float, as far beyond as they
// block. A source moves no node by more than its own voltage. A current moves none by more than it times the resistance
// that its own node shows where every switch and diode is open and every resistance at its largest (Rayleigh's
// monotonicity law, the same book, 1.4). Where that leaves its node open, no element on a way from there to something
// held that always lets it through (resistances, diodes forwards) carries more than all such currents together: what
// flows out of all nodes that are higher than the element's own is what is driven in there.
func (is *island) passive(r reading) (quantity.Interval, bool) {
	var out quantity.Interval
	var others func(node int) quantity.Interval
	where := func(node int) (at quantity.Interval, ok bool) {
		if at, ok = is.standing(node); ok || node >= len(is.names) {
			return at, ok
		}
		if others == nil {
			if others, ok = is.nodes(); !ok {
				return at, false
			}
		}
		return others(node), true
	}
	for _, t := range r {
		if t.times == 0 {
			continue
		}
		here, ok := where(t.at)
		if k := slices.Index(is.work.rowOf, t.at); t.at >= len(is.names) && k >= 0 {
			here, ok = is.carried(is.resistors[k], where)
		}
		if !ok {
			return quantity.Everything, false
		}
		if t.idle > 0 { // it does not always count
			here = here.Union(quantity.Point(0))
		}
		a, b := t.times*here.Lo, t.times*here.Hi
		out.Lo, out.Hi = out.Lo+min(a, b), out.Hi+max(a, b)
	}
	return out, !math.IsNaN(out.Width())
}

// carried is what a resistor may carry between where its nodes may stand, from the first to the second.
func (is *island) carried(r resistor, where func(node int) (quantity.Interval, bool)) (amps quantity.Interval, ok bool) {
	a, okA := where(r.a)
	b, okB := where(r.b)
	if !okA || !okB || r.ohms < 0 || !(is.inputs[r.ohms].Sound.Lo > 0) {
		return amps, false
	}
	volts, ohms := quantity.Interval{Lo: a.Lo - b.Hi, Hi: a.Hi - b.Lo}, is.inputs[r.ohms].Sound
	if r.state >= 0 { // it may be open
		volts = volts.Union(quantity.Point(0))
	}
	return quantity.Interval{Lo: min(volts.Lo/ohms.Lo, volts.Lo/ohms.Hi), Hi: max(volts.Hi/ohms.Lo, volts.Hi/ohms.Hi)}, true
}

// nodes is where a node of a passive island may stand; ok is false where the island is not.
func (is *island) nodes() (where func(node int) quantity.Interval, ok bool) {
	reach, ok := is.heldReach()
	if !ok {
		return nil, false
	}
	lift, total, ok := is.lifts()
	if !ok {
		return nil, false
	}
	sources := 0.0
	for _, s := range is.sources {
		if v := is.inputs[s.volts].Sound; s.a != s.b {
			sources += max(math.Abs(v.Lo), math.Abs(v.Hi))
		}
	}
	x := make([]float64, len(is.inputs))
	tied := is.tiedWithoutDiodes(x) // with every switch open
	return func(node int) quantity.Interval {
		if !tied && is.find(node) != is.find(len(is.names)) {
			return quantity.Interval{Lo: reach.Lo - is.pathTo(node, x, -total.Lo, false) - sources, Hi: reach.Hi + is.pathTo(node, x, total.Hi, true) + sources}
		}
		return quantity.Interval{Lo: reach.Lo + lift.Lo - sources, Hi: reach.Hi + lift.Hi + sources}
	}, true
}

// standing is where what is held stands, or an output between its levels; ok is false for any other node.
func (is *island) standing(node int) (at quantity.Interval, ok bool) {
	if node < 0 {
		return is.inputs[^node].Sound, true
	}
	if i := slices.IndexFunc(is.clips, func(c clip) bool { return c.out == node }); i >= 0 {
		return is.swingOf(is.clips[i])
	}
	return at, false
}

// heldReach is where what is held may stand, outputs among it. ok is false where the island is not passive.
func (is *island) heldReach() (reach quantity.Interval, ok bool) {
	if len(is.balanced) > 0 || is.laws() < len(is.controls) || is.swing >= 0 {
		return reach, false
	}
	negative := func(input int) bool { return input >= 0 && is.inputs[input].Sound.Lo < 0 }
	for _, r := range is.resistors {
		if negative(r.ohms) {
			return reach, false
		}
	}
	for _, d := range is.diodes {
		if negative(d.ohms) || negative(d.drop) {
			return reach, false
		}
	}
	reach = quantity.Nothing
	for _, k := range is.held {
		reach = reach.Union(is.inputs[k].Sound)
	}
	for _, c := range is.clips {
		swing, ok := is.swingOf(c)
		if !ok {
			return reach, false
		}
		reach = reach.Union(swing)
	}
	return reach, !reach.Empty()
}

// swingOf is where an output may stand; ok is false where its levels follow what nothing holds.
func (is *island) swingOf(c clip) (swing quantity.Interval, ok bool) {
	swing = quantity.Nothing
	for _, l := range [2]level{c.low, c.high} {
		if len(l.volts) != 1 || l.volts[0].times != 1 || l.volts[0].of >= 0 {
			return swing, false
		}
		at := is.inputs[^l.volts[0].of].Sound
		for _, t := range l.plus {
			v := is.inputs[t.of].Sound
			at.Lo, at.Hi = at.Lo+min(t.times*v.Lo, t.times*v.Hi), at.Hi+max(t.times*v.Lo, t.times*v.Hi)
		}
		swing = swing.Union(at)
	}
	return swing, true
}

// laws counts the controlled sources that say where an output would stand, which feed nothing.
func (is *island) laws() (n int) {
	for _, c := range is.clips {
		if c.law >= 0 {
			n++
		}
	}
	return n
}

// mostLifted is how many currents are looked at one by one.
const mostLifted = 64

// lifts is how far down and up all currents together can move a node that is tied to something held, and what they come
// to.
func (is *island) lifts() (sum, all quantity.Interval, ok bool) {
	if len(is.currents) > mostLifted {
		return sum, all, false
	}
	var open []injection
	var total quantity.Interval
	if len(is.currents) > 0 && !is.opened() {
		return sum, all, false
	}
	none := make([]float64, len(is.inputs))
	defer func() { is.work.last = nil }()
	for _, c := range is.currents {
		if c.into < 0 {
			continue
		}
		i := is.driven(c)
		all.Lo, all.Hi = all.Lo+i.Lo, all.Hi+i.Hi
		if ohms := is.shows(c.into); ohms < 1/leak/1e3 {
			sum.Lo, sum.Hi = sum.Lo+i.Lo*ohms, sum.Hi+i.Hi*ohms
			continue
		}
		open = append(open, c)
		total.Lo, total.Hi = total.Lo+i.Lo, total.Hi+i.Hi
	}
	var way quantity.Interval
	for _, c := range open {
		i := is.driven(c)
		if i.Hi > 0 {
			way.Hi = max(way.Hi, is.pathTo(c.into, none, total.Hi, true))
		}
		if i.Lo < 0 {
			way.Lo = min(way.Lo, -is.pathTo(c.into, none, -total.Lo, false))
		}
	}
	return quantity.Interval{Lo: sum.Lo + way.Lo, Hi: sum.Hi + way.Hi}, all, true
}

// driven is what an injection drives into its node, at rest included.
func (is *island) driven(c injection) quantity.Interval {
	i := is.inputs[c.amps].Sound
	if c.sign < 0 {
		i = i.Mirrored()
	}
	return i.Union(quantity.Point(0))
}

// opened factors the island with every switch and diode open, every resistance at its largest and every output held.
func (is *island) opened() bool {
	w := is.work
	x := make([]float64, len(is.inputs))
	for i, q := range is.inputs {
		switch {
		case w.role[i] == states:
		case w.role[i] == shapes:
			if x[i] = q.Sound.Hi; math.IsInf(x[i], 0) {
				return false
			}
		case !math.IsNaN(q.Nom):
			x[i] = q.Nom
		}
	}
	clear(w.on)
	for i := range is.clips {
		w.on[is.lowOf(i)] = true
	}
	is.joinGroups(x)
	w.least = least
	w.last = nil
	is.write(x)
	return is.spend(factoring(w.size)) && w.factor()
}

// shows is the resistance that a node shows in what was opened, in ohm.
func (is *island) shows(node int) float64 {
	v := make([]float64, is.work.size)
	v[node] = 1
	is.work.lu.Solve(v, v)
	return math.Abs(v[node])
}

// pathTo is the least that lies between a node and something held on a way that lets a current through whatever the diodes
// do, where the switches stand as in x, in volts; infinite where there is none.
func (is *island) pathTo(node int, x []float64, amps float64, out bool) float64 {
	return is.pathBetween(node, -1, x, amps, out)
}

// pathBetween is the same from one node to another.
func (is *island) pathBetween(node, to int, x []float64, amps float64, out bool) float64 {
	dist := make([]float64, len(is.names)+1)
	for i := range dist {
		dist[i] = math.Inf(1)
	}
	at := func(n int) *float64 {
		if n < 0 {
			n = len(is.names)
		}
		return &dist[n]
	}
	*at(node) = 0
	most := func(input int, times float64) float64 {
		if input < 0 || times == 0 {
			return 0
		}
		return is.inputs[input].Sound.Hi * times
	}
	for again := true; again; {
		again = false
		step := func(a, b int, volts float64) {
			if d := *at(a) + volts; d < *at(b) {
				*at(b), again = d, true
			}
		}
		for _, r := range is.resistors {
			if r.state < 0 || x[r.state] == 1 {
				step(r.a, r.b, most(r.ohms, amps))
				step(r.b, r.a, most(r.ohms, amps))
			}
		}
		for _, s := range is.sources {
			step(s.a, s.b, 0)
			step(s.b, s.a, 0)
		}
		for _, c := range is.clips {
			step(c.out, -1, 0)
		}
		for _, d := range is.diodes {
			if d.weak {
				continue
			}
			if volts := most(d.drop, 1) + most(d.ohms, amps); out {
				step(d.anode, d.cathode, volts)
			} else {
				step(d.cathode, d.anode, volts)
			}
		}
	}
	return *at(to)
}
