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

//go:embed doc/hidden-consumer.md
var hiddenConsumerPage string

// HiddenConsumer adds up what small consumers draw through the shunt though the load's current alone is meant, or past it
// though all that the supply gives is meant.
var HiddenConsumer = &rules.Rule{
	ID:    "hidden-consumer",
	Title: "small consumers on the wrong side of the shunt",
	Level: rules.Warning,
	Page:  hiddenConsumerPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if shuntless(p) {
			return
		}
		measured, supply, ok := sides(p)
		meant, said := "", false
		if e := p.Design.Intent.Get("currents", p.CurrentName(), "measures"); e != nil {
			meant, said = e.Text, true
		}
		switch {
		case !ok:
			p.Skip("both ends of the shunt are held: neither is a load's")
			return
		case meant == "switch":
			p.Skip("what a switch carries is meant: what is drawn beside it does not count")
			return
		case meant == "supply" && supply == 0:
			p.HoldsIf("holds only if nothing that the supply feeds returns to ground beside " + p.ShuntText())
			return
		case meant == "supply" && supply == measured:
			p.Skip("no end of the shunt is a supply")
			return
		case meant == "supply" && len(p.Design.Circuit.On(supply)) > mostOnSupply:
			p.HoldsIf(fmt.Sprintf("holds only if what hangs on %s beside %s is little: it is more than is looked at", p.Design.Circuit.NetName(supply), p.ShuntText()))
			return
		}
		at, verb, where := measured, "through", "through "+p.ShuntText()+" and are not the load's"
		if meant == "supply" {
			at, verb, where = supply, "past", "past "+p.ShuntText()+" and are meant to be read"
		}
		found, unsaid := consumers(p, at, measured, supply)
		if len(found) == 0 && unsaid {
			p.ShuntCurrent(design.Operating) // how large is small?
			return
		}
		if len(found) == 0 {
			p.Holds("nothing but the load draws current " + verb + " " + p.ShuntText())
			return
		}
		goal := p.Goal()
		if !goal.Declared {
			p.Skip("no accuracy goal is declared")
			return
		}
		var in []quantity.Quantity
		for _, c := range found {
			in = append(in, c.amps)
		}
		if unsaid {
			in = append(in, p.ShuntCurrent(design.Operating))
		}
		sum := quantity.Calc("current of small consumers", quantity.Amp, total, in...)
		limit := quantity.Calc("half of the goal at its lowest current", quantity.Amp, func(x []float64) float64 { return 0.5 * x[0] * math.Abs(x[1]) },
			goal.Error, goal.From)
		key := design.Key("currents", p.CurrentName(), "measures")
		if !said && sum.Known() && limit.Known() && sum.Sound.Hi > limit.Sound.Lo*(1+1e-9) {
			p.HoldsIf(fmt.Sprintf("holds only if %s = \"supply\" is meant: %s draw up to %s through %s", key, named(found), quantity.Show(sum.Sound.Hi, quantity.Amp), p.ShuntText()))
			return
		}
		p.AtMost(sum, limit, "half of the goal at its lowest current").Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Amp, m.Max, m.LimitMax)
			return fmt.Sprintf("%s draw %s %s: more than half of what the goal allows, %s", named(found), sc.Text(m.Max, quantity.Up), where, sc.Text(m.LimitMax, quantity.Down))
		}).Advise(fmt.Sprintf("move %s to the other side of %s, or list what is meant to be read in %s", named(found), p.ShuntText(),
			design.Key("currents", p.CurrentName(), "includes")))
	},
}

func total(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum
}

// sides are the end of the shunt that the load hangs on and the one that is held: the supply's, or ground. Where nothing holds
// either, as in a phase, the load is where the positive current goes, and both are the same; ok is false where both are held.
func sides(p *rules.Bench) (measured, supply circuit.Net, ok bool) {
	a, b := p.Plus.Shunt, p.Minus.Shunt
	_, heldA := p.Design.Rail(a, design.Operating)
	_, heldB := p.Design.Rail(b, design.Operating)
	switch {
	case heldA && heldB:
		return 0, 0, false
	case heldA:
		return b, a, true
	case heldB:
		return a, b, true
	}
	if c, said := p.Current(design.Operating); said {
		return c.To, c.To, true
	}
	return b, b, true
}

