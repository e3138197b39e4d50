package rules

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A Growth is what breaks first in a block as one declared quantity goes beyond its range while all else stays.
type Growth struct {
	Block string
	What  string // "current", "supply", "temperature", "common mode"
	Up    bool   // whether the high end moves; a current moves both of its ends away from 0 A
	Key   string // the entry of intent that was moved
	Unit  quantity.Unit
	From  float64 // the declared end, SI units
	Rule  string  // what breaks first; empty: nothing up to At
	At    float64 // the end from which on it breaks
	Level Level   // of the failure
	Text  string  // its message there
}

// Growing also looks for what breaks first as current, supply, temperature or common mode grows.
func Growing(j *judge) { j.grows = true }

// notGrowing undoes Growing: of variants only what comes out otherwise is told.
func notGrowing(j *judge) { j.grows = false }

// How far each quantity is moved; common practice, no source: beyond it nobody asks.
const (
	currentTimes = 4.0 // of the declared ends
	railTimes    = 3.0 // of the declared end, added to it
	leastRail    = 1.0 // V that a rail counts as at least
	kelvins      = 150.0
	halvings     = 16
)

// A mover moves one end of an entry of intent: by nothing at 0, as far as anybody asks at 1.
type mover struct {
	what string
	up   bool
	e    *field.Entry
	to   func(share float64) quantity.Interval
	end  func(quantity.Interval) float64
}

func (m mover) change(share float64) design.Change {
	return design.Change{Op: design.Amend, Path: m.e.Path, Range: m.to(share), Unit: m.e.Field.Unit}
}

// growth finds for each mover the least share that makes a rule fail which did not before, or fail with more weight.
func (j *judge) growth(d *design.Design, at amplifier, before []Result) (out []Growth) {
	b := sense.At(d, at.id, at.unit)
	if b == nil {
		return nil
	}
	for _, m := range movers(d, b) {
		if d.Circuit.Cards.Stopped() != nil {
			return nil
		}
		g := Growth{Block: b.Name(), What: m.what, Up: m.up, Key: m.e.Key(), Unit: m.e.Field.Unit, From: m.end(m.to(0)), At: m.end(m.to(1))}
		var worse []int // rules that fail at the far end
		for i, r := range j.rules(d.With(m.change(1)), at) {
			if breaks(before[i], r) {
				worse = append(worse, i)
			}
		}
		broken := func(share float64) (Result, bool) {
			s := newSite(d.With(m.change(share)), at, j.together)
			for _, i := range worse {
				if s == nil {
					break
				}
				if r, _ := s.run(j.list[i]); breaks(before[i], r) {
					return r, true
				}
			}
			return Result{}, false
		}
		if first, ok := broken(1); ok {
			good, bad := 0.0, 1.0
			for range halvings {
				if r, ok := broken((good + bad) / 2); ok {
					bad, first = (good+bad)/2, r
				} else {
					good = (good + bad) / 2
				}
			}
			g.Rule, g.Level, g.Text, g.At = first.Rule, first.Level, first.Message, m.end(m.to(good))
		}
		out = append(out, g)
	}
	return out
}

// breaks tells that a rule fails now and did not, or not with this weight. Notes break nothing.
func breaks(before, after Result) bool {
	return after.Kind == KindFail && after.Level >= Warning && (before.Kind != KindFail || before.Level < after.Level)
}

// movers are what can grow around a block, as far as intent declares it.
func movers(d *design.Design, b *sense.Block) (out []mover) {
	high := func(i quantity.Interval) float64 { return i.Hi }
	low := func(i quantity.Interval) float64 { return i.Lo }
	if e := d.Intent.Get("currents", b.CurrentName(), "range"); e != nil {
		r := e.Written.Range
		most := func(i quantity.Interval) float64 {
			if -i.Lo > i.Hi {
				return i.Lo
			}
			return i.Hi
		}
		out = append(out, mover{"current", true, e, func(s float64) quantity.Interval {
			f := 1 + (currentTimes-1)*s
			return quantity.Interval{Lo: min(r.Lo, r.Lo*f), Hi: max(r.Hi, r.Hi*f)}
		}, most})
	}
	solver := volt.New(d)
	rail := func(what, pin string, up bool) {
		n, ok := b.Pin(pin)
		if !ok {
			return
		}
		if e := decidingRail(d, solver.Bound(volt.Across(n, b.Ground), design.Operating), up); e != nil {
			r := e.Written.Range
			if up {
				out = append(out, mover{what, true, e, func(s float64) quantity.Interval {
					return quantity.Interval{Lo: r.Lo, Hi: r.Hi + s*railTimes*max(math.Abs(r.Hi), leastRail)}
				}, high})
			} else {
				out = append(out, mover{what, false, e, func(s float64) quantity.Interval {
					return quantity.Interval{Lo: r.Lo - s*railTimes*max(math.Abs(r.Hi), leastRail), Hi: r.Hi}
				}, low})
			}
		}
	}
	rail("supply", "supply", true)
	rail("supply", "supply", false)
	if e := d.Intent.Get("temperature"); e != nil {
		r := e.Written.Range
		out = append(out, mover{"temperature", true, e, func(s float64) quantity.Interval {
			return quantity.Interval{Lo: r.Lo, Hi: r.Hi + s*kelvins}
		}, high}, mover{"temperature", false, e, func(s float64) quantity.Interval {
			return quantity.Interval{Lo: r.Lo - s*kelvins, Hi: r.Hi}
		}, low})
	}
	rail("common mode", "in+", true)
	rail("common mode", "in+", false)
	return out
}

// decidingRail is the declared rail that moves an end of a bound most; nil where none does.
func decidingRail(d *design.Design, q quantity.Quantity, high bool) *field.Entry {
	if q.Seen.Empty() {
		return nil
	}
	for _, s := range q.Deciding(high) {
		for e := range d.Intent.Under("rails") {
			if e.Key() == s.Name && e.Field.Unit == quantity.Volt && e.Field.Shape == field.Value {
				return e
			}
		}
	}
	return nil
}
