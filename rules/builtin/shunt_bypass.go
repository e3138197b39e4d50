package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/shunt-bypass.md
var shuntBypassPage string

// ShuntBypass looks for a passive way from one end of the shunt to the other beside it. A way over a held rail, over ground or
// through a source is the measured current itself and no bypass.
var ShuntBypass = &rules.Rule{
	ID:    "shunt-bypass",
	Title: "part of the current runs beside the shunt",
	Level: rules.Warning,
	Page:  shuntBypassPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if shuntless(p) {
			return
		}
		shunt := p.ShuntOhms()
		limit, level := share(p)
		fixed := beside(p, false)
		if len(fixed.ways) > 0 {
			loss := fixed.loss(shunt)
			c := p.AtMost(loss, limit, "a third of the goal").At(level).Raise(fixed.resistors()...)
			if len(fixed.elements()) == 1 {
				e := fixed.elements()[0]
				c.Try("without "+e.Path(), design.Change{Op: design.Open, Target: e.Path()})
			}
			c.Advise("keep what joins both ends apart from " + p.ShuntText()).Fails(func(m rules.Measure) string {
				return fmt.Sprintf("%s of the current runs beside %s, through %s", percent(m.Max, quantity.Up), p.ShuntText(), fixed.text())
			})
		}
		closed := beside(p, true)
		if len(closed.switches()) > 0 {
			if loss := closed.loss(shunt); !(loss.Sound.Hi <= limit.Sound.Lo) {
				s := closed.switches()[0]
				p.HoldsIf(fmt.Sprintf("holds only while %s is open: closed, it takes current past %s", s.Path(), p.ShuntText())).On(s)
			}
		}
		for _, e := range fixed.unknown {
			p.Lacks("", unknownNeed(e))
		}
		if len(fixed.ways) == 0 {
			p.Holds("nothing joins the ends of " + p.ShuntText() + " beside it")
		}
	},
}

// share is a third of the accuracy goal, what one effect among several may take; without a goal a third of 0.5 % is assumed and
// a failure is no more than a warning.
func share(p *rules.Bench) (limit quantity.Quantity, level rules.Level) {
	goal := p.Goal()
	level = rules.Error
	if !goal.Declared {
		level = rules.Warning
		goal.Error = (&quantity.Cause{Name: "assumed goal", Unit: quantity.Ratio, Nom: 0.005, Sound: quantity.Point(0.005), Seen: quantity.Point(0.005),
			Grade: quantity.Assumed, Note: "no goal is declared: 0.5 % is counted"}).Of()
	}
	return goal.Error.Times(1. / 3), level
}

func unknownNeed(e design.Element) quantity.Need {
	if e.Kind() == 'X' {
		return e.PartNeed("role")
	}
	return quantity.Need{In: "netlist", Key: "what " + e.Path() + " does", At: e.Card()}
}

// A way is one branch beside the shunt.
type way struct {
	a, b   circuit.Net
	ohm    quantity.Quantity
	wire   bool // no resistance at all
	e      *design.Element
	closed bool   // e is a switch
	inner  bool   // of a shunt, between an end and its sense terminal
	name   string // of a tie with what tells its branches apart behind a space
}

// A bypassed shunt has a network that joins its ends beside it, dead ends left out.
type bypassed struct {
	from, to circuit.Net
	ways     []way
	unknown  []design.Element // between both sides, of which nobody says what they do
}

const mostBeside = 256 // nets that are looked at

