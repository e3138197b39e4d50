package volt

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A coil whose path opens drives its current into whatever capacitance hangs on the node that is left, and rings with it.
// With a capacitor C from the node to a held net and the coil L between the node and a net that stands at Ve,
//
//	L di/dt = Ve - v,  C dv/dt = i,  so that  d/dt (L i^2 + C (v - Ve)^2) / 2 = i (Ve - v) + (v - Ve) i = 0,
//
// and a resistance in series with either only makes that fall. With I and V0 at the opening v therefore never leaves
//
//	|v - Ve| <= sqrt((V0 - Ve)^2 + I^2 L / C).
//
// What else is charged to V0 then (a snubber's capacitor) may give its energy to C as well: that makes the first term
// larger by the ratio of the two. The current is never more than sqrt(I^2 + (V0 - Ve)^2 C / L), which the resistance
// between the coil and the capacitor drops on top. Currents besides the coil's, of amplifiers, shift it by no more than
// themselves.

// A capacity is a capacitor with an end in the island.
type capacity struct {
	a, b   int // outside: a net beyond the island, which a resistance ties to something held
	farads int // input
}

const outside = math.MinInt

// A ringer is a coil of which it is known what is at its other end.
type ringer struct {
	what  string // of the injection or balance that drives its current on
	at    int    // the node from which it rings
	amps  int    // input
	henry int    // input
	level int    // input: where its other end stands
}

// swings prepares what is needed to bound a ring, where a trial shows that a coil is unlimited with every switch open and a
// capacitor to a held net stands on the island: a state that says which way it swings.
func (is *island) swings() {
	if is.signal != nil || is.steady || is.own || is.dry || len(is.unknowns) > 0 || len(is.currents)+len(is.balanced) == 0 || !is.unlimited() {
		return
	}
	if !is.capacities() {
		return
	}
	for _, c := range is.currents {
		e, ok := is.s.d.Find(c.what)
		if !ok || e.Kind() != 'L' || c.idle < 0 {
			continue
		}
		for i := range 2 {
			if is.place(e.Pin(i)) == c.into && e.Pin(0) != e.Pin(1) {
				is.ringer(e, c.what, e.Pin(1-i), e, c.into, c.amps)
			}
		}
	}
	for _, b := range is.balanced {
		coil, ok := is.s.d.Find(b.coil)
		shunt, okS := is.s.d.Find(b.what)
		if !ok || !okS {
			continue
		}
		for _, n := range []circuit.Net{shunt.Pin(0), shunt.Pin(1)} {
			if is.place(n) == b.free {
				is.ringer(coil, b.what, n, shunt, b.free, b.amps)
			}
		}
	}
	if len(is.ringers) == 0 {
		return
	}
	c := &quantity.Cause{Name: "swing", Sound: quantity.Interval{Lo: -1, Hi: 1}, Seen: quantity.Interval{Lo: -1, Hi: 1},
		States: []float64{1, -1}, Labels: []string{"upper swing", "lower swing"}, Nom: 1}
	is.swing = is.input(c.Of())
}

// capacities draws the capacitors on the island; false where there is none, or one of which the far side is not known.
func (is *island) capacities() bool {
	for _, b := range is.balanced { // the walk does not look at what else stands where an implied source does
		for n, at := range is.index {
			if at == b.free {
				for e := range is.s.d.On(n) {
					if e.Kind() == 'C' && !is.seen[e.ID] {
						is.seen[e.ID] = true
						is.capIDs = append(is.capIDs, e.ID)
					}
				}
			}
		}
	}
	slices.Sort(is.capIDs)
	for _, id := range is.capIDs {
		e := is.s.d.Element(id)
		c := capacity{farads: -1}
		for i, end := range []*int{&c.a, &c.b} {
			n := e.Pin(i)
			_, inside := is.index[n]
			_, held := is.held[n]
			switch {
			case inside, held, is.s.rail(n):
				*end = is.place(n)
			default:
				if _, ok := is.quiet(n, e, e); !ok {
					return false
				}
				*end = outside
			}
		}
		if farads := e.Capacitance(); farads.Known() {
			c.farads = is.input(farads)
			is.caps = append(is.caps, c)
		} else {
			return false
		}
	}
	return len(is.caps) > 0
}

