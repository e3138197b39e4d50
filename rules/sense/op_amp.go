package sense

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
)

// OpAmp is the kind of a block that is built of op amps and resistors.
const OpAmp = "op-amp"

// stage is one op amp of a package, with the transistor that its output drives where that closes its loop.
func stage(d *design.Design, e design.Element, unit string) (s Stage, ok bool) {
	s = Stage{Amp: e, Unit: unit}
	p, okP := e.PinOf("in+", unit)
	m, okM := e.PinOf("in-", unit)
	o, okO := e.PinOf("out", unit)
	if !okP || !okM || !okO || p == m {
		return s, false
	}
	s.Plus, s.Minus, s.Out = p, m, o
	return s, s.drive(d)
}

// drive finds a transistor in the loop: its gate or base hangs on the output, one end of its channel on an input and the
// other not. That one is where the stage is read, or the first where the other stands on a rail. It is false where a
// resistor beside the transistor joins the output to its loop: then nobody knows which of the two closes it.
func (s *Stage) drive(d *design.Design) bool {
	var found []design.Element
	var ahead []reach
	for _, r := range spread(d, s.Out) {
		for e := range d.On(r.net) {
			if k := e.Kind(); (k == 'M' || k == 'Q' || k == 'J' || k == 'Z') && e.Pin(1) == r.net && e.Pin(0) != r.net && e.Pin(2) != r.net {
				found = append(found, e)
			}
		}
	}
	if len(found) != 1 {
		return true
	}
	ahead = append(spread(d, s.Minus), spread(d, s.Plus)...)
	on := func(n circuit.Net) bool {
		return slices.ContainsFunc(ahead, func(r reach) bool { return r.net == n })
	}
	t := found[0]
	a, b := on(t.Pin(0)), on(t.Pin(2))
	if a == b {
		return true
	}
	if on(s.Out) {
		return false
	}
	s.Through, s.drain, s.source = &t, t.Pin(0), t.Pin(2)
	loop, far := t.Pin(0), t.Pin(2)
	if b {
		loop, far = far, loop
	}
	if s.Out = far; held(d, far) {
		s.Out = loop
	}
	return true
}

// joint is the network of all op amps that decide one together; nil where it has no solution, or no negative feedback.
// Others without feedback of their own (comparators, integrators, servos) only drive their output.
func joint(d *design.Design, first Stage, cut func(design.Element) bool) (*Network, *Solution) {
	var opened []Stage
	for range 8 {
		w := build(d, first, cut, false, opened)
		if w == nil {
			return nil, nil
		}
		bad := -1
		for i := range w.Stages {
			if f := w.Feedback(w.Nominal(), i); !(f > 1e-9) && (bad < 0 || i == 0) {
				if bad = i; i == 0 {
					break
				}
			}
		}
		switch {
		case bad == 0 && len(w.Stages) == 1:
			return nil, nil
		case bad == 0: // with another one that has no feedback it could not be judged
			if bad = lonely(w); bad <= 0 {
				return nil, nil
			}
			opened = append(opened, w.Stages[bad])
		case bad > 0:
			opened = append(opened, w.Stages[bad])
		default:
			s, ok := w.Solve(w.Nominal())
			if !ok {
				return nil, nil
			}
			return w, s
		}
	}
	return nil, nil
}

// lonely is an op amp to whose inputs its own output never comes back; -1 for none.
func lonely(w *Network) int {
	for i, s := range w.Stages {
		if k, ok := w.at(s.Out); i > 0 && (!ok || k < 0) {
			return i
		}
	}
	return -1
}

// A view is an op amp whose output follows a shunt.
type view struct {
	first Stage
	w     *Network
	s     *Solution
	shunt design.Element
	plus  circuit.Net // the end of the shunt that raises the output
	minus circuit.Net
	ends  []int // the ports of the ends, without one at ground
	cut   func(design.Element) bool
}

// noticed is the part of the largest coefficient that another must have to mean something.
const noticed = 1e-3

