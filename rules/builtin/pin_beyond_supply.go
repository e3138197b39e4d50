package builtin

import (
	_ "embed" // the page
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/pin-beyond-supply.md
var pinBeyondSupplyPage string

// PinBeyondSupply holds the reference and enable pins, and an output that something else pulls up while the part is off, at
// or below the supply and what the record allows above it, in the working state and in every declared one.
var PinBeyondSupply = &rules.Rule{
	ID:    "pin-beyond-supply",
	Title: "reference, enable or output above the supply",
	Level: rules.Error,
	Page:  pinBeyondSupplyPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if !p.HasSupply {
			p.Need(p.Amp.PartNeed(`pins with "supply"`))
			return
		}
		type pin struct{ role, key string }
		var pins []pin
		for _, r := range p.References {
			pins = append(pins, pin{r.Role, "reference.survival"})
		}
		if _, ok := p.Pin("enable"); ok {
			pins = append(pins, pin{"enable", "enable.survival"})
		}
		seen := working{}
		judged := false
		everyState(p, false, func(v *rules.Bench, state string) {
			for _, one := range pins {
				judged = true
				net, _ := v.Pin(one.role)
				q := v.Voltage(one.role, design.Operating).Named(one.role + state)
				lo, hi, text := pinAllowed(v, one.key)
				if seen.again(one.role, state, held{q, lo, hi}) {
					continue
				}
				holdPin(p, v, q, lo, hi, text, one.key, net)
			}
			if out, ok := v.Pin("out"); ok && poweredOff(v) {
				for _, rail := range pullRails(v, out) {
					judged = true
					q := v.Across(rail, v.Ground, design.Operating).Named("out pulled to " + v.Design.Circuit.NetName(rail) + state)
					lo, hi, text := pinAllowed(v, "output.survival")
					holdPin(p, v, q, lo, hi, text, "output.survival", out)
				}
			}
		})
		if !judged {
			p.Skip("the part has no reference or enable pin, and nothing pulls its output up while it is off")
		}
	},
}

// aboveSupply is how far a pin may stand above the supply before its protection conducts, in volts (common practice, no
// source: most ratings say as much).
const aboveSupply = 0.3

// pinAllowed is what the record allows a pin, else up to 0.3 V above the supply.
func pinAllowed(v *rules.Bench, key string) (lo, hi quantity.Quantity, text string) {
	if v.Amp.Entry(key) != nil {
		return v.Limits(key, design.Operating)
	}
	above := (&quantity.Cause{Name: "room above the supply", Unit: quantity.Volt, Nom: aboveSupply, Sound: quantity.Point(aboveSupply), Seen: quantity.Point(aboveSupply),
		Grade: quantity.Assumed, Note: "the record has no " + key + ": 0.3 V above the supply counted"}).Of()
	hi = quantity.Calc("limit", quantity.Volt, func(x []float64) float64 { return x[0] + x[1] }, v.Voltage("supply", design.Operating), above)
	return lo, hi, "supply + 0.3 V"
}

// holdPin holds a pin at its limit. What a resistance keeps below 1 mA weighs less: it does not latch, but it powers the
// part through its pin.
func holdPin(p, v *rules.Bench, q, lo, hi quantity.Quantity, text, key string, net circuit.Net) {
	var c *rules.Check
	if v.Amp.Entry(key) != nil {
		c = p.Within(q, lo, hi, text).Rating()
	} else {
		c = p.AtMost(q, hi, text)
	}
	over := quantity.Minus("over", q, hi).Seen
	ohms := sourceOhms(v.Design, net)
	if !over.Empty() && over.Hi > 0 && over.Hi < 1e-3*ohms {
		c.At(rules.Warning)
	}
	c.Fails(reaches(q.Name, "the pin takes")).
		Advise("switch what drives the pin together with the supply, or put a resistance between them")
}

// poweredOff tells that the part is not powered in a state.
func poweredOff(v *rules.Bench) bool {
	vs := v.Voltage("supply", design.Operating)
	lo, _, _ := v.Limits("supply.operating", design.Operating)
	return vs.Known() && lo.Known() && vs.Sound.Hi < lo.Sound.Lo
}

// pullRails are the nets above ground that something holds and that a net reaches over resistors alone.
func pullRails(v *rules.Bench, from circuit.Net) (out []circuit.Net) {
	steps := []circuit.Net{from}
	seen := map[circuit.Net]bool{from: true, 0: true, v.Ground: true, v.Supply: true}
	for i := 0; i < len(steps) && i < longest; i++ {
		if _, held := v.Design.Rail(steps[i], design.Operating); held {
			out = append(out, steps[i])
			continue
		}
		for e := range v.Design.On(steps[i]) {
			if e.Kind() != 'R' || e.Pins() != 2 {
				continue
			}
			if n := e.Other(steps[i]); !seen[n] {
				seen[n] = true
				steps = append(steps, n)
			}
		}
	}
	return out
}

// sourceOhms is the least resistance between a net and what can drive it, in ohm: a net that something holds, or one with a source
// or a part on it; infinite where there is none.
func sourceOhms(d *design.Design, from circuit.Net) float64 {
	ohms := map[circuit.Net]float64{from: 0}
	steps := []circuit.Net{from}
	best := math.Inf(1)
	for i := 0; i < len(steps) && i < longest; i++ {
		n := steps[i]
		if _, held := d.Rail(n, design.Operating); held {
			best = min(best, ohms[n])
			continue
		}
		drives := false
		for e := range d.On(n) {
			switch e.Kind() {
			case 'V', 'E', 'H', 'B', 'M', 'Q', 'S', 'W', 'D':
				drives = true
			case 'X':
				drives = drives || n != from
			}
		}
		if drives {
			best = min(best, ohms[n])
			continue
		}
		for e := range d.On(n) {
			if e.Kind() != 'R' || e.Pins() != 2 || e.Other(n) == 0 {
				continue
			}
			to := e.Other(n)
			if sum := ohms[n] + e.Value(); ohms[to] == 0 && to != from || sum < ohms[to] {
				ohms[to] = sum
				steps = append(steps, to)
			}
		}
	}
	return best
}