// unlimited tries whether a current that goes on finds nothing with every switch open.
func (is *island) unlimited() bool {
	for side := range 2 {
		x := make([]float64, len(is.inputs))
		for i, q := range is.inputs {
			x[i] = q.Nom
			if c := q.Causes(); len(c) == 1 && c[0].States != nil {
				x[i] = 0
			}
		}
		set := func(amps int) {
			if i := is.inputs[amps].Sound; side == 0 {
				x[amps] = i.Hi
			} else {
				x[amps] = i.Lo
			}
		}
		for _, c := range is.currents {
			if c.idle >= 0 {
				set(c.amps)
			}
		}
		for _, b := range is.balanced {
			set(b.amps)
		}
		for _, v := range is.solve(x) {
			if math.IsInf(v, 0) {
				return true
			}
		}
	}
	return false
}

// ringer takes a coil in whose other end, a net from which an element is left out, leads to what is held and nowhere else.
func (is *island) ringer(coil design.Element, what string, other circuit.Net, without design.Element, at, amps int) {
	level, ok := is.quiet(other, without, coil)
	henry := coil.Inductance()
	if !ok || !henry.Known() || is.s.d.Circuit.IsCoupled(coil.ID) { // what another winding stores comes on top
		return
	}
	is.ringers = append(is.ringers, ringer{what, at, amps, is.input(henry), is.input(level)})
}

// quiet is where a net stands through resistors, sources and one coil, where nothing else but amplifiers is on the way. What
// is in the island is looked at there; at the net itself capacitors are.
func (is *island) quiet(n circuit.Net, without, coil design.Element) (level quantity.Quantity, ok bool) {
	if v, held := is.s.d.Rail(n, is.regime); held {
		return v, true
	}
	seen := map[circuit.Net]bool{}
	for todo := []circuit.Net{n}; len(todo) > 0; todo = todo[1:] {
		at := todo[0]
		_, inside := is.index[at]
		if seen[at] || is.s.rail(at) || inside && at != n {
			continue
		}
		if seen[at] = true; len(seen) > 64 {
			return level, false
		}
		for e := range is.s.d.On(at) {
			switch k := e.Kind(); {
			case e.ID == without.ID, k == 'X' && e.Amplifiers() != nil, k == 'C' && inside:
			case k == 'R', k == 'V', k == 'L' && e.ID == coil.ID:
				todo = append(todo, e.Other(at))
			default:
				return level, false
			}
		}
	}
	level, _, ok = is.s.resting(n, without, is.regime, false)
	return level, ok
}

// rings is how far a node of a group that nothing holds may get while a coil rings with a capacitor of the group, on the
// side that the swing says; ok is false where that is not known.
func (is *island) rings(n, g int, x []float64) (v float64, ok bool) {
	if is.swing < 0 || len(x) <= is.swing {
		return 0, false
	}
	var coil *ringer
	others := 0.0
	for i := range is.ringers {
		if r := &is.ringers[i]; is.find(r.at) == g && x[r.amps] != 0 {
			if coil != nil {
				return 0, false
			}
			coil = r
		}
	}
	if coil == nil {
		return 0, false
	}
	for _, c := range is.currents {
		if c.ring || is.find(c.into) != g || c.idle >= 0 && x[c.idle] != 0 || c.what == coil.what {
			continue
		}
		if c.drive == drivesOn {
			return 0, false
		}
		others += math.Abs(x[c.amps])
	}
	for _, b := range is.balanced {
		if b.what != coil.what && x[b.amps] != 0 && (b.from >= 0 && is.find(b.from) == g || b.to >= 0 && is.find(b.to) == g) {
			return 0, false
		}
	}
	for i := range is.controls {
		if is.drivesInto(i, g) {
			return 0, false
		}
	}
	return is.swung(n, g, coil, math.Abs(x[coil.amps])+others, others, x)
}

