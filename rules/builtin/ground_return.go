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
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

//go:embed doc/ground-return.md
var groundReturnPage string

// GroundReturn asks of each stage at a shunt in the ground line whether its low input, or the leg that sets its gain, meets the
// low end of the shunt or a point further on, where the load's current has made a voltage. It speaks once for a netlist.
var GroundReturn = &rules.Rule{
	ID:    "ground-return",
	Title: "low input off the shunt's ground end",
	Level: rules.Warning,
	Page:  groundReturnPage,
	Since: 2,
	Whole: true,
	Judge: func(p *rules.Bench) {
		if needs := unreadShunts(p.Design); needs != nil {
			p.Lacks("", needs...)
			return
		}
		stages := lowStages(p.Design)
		if len(stages) == 0 {
			p.Skip("no amplifier reads a shunt in the ground line")
			return
		}
		var open []string
		for _, s := range stages {
			if len(s.between) > 0 {
				s.judge(p)
				continue
			}
			if s.global && s.shunt.Value() < groundOhms {
				open = append(open, s.name+" ("+s.shunt.Path()+")")
			}
		}
		if len(open) > 0 {
			p.HoldsIf(fmt.Sprintf("%s: holds only if the low input is led to the pad of the shunt: the drawing has but one ground net for it and for the load's current",
				strings.Join(open, ", ")))
			return
		}
		p.Holds("the low inputs meet the ground ends of their shunts")
	},
}

const (
	// groundOhms is below what a shunt in the ground line is asked about; common practice, no source.
	groundOhms = 20e-3
	// traceOhms is up to what a resistor is a shunt or a piece of a ground line, in ohm; common practice, no source.
	traceOhms = 1
)

// unreadShunts are the values of shunts in the ground line that nobody can read.
func unreadShunts(d *design.Design) (needs []quantity.Need) {
	for b := range sense.Blocks(d) {
		for _, e := range b.Shunt {
			if one, other := e.Ends(); math.IsNaN(e.Value()) && (one == 0 || other == 0 || one == b.Ground || other == b.Ground) {
				needs = append(needs, quantity.Need{In: "netlist", Key: "the value of " + e.Path(), At: e.Card()})
			}
		}
	}
	return needs
}

// A lowStage is an amplifier that reads a shunt in the ground line.
type lowStage struct {
	name    string
	amp     design.Element
	shunt   design.Element
	low     circuit.Net      // the shunt's ground end
	tap     circuit.Net      // where the low input, or the leg of it, is taken from
	between []design.Element // what the load's current passes between the two
	global  bool             // both are the one ground net, and the low input has no leg of its own
}

// judge holds what lies between against the shunt: Rgnd / Rs is the part that it adds to the reading.
func (s lowStage) judge(p *rules.Bench) {
	in := []quantity.Quantity{s.shunt.Resistance()}
	for _, e := range s.between {
		in = append(in, e.Resistance())
	}
	adds := quantity.Calc("added by the ground line", quantity.Ratio, func(x []float64) float64 { return total(x[1:]) / x[0] }, in...)
	goal := p.Declared(quantity.Ratio, "goals", s.name, "error").Or(0.005, "no goal is declared: 0.5 % is counted")
	related := []source.Related{{At: s.shunt.Card(), Message: "the shunt"}}
	for _, e := range s.between {
		related = append(related, source.Related{At: e.Card(), Message: "what the load's current passes as well"})
	}
	p.AtMost(adds, goal.Times(1./3), "a third of the goal").On(s.amp).Evidence(related...).Fails(func(m rules.Measure) string {
		return fmt.Sprintf("%s takes its low level from %s, beyond %s: that adds %s to what %s shows", s.name, p.Design.Circuit.NetName(s.tap), paths(s.between),
			percent(m.Max, quantity.Up), s.shunt.Path())
	}).Advise(fmt.Sprintf("lead the low input of %s to %s, the ground end of %s", s.name, p.Design.Circuit.NetName(s.low), s.shunt.Path()))
}

// lowStages are the amplifiers, and op amps that read one level against ground, at shunts in the ground line.
func lowStages(d *design.Design) (out []lowStage) {
	seen := map[string]bool{}
	add := func(name string, amp design.Element, high, tap circuit.Net, leg bool) bool {
		shunt, low, ok := groundShunt(d, high)
		if !ok || seen[name] {
			return false
		}
		down, ok := groundLine(d, low, shunt)
		back, okTap := groundLine(d, tap, shunt)
		if !ok || !okTap {
			return false
		}
		seen[name] = true
		s := lowStage{name: name, amp: amp, shunt: shunt, low: low, tap: tap}
		for i, at := 0, low; i < len(down.series) && !slices.Contains(back.nets, at); i++ {
			if e := down.series[i]; e.Kind() == 'R' && !tied(d, e) {
				s.between = append(s.between, e)
			}
			at = down.series[i].Other(at)
		}
		s.global = tap == low && tap == 0 && !leg
		out = append(out, s)
		return true
	}
	for b := range sense.Blocks(d) {
		if b.Network != nil {
			continue
		}
		plus, okP := b.Pin("in+")
		minus, okM := b.Pin("in-")
		if !okP || !okM {
			continue
		}
		for _, way := range [][2]circuit.Net{{plus, minus}, {minus, plus}} {
			tap, leg, ok := tapAtGround(d, way[1])
			if ok && add(b.Name(), b.Amp, way[0], tap, leg) {
				break
			}
		}
	}
	for e := range d.Elements() {
		for _, unit := range e.OpAmps() {
			plus, okP := e.PinOf("in+", unit)
			minus, okM := e.PinOf("in-", unit)
			out, okO := e.PinOf("out", unit)
			if !okP || !okM || !okO || plus == minus || minus == out {
				continue
			}
			name := e.Path()
			if unit != "" {
				name += ":" + unit
			}
			if differential(d, plus) {
				continue
			}
			found := false
			for _, r := range resistorsOn(d, minus) {
				if o := r.Other(minus); !found && o != out {
					found = add(name, e, plus, o, false)
				}
			}
			if _, grounded := groundLine(d, plus, design.Element{ID: noElement}); !grounded {
				continue
			}
			for _, r := range resistorsOn(d, minus) { // an inverting stage
				if o := r.Other(minus); !found && o != out {
					found = add(name, e, o, plus, false)
				}
			}
		}
	}
	return out
}