// looks finds the shunt that an op amp's output follows: the one whose current intent declares, else the smallest resistor
// up to 1 ohm.
func looks(d *design.Design, first Stage) *view {
	declared := func(e design.Element) bool {
		return e.Kind() == 'R' && e.Pins() == 2 && d.Intent.Says("currents", e.Path())
	}
	small := func(e design.Element) bool {
		return declared(e) || e.Kind() == 'R' && e.Pins() == 2 && !e.Short() && e.Value() <= 1
	}
	ways := []func(design.Element) bool{declared, small}
	if !d.Intent.Says("currents") {
		ways = ways[1:]
	}
	for _, cut := range ways {
		w, s := joint(d, first, cut)
		if w == nil {
			continue
		}
		v := &view{first: first, w: w, s: s, cut: cut}
		if v.choose(d, declared) {
			return v
		}
	}
	return nil
}

func (v *view) choose(d *design.Design, declared func(design.Element) bool) bool {
	out := v.first.Out
	ground, _ := v.first.Amp.PinOf("ground", v.first.Unit)
	largest := 0.0
	for k, n := range v.w.Ports {
		if n != 0 && n != ground {
			largest = max(largest, math.Abs(v.s.Of(out, k)))
		}
	}
	if !(largest > 1e-6) {
		return false
	}
	// follows is how the output follows one end, and whether that is anything.
	follows := func(n circuit.Net) (c float64, port int, grounded, ok bool) {
		if n == 0 || n == ground {
			return 0, -1, true, true
		}
		k, is := v.w.Port(n)
		if !is {
			return 0, -1, false, false
		}
		c = v.s.Of(out, k)
		return c, k, false, math.Abs(c) > noticed*largest
	}
	best := math.Inf(1)
	found := false
	for k, n := range v.w.Ports {
		if !v.w.shunts[k] && !v.w.rails[k] || len(d.Circuit.On(n)) > crowded {
			continue
		}
		for e := range d.On(n) {
			if !v.cut(e) || e.Kind() != 'R' {
				continue
			}
			a, b := e.Pin(0), e.Pin(1)
			ca, ka, groundA, okA := follows(a)
			cb, kb, groundB, okB := follows(b)
			switch {
			case !okA || !okB || a == b || groundA && groundB:
				continue
			case !groundA && !groundB && ca*cb >= 0:
				continue
			}
			ohms := e.Value()
			if declared(e) {
				ohms -= 1e12 // before all others
			}
			if !(ohms < best) {
				continue
			}
			best, found = ohms, true
			v.shunt, v.plus, v.minus = e, a, b
			if ca < 0 || cb > 0 {
				v.plus, v.minus = b, a
			}
			v.ends = nil
			for _, k := range []int{ka, kb} {
				if k >= 0 {
					v.ends = append(v.ends, k)
				}
			}
		}
	}
	return found
}

// live tells that a net follows the shunt.
func (v *view) live(n circuit.Net) bool {
	for _, k := range v.ends {
		if c := v.s.Of(n, k); math.Abs(c) > noticed {
			return true
		}
	}
	return false
}

// A tie is what an op amp's output follows directly, the outputs of all others standing still.
type tie struct {
	shunt bool
	outs  []circuit.Net // of others, that follow the shunt
}

func (v *view) ties(d *design.Design) (t tie) {
	w := build(d, v.first, v.cut, true, nil)
	if w == nil {
		return t
	}
	s, ok := w.Solve(w.Nominal())
	if !ok {
		return t
	}
	for _, k := range v.ends {
		if j, ok := w.Port(v.w.Ports[k]); ok && math.Abs(s.Of(v.first.Out, j)) > noticed {
			t.shunt = true
		}
	}
	for j, n := range w.Ports {
		if w.outs[j] == 1 && math.Abs(s.Of(v.first.Out, j)) > noticed && v.live(n) {
			t.outs = append(t.outs, n)
		}
	}
	return t
}

