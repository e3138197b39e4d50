package sense

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
)

// Blocks yields the sense blocks in netlist order.
func Blocks(d *design.Design) iter.Seq[*Block] {
	return func(yield func(*Block) bool) {
		for id := range d.Circuit.Elements {
			if d.Circuit.Elements[id].Kind != 'X' {
				continue
			}
			e := d.Element(circuit.ID(id))
			for _, unit := range append(e.Amplifiers(), e.OpAmps()...) {
				if b := At(d, circuit.ID(id), unit); b != nil && !yield(b) {
					return
				}
			}
		}
	}
}

// At is the block of one amplifier; nil when its record no longer makes it one, and for an op amp that senses no current.
func At(d *design.Design, id circuit.ID, unit string) *Block {
	amp := d.Element(id)
	r := amp.Record()
	if r == nil || amp.Kind() != 'X' {
		return nil
	}
	b := &Block{Amp: amp, Unit: unit, Kind: r.Role()}
	p, okP := b.Pin("in+")
	m, okM := b.Pin("in-")
	if b.Kind == OpAmp {
		if b = opAmp(d, amp, unit); b == nil {
			return nil
		}
	} else if !okP || !okM {
		b.Broken = fmt.Sprintf("the record %s names no pin in+ or in-", r.Name())
	} else {
		b.straddle(d, p, m)
	}
	b.Supply, b.HasSupply = b.Pin("supply")
	b.Ground, _ = b.Pin("ground")
	if b.HasSupply {
		b.SupplySeries, _ = outwards(d, amp, b.Supply)
	}
	for _, role := range []string{"ref", "ref-a", "ref-b"} {
		if n, ok := b.Pin(role); ok {
			b.References = append(b.References, Pin{role, n, holder(d, amp, n)})
		}
	}
	if b.Network != nil {
		b.Output = output(d, amp, b.Network.Reads(), b.Network.Resistors...)
	} else if n, ok := b.Pin("out"); ok {
		b.Output = output(d, amp, n)
	}
	return b
}

// reach is how the search came to a net: over which element, from which net.
type reach struct {
	net  circuit.Net
	over design.Element
	from int // index of the step before; -1 at the pin
	deep int
}

const deepest = 8 // series elements in one leg

// most is the largest resistance in ohm, common practice with no source, of what is taken for a shunt though nothing else
// says that it is one.
const most = 1

// spread walks outwards from a pin through series resistors, ferrites and inductors, not past nets that something
// holds, nor through elements that are left out.
func spread(d *design.Design, pin circuit.Net, without ...circuit.ID) []reach {
	out := []reach{{net: pin, from: -1}}
	seen := map[circuit.Net]bool{pin: true}
	for i := 0; i < len(out) && len(out) < 256; i++ {
		at := out[i]
		if _, held := d.Rail(at.net, design.Operating); held || at.deep == deepest {
			continue
		}
		for e := range d.On(at.net) {
			if k := e.Kind(); (k != 'R' && k != 'L') || e.Pins() != 2 || d.Intent.Says("currents", e.Path()) || slices.Contains(without, e.ID) {
				continue // what carries a declared current is a sense element, not part of a leg
			}
			if to := e.Other(at.net); !seen[to] {
				seen[to] = true
				out = append(out, reach{to, e, i, at.deep + 1})
			}
		}
	}
	return out
}

func (b *Block) leg(steps []reach, at int) Leg {
	l := Leg{Pin: steps[0].net, Shunt: steps[at].net}
	for i := at; i > 0; i = steps[i].from {
		l.Series = append([]design.Element{steps[i].over}, l.Series...)
		l.Inner = append([]circuit.Net{steps[steps[i].from].net}, l.Inner...)
	}
	return l
}