// swung is rings for the one coil with its current, and that of the others among it.
func (is *island) swung(n, g int, coil *ringer, amps, others float64, x []float64) (v float64, ok bool) {
	held := is.find(len(is.names))
	group := func(node int) int {
		switch {
		case node == outside:
			return outside
		case node < 0:
			return held
		}
		return is.find(node)
	}
	farads := map[int]float64{} // from a node of the group to what is held
	all := 0.0
	for _, c := range is.caps {
		a, b := group(c.a), group(c.b)
		switch {
		case a != g && b != g, a == g && b == g: // what stands within the group is charged to next to nothing
			continue
		case a != held && b != held && a != outside && b != outside:
			return 0, false
		}
		all += x[c.farads]
		switch {
		case a == g && b == held && c.b < 0:
			farads[c.a] += x[c.farads]
		case b == g && a == held && c.a < 0:
			farads[c.b] += x[c.farads]
		}
	}
	m, most := -1, 0.0
	for i := range is.names { // not in the order of a map
		if farads[i] > most {
			m, most = i, farads[i]
		}
	}
	if m < 0 {
		return 0, false
	}
	first, ok := is.before(m)
	if !ok {
		return 0, false
	}
	level, henry := x[coil.level], x[coil.henry]
	off := max(math.Abs(first.Lo-level), math.Abs(first.Hi-level))
	swing := math.Sqrt(off*off*all/most + amps*amps*henry/most)
	peak := math.Sqrt(amps*amps + off*off*all/henry)
	if swing += peak*is.between(coil.at, m, x) + others*is.between(n, m, x); math.IsInf(swing, 0) || math.IsNaN(swing) {
		return 0, false
	}
	v = level + x[is.swing]*swing
	for _, d := range is.diodes { // the way back may be shorter
		drop := is.value(d.drop, x, 0) + peak*is.value(d.ohms, x, 0) + peak*is.between(n, coil.at, x)
		switch a, c := group(d.anode), group(d.cathode); {
		case d.weak:
		case c == g && a == held:
			v = max(v, is.at(d.anode, x)-drop)
		case a == g && c == held:
			v = min(v, is.at(d.cathode, x)+drop)
		}
	}
	return v, true
}

// between is the least resistance of a way between two nodes; infinite where there is none without a diode.
func (is *island) between(from, to int, x []float64) float64 {
	dist := map[int]float64{from: 0}
	for changed := true; changed; {
		changed = false
		step := func(a, b int, ohms float64) {
			if da, ok := dist[a]; ok && a >= 0 && b >= 0 {
				if db, ok := dist[b]; !ok || da+ohms < db {
					dist[b], changed = da+ohms, true
				}
			}
		}
		for _, r := range is.resistors {
			if r.state < 0 || x[r.state] == 1 {
				ohms := math.Abs(is.value(r.ohms, x, 0))
				step(r.a, r.b, ohms)
				step(r.b, r.a, ohms)
			}
		}
		for _, b := range is.balanced {
			step(b.from, b.to, math.Abs(x[b.ohms]))
			step(b.to, b.from, math.Abs(x[b.ohms]))
		}
	}
	if d, ok := dist[to]; ok {
		return d
	}
	return math.Inf(1)
}

// before is what the voltage of a node may be when a path opens: where it stands in every state in which something limits
// it, coils that go on driving included.
func (is *island) before(node int) (quantity.Interval, bool) {
	if v, known := is.first[node]; known {
		return v, !v.Empty()
	}
	is.first[node] = quantity.Nothing
	for n, at := range is.index {
		if at != node {
			continue
		}
		o := is.s.buildWith([]circuit.Net{n}, is.regime, func(o *island) { o.dry = true })
		if len(o.unknowns) > 0 {
			break
		}
		o.meter()
		k := o.place(n)
		q := quantity.CalcStates(is.names[node], quantity.Volt, func(x []float64) float64 {
			if v := o.voltage(k, x); !math.IsInf(v, 0) {
				return v
			}
			return math.NaN()
		}, o.inputs...)
		if o.effort <= mostEffort && q.Known() && !q.Seen.Empty() && !math.IsInf(q.Sound.Width(), 0) {
			is.first[node] = q.Sound
		}
	}
	v := is.first[node]
	return v, !v.Empty()
}
