package volt

import (
	"container/heap"
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// declared is the declared current of an element that volt honours: one of a resistor or wire with a free end.
func (is *island) declared(e design.Element) (c design.Current, ok bool) {
	if !is.s.declares || !e.Carries() || !is.s.d.Intent.Says("currents", e.Path()) || is.s.free(e) == nil {
		return c, false
	}
	return e.Current(is.regime)
}

// carryOnce adds a declared current where nothing of the element was added yet, and joins the sense terminals of a shunt.
func (is *island) carryOnce(e design.Element, c design.Current) {
	if e.Kind() != 'X' {
		if !is.seen[e.ID] {
			is.seen[e.ID] = true
			is.carry(c)
		}
		return
	}
	if is.once(e, "", "ends") {
		is.carry(c)
		is.senseJoints(e)
	}
}

// carry adds a declared current: it leaves one net and arrives at the other whatever the netlist's own load would
// draw; the free end's voltage follows from it.
func (is *island) carry(c design.Current) {
	free := *is.s.free(c.Element)
	b := balance{ohms: is.input(c.Element.Resistance()), amps: is.input(c.Value), what: c.Element.Path()}
	b.drive, b.coil = is.s.load(free, c.Element)
	b.from, b.to = is.place(c.From), is.place(c.To)
	far := c.To
	if b.free = b.from; free == c.To {
		b.free, far = b.to, c.From
	}
	if b.drive != unsaidOn && !is.steady && !is.s.rail(far) && is.s.breaks(far) {
		is.rest(&b, c, free, far)
	}
	is.balanced = append(is.balanced, b)
}

// load is what becomes of a declared current whose path opens: an inductor behind its free end drives it on, a drawn
// resistive load lets it stop, and where no load is drawn nobody said.
func (s *Solver) load(free circuit.Net, e design.Element) (d drive, coil string) {
	if coil = s.coil(free, e); coil != "" {
		return drivesOn, coil
	}
	if math.IsInf(s.hold(free, e), 1) {
		return unsaidOn, ""
	}
	return stops, ""
}

// coil is an inductor that a net reaches through resistors and sources, not through rails and the element itself; ""
// where there is none.
func (s *Solver) coil(n circuit.Net, without design.Element) string {
	seen := map[circuit.Net]bool{}
	todo := []circuit.Net{n}
	var list []way
	for len(todo) > 0 && len(seen) < 4096 {
		at := todo[0]
		todo = todo[1:]
		if seen[at] || s.rail(at) {
			continue
		}
		seen[at] = true
		for o := range s.d.On(at) {
			if o.ID == without.ID {
				continue
			}
			list = ways(list[:0], o)
			for _, w := range list {
				to, ok := w.end(at)
				switch {
				case !ok:
				case w.how == winds:
					return o.Path()
				case w.how == resists || w.how == holds:
					todo = append(todo, to)
				}
			}
		}
	}
	return ""
}

// balancing tells that the implied source of a declared current stands on the net: what else is on it decides nothing.
func (is *island) balancing(n circuit.Net) bool {
	if !is.s.declares {
		return false
	}
	for e := range is.s.d.On(n) {
		if c, ok := is.declared(e); ok && *is.s.free(e) == n {
			is.carryOnce(e, c)
			return true
		}
	}
	return false
}

// Free tells that a declared current has an end where its implied source can stand.
func (s *Solver) Free(e design.Element) bool { return s.free(e) != nil }

// Pinned tells that rails hold both ends of an element, so that its current is theirs to say.
func (s *Solver) Pinned(e design.Element) bool {
	a, b := e.Ends()
	return a != b && s.rail(a) && s.rail(b)
}

// free is the end of a declared current where its implied source stands: the one that is held least, the far one where
// both are alike. It is nil where there is no declared current, or where both ends are held by rails.
func (s *Solver) free(e design.Element) *circuit.Net {
	if n, ok := s.balances[e.ID]; ok {
		if n == none {
			return nil
		}
		return &n
	}
	pick := func() circuit.Net {
		c, ok := e.Current(design.Operating)
		if !ok || c.From == c.To {
			return none
		}
		near, far := s.hold(c.From, e), s.hold(c.To, e)
		switch {
		case near == 0 && far == 0 && s.rail(c.From) && s.rail(c.To):
			return none
		case s.rail(c.To):
			return c.From
		case s.rail(c.From) || near <= 2*far+1e-3:
			return c.To
		case math.IsInf(near, 1) && s.coil(c.From, e) == "":
			return c.To // nothing at all is drawn there: nobody said what feeds it
		}
		return c.From
	}
	n := pick()
	s.balances[e.ID] = n
	if n == none {
		return nil
	}
	return &n
}

const none = circuit.Net(math.MaxUint32)

func (s *Solver) rail(n circuit.Net) bool {
	_, ok := s.d.Rail(n, design.Operating)
	return ok
}

// hold is the resistance through which something holds a net, in ohm: through resistors, sources, switches and
// diodes, not through inductors and not through the element itself. It is infinite where nothing does.
func (s *Solver) hold(n circuit.Net, without design.Element) float64 {
	dist := map[circuit.Net]float64{n: 0}
	q := &netHeap{{n, 0}}
	var list []way
	for q.Len() > 0 && len(dist) < 4096 {
		at := heap.Pop(q).(netAt)
		if at.ohms > dist[at.net] {
			continue
		}
		if s.rail(at.net) {
			return at.ohms
		}
		for e := range s.d.On(at.net) {
			if e.ID == without.ID {
				continue
			}
			list = ways(list[:0], e)
			for _, w := range list {
				to, ok := w.end(at.net)
				if !ok || w.how == winds || !(w.ohms >= 0) {
					continue
				}
				if d, known := dist[to]; !known || at.ohms+w.ohms < d {
					dist[to] = at.ohms + w.ohms
					heap.Push(q, netAt{to, at.ohms + w.ohms})
				}
			}
		}
	}
	return math.Inf(1)
}

type netAt struct {
	net  circuit.Net
	ohms float64
}

type netHeap []netAt

func (h netHeap) Len() int           { return len(h) }
func (h netHeap) Less(i, j int) bool { return h[i].ohms < h[j].ohms }
func (h netHeap) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *netHeap) Push(x any)        { *h = append(*h, x.(netAt)) }
func (h *netHeap) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}