// straddle finds the one shunt group between the two inputs: of the resistors that join a net reached from in+ to one
// reached from in- by other elements, the one whose current intent declares, else the smallest.
func (b *Block) straddle(d *design.Design, p, m circuit.Net) {
	b.Plus, b.Minus = Leg{Pin: p, Shunt: p}, Leg{Pin: m, Shunt: m}
	if p == m {
		b.Broken = "in+ and in- are on the same net " + d.Circuit.NetName(p)
		return
	}
	fromP, fromM := spread(d, p), spread(d, m)
	named := ""
	if e := d.Intent.Get("senses", b.Name(), "element"); e != nil {
		named = e.Text
	}
	type candidate struct {
		i, j     int
		e        design.Element
		declared bool
		carries  bool
		named    bool // intent says that it is the one
		ohms     float64
	}
	var best *candidate
	better := func(c candidate) bool {
		switch {
		case best == nil:
			return true
		case c.named != best.named:
			return c.named
		case c.carries != best.carries:
			return c.carries
		case c.declared != best.declared:
			return c.declared
		case c.ohms != best.ohms:
			return c.ohms < best.ohms
		}
		return fromP[c.i].deep+fromM[c.j].deep < fromP[best.i].deep+fromM[best.j].deep
	}
	atM := map[circuit.Net]int{}
	for j, s := range fromM {
		atM[s.net] = j
	}
	consider := func(e design.Element, i, j int) {
		if uses(fromP, i, e) || uses(fromM, j, e) {
			return
		}
		_, declared := e.Current(design.Operating)
		named := named != "" && strings.EqualFold(named, e.Path())
		ohms := e.Value()
		if math.IsNaN(ohms) {
			ohms = math.Inf(1)
		}
		carries := declared || e.Kind() == 'X' || carries(d, b.Amp, fromP[i].net, e, fromP, i) && carries(d, b.Amp, fromM[j].net, e, fromM, j)
		if !carries && !named && ohms > most { // a filter resistor whose pin side leads nowhere
			return
		}
		if c := (candidate{i, j, e, declared, carries, named, ohms}); better(c) {
			best = &c
		}
	}
	// A rail has thousands of neighbours; the shunt's other end has few.
	for i, s := range fromP {
		if !held(d, s.net) {
			for e := range between(d, s.net) {
				for _, to := range facing(e, s.net) {
					if j, ok := atM[to]; ok {
						consider(e, i, j)
					}
				}
			}
		}
	}
	for i, s := range fromP {
		if !held(d, s.net) {
			continue
		}
		for j, t := range fromM {
			walked := t.net
			if len(d.Circuit.On(s.net)) < len(d.Circuit.On(walked)) {
				walked = s.net
			}
			for e := range between(d, walked) {
				for _, o := range facing(e, walked) {
					if o == s.net && walked == t.net || o == t.net && walked == s.net {
						consider(e, i, j)
					}
				}
			}
		}
	}
	if best == nil {
		b.Broken = fmt.Sprintf("no shunt joins what in+ (%s) and in- (%s) reach through series resistors, ferrites and inductors",
			d.Circuit.NetName(p), d.Circuit.NetName(m))
		return
	}
	b.Plus, b.Minus = b.leg(fromP, best.i), b.leg(fromM, best.j)
	b.Plus.Shunt, b.Minus.Shunt = endOf(best.e, b.Plus.Shunt), endOf(best.e, b.Minus.Shunt)
	one, other := best.e.Ends()
	if held(d, one) {
		one, other = other, one
	}
	for e := range between(d, one) {
		if x, y := e.Ends(); (x == one && y == other || x == other && y == one) && parallel(e, best.e) {
			b.Shunt = append(b.Shunt, e)
		}
	}
	b.beside(d, &b.Plus)
	b.beside(d, &b.Minus)
}

// beside finds the resistors that join the pin of a leg to the side of the shunts that the leg ends at, beside its only
// element: shunts in parallel whose voltages are averaged.
func (b *Block) beside(d *design.Design, l *Leg) {
	if len(l.Series) != 1 || l.Series[0].Kind() != 'R' || !(l.Series[0].Value() > 0) {
		return
	}
	side := []circuit.Net{l.Shunt}
	for _, s := range b.Shunt {
		sa, sb, ok := s.SenseTerminals()
		if one, other := s.Ends(); ok && one == l.Shunt {
			side = append(side, sa)
		} else if ok && other == l.Shunt {
			side = append(side, sb)
		}
	}
	for e := range d.On(l.Pin) {
		if e.Kind() == 'R' && e.Pins() == 2 && e.ID != l.Series[0].ID && e.Value() > 0 && slices.Contains(side, e.Other(l.Pin)) {
			l.Beside = append(l.Beside, e)
		}
	}
}

func held(d *design.Design, n circuit.Net) bool {
	_, ok := d.Rail(n, design.Operating)
	return ok
}

// facing are the nets across an element from a net: the other end of a resistor, and of a shunt with sense terminals the
// other end and its terminal. A terminal and its own end do not face each other.
func facing(e design.Element, n circuit.Net) []circuit.Net {
	a, b := e.Ends()
	sa, sb, ok := e.SenseTerminals()
	switch {
	case !ok && n == a:
		return []circuit.Net{b}
	case !ok && n == b:
		return []circuit.Net{a}
	case !ok:
		return nil
	case n == a || n == sa:
		return []circuit.Net{b, sb}
	case n == b || n == sb:
		return []circuit.Net{a, sa}
	}
	return nil
}