// beside walks from the end of the shunt that nothing holds through what carries a direct current, not over held nets.
func beside(p *rules.Bench, switches bool) (out bypassed) {
	d := p.Design
	out.from, out.to = p.Plus.Shunt, p.Minus.Shunt
	heldNet := func(n circuit.Net) bool { _, ok := d.Rail(n, design.Operating); return ok }
	if heldNet(out.from) && (!heldNet(out.to) || len(d.Circuit.On(out.to)) < len(d.Circuit.On(out.from))) {
		out.from, out.to = out.to, out.from
	}
	ties := declaredTies(d)
	for _, s := range p.Block.Shunt { // its sense terminals stay joined to its ends
		if sa, sb, ok := s.SenseTerminals(); ok {
			a, b := s.Ends()
			ties = append(ties, way{a: sa, b: a, wire: true, inner: true, name: s.Path() + " sense-a"}, way{a: sb, b: b, wire: true, inner: true, name: s.Path() + " sense-b"})
		}
	}
	seen := map[circuit.Net]bool{out.from: true}
	used := map[string]bool{}
	unknown := map[circuit.ID]bool{}
	list := []circuit.Net{out.from}
	add := func(w way) {
		if w.a == w.b || used[w.name] {
			return
		}
		used[w.name] = true
		out.ways = append(out.ways, w)
		for _, n := range []circuit.Net{w.a, w.b} {
			if !seen[n] {
				seen[n] = true
				list = append(list, n)
			}
		}
	}
	for i := 0; i < len(list) && i < mostBeside; i++ {
		n := list[i]
		for _, t := range ties {
			if n != out.to && (t.a == n || t.b == n) {
				add(t)
			}
		}
		if n == out.to || n != out.from && heldNet(n) {
			continue
		}
		for e := range d.On(n) {
			if slices.ContainsFunc(p.Block.Shunt, func(s design.Element) bool { return s.ID == e.ID }) {
				continue
			}
			if w, ok := branch(d, e, switches); ok && (w.a == n || w.b == n) {
				add(w)
			} else if e.Kind() == '?' || e.Kind() == 'X' && e.Record() == nil {
				unknown[e.ID] = true
			}
		}
	}
	reached := seen[out.to]
	out.prune()
	if !reached { // what is not known may still join the two sides
		for id := range unknown {
			e := d.Element(id)
			for i := range e.Pins() {
				if e.Pin(i) == out.to && out.to != 0 {
					out.unknown = append(out.unknown, e)
					break
				}
			}
		}
		slices.SortFunc(out.unknown, func(a, b design.Element) int { return int(a.ID) - int(b.ID) })
	}
	return out
}

// branch is what an element carries of a direct current between two of its pins.
func branch(d *design.Design, e design.Element, switches bool) (w way, ok bool) {
	w = way{e: &e, name: e.Path()}
	a, b := 0, 1
	switch e.Kind() {
	case 'R':
		if e.Pins() != 2 {
			return w, false
		}
		w.ohm, w.wire = e.Resistance(), e.Short()
	case 'L':
		if e.Pins() != 2 {
			return w, false
		}
		w.wire = true
	case 'S', 'W':
		w.closed = true
	case 'M', 'J', 'Z', 'Q':
		a, b, w.closed = 0, 2, true
	case 'X':
		r := e.Record()
		if r == nil {
			return w, false
		}
		ends := [2]string{"a", "b"}
		if _, ok := e.PinOf("drain", ""); ok && r.Role() == "switch" {
			ends = [2]string{"drain", "source"}
		}
		x, okX := e.PinOf(ends[0], "")
		y, okY := e.PinOf(ends[1], "")
		switch {
		case !okX || !okY:
			return w, false
		case r.Role() == "shunt":
			w.a, w.b, w.ohm = x, y, e.ShuntResistance(false)
			return w, true
		case r.Role() == "switch" && switches:
			w.a, w.b, w.closed, w.ohm = x, y, true, onOhms(d, e)
			return w, true
		}
		return w, false
	default:
		return w, false
	}
	if w.closed {
		if !switches || e.Pins() <= b {
			return w, false
		}
		w.ohm = onOhms(d, e)
	}
	w.a, w.b = e.Pin(a), e.Pin(b)
	return w, true
}

// onOhms is the resistance of a closed switch, in ohm: declared, the record's, or that of its model; none where nobody said
// it.
func onOhms(d *design.Design, e design.Element) quantity.Quantity {
	if q := d.Declared(quantity.Ohm, "elements", e.Path(), "on-resistance"); q.Known() {
		return q
	}
	if e.Entry("on-resistance") != nil {
		return e.Part("on-resistance")
	}
	ron, ok := e.ModelParam("ron")
	if !ok || !(ron > 0) {
		ron = 0
	}
	return quantity.Exactly(e.Path(), quantity.Ohm, ron)
}

// declaredTies are the connections outside of the netlist that intent declares.
func declaredTies(d *design.Design) (out []way) {
	for _, name := range d.Intent.Names("ties") {
		e := d.Intent.Get("ties", name, "joins")
		if e == nil {
			continue
		}
		var nets []circuit.Net
		for _, n := range e.Names {
			if net, ok := d.Net(n); ok {
				nets = append(nets, net)
			}
		}
		ohm := d.Declared(quantity.Ohm, "ties", name, "resistance")
		for i := 1; i < len(nets); i++ {
			out = append(out, way{a: nets[0], b: nets[i], ohm: ohm, name: fmt.Sprintf("the tie %s %d", name, i)})
		}
	}
	return out
}

