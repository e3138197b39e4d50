package volt

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
)

// A deck is an island written out as cards while its last solution stands. What has no resistance becomes a source of
// 0 V: as a tiny resistance it would drown the others in a simulator's rounding. Where that would close a ring of
// sources it stays one, and so does all of it where a voltage stands across such a ring: a short circuit, in which the
// tiny resistances share it.
type deck struct {
	short bool
	is    *island
	x     []float64
	lines []string
	maps  []string          // the comments that say which net a substitute stands for
	named map[string]string // the card that carries the current of an element
	meter map[meter]string  // the card that carries the current of a voltage source which something follows

	nodes []string       // of the island
	held  map[int]string // names of held inputs
	taken map[string]bool
	fresh int
	ring  joined // nodes between which sources alone fix the voltage
	tied  joined // nodes between which current can flow
}

func newDeck(is *island, x []float64) *deck {
	d := &deck{is: is, x: x, named: map[string]string{}, meter: map[meter]string{}, nodes: make([]string, len(is.names)), held: map[int]string{},
		taken: map[string]bool{"0": true}, ring: joined{}, tied: joined{}}
	nets := make([]circuit.Net, 0, len(is.held)+len(is.index))
	for n := range is.held {
		nets = append(nets, n)
	}
	for n := range is.index {
		nets = append(nets, n)
	}
	slices.Sort(nets)
	place := func(n circuit.Net, name string) {
		if k, ok := is.held[n]; ok {
			d.held[k] = name
		} else {
			d.nodes[is.index[n]] = name
		}
	}
	var odd []circuit.Net
	for _, n := range nets {
		name := is.s.d.Circuit.NetName(n)
		switch {
		case n == 0:
			place(n, "0")
		case legalNode(name) && !d.taken[strings.ToLower(name)]:
			d.taken[strings.ToLower(name)] = true
			place(n, name)
		default:
			odd = append(odd, n)
		}
	}
	for _, n := range odd {
		name := d.substitute()
		place(n, name)
		d.maps = append(d.maps, fmt.Sprintf("* node %s: net %q", name, is.s.d.Circuit.NetName(n)))
	}
	for i, name := range d.nodes {
		if name == "" {
			d.nodes[i] = d.substitute()
			d.maps = append(d.maps, fmt.Sprintf("* node %s: %s", d.nodes[i], is.names[i]))
		}
	}
	return d
}

// legal is a node name that every simulator takes as one word.
var legal = regexp.MustCompile(`^[A-Za-z0-9_+/#~-][A-Za-z0-9_+/#~.:!$-]*$`)

// reserved are words that mean something else where a controlled source's control would stand, or are ground.
var reserved = []string{"gnd", "poly", "value", "table", "laplace", "freq", "cur", "vol", "vcvs", "vccs", "ccvs", "cccs", "dc", "ac"}

func legalNode(name string) bool {
	return legal.MatchString(name) && strings.Trim(name, "0") != "" && !slices.Contains(reserved, strings.ToLower(name))
}

func (d *deck) substitute() string {
	for {
		d.fresh++
		name := "n" + strconv.Itoa(d.fresh)
		if !d.taken[name] {
			d.taken[name] = true
			return name
		}
	}
}

func (d *deck) node(n int) string {
	if n < 0 {
		return d.held[^n]
	}
	return d.nodes[n]
}

func (d *deck) say(format string, args ...any) {
	d.lines = append(d.lines, "* "+fmt.Sprintf(format, args...))
}

// card adds a card of a kind for something in the circuit and returns its name, which no other card has.
func (d *deck) card(kind byte, what string, words ...string) string {
	clean := strings.Map(func(r rune) rune {
		switch {
		case r >= '0' && r <= '9', r >= 'A' && r <= 'Z', r >= 'a' && r <= 'z':
			return r
		}
		return '_'
	}, what)
	if clean == "" || clean[0]&^0x20 != kind || strings.Contains(what, " ") {
		clean = string(kind) + "_" + clean
	}
	name := clean
	for i := 2; d.taken["card "+strings.ToLower(name)]; i++ {
		name = clean + "_" + strconv.Itoa(i)
	}
	d.taken["card "+strings.ToLower(name)] = true
	d.lines = append(d.lines, name+" "+strings.Join(words, " "))
	return name
}