// endOf is the end of a shunt that a net is, or is the sense terminal of.
func endOf(e design.Element, n circuit.Net) circuit.Net {
	a, b := e.Ends()
	if sa, sb, ok := e.SenseTerminals(); ok && n == sa {
		return a
	} else if ok && n == sb {
		return b
	}
	return n
}

// between yields the resistors and shunts from a net to others.
func between(d *design.Design, n circuit.Net) iter.Seq[design.Element] {
	return func(yield func(design.Element) bool) {
		for e := range d.On(n) {
			if e.Carries() && slices.ContainsFunc(facing(e, n), func(o circuit.Net) bool { return o != n }) && !yield(e) {
				return
			}
		}
	}
}

// parallel tells a shunt of the group from a resistor that only happens to stand across it (a discharge or filter
// resistor): within a factor of 100 of the smallest.
func parallel(e, smallest design.Element) bool {
	return e.ID == smallest.ID || e.Value() <= 100*smallest.Value()
}

// carries tells that a current through the resistor has somewhere to go at the net: it is held, or something besides the
// amplifier, its leg, capacitors and what stands in parallel is on it.
func carries(d *design.Design, amp design.Element, n circuit.Net, shunt design.Element, steps []reach, at int) bool {
	if _, held := d.Rail(n, design.Operating); held {
		return true
	}
	for e := range d.On(n) {
		switch {
		case e.ID == amp.ID, e.ID == shunt.ID, e.Kind() == 'C', e.Kind() == 'K', uses(steps, at, e):
		case e.Kind() == 'R' && e.Other(n) == shunt.Other(n):
		default:
			return true
		}
	}
	return false
}

func uses(steps []reach, at int, e design.Element) bool {
	for i := at; i > 0; i = steps[i].from {
		if steps[i].over.ID == e.ID {
			return true
		}
	}
	return false
}

// outwards follows the only series element on each net until something holds the net or the way branches; own are elements
// that are no way.
func outwards(d *design.Design, amp design.Element, at circuit.Net, own ...design.Element) (series []design.Element, end circuit.Net) {
	seen := map[circuit.Net]bool{at: true}
	for len(series) < deepest {
		if _, held := d.Rail(at, design.Operating); held {
			break
		}
		var next []design.Element
		for e := range d.On(at) {
			if k := e.Kind(); (k == 'R' || k == 'L') && e.Pins() == 2 && !seen[e.Other(at)] && e.Other(at) != 0 &&
				!slices.ContainsFunc(own, func(o design.Element) bool { return o.ID == e.ID }) {
				next = append(next, e)
			}
		}
		if len(next) != 1 {
			break
		}
		series, at = append(series, next[0]), next[0].Other(at)
		seen[at] = true
	}
	return series, at
}

// holder names what holds a net, directly or through series elements.
func holder(d *design.Design, amp design.Element, n circuit.Net) string {
	series, end := outwards(d, amp, n)
	if _, held := d.Rail(end, design.Operating); !held {
		return ""
	}
	text := d.Circuit.NetName(end)
	for _, e := range series {
		text += " through " + e.Path()
	}
	return text
}

// output is what follows the output pin: the way to the nearest net with a declared converter, over branches too, else
// the only series element on each net until the way branches.
func output(d *design.Design, amp design.Element, n circuit.Net, own ...design.Element) Output {
	o := Output{Pin: n}
	names := map[circuit.Net]string{}
	for _, name := range d.Intent.Names("converters") {
		if c, ok := d.Net(name); ok {
			names[c] = name
		}
	}
	if len(names) > 0 {
		var without []circuit.ID
		for _, e := range own {
			without = append(without, e.ID)
		}
		steps := spread(d, n, without...)
		for i, s := range steps {
			if name, ok := names[s.net]; ok && !othersOutput(d, steps, i) {
				o.Declared, o.Converter = name, s.net
				for ; i > 0; i = steps[i].from {
					o.Series = append([]design.Element{steps[i].over}, o.Series...)
				}
				return o
			}
		}
	}
	o.Series, o.Converter = outwards(d, amp, n, own...)
	return o
}

// othersOutput tells that the way to a net leads over the output of another amplifier, whose converter it then is.
func othersOutput(d *design.Design, steps []reach, i int) bool {
	for ; i > 0; i = steps[i].from {
		for e := range d.On(steps[i].net) {
			for _, u := range append(e.Amplifiers(), e.OpAmps()...) {
				if out, ok := e.PinOf("out", u); ok && out == steps[i].net {
					return true
				}
			}
		}
	}
	return false
}