// resistorsOn are the resistors on a net that are no pieces of wire.
func resistorsOn(d *design.Design, n circuit.Net) (out []design.Element) {
	if n == 0 {
		return nil
	}
	for e := range d.On(n) {
		if e.Kind() == 'R' && e.Pins() == 2 && e.Other(n) != n && e.Value() > 0 {
			out = append(out, e)
		}
	}
	return out
}

// differential tells that a divider stands at the input: two resistors of more than a trace, to two nets.
func differential(d *design.Design, n circuit.Net) bool {
	other := map[circuit.Net]bool{}
	for _, r := range resistorsOn(d, n) {
		if r.Value() > traceOhms {
			other[r.Other(n)] = true
		}
	}
	return len(other) > 1
}

// groundShunt finds the shunt in the ground line that a high input reads, directly or through filter resistors: the resistor of a
// declared current, else the nearest small one whose other end leads to ground.
func groundShunt(d *design.Design, high circuit.Net) (shunt design.Element, low circuit.Net, ok bool) {
	list, seen := []circuit.Net{high}, map[circuit.Net]bool{high: true}
	for i := 0; i < len(list) && i < 16; i++ {
		n := list[i]
		if _, held := d.Rail(n, design.Operating); held {
			continue
		}
		for pass := range 2 {
			for e := range d.On(n) {
				if e.Kind() != 'R' || e.Pins() != 2 || e.Other(n) == n || !(e.Value() > 0) || e.Value() > traceOhms {
					continue
				}
				if pass == 0 && !d.Intent.Says("currents", e.Path()) {
					continue
				}
				if _, grounded := groundLine(d, e.Other(n), e); grounded {
					return e, e.Other(n), true
				}
			}
		}
		if pinOn(d, n, "out") {
			continue // what an amplifier drives is no shunt's
		}
		for e := range d.On(n) {
			if r := ohms(e); r >= 0 && !seen[e.Other(n)] {
				seen[e.Other(n)] = true
				list = append(list, e.Other(n))
			}
		}
	}
	return shunt, 0, false
}

// tapAtGround is where a low input is taken from: its own net where that is in the ground line, else the end of the resistor that
// leads there, which is then a leg of its own.
func tapAtGround(d *design.Design, n circuit.Net) (tap circuit.Net, leg, ok bool) {
	if _, grounded := groundLine(d, n, design.Element{ID: noElement}); grounded {
		return n, false, true
	}
	for _, r := range resistorsOn(d, n) {
		if _, grounded := groundLine(d, r.Other(n), design.Element{ID: noElement}); grounded {
			return r.Other(n), true, true
		}
	}
	return 0, false, false
}

// A groundWay is the way from a net to node 0 through what a ground line is made of.
type groundWay struct {
	series []design.Element
	nets   []circuit.Net // the net first, node 0 last
}

// groundLine finds the shortest way to node 0 over pieces of wire, coils and resistors of no more than a trace, but not over the
// shunt and not over one whose current is declared.
func groundLine(d *design.Design, n circuit.Net, shunt design.Element) (out groundWay, ok bool) {
	type entry struct {
		at   circuit.Net
		from int
		by   design.Element
	}
	list, seen := []entry{{at: n, from: -1}}, map[circuit.Net]bool{n: true}
	for i := 0; i < len(list) && i < 32; i++ {
		at := list[i].at
		if at == 0 {
			for k := i; ; k = list[k].from {
				out.nets = append(out.nets, list[k].at)
				if k == 0 {
					break
				}
				out.series = append(out.series, list[k].by)
			}
			slices.Reverse(out.nets)
			slices.Reverse(out.series)
			return out, true
		}
		if _, held := d.Rail(at, design.Operating); held {
			continue
		}
		for e := range d.On(at) {
			r := ohms(e)
			if e.ID == shunt.ID || !(r >= 0 && r <= traceOhms) || r > 0 && d.Intent.Says("currents", e.Path()) || seen[e.Other(at)] {
				continue
			}
			seen[e.Other(at)] = true
			list = append(list, entry{e.Other(at), i, e})
		}
	}
	return out, false
}
