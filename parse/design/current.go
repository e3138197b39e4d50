package design

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Current is a declared current: it leaves From, runs through the element and arrives at To.
type Current struct {
	Element  Element
	From, To circuit.Net
	Value    quantity.Quantity // A, positive from From to To
}

// Current is the declared current of an element; ok is false where intent says nothing about it.
func (e Element) Current(r Regime) (c Current, ok bool) {
	path := e.Path()
	rng := e.d.Intent.Get("currents", path, "range")
	if rng == nil {
		if !e.d.Intent.Says("currents", path) {
			return c, false
		}
		c.Value = quantity.Missing(quantity.Amp, need("currents", path, "range"))
	} else {
		i := &quantity.Cause{Name: rng.Key(), Unit: quantity.Amp, At: rng.At}
		stated(i, rng.Written, rng.Key())
		if f := e.d.Intent.Get("currents", path, "fault"); f != nil && r == Survival {
			peak := f.Written.Range
			i.Name += " with fault"
			i.Sound = i.Sound.Union(peak)
			if i.Seen.Lo < 0 { // a current that flows both ways can fail both ways
				i.Sound = i.Sound.Union(peak.Mirrored())
			}
			i.Seen = i.Seen.Union(i.Sound)
		}
		c.Value = i.Of()
	}
	a, b := e.Ends()
	c.Element, c.From, c.To = e, a, b
	from := e.d.Intent.Get("currents", path, "from")
	if from == nil {
		dir := &quantity.Cause{Name: "direction of " + path, Sound: quantity.Interval{Lo: -1, Hi: 1}, Seen: quantity.Nothing,
			States: []float64{1, -1}, Nom: 1, Needs: []quantity.Need{need("currents", path, "from")}}
		c.Value = quantity.Calc(c.Value.Name, quantity.Amp, func(x []float64) float64 { return x[0] * x[1] }, dir.Of(), c.Value)
		return c, true
	}
	if n, _ := e.d.Net(from.Text); n == b {
		c.From, c.To = b, a
	}
	return c, true
}

// checkCurrents reports a declared current whose named net is not at the element.
func (d *Design) checkCurrents() (diags []source.Diagnostic) {
	for _, name := range d.Intent.Names("currents") {
		e, ok := d.Find(name)
		if !ok || e.Pins() != 2 && !e.Carries() {
			continue
		}
		a, b := e.Ends()
		if from := d.Intent.Get("currents", name, "from"); from != nil {
			if n, known := d.Net(from.Text); known && n != a && n != b {
				diags = append(diags, source.Diagnostic{At: from.At, Rule: "intent-name",
					Message: fmt.Sprintf("%s is not a net of %s, which joins %s and %s", from.Text, e.Path(), d.Circuit.NetName(a), d.Circuit.NetName(b))})
			}
		}
	}
	return diags
}
