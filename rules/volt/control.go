package volt

import (
	"maps"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A controlled source holds a sum of voltages and currents from b up to a (volts), or drives it out of a into b
// (amperes).
type controlled struct {
	a, b    int
	offset  int // input: the constant part; -1: none
	volts   []follows
	amps    []carries
	current bool
	what    string

	gain  int // input: a gain that may vary, of what p is above n and, an input, above; 0: none
	p, n  int
	above int
	sign  float64
}

// varies tells that the source has a gain that may vary.
func (c controlled) varies() bool { return c.sign != 0 }

// follows is a gain times the voltage from n up to p.
type follows struct {
	p, n int
	gain float64
}

// carries is a gain times the current through a voltage source.
type carries struct {
	of   meter
	gain float64
}

// A meter is where the current through a voltage source is an unknown: it is one of the sources, or a piece of wire
// among the resistors. It counts from the source's first node to its second (SPICE3f3 User's Manual, 3.2).
type meter struct {
	wire bool
	at   int
}

func (is *island) row(m meter) int {
	if m.wire {
		return is.work.rowOf[m.at]
	}
	return is.work.sourceRow + m.at
}

// controlled adds an E, G, F, H or B at one of its outputs.
func (is *island) controlled(e design.Element, n circuit.Net) {
	a, b := e.Pin(0), e.Pin(1)
	if n != a && n != b {
		is.seen[e.ID] = false // a control pin takes no current
		return
	}
	law := e.Linear()
	switch {
	case law == nil, a == b && !law.Current:
		is.unknown(quantity.Need{In: "netlist", Key: "what " + e.Path() + " drives", At: e.Card()})
		return
	case len(law.Volts)+len(law.Amps) == 0:
		is.constant(e, law.Current)
		return
	}
	c := controlled{a: is.place(a), b: is.place(b), offset: -1, current: law.Current, what: e.Path()}
	for _, t := range law.Volts {
		c.volts = append(c.volts, follows{is.place(t.Pos), is.place(t.Neg), t.Gain})
	}
	for _, t := range law.Amps {
		m, flows := is.meterOf(is.s.d.Element(t.Of))
		if flows {
			c.amps = append(c.amps, carries{m, t.Gain})
		}
	}
	if law.Const != 0 && is.signal == nil {
		c.offset = is.input(e.Drive(is.regime))
	}
	is.controls = append(is.controls, c)
}

// constant adds a source that follows nothing.
func (is *island) constant(e design.Element, current bool) {
	switch {
	case current:
		amps := is.input(e.Drive(is.regime))
		is.inject(e.Pin(0), injection{amps: amps, sign: -1, idle: -1, drive: drivesOn, what: e.Path()})
		is.inject(e.Pin(1), injection{amps: amps, sign: 1, idle: -1, drive: drivesOn, what: e.Path()})
	case is.signal != nil:
		is.wire(e)
	default:
		volts := is.input(e.Drive(is.regime))
		is.sources = append(is.sources, branch{is.place(e.Pin(0)), is.place(e.Pin(1)), volts, e.Path()})
	}
}

// meterOf finds where the current through a voltage source is an unknown, and brings the source in; flows is false for
// one that a change has opened. What it alone holds is no rail in this island: the current is that of all that hangs on
// it. An island that was begun without knowing this is begun again.
func (is *island) meterOf(v design.Element) (m meter, flows bool) {
	if v.Kind() == design.Gone {
		return m, false
	}
	if !is.asked[v.ID] {
		is.asked[v.ID], is.again = true, true
		return m, false
	}
	is.visit(v, v.Pin(0))
	m = is.meters[v.ID]
	return m, true
}

// asksFor lays the voltage sources whose currents are asked for open where rails are looked up.
func asksFor(d *design.Design, asked map[circuit.ID]bool) *design.Design {
	var changes []design.Change
	for _, id := range slices.Sorted(maps.Keys(asked)) {
		changes = append(changes, design.Change{Op: design.Open, Target: d.Circuit.Path(id)})
	}
	if changes == nil {
		return d
	}
	return d.With(changes...)
}

// judgeMeters finds voltage sources whose current is asked for and not known here: both ends held by something else, so
// that the current is decided elsewhere; in parallel with what has no resistance; on the path of a declared current,
// which flows whatever is drawn there.
func (is *island) judgeMeters() {
	for _, id := range slices.Sorted(maps.Keys(is.asked)) {
		m, ok := is.meters[id]
		if !ok {
			continue
		}
		if !m.wire {
			is.exact[m.at] = true
		}
		e := is.s.d.Element(id)
		if is.bypassed(m, e) || is.overruled(e) {
			is.unknown(quantity.Need{In: "netlist", Key: "the current through " + e.Path(), At: e.Card()})
		}
	}
}

// bypassed tells that the ends of a meter hang together without any resistance and without the meter.
func (is *island) bypassed(m meter, e design.Element) bool {
	g := grouped{}
	for i, b := range is.sources {
		if m.wire || i != m.at {
			g.join(b.a, b.b)
		}
	}
	for i, r := range is.resistors {
		if r.ohms < 0 && !(m.wire && i == m.at) {
			g.join(r.a, r.b)
		}
	}
	for _, c := range is.controls {
		if !c.current {
			g.join(c.a, c.b)
		}
	}
	return g.find(is.place(e.Pin(0))) == g.find(is.place(e.Pin(1)))
}

// overruled tells that a meter hangs together with the free end of a declared current.
func (is *island) overruled(e design.Element) bool {
	g := grouped{}
	join := func(a, b int) {
		if a >= 0 && b >= 0 { // a held net parts
			g.join(a, b)
		}
	}
	for _, b := range is.sources {
		join(b.a, b.b)
	}
	for _, r := range is.resistors {
		join(r.a, r.b)
	}
	for _, d := range is.diodes {
		join(d.anode, d.cathode)
	}
	for _, b := range is.balanced {
		for _, n := range []circuit.Net{e.Pin(0), e.Pin(1)} {
			if at := is.place(n); at >= 0 && b.free >= 0 && g.find(at) == g.find(b.free) {
				return true
			}
		}
	}
	return false
}

// grouped are nodes that hang together; all held ones are one.
type grouped map[int]int

func (g grouped) find(n int) int {
	n = max(n, -1)
	for {
		up, ok := g[n]
		if !ok {
			return n
		}
		n = up
	}
}

func (g grouped) join(a, b int) {
	if a, b = g.find(a), g.find(b); a != b {
		g[a] = b
	}
}
