package volt

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
)

// joinGroups finds which nodes hang together through what conducts; group len(names) is what is held.
func (is *island) joinGroups(x []float64) {
	g := is.work.group
	g.reset()
	is.joinConducting(g, x, false)
	is.joinTies(g, x)
	for _, b := range is.balanced {
		g.join(b.from, b.to)
	}
}

// joinTies joins what loads at rest tie down.
func (is *island) joinTies(g groups, x []float64) {
	for i := range is.ties {
		if r := is.resistors[i]; x[r.state] == 1 {
			g.join(r.a, r.b)
		}
	}
}

// joinConducting joins the nodes between which a current can flow. apart leaves out what joins free ends: a current that
// arrives there is the implied source's to take.
func (is *island) joinConducting(g groups, x []float64, apart bool) {
	join := func(a, b int) {
		if !apart || !is.freeEnd(a) && !is.freeEnd(b) {
			g.join(a, b)
		}
	}
	for i, r := range is.resistors {
		if _, tie := is.ties[i]; !tie && (r.state < 0 || x[r.state] == 1) {
			join(r.a, r.b)
		}
	}
	for _, b := range is.sources {
		join(b.a, b.b)
	}
	for _, c := range is.controls {
		if !c.current {
			join(c.a, c.b)
		}
	}
	for _, c := range is.clips {
		join(c.out, ^is.held[0]) // it delivers whatever it must
	}
	for k, d := range is.diodes {
		if is.work.on[k] && !d.weak {
			join(d.anode, d.cathode)
		}
	}
}

func (is *island) freeEnd(node int) bool { return node >= 0 && is.work.free[node] }

// Groups are nodes that hang together: a union-find in which the last entry stands for all that is held.
type groups []int

func (g groups) reset() {
	for i := range g {
		g[i] = i
	}
}

// find is the entry that stands for a node's group; a node below 0 is held.
func (g groups) find(i int) int {
	if i < 0 {
		i = len(g) - 1
	}
	for g[i] != i {
		g[i] = g[g[i]]
		i = g[i]
	}
	return i
}

// join joins the groups of two nodes.
func (g groups) join(a, b int) {
	g[g.find(a)] = g.find(b)
}

func (is *island) find(i int) int { return is.work.group.find(i) }

// allHeld tells that every node hangs on something held.
func (is *island) allHeld() bool {
	held := is.find(len(is.names))
	for n := range is.names {
		if is.find(n) != held {
			return false
		}
	}
	return true
}

// judgeGroups replaces the answers of nodes that nothing ties down. The current that runs away through the leaks tells
// whether one has nowhere to go; what arrives at a free end is the implied source's to take. Where an inductor or a
// drawn current source drives it on, nothing limits the node: it is infinite. Where a resistive load drew it, the
// current stops: the combination is no state. Otherwise, and where no rail at all feeds what is drawn around it, the node
// floats, and nobody said where it stands.
func (is *island) judgeGroups(x []float64) {
	w := is.work
	clear(w.floats)
	if is.allHeld() {
		return
	}
	held := is.find(len(is.names))
	away := map[int]float64{}
	for n := range is.names {
		if w.sum[n] >= 0 {
			away[is.find(n)] += leak * w.x[n]
		}
	}
	for n, name := range is.names {
		g := is.find(n)
		if g == held {
			continue
		}
		switch drive := is.driver(g, x); {
		case math.Abs(away[g]) >= 1e-12 && drive == drivesOn && is.fedBy(g):
			if v, ok := is.rings(n, g, x); ok {
				w.answer[n] = v
				continue
			}
			w.answer[n] = math.Copysign(math.Inf(1), away[g])
			is.blame = fmt.Sprintf("nothing limits %s: %s, and no diode or clamp conducts", name, is.openings(g, x))
		case math.Abs(away[g]) >= 1e-12 && drive == stops, is.spent(g, x):
			w.answer[n] = math.NaN()
			if !w.free[n] && is.floating == "" {
				is.floating = name // where no state is left at all, this is what nobody holds
			}
		case drive == consumes:
			w.answer[n] = math.NaN()
			is.floating = is.principal(g)
		default:
			w.answer[n] = is.adrift(n, g, x)
			w.floats[n] = true
			is.floating = is.principal(g)
		}
	}
	is.astray(x)
}

