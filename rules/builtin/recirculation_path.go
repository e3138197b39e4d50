package builtin

import (
	_ "embed" // the page
	"fmt"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

//go:embed doc/recirculation-path.md
var recirculationPathPage string

// RecirculationPath asks of each inductor whose current a switch sends through the shunt whether it runs through the shunt
// as well while it freewheels.
var RecirculationPath = &rules.Rule{
	ID:    "recirculation-path",
	Title: "freewheeling current misses the shunt",
	Level: rules.Warning,
	Page:  recirculationPathPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if shuntless(p) {
			return
		}
		w := newLoops(p)
		if len(w.coils) == 0 {
			p.Skip("no inductor is drawn whose current could freewheel")
			return
		}
		through := 0
		for _, coil := range w.coils {
			ways := w.sends(coil)
			if len(ways) == 0 {
				continue
			}
			through++
			var by, on design.Element
			missed := false
			for _, s := range ways {
				if by, on, missed = w.misses(coil, s); missed {
					break
				}
			}
			if !missed {
				continue
			}
			s, name := on.Path(), p.CurrentName()
			measures, sampling := p.Design.Intent.Get("currents", name, "measures"), p.Design.Intent.Get("currents", name, "sampling")
			switch {
			case measures != nil && measures.Text != "load":
				p.Holds(fmt.Sprintf("%s sees the current of %s only while %s is on, and no more is meant", p.ShuntText(), coil.Path(), s))
				continue
			case sampling != nil && sampling.Text == "synchronous":
				p.Holds(fmt.Sprintf("%s sees the current of %s only while %s is on, when it is sampled", p.ShuntText(), coil.Path(), s))
				continue
			}
			loop := fmt.Sprintf("the current of %s runs through %s and not through %s, which carries it only while %s is on", coil.Path(), by.Path(), p.ShuntText(), s)
			var c *rules.Check
			switch {
			case measures == nil && sampling == nil && w.smoothed():
				p.Holds(fmt.Sprintf("%s sees what is drawn from the supply", p.ShuntText()))
				continue
			case measures == nil && sampling == nil:
				c = p.HoldsIf(loop + fmt.Sprintf(": holds only if the load's current is not what is wanted (%s = \"switch\" or \"supply\"), or it is sampled while %s is on (%s = \"synchronous\")",
					design.Key("currents", name, "measures"), s, design.Key("currents", name, "sampling")))
			case sampling != nil:
				c = p.Breach(loop + ": read continuously, it shows the duty times the current").At(rules.Error)
			default:
				c = p.Breach(loop)
			}
			c.Evidence(source.Related{At: coil.Card(), Message: "the inductor"}, source.Related{At: by.Card(), Message: "where its current runs past the shunt"}).
				Advise(fmt.Sprintf("move %s between %s and where %s joins its loop, or sample while %s is on", p.ShuntText(), coil.Path(), by.Path(), s))
		}
		switch {
		case through == 0:
			p.Skip("no switch sends the current of an inductor through the shunt")
		default:
			p.Holds("the current of every inductor that is switched through " + p.ShuntText() + " is accounted for")
		}
	},
}

const (
	// carryOhms is up to what a resistor carries the current of a load, in ohm; common practice, no source.
	carryOhms = 1e3
	// mostLoop is how many nets are looked at for a loop, mostCoils how many inductors are tried.
	mostLoop  = 512
	mostCoils = 64
)

// loops looks for the ways of inductor currents around one shunt. All held nets are one, since supplies join them.
type loops struct {
	p         *rules.Bench
	d         *design.Design
	from, to  circuit.Net // the ends of the shunt; a positive current enters at from
	both      bool        // the current flows both ways, or nobody said which
	coils     []design.Element
	exclusive map[circuit.ID]bool // switches that take turns with another one
}

func newLoops(p *rules.Bench) *loops {
	w := &loops{p: p, d: p.Design, from: p.Plus.Shunt, to: p.Minus.Shunt, both: true, exclusive: map[circuit.ID]bool{}}
	if c, ok := p.Current(design.Operating); ok && p.Design.Intent.Says("currents", c.Element.Path(), "from") {
		w.from, w.to = c.From, c.To
		w.both = !c.Value.Known() || c.Value.Sound.Lo < 0
	}
	if w.coils = w.near(); len(w.coils) == 0 {
		return w
	}
	for _, name := range p.Design.Intent.Names("elements") {
		e, ok := p.Design.Find(name)
		x := p.Design.Intent.Get("elements", name, "exclusive-with")
		if !ok || x == nil {
			continue
		}
		w.exclusive[e.ID] = true
		for _, o := range x.Names {
			if e, ok := p.Design.Find(o); ok {
				w.exclusive[e.ID] = true
			}
		}
	}
	return w
}

func (w *loops) held(n circuit.Net) bool {
	_, held := w.d.Rail(n, design.Operating)
	return held
}