// inductor adds an inductor: a piece of wire, and where a switch can break its path also a source that goes on driving
// its current.
func (is *island) inductor(e design.Element) {
	path := e.Path()
	ohms := is.winding(e)
	if is.steady || !is.s.interruptible(e) {
		if is.steady {
			is.coils[len(is.resistors)] = true
		}
		is.resistors = append(is.resistors, resistor{is.place(e.Pin(0)), is.place(e.Pin(1)), ohms, -1, path})
		return
	}
	amps := is.s.kick(e, is.regime)
	st := is.state(e, "driving on", "as a short")
	is.resistors = append(is.resistors, resistor{is.place(e.Pin(0)), is.place(e.Pin(1)), ohms, st, path})
	at := is.input(amps)
	for i, sign := range []float64{-1, 1} {
		is.inject(e.Pin(i), injection{amps: at, sign: sign, idle: st, drive: drivesOn, what: path})
	}
}

// winding is the resistance that an inductor's card gives it in series (RSER, DCR), an input; -1 where it gives none. The
// manual has no such parameter; dialects do.
func (is *island) winding(e design.Element) int {
	for _, name := range []string{"rser", "dcr", "rdc", "rs", "rl", "r"} {
		switch ohms, given := is.s.d.Circuit.Given(e.ID, name); {
		case !given:
		case ohms >= 0:
			return is.input(quantity.Exactly(e.Path()+" "+name, quantity.Ohm, ohms))
		default:
			is.unknown(quantity.Need{In: "netlist", Key: "the series resistance of " + e.Path(), At: e.Card()})
		}
	}
	return -1
}

// interruptible tells that a switch can break an inductor's path: one is reached from an end without crossing a net
// that something holds.
func (s *Solver) interruptible(e design.Element) bool { return s.breaks(e.Pin(0), e.Pin(1)) }

// breaks tells that a switch is reached from nets without crossing one that something holds.
func (s *Solver) breaks(todo ...circuit.Net) bool {
	seen := map[circuit.Net]bool{}
	var list []way
	for len(todo) > 0 && len(seen) < 4096 {
		n := todo[0]
		todo = todo[1:]
		if seen[n] || s.rail(n) {
			continue
		}
		seen[n] = true
		for o := range s.d.On(n) {
			list = ways(list[:0], o)
			for _, w := range list {
				to, ok := w.end(n)
				switch {
				case !ok || w.how == rectifies:
				case w.how == switches:
					return true
				default:
					todo = append(todo, to)
				}
			}
		}
	}
	return false
}

// An occasion is an element in a regime.
type occasion struct {
	of     circuit.ID
	regime design.Regime
}

// kick is the current an inductor may carry when its path opens, in amperes from its first to its second node:
// declared, or what it carries while it is a piece of wire, down to none.
func (s *Solver) kick(e design.Element, r design.Regime) quantity.Quantity {
	if q := s.d.Declared(quantity.Amp, "elements", e.Path(), "current"); q.Known() {
		return q
	}
	if q, ok := s.kicks[occasion{e.ID, r}]; ok {
		return q
	}
	is := s.build([]circuit.Net{e.Pin(0), e.Pin(1)}, r, true)
	q := quantity.Missing(quantity.Amp, quantity.Need{In: "intent", Key: design.Key("elements", e.Path(), "current")})
	row := -1
	for i, x := range is.resistors {
		if is.coils[i] && x.what == e.Path() {
			row = i
		}
	}
	if row >= 0 && len(is.unknowns) == 0 {
		i := is.bound("current of "+e.Path(), quantity.Amp, reading{{at: is.work.rowOf[row], times: 1}})
		if i.Known() && !i.Seen.Empty() && !math.IsInf(i.Seen.Width(), 0) {
			zero := quantity.Interval{}
			c := &quantity.Cause{Name: "current of " + e.Path(), Unit: quantity.Amp, Nom: i.Seen.Hi, Sound: i.Sound.Union(zero),
				Seen: i.Seen.Union(zero), At: e.Card(), Grade: max(i.Grade, quantity.Assumed),
				Note: e.Path() + ": no current declared, what the netlist drives through it is used"}
			q = c.Of()
		}
	}
	s.kicks[occasion{e.ID, r}] = q
	return q
}
