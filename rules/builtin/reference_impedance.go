package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/reference-impedance.md
var referenceImpedancePage string

// ReferenceImpedance holds what the resistance of the sources at the reference pins does to the output at no current
// against the goal: the pins load them, and in a resistor-difference stage the common mode pulls at them.
var ReferenceImpedance = &rules.Rule{
	ID:    "reference-impedance",
	Title: "the reference's source resistance moves the zero",
	Level: rules.Error,
	Page:  referenceImpedancePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		switch {
		case len(p.References) == 0:
			p.Skip("the part has no reference pin")
			return
		case firmReferences(p):
			p.Holds("holds: every reference pin stands on a net that is held")
			return
		}
		goal := p.Goal()
		if !goal.Declared {
			p.Skip("no goal is declared")
			return
		}
		if _, said := p.Word("input.model"); !said { // a common mode may pull at the pins, or not
			return
		}
		dev := quantity.Minus("shift of the output at 0 A", p.Zero(design.Operating), p.IdealZero(design.Operating))
		scale := p.Scale()
		counted := dev
		if p.Calibrated("offset") { // the zero is measured: what is left is how it moves
			counted = zeroMovement(dev)
		}
		shows := func(high bool) string { return sourceText(p, dev, high) }
		for _, l := range []struct {
			part  float64
			level rules.Level
			text  string
		}{{2, rules.Error, "half of the goal at its lowest current"}, {10, rules.Warning, "a tenth of the goal at its lowest current"}} {
			if l.level == rules.Warning && isolated(p) {
				continue // good practice is no finding, however close the goal
			}
			allowed := func(sign float64) quantity.Quantity {
				return quantity.Calc(l.text, quantity.Volt, func(x []float64) float64 { return sign * x[0] * x[1] * math.Abs(x[2]) / l.part },
					goal.Error, goal.From, scale)
			}
			c := p.Within(counted, allowed(-1), allowed(1), l.text).At(l.level).Shows(shows).Fails(func(m rules.Measure) string {
				end, limit := m.Max, m.LimitMax
				if !m.AtHigh {
					end, limit = m.Min, m.LimitMin
				}
				return fmt.Sprintf("the source resistance at %s moves the output at 0 A by %s, %s; %s is %s", referenceNets(p),
					quantity.ScaleFor(quantity.Volt, end).Text(end, quantity.Up),
					quantity.Show(threeDigits(end/scale.Nom), quantity.Amp), l.text, quantity.ScaleFor(quantity.Volt, limit).Text(math.Abs(limit), quantity.Down))
			})
			if list := referenceResistors(p); sameValues(list) {
				c.Lower(list...)
			}
			if v := p.IdealZero(design.Operating).Nom; !math.IsNaN(v) {
				c.Try(fmt.Sprintf("a buffer that drives the reference with %s", quantity.Show(threeDigits(v), quantity.Volt)),
					design.Change{Op: design.Hold, Target: p.Amp.Path(), Pin: p.References[0].Role, Value: v})
			}
		}
	},
}

// threeDigits keeps three digits.
func threeDigits(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	s := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
	return math.Round(v/s) * s
}

// firmReferences tells that every reference pin stands on a rail or source itself, or is driven by a change: nothing is in
// between, whatever the part draws.
func firmReferences(p *rules.Bench) bool {
	if _, held := p.Design.Held(p.Amp, p.References[0].Role); held {
		return true
	}
	for _, ref := range p.References {
		if _, held := p.Design.Rail(ref.Net, design.Operating); !held {
			return false
		}
	}
	return true
}

// isolation is the largest resistance, in ohm, that keeps a buffer stable with the capacitor at a reference pin.
const isolation = 47

// isolated tells that a buffer drives every reference pin, with no more in between than keeps it stable.
func isolated(p *rules.Bench) bool {
	for _, ref := range p.References {
		if _, held := p.Design.Rail(ref.Net, design.Operating); held {
			continue
		}
		if _, ok := bufferBehind(p, ref.Net); !ok || !(p.ReferenceResistance(ref.Net).Nom <= isolation+1e-3) {
			return false
		}
	}
	return true
}

// referenceNets names the nets of the reference pins: "ref-a (VMID) and ref-b (VMID)".
func referenceNets(p *rules.Bench) string {
	var out []string
	for _, ref := range p.References {
		out = append(out, fmt.Sprintf("%s (%s)", ref.Role, p.Design.Circuit.NetName(ref.Net)))
	}
	return strings.Join(out, " and ")
}

// referenceResistors are the resistors between the reference pins and what holds a net, in the order they are met.
func referenceResistors(p *rules.Bench) (out []design.Element) {
	seen := map[circuit.Net]bool{}
	var nets []circuit.Net
	add := func(n circuit.Net) {
		if _, held := p.Design.Rail(n, design.Operating); !held && !seen[n] {
			seen[n] = true
			nets = append(nets, n)
		}
	}
	for _, ref := range p.References {
		add(ref.Net)
	}
	met := map[circuit.ID]bool{}
	for i := 0; i < len(nets) && i < 16; i++ {
		for e := range p.Design.On(nets[i]) {
			if e.Kind() != 'R' || e.Pins() != 2 || met[e.ID] || !(e.Value() > 0) {
				continue
			}
			met[e.ID] = true
			out = append(out, e)
			add(e.Other(nets[i]))
		}
	}
	return out
}

// sameValues tells resistors that lowering them alike leaves in their ratio.
func sameValues(list []design.Element) bool {
	for _, e := range list {
		if e.Written() != list[0].Written() {
			return false
		}
	}
	return len(list) > 0
}

// sourceText is how an end of the shift comes about: the two outputs at 0 A that it is the difference of.
func sourceText(p *rules.Bench, dev quantity.Quantity, high bool) string {
	parts, ok := dev.Corner(high, []quantity.Quantity{p.Zero(design.Operating), p.IdealZero(design.Operating)})
	if !ok || len(parts) != 2 {
		return ""
	}
	return fmt.Sprintf("%s as drawn less %s from sources without resistance", quantity.Show(parts[0], quantity.Volt), quantity.Show(parts[1], quantity.Volt))
}

// zeroMovement is how far one specimen moves with what changes while it works: rails, currents, common mode and states. The
// values of parts stay where they are; that is seen from the highest end downwards, and no more than the whole width.
func zeroMovement(q quantity.Quantity) quantity.Quantity {
	if q.Seen.Empty() || math.IsNaN(q.Nom) {
		return q
	}
	lower := map[string]float64{}
	for _, s := range q.Witness(false) {
		if changesAtWork(s.Cause) {
			lower[s.Name] = s.Value
		}
	}
	seen := math.Abs(q.Seen.Hi - q.At(true, lower))
	c := &quantity.Cause{Name: "movement of the " + q.Name, Unit: q.Unit, Nom: seen, Grade: q.Grade, Needs: q.Needs, Basis: q.Causes(),
		Seen: quantity.Point(seen), Sound: quantity.Interval{Lo: min(seen, q.Sound.Width()), Hi: max(seen, q.Sound.Width())}}
	return c.Of()
}

// changesAtWork tells a cause that changes while the equipment works from what a specimen is built with.
func changesAtWork(c *quantity.Cause) bool {
	return c.States != nil || strings.HasPrefix(c.Name, "rails.") || strings.HasPrefix(c.Name, "currents.") ||
		c.Unit == quantity.Volt && !strings.Contains(c.Name, "offset") || c.Name == "temperature"
}