// figure is a number to its last digit.
func figure(v float64) string {
	if v == 0 {
		v = 0 // no minus zero
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

func (d *deck) resistor(what, a, b string, ohms float64) string {
	d.tied.join(a, b)
	return d.card('R', what, a, b, figure(ohms))
}

// source adds a voltage from b up to a behind a resistance and returns the card that carries its current.
func (d *deck) source(what, a, b string, volts, ohms float64) string {
	if a == b && volts == 0 {
		return ""
	}
	if ohms <= least && !d.short && d.ring.join(a, b) {
		d.tied.join(a, b)
		return d.card('V', what, a, b, figure(volts))
	}
	if volts == 0 {
		return d.resistor(what, a, b, max(ohms, least))
	}
	mid := d.substitute()
	d.tied.join(a, mid)
	name := d.card('V', what, a, mid, figure(volts))
	d.resistor(what, mid, b, max(ohms, least))
	return name
}

// draw writes all cards; asked are the nodes that count. Sources come first: what a ring of them leaves open is decided by the first.
func (d *deck) draw(asked []int) {
	is, x := d.is, d.x
	d.say("what holds a voltage")
	for _, k := range sortedKeys(d.held) {
		if name := d.held[k]; name != "0" {
			d.source(name, name, "0", x[k], 0)
		}
	}
	draw := func(exact bool) {
		for i, b := range is.sources {
			if is.exact[i] == exact {
				name := d.source(b.what, d.node(b.a), d.node(b.b), x[b.volts], 0)
				d.meter[meter{at: i}], d.named[b.what] = name, name
			}
		}
	}
	draw(true)
	if d.short = d.shorted(); d.short {
		d.say("a short circuit: 1 nohm is counted for whatever has no resistance")
	}
	draw(false)
	for _, id := range sortedKeys(is.asked) {
		if m, ok := is.meters[id]; ok && m.wire {
			r := is.resistors[m.at]
			name := d.source(r.what, d.node(r.a), d.node(r.b), 0, 0)
			d.meter[m], d.named[r.what] = name, name
		}
	}
	if len(is.controls) > 0 {
		d.say("controlled sources")
		for _, c := range is.controls {
			d.controlled(c)
		}
	}
	d.outputs()
	d.diodes()
	d.resistors()
	d.currents()
	d.ground(asked)
}

// shorted tells that a voltage stands across what has no resistance.
func (d *deck) shorted() bool {
	is, size := d.is, 1.0
	for _, v := range is.work.answer[:len(is.names)] {
		if math.Abs(v) < math.Inf(1) { // neither floating nor without limit
			size = max(size, math.Abs(v))
		}
	}
	off := func(a, b int, volts float64) bool {
		return math.Abs(is.at(a, d.x)-is.at(b, d.x)-volts) > 1e-7*size
	}
	for i, b := range is.sources {
		if !is.exact[i] && off(b.a, b.b, d.x[b.volts]) {
			return true
		}
	}
	for k, o := range is.diodes {
		if is.work.on[k] && is.value(o.ohms, d.x, 0) < least && off(o.anode, o.cathode, is.value(o.drop, d.x, 0)) {
			return true
		}
	}
	for _, r := range is.resistors {
		if (r.state < 0 || d.x[r.state] == 1) && math.Abs(is.value(r.ohms, d.x, 0)) < least && off(r.a, r.b, 0) {
			return true
		}
	}
	return false
}

// controlled writes a sum as one source a term: in parallel where it drives a current, else in a chain.
func (d *deck) controlled(c controlled) {
	type term struct {
		volts, amps byte
		of          string
		gain        float64
	}
	var terms []term
	for _, t := range c.volts {
		terms = append(terms, term{'E', 'G', d.node(t.p) + " " + d.node(t.n), t.gain})
		d.tied.mention(d.node(t.p))
		d.tied.mention(d.node(t.n))
	}
	for _, t := range c.amps {
		terms = append(terms, term{'H', 'F', d.meter[t.of], t.gain})
	}
	rest := d.is.value(c.offset, d.x, 0)
	if c.varies() {
		gain := c.sign * d.x[c.gain]
		terms = append(terms, term{'E', 'G', d.node(c.p) + " " + d.node(c.n), gain})
		d.tied.mention(d.node(c.p))
		d.tied.mention(d.node(c.n))
		rest += gain * d.x[c.above]
	}
	if v := rest; v != 0 || len(terms) == 0 && !c.current {
		terms = append(terms, term{'V', 'I', "", v})
	}
	a, b := d.node(c.a), d.node(c.b)
	if !c.current {
		d.ring.join(a, b)
	}
	for i, t := range terms {
		words := []string{a, b, t.of, figure(t.gain)}
		if c.current {
			d.tied.mention(a)
			d.tied.mention(b)
			d.card(t.amps, c.what, compact(words)...)
			continue
		}
		if i < len(terms)-1 {
			words[1] = d.substitute()
		}
		d.tied.join(words[0], words[1])
		d.card(t.volts, c.what, compact(words)...)
		a = words[1]
	}
}

// outputs writes what the outputs of amplifiers deliver: an output that follows its law copies it; a stopped one, and that of an
// op amp, whose inputs meet up to the offset as no plain element makes them, stand where the solution has them.
func (d *deck) outputs() {
	for i, c := range d.is.clips {
		if c.out < 0 {
			continue
		}
		k, out := d.is.lowOf(i), d.node(c.out)
		volts := d.is.at(c.out, d.x)
		switch {
		case d.is.work.on[k]:
			d.say("the output of %s stops low", c.what)
		case d.is.work.on[k+1]:
			d.say("the output of %s stops high", c.what)
		case c.law >= 0:
			d.say("the output of %s follows its law", c.what)
			d.ring.join(out, "0")
			d.tied.join(out, "0")
			d.card('E', "output of "+c.what, out, "0", d.node(c.law), "0", "1")
			continue
		default:
			d.say("the output of %s stands where its inputs differ by its offset, %s V", c.what, figure(d.x[c.offset]))
		}
		d.source("output of "+c.what, out, "0", volts, 0)
	}
}

func compact(words []string) []string {
	return slices.DeleteFunc(words, func(w string) bool { return w == "" })
}

func (d *deck) diodes() {
	for k, o := range d.is.diodes {
		if !d.is.work.on[k] && !o.weak {
			d.say("%s blocks: left out", o.what)
		}
	}
	for k, o := range d.is.diodes {
		if d.is.work.on[k] {
			d.say("%s conducts: its drop", o.what)
			d.source(o.what, d.node(o.anode), d.node(o.cathode), d.is.value(o.drop, d.x, 0), d.is.value(o.ohms, d.x, least))
		}
	}
}

func (d *deck) resistors() {
	d.say("resistors, closed switches, wires")
	for i, r := range d.is.resistors {
		a, b, ohms := d.node(r.a), d.node(r.b), d.is.value(r.ohms, d.x, 0)
		switch {
		case d.meter[meter{true, i}] != "": // it stands already
		case r.state >= 0 && d.x[r.state] == 0:
			d.say("%s: left out", d.is.inputs[r.state].Causes()[0].Labels[1])
		case a == b:
		case math.Abs(ohms) < least:
			d.named[r.what] = d.source(r.what, a, b, 0, 0)
		default:
			d.named[r.what] = d.resistor(r.what, a, b, ohms)
		}
	}
	for i, b := range d.is.balanced {
		from, to := d.node(b.from), d.node(b.to)
		if ohms := d.x[b.ohms]; math.Abs(ohms) < least {
			d.source(b.what, from, to, 0, 0)
		} else {
			d.resistor(b.what, from, to, ohms)
		}
		if b.free >= 0 {
			d.say("the implied source of the current declared for %s, %s A", b.what, figure(d.x[b.amps]))
			d.card('I', "implied source of "+b.what, "0", d.node(b.free), figure(d.is.work.x[d.is.work.balRow+i]))
		}
	}
}

// currents writes what drives a current; the two ends of one source are one card.
func (d *deck) currents() {
	list := d.is.currents
	for i := 0; i < len(list); i++ {
		c := list[i]
		if c.idle >= 0 && d.x[c.idle] != 0 {
			continue
		}
		ends := [2]string{"0", d.node(c.into)}
		if i+1 < len(list) {
			if o := list[i+1]; o.amps == c.amps && o.sign == -c.sign && o.idle == c.idle {
				ends[0] = d.node(o.into)
				i++
			}
		}
		if c.sign < 0 {
			ends[0], ends[1] = ends[1], ends[0]
		}
		for _, n := range ends {
			d.tied.mention(n)
		}
		name := d.card('I', c.what, ends[0], ends[1], figure(d.x[c.amps]))
		if c.idle >= 0 {
			d.named[c.what] = name
		}
	}
}

// ground ties what floats, for without that a simulator gives up: where it was found to stand, the nodes in first place
// before others, or at 0 V where that is nowhere, since it then decides nothing of what was asked for.
func (d *deck) ground(first []int) {
	for n := range d.is.names {
		d.tied.mention(d.nodes[n])
	}
	done := map[string]bool{d.tied.find("0"): true}
	for n := range d.is.names {
		first = append(first, n)
	}
	for _, n := range first {
		if n < 0 {
			continue
		}
		if v := d.is.work.answer[n]; math.Abs(v) < math.Inf(1) {
			if g := d.tied.find(d.nodes[n]); !done[g] {
				done[g] = true
				d.say("no direct current ties %s down; it is held where it was found to stand", d.nodes[n])
				d.card('V', "tie of "+d.nodes[n], d.nodes[n], "0", figure(v))
			}
		}
	}
	for _, n := range sortedKeys(d.tied) {
		if g := d.tied.find(n); !done[g] {
			done[g] = true
			d.say("nothing ties %s down; held here, which decides nothing above", n)
			d.card('V', "tie of "+n, n, "0", "0")
		}
	}
}

// joined is a union-find over node names.
type joined map[string]string

func (j joined) mention(n string) { j.find(n) }

func (j joined) find(n string) string {
	for {
		up, ok := j[n]
		if !ok {
			j[n] = n
		}
		if !ok || up == n {
			return n
		}
		n = up
	}
}

// join tells whether two nodes hung not together before.
func (j joined) join(a, b string) bool {
	a, b = j.find(a), j.find(b)
	j[a] = b
	return a != b
}

func sortedKeys[K interface{ ~string | ~int | ~uint32 }, V any](m map[K]V) []K {
	var keys []K
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
