package design

import (
	"fmt"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// policy is the tolerance counted for resistors, rails and sources that declare none.
const policy = 0.05

// Rail is the voltage of a net that something holds: ground, a declared rail, a voltage source that stands on a held
// net. ok is false when nothing does. Intent wins over the netlist's sources.
func (d *Design) Rail(n circuit.Net, r Regime) (q quantity.Quantity, ok bool) {
	return d.rail(n, r, 0)
}

func (d *Design) rail(n circuit.Net, r Regime, depth int) (q quantity.Quantity, ok bool) {
	if n == 0 {
		return quantity.Exactly("ground", quantity.Volt, 0), true
	}
	if depth > 32 { // rails that follow each other, sources in a ring
		return q, false
	}
	if len(d.over) == 0 && !d.Intent.Says("rails") { // asked for every net of a large netlist
		if q, ok = d.sourceRail(n, r, depth); ok || !d.Intent.Says("switching") {
			return q, ok
		}
	}
	name := d.Circuit.NetName(n)
	if c := d.named(name, Declare); c != nil {
		w, err := quantity.ReadWritten(c.Text, quantity.Volt)
		if err == nil {
			k := &quantity.Cause{Name: "rails." + name, Unit: quantity.Volt}
			stated(k, w, name)
			return k.Of(), true
		}
	}
	if e := d.Intent.Get("rails", name); e != nil {
		return d.declaredRail(name, e, r), true
	}
	if e := d.Intent.Get("rails", name, "follows"); e != nil {
		return d.followingRail(name, e, r, depth)
	}
	work, sv := d.workingRail(name), d.Intent.Get("rails", name, "survival")
	switch {
	case r == Operating && work != nil:
		return work.Of(), true
	case r == Survival && sv != nil:
		q = d.declaredRail(name, sv, r)
		if work != nil { // events come on top of the working range
			c := *q.Causes()[0]
			if work.Grade == quantity.Soft && !work.Sound.In(c.Sound) {
				c.Grade, c.Note = work.Grade, work.Note
			}
			c.Sound, c.Seen = c.Sound.Union(work.Sound), c.Seen.Union(work.Seen)
			q = c.Of()
		}
		return q, true
	case r == Survival && d.Intent.Says("rails", name, "events"):
		return d.eventRail(name, work), true
	case r == Survival && work != nil:
		return undeclaredSurvival(*work, d.survivalKey(name)), true
	case sv != nil:
		return quantity.Missing(quantity.Volt, need("rails", name, "operating")), true
	case d.Intent.Says("rails", name, "envelope"): // one that nobody knows
		return quantity.Missing(quantity.Volt, need("rails", name, "envelope")), true
	}
	if q, ok = d.sourceRail(n, r, depth); ok {
		return q, true
	}
	return d.switchedNet(n, r, depth)
}

// undeclaredSurvival: the working range is seen, anything may come.
func undeclaredSurvival(c quantity.Cause, key string) quantity.Quantity {
	c.Name += " in events"
	c.Sound = quantity.Everything
	c.Grade = max(c.Grade, quantity.Assumed)
	c.Note = key + " not declared: only the working range is known"
	return c.Of()
}

func (d *Design) declaredRail(name string, e *field.Entry, r Regime) quantity.Quantity {
	c := &quantity.Cause{Name: e.Key(), Unit: quantity.Volt, At: e.At}
	stated(c, e.Written, name)
	return c.Of()
}

// stated fills a cause from text: a bare figure has no declared tolerance.
func stated(c *quantity.Cause, w quantity.Written, what string) {
	c.Nom, c.Sound, c.Seen = w.Nom, w.Range, w.Range
	if w.Form == quantity.Bare && w.Nom != 0 {
		c.Sound = widen(quantity.Interval{Lo: w.Nom, Hi: w.Nom}, policy)
		c.Seen = quantity.Interval{Lo: w.Nom, Hi: w.Nom}
		c.Grade, c.Note = quantity.Assumed, what+": no tolerance declared, 5 % counted"
	}
}

// widen moves each end outwards by a fraction of its size.
func widen(i quantity.Interval, t float64) quantity.Interval {
	out := func(v, sign float64) float64 {
		if v*sign < 0 {
			return v * (1 - t)
		}
		return v * (1 + t)
	}
	return quantity.Interval{Lo: out(i.Lo, -1), Hi: out(i.Hi, 1)}
}

func (d *Design) followingRail(name string, e *field.Entry, r Regime, depth int) (quantity.Quantity, bool) {
	base, ok := d.Net(e.Text)
	if !ok {
		return quantity.Missing(quantity.Volt, need("rails", name, "follows")), true
	}
	q, ok := d.rail(base, r, depth+1)
	if !ok {
		return quantity.Missing(quantity.Volt, need("rails", e.Text)), true
	}
	w := d.Intent.Get("rails", name, "within")
	if w == nil {
		return quantity.Missing(quantity.Volt, need("rails", name, "within")), true
	}
	off := &quantity.Cause{Name: w.Key(), Unit: quantity.Volt, At: w.At}
	off.Sound = quantity.Interval{Lo: -w.Written.Range.Hi, Hi: w.Written.Range.Hi}
	off.Seen = off.Sound
	return quantity.Calc("rails."+name, quantity.Volt, func(x []float64) float64 { return x[0] + x[1] }, q, off.Of()), true
}

// sourceRail is the voltage of a net that a V card holds against a held net.
func (d *Design) sourceRail(n circuit.Net, r Regime, depth int) (q quantity.Quantity, ok bool) {
	for _, id := range d.sources[n] {
		e := d.Element(id)
		if e.Kind() == Gone {
			continue
		}
		base, held := d.rail(e.Other(n), r, depth+8) // a long chain of sources is no rail, a ring never ends
		if !held {
			continue
		}
		sign := 1.0
		if e.Pin(1) == n {
			sign = -1
		}
		if other, ok := d.contradicts(e, n); ok {
			return quantity.Missing(quantity.Volt, quantity.Need{In: "netlist", At: e.Card(),
				Key: fmt.Sprintf("one source less on %s: %s and %s put it at different voltages", d.Circuit.NetName(n), e.Path(), other.Path())}), true
		}
		return quantity.Calc("voltage of "+d.Circuit.NetName(n), quantity.Volt,
			func(x []float64) float64 { return x[0] + sign*x[1] }, base, e.Drive(r)), true
	}
	return q, false
}

// contradicts finds a source between ground and a net that another one, e, holds at another voltage.
func (d *Design) contradicts(e Element, n circuit.Net) (other Element, ok bool) {
	if e.Other(n) != 0 {
		return other, false
	}
	level := func(e Element) float64 {
		v := e.Drive(Operating).Nom
		if e.Pin(1) == n {
			v = -v
		}
		return v
	}
	for _, id := range d.sources[n] {
		o := d.Element(id)
		if o.ID != e.ID && o.Kind() != Gone && o.Other(n) == 0 && math.Abs(level(o)-level(e)) > 1e-9*max(1, math.Abs(level(e))) {
			return o, true
		}
	}
	return other, false
}

// Drive is what a V or I card drives, in V or A, anywhere between its extremes, and the constant part of what a linear
// E, G, F, H or B drives. A drawn level is seen; the policy tolerance is counted on top unless elements.NAME.tolerance
// says less. A source that drives nothing (an ammeter) is exact.
func (e Element) Drive(r Regime) quantity.Quantity {
	s := e.Source()
	if l := e.Linear(); l != nil {
		s = &circuit.Source{Known: true, Current: l.Current, DC: l.Const, Levels: [2]float64{l.Const, l.Const}}
	}
	u := quantity.Volt
	if s != nil && s.Current {
		u = quantity.Amp
	}
	if s == nil || !s.Known {
		return quantity.Missing(u, quantity.Need{In: "netlist", Key: "what " + e.Path() + " drives", At: e.Card()})
	}
	c := &quantity.Cause{Name: e.Path(), Unit: u, At: e.Card(), Nom: s.DC}
	c.Seen = quantity.Interval{Lo: s.Levels[0], Hi: s.Levels[1]}
	if e.d.change(e.ID, Set) != nil {
		c.Nom, c.Seen = e.Value(), quantity.Point(e.Value())
	}
	c.Sound = c.Seen
	if c.Seen == (quantity.Interval{}) {
		return c.Of()
	}
	if t := e.d.Intent.Get("elements", e.Path(), "tolerance"); t != nil {
		c.Sound = widen(c.Seen, t.Written.Range.Hi)
		c.Seen = c.Sound
	} else {
		c.Sound = widen(c.Seen, policy)
		c.Grade, c.Note = quantity.Assumed, e.Path()+": no tolerance declared, 5 % counted"
	}
	if r == Survival && u == quantity.Volt {
		return undeclaredSurvival(*c, "the survival range of what "+e.Path()+" holds")
	}
	return c.Of()
}

// switchedNet is a net that intent says is switched between two others and that no device of the netlist drives: it is
// anywhere between them, and the diodes that nobody drew may take it further.
func (d *Design) switchedNet(n circuit.Net, r Regime, depth int) (quantity.Quantity, bool) {
	name := d.Circuit.NetName(n)
	e := d.Intent.Get("switching", name, "between")
	if e == nil || len(e.Names) != 2 {
		return quantity.Quantity{}, false
	}
	for o := range d.On(n) {
		if k := o.Kind(); k == 'M' || k == 'S' || k == 'W' || k == 'D' || k == 'Q' || k == 'J' || k == 'Z' {
			return quantity.Quantity{}, false
		}
	}
	var ends []quantity.Quantity
	for _, other := range e.Names {
		m, ok := d.Net(other)
		if ok {
			var q quantity.Quantity
			if q, ok = d.rail(m, r, depth+8); ok {
				ends = append(ends, q)
			}
		}
		if !ok {
			return quantity.Missing(quantity.Volt, need("rails", other)), true
		}
	}
	at := &quantity.Cause{Name: "level of " + name, Sound: quantity.Interval{Lo: 0, Hi: 1}, Seen: quantity.Interval{Lo: 0, Hi: 1}, At: e.At}
	beyond := &quantity.Cause{Name: "excursion of " + name, Unit: quantity.Volt, Sound: quantity.Interval{Lo: -mostDrop, Hi: mostDrop}, Seen: quantity.Point(0),
		Grade: quantity.Assumed, At: e.At, Note: name + ": the devices that switch it are not drawn, up to 1.5 V beyond its ends is counted"}
	return quantity.Calc("voltage of "+name, quantity.Volt, func(x []float64) float64 { return x[0] + x[2]*(x[1]-x[0]) + x[3] },
		ends[0], ends[1], at.Of(), beyond.Of()), true
}

// mostDrop is the largest diode drop counted where none is declared, in volts.
const mostDrop = 1.5

// checkSources compares each declared rail with the source that stands on it.
func (d *Design) checkSources() (diags []source.Diagnostic) {
	for _, name := range d.Intent.Names("rails") {
		n, ok := d.Net(name)
		if !ok || n == 0 {
			continue
		}
		said, ok := d.Rail(n, Operating)
		if !ok || !said.Known() {
			continue
		}
		events, _ := d.Rail(n, Survival)
		allowed := said.Sound.Union(events.Seen)
		drawn, ok := d.sourceRail(n, Operating, 0)
		if !ok || drawn.Seen.Empty() || drawn.Seen.In(allowed) {
			continue
		}
		for e := range d.On(n) {
			if e.Kind() != 'V' {
				continue
			}
			at := source.Span{}
			for _, k := range []*field.Entry{d.Intent.Get("rails", name), d.Intent.Get("rails", name, "operating"), d.Intent.Get("rails", name, "envelope"), d.Intent.Get("rails", name, "follows")} {
				if k != nil {
					at = k.At
				}
			}
			sc := quantity.ScaleFor(quantity.Volt, drawn.Seen.Lo, drawn.Seen.Hi, said.Sound.Lo, said.Sound.Hi)
			diags = append(diags, source.Diagnostic{At: e.Card(), Rule: "intent-disagreement",
				Message: fmt.Sprintf("%s puts %s at %s, intent declares %s .. %s: intent is followed", e.Path(), name,
					span(sc, drawn.Seen), sc.Text(said.Sound.Lo, quantity.Near), sc.Text(said.Sound.Hi, quantity.Near)),
				Related: []source.Related{{At: at, Message: "declared here"}}})
			break
		}
	}
	return diags
}

func span(sc quantity.Scale, i quantity.Interval) string {
	if i.Lo == i.Hi {
		return sc.Text(i.Lo, quantity.Near)
	}
	return strings.Join([]string{sc.Text(i.Lo, quantity.Near), sc.Text(i.Hi, quantity.Near)}, " .. ")
}
