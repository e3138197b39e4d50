package sense

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
)

// A Network is the resistors around an op amp and the op amps that it shares them with, out to the nets that something
// else decides. Op amps are nullors in it: each output stands where both its inputs meet. Capacitors are open at DC and
// clamps are taken not to conduct.
type Network struct {
	Resistors []design.Element
	Ports     []circuit.Net // the nets that something else decides
	Stages    []Stage       // the op amps, the one that was asked for first
	reads     circuit.Net

	root   map[circuit.Net]circuit.Net // of nets that a piece of wire joins
	node   map[circuit.Net]int         // of a root: a node, or ^k for port k
	nodes  int
	linear []design.Element // voltage-controlled voltage sources
	rails  []bool           // of a port: something holds it by itself
	shunts []bool           // of a port: an end of what was cut
	outs   []int            // of a port: 1 where it is the output of an op amp that is no part of this
}

// A Stage is one op amp of a network.
type Stage struct {
	Amp              design.Element
	Unit             string
	Plus, Minus, Out circuit.Net
	Through          *design.Element // a transistor in the loop, which the output drives
	drain, source    circuit.Net     // of the transistor, or its collector and emitter
}

const (
	widest  = 48  // nodes in a network; one that is wider is not looked at
	crowded = 256 // elements on a net; one with more is decided by something else
)

// A builder walks from the inputs of op amps outwards.
type builder struct {
	*Network
	d      *design.Design
	cut    func(design.Element) bool
	alone  bool    // the outputs of all other op amps are ports
	opened []Stage // op amps without feedback: their outputs are ports
	todo   []circuit.Net
	seen   map[circuit.Net]bool
	as     map[circuit.Net]int // what a net is: 0 inner, else one of the kinds below
	taken  map[circuit.ID]bool
	pairs  [][2]circuit.Net // joined by wire
}

const (
	inner = iota
	port
	driven // an output of an op amp of the network
	rail
	end // of what was cut
	out // of an op amp that is no part
)

// build is the network around one op amp; nil where it is too wide.
func build(d *design.Design, first Stage, cut func(design.Element) bool, alone bool, opened []Stage) *Network {
	b := &builder{Network: &Network{root: map[circuit.Net]circuit.Net{}, node: map[circuit.Net]int{}}, d: d, cut: cut, alone: alone, opened: opened,
		seen: map[circuit.Net]bool{}, as: map[circuit.Net]int{}, taken: map[circuit.ID]bool{}}
	b.add(first)
	for len(b.todo) > 0 {
		if len(b.seen) > 4*widest {
			return nil
		}
		n := b.todo[0]
		b.todo = b.todo[1:]
		b.visit(n)
	}
	slices.SortFunc(b.Resistors, func(x, y design.Element) int { return int(x.ID) - int(y.ID) })
	if !b.number() || b.nodes > widest {
		return nil
	}
	return b.Network
}

func (b *builder) want(nets ...circuit.Net) {
	for _, n := range nets {
		if !b.seen[n] {
			b.seen[n] = true
			b.todo = append(b.todo, n)
		}
	}
}

func (b *builder) add(s Stage) {
	b.Stages = append(b.Stages, s)
	b.want(s.Plus, s.Minus)
	if s.Through != nil {
		b.want(s.drain, s.source)
	}
}

// visit finds what a net is and, where nothing else decides it, goes on over its resistors.
func (b *builder) visit(n circuit.Net) {
	if b.as[n] = b.kind(n); b.as[n] != inner {
		return
	}
	for e := range b.d.On(n) {
		switch {
		case b.taken[e.ID]:
		case e.Kind() == 'R' || e.Kind() == 'L', e.Kind() == 'V':
			b.taken[e.ID] = true
			o := e.Other(n)
			b.want(o)
			if e.Kind() == 'R' && !e.Short() {
				if o != n {
					b.Resistors = append(b.Resistors, e)
				}
				continue
			}
			b.pairs = append(b.pairs, [2]circuit.Net{n, o})
		case e.Kind() == 'E' && e.Pins() > 1 && (e.Pin(0) == n || e.Pin(1) == n):
			b.taken[e.ID] = true
			b.linear = append(b.linear, e)
			b.want(e.Pin(0), e.Pin(1))
			for _, t := range e.Linear().Volts {
				b.want(t.Pos, t.Neg)
			}
		}
	}
}