// fedBy tells that what is drawn around a group of nodes reaches a rail other than ground. Where none does, a rail is
// missing, and that nothing limits the group means nothing yet.
func (is *island) fedBy(g int) bool {
	for n, at := range is.index {
		if is.find(at) != g {
			continue
		}
		fed, known := is.s.fed[n]
		if !known {
			fed = is.s.reachesRail(n)
			is.s.fed[n] = fed
		}
		return fed // the nodes of a group hang together: one speaks for all
	}
	return true
}

// cutset tells a group of nodes that only inductors join to the rest, with no switch or diode that might have opened a path
// beside them: their currents always sum to 0 there, and one in which they do not is no state.
func (is *island) cutset(g int, x []float64) bool {
	at := func(n int) bool { return n >= 0 && is.find(n) == g }
	coils := map[int]bool{}
	for _, c := range is.currents {
		if !at(c.into) || c.ring || c.idle >= 0 && x[c.idle] != 0 {
			continue
		}
		switch {
		case c.idle >= 0:
			coils[c.idle] = true
		case x[c.amps] != 0:
			return false
		}
	}
	for _, r := range is.resistors {
		if (at(r.a) || at(r.b)) && r.state >= 0 && x[r.state] == 0 && !coils[r.state] {
			return false
		}
	}
	for k, d := range is.diodes {
		if (at(d.anode) || at(d.cathode)) && !is.work.on[k] && !d.weak {
			return false
		}
	}
	for _, b := range is.balanced {
		if at(b.from) || at(b.to) {
			return false
		}
	}
	return len(coils) > 0
}

// principal names the net that stands for a group of nodes: the one drawn first.
func (is *island) principal(g int) string {
	first := circuit.Net(math.MaxUint32)
	for n, at := range is.index {
		if n < first && is.find(at) == g {
			first = n
		}
	}
	if first == math.MaxUint32 {
		return is.names[0]
	}
	return is.s.d.Circuit.NetName(first)
}

// A drive is what becomes of a current whose path opens.
type drive uint8

const (
	consumes drive = iota // a consumer is off
	stops                 // a resistive load draws no more
	unsaidOn              // nobody said
	drivesOn              // an inductor or a current source drives on
)

// driver is the strongest drive among the currents of a group.
func (is *island) driver(g int, x []float64) drive {
	most, others, consumer := stops, false, false
	for _, c := range is.currents {
		if !c.ring && (c.idle < 0 || x[c.idle] == 0) && x[c.amps] != 0 && is.find(c.into) == g {
			most, others = max(most, c.drive), others || c.drive > consumes
			consumer = consumer || c.drive == consumes
		}
	}
	for _, b := range is.balanced {
		if x[b.amps] != 0 && (b.from >= 0 && is.find(b.from) == g || b.to >= 0 && is.find(b.to) == g) {
			most, others = max(most, b.drive), true
		}
	}
	for i := range is.controls {
		if is.drivesInto(i, g) {
			return drivesOn
		}
	}
	switch {
	case consumer && !others:
		return consumes
	case most == drivesOn && is.cutset(g, x):
		return stops
	}
	return most
}

// drivesInto tells that a controlled source drives a current into a group of nodes or out of it.
func (is *island) drivesInto(control, g int) bool {
	c := is.controls[control]
	a, b := c.a >= 0 && is.find(c.a) == g, c.b >= 0 && is.find(c.b) == g
	return c.current && a != b && math.Abs(is.work.x[is.work.ctrlRow+control]) >= 1e-12
}

// spent tells a group that floats only because the current of its load has died: the load then holds it between where
// it stood with a current one way and where it stands with the switch closed, which other states cover.
func (is *island) spent(g int, x []float64) bool {
	for _, c := range is.currents {
		if c.idle >= 0 && x[c.idle] == 0 && x[c.amps] == 0 && is.find(c.into) == g {
			return true
		}
	}
	for _, b := range is.balanced {
		if b.drive != unsaidOn && x[b.amps] == 0 && (b.from >= 0 && is.find(b.from) == g || b.to >= 0 && is.find(b.to) == g) {
			return true
		}
	}
	return false
}