// A step is a way over an element, from one of its pins to another.
type step struct {
	e      design.Element
	from   circuit.Net
	to     circuit.Net
	active bool // over a channel that is closed
	diode  bool // over a diode, in the direction it conducts in
}

// steps are the ways over an element from a net.
func (w *loops) steps(e design.Element, n circuit.Net) (out []step) {
	two := func(a, b int, active bool) {
		if e.Pins() <= max(a, b) {
			return
		}
		if e.Pin(a) == n {
			out = append(out, step{e, n, e.Pin(b), active, false})
		}
		if e.Pin(b) == n {
			out = append(out, step{e, n, e.Pin(a), active, false})
		}
	}
	diode := func(a, k int) {
		if e.Pins() > max(a, k) && e.Pin(a) == n {
			out = append(out, step{e, n, e.Pin(k), false, true})
		}
	}
	switch e.Kind() {
	case 'R':
		if e.Value() <= carryOhms {
			two(0, 1, false)
		}
	case 'L', 'V', 'I':
		two(0, 1, false)
	case 'S', 'W':
		two(0, 1, true)
	case 'J', 'Z', 'Q':
		two(0, 2, true)
	case 'D':
		diode(0, 1)
	case 'M':
		two(0, 2, true)
		switch m := e.Model(); {
		case m != nil && m.Type == "PMOS":
			diode(0, 2)
		default:
			diode(2, 0)
		}
	case 'X':
		r := e.Record()
		if r == nil {
			break
		}
		pin := func(role string) (circuit.Net, bool) { return e.PinOf(role, "") }
		between := func(a, b string, active, oneWay bool) {
			x, okX := pin(a)
			y, okY := pin(b)
			if !okX || !okY {
				return
			}
			if x == n {
				out = append(out, step{e, n, y, active, oneWay})
			}
			if y == n && !oneWay {
				out = append(out, step{e, n, x, active, false})
			}
		}
		switch r.Role() {
		case "shunt":
			between("a", "b", false, false)
		case "switch":
			between("a", "b", true, false)
			between("drain", "source", true, false)
			if channel, _ := e.Word("channel"); channel == "p" {
				between("drain", "source", false, true)
			} else {
				between("source", "drain", false, true)
			}
		case "clamp":
			between("anode", "cathode", false, true)
		}
	}
	return out
}

// drawn are the elements that may carry the load's current: not the shunt, nor what stands between it and the amplifier.
func (w *loops) drawn(e, without design.Element) bool {
	same := func(o design.Element) bool { return o.ID == e.ID }
	for _, l := range []sense.Leg{w.p.Plus, w.p.Minus} {
		if slices.ContainsFunc(l.Series, same) || slices.ContainsFunc(l.Beside, same) {
			return false
		}
	}
	return e.ID != without.ID && !ours(w.p, e)
}

// near are the inductors that an end of the shunt reaches without passing another one or a supply: what is farther away has
// its loop by itself, and only a part of it here.
func (w *loops) near() (out []design.Element) {
	seen := map[circuit.ID]bool{}
	for _, n := range []circuit.Net{w.from, w.to} {
		if w.held(n) {
			continue
		}
		list, at := []circuit.Net{n}, map[circuit.Net]bool{n: true}
		for i := 0; i < len(list) && i < mostLoop; i++ {
			for e := range w.d.On(list[i]) {
				if e.Kind() == 'L' && e.Pins() == 2 {
					if !seen[e.ID] && len(out) < mostCoils {
						out = append(out, e)
					}
					seen[e.ID] = true
					continue
				}
				if !w.drawn(e, design.Element{ID: noElement}) {
					continue
				}
				for k := range e.Pins() { // towards either side of a diode
					for _, s := range w.steps(e, e.Pin(k)) {
						for _, o := range []circuit.Net{s.from, s.to} {
							if (s.from == list[i] || s.to == list[i]) && !at[o] && !w.held(o) {
								at[o] = true
								list = append(list, o)
							}
						}
					}
				}
			}
		}
	}
	return out
}

// noElement is no element of any circuit.
const noElement = ^circuit.ID(0)

// A segment is a way from one net to another, over the supplies or not.
type segment struct {
	steps    []step
	supplies bool
	ok       bool
}

// route finds the shortest way from a net to another one, or to any held net; back turns all steps around.
func (w *loops) route(start circuit.Net, goal func(circuit.Net) bool, back bool, coil design.Element, allowed func(step) bool) ([]step, bool) {
	type entry struct {
		at   circuit.Net
		from int
		by   step
	}
	list, seen := []entry{{at: start, from: -1}}, map[circuit.Net]bool{start: true}
	for i := 0; i < len(list) && i < mostLoop; i++ {
		n := list[i].at
		if goal(n) {
			var out []step
			for k := i; k > 0; k = list[k].from {
				out = append(out, list[k].by)
			}
			return out, true
		}
		if w.held(n) {
			continue // supplies are passed by whoever asks
		}
		for e := range w.d.On(n) {
			if !w.drawn(e, coil) {
				continue
			}
			var ways []step
			if back {
				for k := range e.Pins() {
					for _, s := range w.steps(e, e.Pin(k)) {
						if s.to == n {
							ways = append(ways, s)
						}
					}
				}
			} else {
				ways = w.steps(e, n)
			}
			for _, s := range ways {
				next := s.to
				if back {
					next = s.from
				}
				if allowed(s) && !seen[next] {
					seen[next] = true
					list = append(list, entry{next, i, s})
				}
			}
		}
	}
	return nil, false
}