// kind is what decides a net.
func (b *builder) kind(n circuit.Net) int {
	if n == 0 || held(b.d, n) {
		return rail
	}
	if len(b.d.Circuit.On(n)) > crowded {
		return port
	}
	for e := range b.d.On(n) {
		if b.cut(e) {
			return end
		}
	}
	is := inner
	for e := range b.d.On(n) {
		switch k := e.Kind(); k {
		case 'C', 'K', 'D':
		case 'R', 'L':
			if e.Pins() != 2 || k == 'R' && math.IsNaN(e.Value()) {
				return port
			}
		case 'V': // an ammeter is a piece of wire
			if s := e.Source(); s == nil || !s.Known || s.Levels != [2]float64{} {
				return port
			}
		case 'E':
			if l := e.Linear(); e.Pins() < 2 || (e.Pin(0) == n || e.Pin(1) == n) && (l == nil || len(l.Amps) > 0 || l.Const != 0) {
				return port
			}
		case 'X':
			switch x := b.subcircuit(e, n); {
			case x == port:
				return port
			case x != inner:
				is = x
			}
		case 'M', 'Q', 'J', 'Z':
			if !b.through(e, n) {
				return port
			}
		default:
			return port
		}
	}
	return is
}

// through tells that a transistor does nothing at a net but what the network counts: its channel is in a loop, or its gate
// takes no current.
func (b *builder) through(e design.Element, n circuit.Net) bool {
	for _, s := range b.Stages {
		if s.Through != nil && s.Through.ID == e.ID && (n == s.drain || n == s.source) {
			return true
		}
	}
	return e.Kind() != 'Q' && e.Pin(1) == n && e.Pin(0) != n && e.Pin(2) != n
}

// subcircuit is what an X card makes of a net: an op amp's inputs take nothing, its output decides the net.
func (b *builder) subcircuit(e design.Element, n circuit.Net) int {
	units := e.OpAmps()
	if units == nil {
		if r := e.Record(); r != nil && slices.Contains([]string{"comparator", "converter", "clamp", "capacitor"}, r.Role()) {
			return inner
		}
		return port
	}
	is := port
	for _, u := range units {
		on := func(role string) bool { p, ok := e.PinOf(role, u); return ok && p == n }
		switch {
		case on("out"):
			s, ok := stage(b.d, e, u)
			if !ok || s.Through != nil { // what drives a gate is no voltage of the network
				return port
			}
			if b.index(e, u) >= 0 {
				return driven
			}
			if b.alone || slices.ContainsFunc(b.opened, func(o Stage) bool { return o.Amp.ID == e.ID && o.Unit == u }) {
				return out
			}
			b.add(s)
			return driven
		case on("in+"), on("in-"):
			is = inner
		}
	}
	return is
}

// index is the number of an op amp in the network; -1 where it is no part.
func (b *Network) index(e design.Element, unit string) int {
	return slices.IndexFunc(b.Stages, func(s Stage) bool { return s.Amp.ID == e.ID && s.Unit == unit })
}

// number gives each net its node or port. It is false where two op amps drive one net.
func (b *builder) number() bool {
	for n := range b.seen {
		b.root[n] = n
	}
	find := func(n circuit.Net) circuit.Net {
		for b.root[n] != n {
			n = b.root[n]
		}
		return n
	}
	for _, p := range b.pairs {
		x, y := find(p[0]), find(p[1])
		if b.as[x] == inner || b.as[x] == driven && b.as[y] != inner { // what decides one net of a wire decides the other
			x, y = y, x
		}
		b.root[y] = x
	}
	var nets []circuit.Net
	for n := range b.seen {
		nets = append(nets, n)
	}
	slices.Sort(nets)
	for _, n := range nets {
		b.root[n] = find(n)
	}
	for _, n := range nets {
		if b.root[n] != n {
			continue
		}
		switch k := b.as[n]; k {
		case inner, driven:
			b.node[n] = b.nodes
			b.nodes++
		default:
			b.node[n] = ^len(b.Ports)
			b.Ports = append(b.Ports, n)
			b.rails = append(b.rails, k == rail)
			b.shunts = append(b.shunts, k == end)
			b.outs = append(b.outs, map[bool]int{true: 1}[k == out])
		}
	}
	drives := map[int]bool{}
	for _, s := range b.Stages {
		if s.Through != nil {
			continue
		}
		if k, ok := b.at(s.Out); ok {
			if k < 0 || drives[k] {
				return false
			}
			drives[k] = true
		}
	}
	return true
}

// at is the node of a net, or ^k for port k.
func (w *Network) at(n circuit.Net) (int, bool) {
	r, ok := w.root[n]
	if !ok {
		return 0, false
	}
	return w.node[r], true
}

// Port is the number of the port at a net.
func (w *Network) Port(n circuit.Net) (int, bool) {
	k, ok := w.at(n)
	return ^k, ok && k < 0
}

// Nominal is the resistors at what their cards say, in ohm.
func (w *Network) Nominal() []float64 {
	out := make([]float64, len(w.Resistors))
	for i, e := range w.Resistors {
		out[i] = e.Value()
	}
	return out
}