// prune leaves out what leads nowhere: branches with an end on which no other stands.
func (b *bypassed) prune() {
	for {
		deg := map[circuit.Net]int{b.from: 2, b.to: 2}
		for _, w := range b.ways {
			deg[w.a]++
			deg[w.b]++
		}
		kept := slices.DeleteFunc(slices.Clone(b.ways), func(w way) bool { return deg[w.a] < 2 || deg[w.b] < 2 })
		if len(kept) == len(b.ways) {
			break
		}
		b.ways = kept
	}
	if !b.joins() { // loops on one side
		b.ways = nil
	}
}

// joins tells that the branches lead from one end to the other.
func (b *bypassed) joins() bool {
	at := map[circuit.Net]bool{b.from: true}
	for grown := true; grown; {
		grown = false
		for _, w := range b.ways {
			if at[w.a] != at[w.b] {
				at[w.a], at[w.b], grown = true, true, true
			}
		}
	}
	return at[b.to]
}

// loss is the part of the current that runs beside the shunt: Rs / (Rbp + Rs). It falls as any resistance beside rises.
func (b *bypassed) loss(shunt quantity.Quantity) quantity.Quantity {
	in := []quantity.Quantity{shunt}
	at := make([]int, len(b.ways)) // 0: a piece of wire
	for i, w := range b.ways {
		if !w.wire {
			at[i] = len(in)
			in = append(in, w.ohm)
		}
	}
	index, size := b.rows()
	return quantity.Calc("current beside the shunt", quantity.Ratio, func(x []float64) float64 {
		m := make([][]float64, size)
		for i := range m {
			m[i] = make([]float64, size)
		}
		for i, w := range b.ways {
			g := 1e12 // a piece of wire, next to any shunt
			if at[i] > 0 {
				g = 1 / math.Max(x[at[i]], 1e-12)
			}
			r, s := index[w.a], index[w.b]
			m[r][r] += g
			m[s][s] += g
			m[r][s] -= g
			m[s][r] -= g
		}
		g := conductance(m)
		if math.IsNaN(g) || math.IsNaN(x[0]) {
			return math.NaN()
		}
		return x[0] * g / (1 + x[0]*g)
	}, in...)
}

// rows numbers the nets: the end that is left is 0, the one that is arrived at 1.
func (b *bypassed) rows() (index map[circuit.Net]int, size int) {
	index = map[circuit.Net]int{b.from: 0, b.to: 1}
	for _, w := range b.ways {
		for _, n := range []circuit.Net{w.a, w.b} {
			if _, ok := index[n]; !ok {
				index[n] = len(index)
			}
		}
	}
	return index, len(index)
}

// conductance is that between the nodes 0 and 1 of a network: all others are eliminated, the last first, as a star becomes a
// mesh.
func conductance(m [][]float64) float64 {
	for k := len(m) - 1; k > 1; k-- {
		if m[k][k] == 0 {
			continue
		}
		for i := range k {
			f := m[i][k] / m[k][k]
			for j := range k {
				m[i][j] -= f * m[k][j]
			}
		}
	}
	return -m[0][1]
}

// elements are what the branches stand for, without ties.
func (b *bypassed) elements() (out []design.Element) {
	for _, w := range b.ways {
		if w.e != nil {
			out = append(out, *w.e)
		}
	}
	return out
}

func (b *bypassed) switches() (out []design.Element) {
	for _, w := range b.ways {
		if w.closed {
			out = append(out, *w.e)
		}
	}
	return out
}

func (b *bypassed) resistors() (out []design.Element) {
	for _, e := range b.elements() {
		if e.Kind() == 'R' && e.Value() > 0 {
			out = append(out, e)
		}
	}
	return out
}

// text names the branches, the first few of them.
func (b *bypassed) text() string {
	var names []string
	for _, w := range b.ways {
		name := w.name
		if w.e == nil {
			name = name[:strings.LastIndexByte(name, ' ')]
		}
		if w.inner {
			continue
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	const most = 4
	text := ""
	for i, n := range names {
		switch {
		case i == most:
			return text + fmt.Sprintf(" and %d more", len(names)-most)
		case i > 0:
			text += ", "
		}
		text += n
	}
	return text
}