// between are the ways from a net to another: one that keeps away from the supplies, and one over them.
func (w *loops) between(a, b circuit.Net, coil design.Element, allowed func(step) bool) (local, over segment) {
	if !w.held(a) && !w.held(b) {
		local.steps, local.ok = w.route(a, func(n circuit.Net) bool { return n == b }, false, coil, func(s step) bool { return s.e.Kind() != 'L' && allowed(s) })
	}
	out, okOut := w.route(a, w.held, false, coil, allowed)
	in, okIn := w.route(b, w.held, true, coil, allowed)
	return local, segment{append(out, in...), true, okOut && okIn}
}

// turns are both directions of a coil's current: it arrives at in and leaves at out.
func turns(coil design.Element) [][2]circuit.Net {
	return [][2]circuit.Net{{coil.Pin(0), coil.Pin(1)}, {coil.Pin(1), coil.Pin(0)}}
}

func passive(s step) bool { return !s.active && !s.diode }

// A sent coil has its current sent through the shunt by a closed switch: in which direction, and whether
// the same way is open to it with all switches open, over body diodes.
type sent struct {
	closed    []design.Element // the switches that are closed for it
	in, out   circuit.Net      // where the current arrives at the coil and leaves it
	freewheel bool
}

// sends are the ways in which closed switches send the coil's current through the shunt. Without a switch there is nothing
// that could freewheel.
func (w *loops) sends(coil design.Element) (list []sent) {
	ends := [][2]circuit.Net{{w.from, w.to}}
	if w.both {
		ends = append(ends, [2]circuit.Net{w.to, w.from})
	}
	for _, dir := range turns(coil) {
		for _, end := range ends {
			with := func(allowed func(step) bool) (out []step, ok bool) {
				aLocal, aOver := w.between(dir[1], end[0], coil, allowed)
				bLocal, bOver := w.between(end[1], dir[0], coil, allowed)
				for _, pair := range [][2]segment{{aLocal, bLocal}, {aLocal, bOver}, {aOver, bLocal}} {
					if pair[0].ok && pair[1].ok {
						return append(slices.Clip(pair[0].steps), pair[1].steps...), true
					}
				}
				return nil, false
			}
			if _, still := with(passive); still {
				continue
			}
			way, found := with(func(s step) bool { return !s.diode })
			var closed []design.Element
			for _, s := range way {
				if s.active {
					closed = append(closed, s.e)
				}
			}
			if found && len(closed) > 0 {
				_, freewheel := with(func(s step) bool { return !s.active })
				list = append(list, sent{closed, dir[0], dir[1], freewheel})
			}
		}
	}
	return list
}

// misses tells that the coil's current can run past the shunt once one of the switches that send it there has opened, which one,
// and over what: diodes, the other switches of the same way, and those that take turns with others; or, where it
// freewheels through the shunt, over any other switch.
func (w *loops) misses(coil design.Element, s sent) (by, opened design.Element, ok bool) {
	past := func(allowed func(step) bool) ([]step, bool) {
		local, over := w.between(s.out, s.in, coil, allowed)
		if local.ok {
			return local.steps, true
		}
		return over.steps, over.ok
	}
	if _, still := past(passive); still {
		return by, opened, false // a load beside the shunt, or a filter
	}
	for _, opened := range s.closed {
		way, ok := past(func(o step) bool {
			if !o.active {
				return true
			}
			kept := slices.ContainsFunc(s.closed, func(e design.Element) bool { return e.ID == o.e.ID })
			return o.e.ID != opened.ID && (kept || w.exclusive[o.e.ID] || s.freewheel)
		})
		if k := slices.IndexFunc(way, func(s step) bool { return s.active || s.diode }); ok && k >= 0 {
			return way[k].e, opened, true
		}
	}
	return by, opened, false
}

// smooth is from how much a capacitor at the load's end of a shunt carries what the switches chop, in farad: then the shunt
// sees what is drawn from the supply. Common practice, no source.
const smooth = 1e-6

// smoothed tells that such a capacitor stands from an end of the shunt that nothing holds to a held net.
func (w *loops) smoothed() bool {
	for _, n := range []circuit.Net{w.from, w.to} {
		if w.held(n) {
			continue
		}
		for e := range w.d.On(n) {
			if e.Kind() == 'C' && e.Pins() == 2 && e.Value() >= smooth && w.held(e.Other(n)) {
				return true
			}
		}
	}
	return false
}