// A consumer is what draws a small current from the nets of one side.
type consumer struct {
	name string
	amps quantity.Quantity
}

func named(list []consumer) string {
	const most = 4
	var names []string
	for i, c := range list {
		if i == most {
			return strings.Join(names, ", ") + fmt.Sprintf(" and %d more", len(list)-most)
		}
		names = append(names, c.name)
	}
	return strings.Join(names, ", ")
}

const (
	// seriesMost is up to what a resistor counts as wiring of the side that it is on; common practice, no source.
	seriesMost = 10
	// feedOhms is up to what a resistor may feed a part; common practice, no source.
	feedOhms = 1000
	// loadShare is from what part of the largest declared current on a resistor counts as a load; common practice, no source.
	loadShare = 0.05
	// mostSide is how many nets of a side, and of a string behind it, are looked at.
	mostSide = 256
	// mostOnSupply is how many elements of a supply net are looked at: each shunt on it asks for all of them.
	mostOnSupply = 512
)

// consumers are the parts that draw their supply from the nets of a side, and the strings of resistors and diodes and the current
// sources from it to a held net (dividers, bleeders, lamps) that take less than a load would; unsaid where nobody declared a current to tell them by.
func consumers(p *rules.Bench, at, measured, supply circuit.Net) (out []consumer, unsaid bool) {
	d := p.Design
	meant := map[string]bool{}
	if e := d.Intent.Get("currents", p.CurrentName(), "includes"); e != nil && at == measured {
		for _, n := range e.Names {
			meant[strings.ToLower(n)] = true
		}
	}
	near, far := side(p, at, seriesMost), side(p, at, feedOhms)
	seen := map[circuit.ID]bool{}
	for _, n := range far {
		for e := range d.On(n) {
			r := e.Record()
			if e.Kind() != 'X' || r == nil || seen[e.ID] || meant[strings.ToLower(e.Path())] {
				continue
			}
			s, ok := e.PinOf("supply", "")
			g, okG := e.PinOf("ground", "")
			if ok && s == n || okG && g == n && n != 0 {
				seen[e.ID] = true
				out = append(out, consumer{e.Path(), p.PartOf(e, "supply.current")})
			}
		}
	}
	largest := math.Inf(1)
	if _, ok := p.Current(design.Operating); ok {
		if all := p.ShuntCurrent(design.Operating).Sound; !math.IsInf(all.Width(), 0) {
			largest = max(math.Abs(all.Lo), math.Abs(all.Hi))
		}
	}
	for _, n := range near {
		for e := range d.On(n) {
			k := e.Kind()
			if k != 'R' && k != 'D' && k != 'I' || e.Pins() != 2 || seen[e.ID] || slices.Contains(near, e.Other(n)) || ours(p, e) || meant[strings.ToLower(e.Path())] {
				continue
			}
			seen[e.ID] = true
			if k == 'I' {
				if _, held := d.Rail(e.Other(n), design.Operating); !held {
					continue
				}
				if q := e.Drive(design.Operating).Peak().Named("current of " + e.Path()); !math.IsInf(largest, 0) && q.Sound.Hi > 0 && !(q.Nom >= loadShare*largest) {
					out = append(out, consumer{e.Path(), q})
				}
				continue
			}
			s, ok := follow(d, n, e, near)
			if !ok || !slices.ContainsFunc(s.series, func(e design.Element) bool { return e.Kind() == 'R' }) || slices.ContainsFunc(s.series, func(e design.Element) bool { return meant[strings.ToLower(e.Path())] }) {
				continue
			}
			if math.IsInf(largest, 0) {
				unsaid = true
				continue
			}
			if c := s.current(p, n, measured, supply); c.Sound.Hi > 0 && c.Nom < loadShare*largest {
				out = append(out, consumer{e.Path(), c})
			}
		}
	}
	return out, unsaid
}

// ours tells that an element belongs to the shunt.
func ours(p *rules.Bench, e design.Element) bool {
	return slices.ContainsFunc(p.Block.Shunt, func(s design.Element) bool { return s.ID == e.ID })
}

