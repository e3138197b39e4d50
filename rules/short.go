package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// What is as good as a wire where a supply is shorted: a sense resistor, a ferrite or a trace. Both are common practice,
// with no source; a larger coil is a load, which switches at both of its ends are meant to feed.
const (
	shuntOhms   = 1    // below, in ohm
	strayHenry  = 1e-6 // up to, in henry
	mostShorts  = 4    // that are named
	longest     = 4    // switches in series
	shortsSteps = 200_000
)

// shorts cautions against switches that nothing keeps from closing together and that then join two nets which are never
// held at the same voltage. One pass over the netlist joins what is as good as wired; then the ways over switches are
// followed from each held net, a bounded number of steps in all.
func shorts(d *design.Design) []string {
	s := shorting{d: d, exclusive: map[[2]circuit.ID]bool{}, at: map[circuit.Net][]channel{}, held: map[circuit.Net][]circuit.Net{}}
	if !s.gather() {
		return nil
	}
	var from []circuit.Net
	for n := range s.held {
		from = append(from, n)
	}
	slices.Sort(from)
	for _, n := range from {
		s.follow(n, n, nil)
	}
	slices.SortFunc(s.found, func(a, b short) int { return slices.Compare(a.by, b.by) })
	var out []string
	for _, f := range s.found[:min(len(s.found), mostShorts)] {
		out = append(out, fmt.Sprintf("nothing keeps %s from closing together, which shorts %s to %s; exclusive-with in the intent would say that they never do",
			s.names(f.by), d.Circuit.NetName(f.from), d.Circuit.NetName(f.to)))
	}
	if more := len(s.found) - mostShorts; more > 0 {
		out[len(out)-1] += fmt.Sprintf("; and so for %d more groups of switches", more)
	}
	return out
}

// A channel is a switch between two groups of nets that are as good as wired.
type channel struct {
	id   circuit.ID
	a, b circuit.Net
}

// A short is the switches, in netlist order, that join two held nets.
type short struct {
	by       []circuit.ID
	from, to circuit.Net
}

type shorting struct {
	d         *design.Design
	up        []circuit.Net // the union-find of nets that are as good as wired
	at        map[circuit.Net][]channel
	held      map[circuit.Net][]circuit.Net // of a group with switches: the held nets in it
	exclusive map[[2]circuit.ID]bool
	found     []short
	steps     int
}

func (s *shorting) find(n circuit.Net) circuit.Net {
	for s.up[n] != n {
		s.up[n] = s.up[s.up[n]]
		n = s.up[n]
	}
	return n
}

// gather finds switches, joins wires and looks up what is held; false where there are not two switches.
func (s *shorting) gather() bool {
	var list []channel
	for e := range s.d.Elements() {
		if a, b, ok := volt.Channel(e); ok {
			list = append(list, channel{e.ID, a, b})
		}
	}
	if len(list) < 2 {
		return false
	}
	s.up = make([]circuit.Net, s.d.Circuit.Nets())
	for n := range s.up {
		s.up[n] = circuit.Net(n)
	}
	wired := []circuit.Net{0}
	for e := range s.d.Elements() {
		if s.wire(e) {
			s.up[s.find(e.Pin(0))] = s.find(e.Pin(1))
			wired = append(wired, e.Pin(0), e.Pin(1))
		}
	}
	seen := map[circuit.Net]bool{}
	look := func(n circuit.Net) {
		if seen[n] {
			return
		}
		seen[n] = true
		if q, ok := s.d.Rail(n, design.Operating); ok && q.Known() {
			g := s.find(n)
			s.held[g] = append(s.held[g], n)
		}
	}
	for _, c := range list {
		a, b := s.find(c.a), s.find(c.b)
		if a == b {
			continue
		}
		look(c.a)
		look(c.b)
		c.a, c.b = a, b
		s.at[a], s.at[b] = append(s.at[a], c), append(s.at[b], c)
	}
	for _, n := range wired {
		if s.at[s.find(n)] != nil {
			look(n)
		}
	}
	for _, name := range s.d.Intent.Names("elements") {
		e, ok := s.d.Find(name)
		if en := s.d.Intent.Get("elements", name, "exclusive-with"); ok && en != nil {
			for _, other := range en.Names {
				if o, ok := s.d.Find(other); ok {
					s.exclusive[[2]circuit.ID{e.ID, o.ID}], s.exclusive[[2]circuit.ID{o.ID, e.ID}] = true, true
				}
			}
		}
	}
	return true
}

// wire tells what is as good as a wire.
func (s *shorting) wire(e design.Element) bool {
	switch e.Kind() {
	case 'R':
		return e.Pins() == 2 && e.Value() >= 0 && e.Value() < shuntOhms
	case 'L':
		return e.Value() >= 0 && e.Value() <= strayHenry
	case 'V':
		src := e.Source()
		return src != nil && src.Known && src.Levels == [2]float64{}
	}
	return false
}

// follow goes from a group over one more switch, having come from a held group over some.
func (s *shorting) follow(from, at circuit.Net, over []channel) {
	for _, c := range s.at[at] {
		if s.steps++; s.steps > shortsSteps {
			return
		}
		if slices.ContainsFunc(over, func(o channel) bool { return o.id == c.id || s.apart(o.id, c.id) }) {
			continue
		}
		to := c.a
		if to == at {
			to = c.b
		}
		way := append(slices.Clip(over), c)
		switch held := s.held[to]; {
		case to == from || slices.ContainsFunc(over, func(o channel) bool { return o.a == to || o.b == to }):
		case held == nil && len(way) < longest:
			s.follow(from, to, way)
		case held != nil && len(way) > 1 && from > to: // from below it is found from the other side
			s.note(from, to, way)
		}
	}
}

// note takes a way between two held groups in, where two of their nets are never at the same voltage.
func (s *shorting) note(from, to circuit.Net, way []channel) {
	for _, a := range s.held[from] {
		for _, b := range s.held[to] {
			qa, _ := s.d.Rail(a, design.Operating)
			qb, _ := s.d.Rail(b, design.Operating)
			if !qa.Sound.Intersect(qb.Sound).Empty() {
				continue
			}
			f := short{from: a, to: b}
			if qa.Nom < qb.Nom {
				f.from, f.to = b, a
			}
			for _, c := range way {
				f.by = append(f.by, c.id)
			}
			slices.SortFunc(f.by, func(x, y circuit.ID) int { return cmp.Compare(x, y) })
			s.found = append(s.found, f)
			return
		}
	}
}

// apart tells two switches of which only one may be closed: intent says so, or they are complementary transistors on one gate.
func (s *shorting) apart(x, y circuit.ID) bool {
	if s.exclusive[[2]circuit.ID{x, y}] {
		return true
	}
	a, b := s.d.Element(x), s.d.Element(y)
	if a.Kind() != 'M' || b.Kind() != 'M' || a.Pin(1) != b.Pin(1) {
		return false
	}
	m, n := a.Model(), b.Model()
	return m != nil && n != nil && m.Type != n.Type
}

func (s *shorting) names(ids []circuit.ID) string {
	var list []string
	for _, id := range ids {
		list = append(list, s.d.Circuit.Path(id))
	}
	if len(list) == 1 {
		return list[0]
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}