// senses tells a stage that makes a reading of the shunt from one that only filters or buffers what another has made.
func (t tie) senses() bool { return t.shunt || len(t.outs) > 1 }

// final tells that no other stage makes the reading of this one: a pair of op amps is one block, which ends at the last.
func (v *view) final(d *design.Design, own tie) bool {
	seen := 0
	for _, r := range spread(d, v.first.Out) {
		for e := range d.On(r.net) {
			if e.Kind() != 'X' {
				continue
			}
			for _, u := range e.OpAmps() {
				k, ok := stage(d, e, u)
				if !ok || k.Amp.ID == v.first.Amp.ID && k.Unit == v.first.Unit || k.Plus != r.net && k.Minus != r.net {
					continue
				}
				if seen++; seen > 8 {
					return true
				}
				next := looks(d, k)
				if next == nil || next.shunt.ID != v.shunt.ID {
					continue
				}
				if t := next.ties(d); t.senses() && slices.Contains(t.outs, v.first.Out) {
					return false
				}
			}
		}
	}
	return true
}

// opAmp recognises a block by solving: the op amps become nullors, the ends of the shunt and all that something else
// decides become sources, and what the output follows tells what it is. It is nil for an op amp that senses no current.
func opAmp(d *design.Design, amp design.Element, unit string) *Block {
	first, ok := stage(d, amp, unit)
	if !ok {
		return nil
	}
	v := looks(d, first)
	if v == nil {
		return nil
	}
	own := v.ties(d)
	if !own.senses() || !v.final(d, own) {
		return nil
	}
	v.w.reads = v.converted(d)
	b := &Block{Amp: amp, Unit: unit, Kind: OpAmp, Network: v.w}
	b.Plus, b.Minus = v.leg(first.Plus, v.plus), v.leg(first.Minus, v.minus)
	one, other := v.plus, v.minus
	if held(d, one) {
		one, other = other, one
	}
	for e := range between(d, one) {
		if e.Other(one) == other && (e.ID == v.shunt.ID || v.cut(e) && parallel(e, v.shunt)) {
			b.Shunt = append(b.Shunt, e)
		}
	}
	return b
}

// leg is the way from an input to the end of the shunt over resistors of the network; without one it is empty.
func (v *view) leg(pin, to circuit.Net) Leg {
	steps := []reach{{net: pin, from: -1}}
	seen := map[circuit.Net]bool{pin: true}
	for i := 0; i < len(steps); i++ {
		at := steps[i].net
		if at == to {
			l := Leg{Pin: pin, Shunt: to}
			for k := i; k > 0; k = steps[k].from {
				l.Series = append([]design.Element{steps[k].over}, l.Series...)
				l.Inner = append([]circuit.Net{steps[steps[k].from].net}, l.Inner...)
			}
			return l
		}
		if k, _ := v.w.at(at); k < 0 && i > 0 {
			continue
		}
		for _, e := range v.w.Resistors {
			if o := e.Other(at); (e.Pin(0) == at || e.Pin(1) == at) && !seen[o] {
				seen[o] = true
				steps = append(steps, reach{net: o, over: e, from: i, deep: steps[i].deep + 1})
			}
		}
	}
	return Leg{Pin: pin, Shunt: to}
}

// Reads is the net where an op-amp block is read: the output, the end of a transistor in its loop, or where a converter
// is declared inside the loop, behind a resistor at the output.
func (w *Network) Reads() circuit.Net { return w.reads }

// converted is the net of a declared converter inside the network, else the output of the first op amp.
func (v *view) converted(d *design.Design) circuit.Net {
	for _, name := range d.Intent.Names("converters") {
		n, ok := d.Net(name)
		if !ok {
			continue
		}
		k, inside := v.w.at(n)
		s := v.first
		if inside && k >= 0 && v.live(n) && n != s.Plus && n != s.Minus && !slices.ContainsFunc(v.w.Stages[1:], func(o Stage) bool { return o.Out == n }) {
			return n
		}
	}
	return v.first.Out
}