// dead tells a corner that is no state: a load's current has died behind open switches, and no tie stands for the load.
// Left to itself a bias current would pull the node to a diode; really the load ties it. A tie without open switches is
// none either: a load that draws nothing while it is fed is for the declared range to say.
func (is *island) dead(x []float64) bool {
	none := func() bool {
		for _, b := range is.balanced {
			if b.drive != unsaidOn && x[b.amps] == 0 {
				return false
			}
		}
		for _, c := range is.currents {
			if c.idle >= 0 && x[c.idle] == 0 && x[c.amps] == 0 {
				return false
			}
		}
		return true
	}
	if none() {
		return false
	}
	g := is.work.group // no diode conducts yet
	g.reset()
	is.joinConducting(g, x, false)
	for _, b := range is.balanced {
		g.join(b.from, b.to)
	}
	for i, k := range is.ties {
		if x[is.resistors[i].state] == 1 && is.find(is.balanced[k].free) == is.find(len(is.names)) {
			return true
		}
	}
	is.joinTies(g, x)
	held := is.find(len(is.names))
	for n := range is.names {
		if g := is.find(n); g != held && is.spent(g, x) {
			return true
		}
	}
	return false
}

// adrift is where a floating node may stand. Without a level it is no number. The level 0 or 1 asks for the lowest or
// the highest place: as far as a diode to something held lets it go, else without end.
func (is *island) adrift(n, g int, x []float64) float64 {
	w := is.work
	if len(x) <= w.level || x[w.level] != 0 && x[w.level] != 1 {
		return math.NaN()
	}
	held := is.find(len(is.names))
	group := func(node int) int {
		if node < 0 {
			return held
		}
		return is.find(node)
	}
	low, high := math.Inf(-1), math.Inf(1)
	for _, d := range is.diodes {
		drop := is.value(d.drop, x, 0)
		switch a, c := group(d.anode), group(d.cathode); {
		case d.weak:
		case c == g && a == held:
			low = max(low, is.at(d.anode, x)-drop+w.x[n]-is.at(d.cathode, x))
		case a == g && c == held:
			high = min(high, is.at(d.cathode, x)+drop+w.x[n]-is.at(d.anode, x))
		}
	}
	if x[w.level] == 0 {
		return low
	}
	return high
}

// openings says what drives a group of nodes that nothing ties down, and which switches stand open at it.
func (is *island) openings(g int, x []float64) string {
	var open, drive []string
	for i, r := range is.resistors {
		if _, tie := is.ties[i]; !tie && r.ohms >= 0 && r.state >= 0 && x[r.state] == 0 && (r.a >= 0 && is.find(r.a) == g || r.b >= 0 && is.find(r.b) == g) {
			open = append(open, r.what)
		}
	}
	for _, c := range is.currents {
		if c.drive == drivesOn && (c.idle < 0 || x[c.idle] == 0) && x[c.amps] != 0 && is.find(c.into) == g {
			drive = append(drive, c.what)
		}
	}
	for i, c := range is.controls {
		if is.drivesInto(i, g) {
			drive = append(drive, c.what)
		}
	}
	for _, b := range is.balanced {
		if x[b.amps] != 0 && (b.from >= 0 && is.find(b.from) == g || b.to >= 0 && is.find(b.to) == g) {
			if drive = append(drive, b.what); b.coil != "" {
				drive = append(drive, b.coil)
			}
		}
	}
	text := "a current goes on"
	if len(drive) > 0 {
		text = "the current of " + strings.Join(dedupe(drive), ", ") + " goes on"
	}
	if len(open) > 0 {
		text += " while " + strings.Join(dedupe(open), ", ") + " may be open"
	}
	return text
}

func dedupe(s []string) []string {
	s = slices.Clone(s)
	slices.Sort(s)
	return slices.Compact(s)
}