// side are the nets that go with one end of the shunt through inductors and resistors up to a value, not over the shunt and
// not past nets that something else holds; the end itself first.
func side(p *rules.Bench, at circuit.Net, most float64) []circuit.Net {
	d := p.Design
	out, seen := []circuit.Net{at}, map[circuit.Net]bool{at: true}
	for i := 0; i < len(out) && len(out) < mostSide; i++ {
		for e := range d.On(out[i]) {
			if r := ohms(e); !(r <= most) || ours(p, e) {
				continue
			}
			o := e.Other(out[i])
			if _, held := d.Rail(o, design.Operating); !seen[o] && !held {
				seen[o] = true
				out = append(out, o)
			}
		}
	}
	return out
}

// A run is a string of resistors and diodes from a net to one that something holds.
type run struct {
	series []design.Element
	end    circuit.Net
	level  quantity.Quantity // of the end, V
}

// follow goes along a resistor or diode from a net, through resistors and diodes that conduct away from it or towards it, to the held net that
// the least resistance leads to.
func follow(d *design.Design, from circuit.Net, first design.Element, near []circuit.Net) (out run, ok bool) {
	type step struct {
		at     circuit.Net
		series []design.Element
		ohm    float64
	}
	best := math.Inf(1)
	seen := map[circuit.Net]bool{from: true}
	list := []step{{first.Other(from), []design.Element{first}, 0}}
	if first.Kind() == 'R' {
		list[0].ohm = first.Value()
	}
	for i := 0; i < len(list) && i < mostSide; i++ {
		s := list[i]
		if level, held := d.Rail(s.at, design.Operating); held {
			if s.ohm < best {
				best, ok = s.ohm, true
				out = run{s.series, s.at, level}
			}
			continue
		}
		if seen[s.at] || slices.Contains(near, s.at) || len(s.series) == 8 {
			continue
		}
		seen[s.at] = true
		for e := range d.On(s.at) {
			k := e.Kind()
			if k != 'R' && k != 'L' && k != 'D' || e.Pins() != 2 || e.ID == s.series[len(s.series)-1].ID {
				continue
			}
			r := 0.0
			if k == 'R' {
				r = e.Value()
			}
			list = append(list, step{e.Other(s.at), append(slices.Clip(s.series), e), s.ohm + r})
		}
	}
	return out, ok
}

// current is what the string takes, in amperes: the voltage between its ends less the drops of its diodes over its resistance. The
// load's side stands where the supply's does, but for what the shunt drops.
func (s run) current(p *rules.Bench, from, measured, supply circuit.Net) quantity.Quantity {
	level, held := p.Design.Rail(supply, design.Operating)
	if !held {
		level = p.Net(from, design.Operating)
	}
	sign := 1.0
	if level.Nom < s.level.Nom {
		sign = -1
	}
	in := []quantity.Quantity{level, s.level}
	resistors := 0
	for _, e := range s.series {
		if e.Kind() == 'R' {
			in = append(in, e.Resistance())
			resistors++
		}
	}
	at := from
	for _, e := range s.series {
		if e.Kind() == 'D' {
			in = append(in, drop(p, e, (e.Pin(0) == at) == (sign > 0)))
		}
		at = e.Other(at)
	}
	return quantity.Calc("current of "+s.series[0].Path(), quantity.Amp, func(x []float64) float64 {
		return max(0, sign*(x[0]-x[1])-total(x[2+resistors:])) / total(x[2:2+resistors])
	}, in...)
}

// drop is the voltage that a diode takes of a string, in volts: forwards its drop, backwards its breakdown or, without one, any.
func drop(p *rules.Bench, e design.Element, forwards bool) quantity.Quantity {
	if !forwards {
		if e.Entry("clamp.breakdown") != nil {
			return e.Part("clamp.breakdown")
		}
		if bv, ok := e.ModelParam("bv"); ok {
			return quantity.Exactly("breakdown of "+e.Path(), quantity.Volt, bv)
		}
		return quantity.Exactly("breakdown of "+e.Path(), quantity.Volt, math.MaxFloat32)
	}
	if q := p.Design.Declared(quantity.Volt, "elements", e.Path(), "drop"); q.Known() {
		return q
	}
	if e.Entry("drop") != nil {
		return e.Part("drop")
	}
	return (&quantity.Cause{Name: "drop of " + e.Path(), Unit: quantity.Volt, Nom: 0.7, Sound: quantity.Interval{Lo: 0, Hi: 1.5}, Seen: quantity.Point(0.7),
		Grade: quantity.Assumed, Note: e.Path() + ": no drop declared, 0 V to 1.5 V is counted", At: e.Card()}).Of()
}
