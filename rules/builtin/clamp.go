package builtin

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// A clamp is a clamp with a part record at a net of a block: where it stands and what it protects there.
type clamp struct {
	design.Element
	high, low circuit.Net // it breaks down from high to low
	both      bool        // it clamps both ways
	between   bool        // it stands between the two legs
	pin       string      // the pin whose net it is on, directly or through inner
	inner     []design.Element
	outer     []design.Element // of an input: from the clamp to the shunt
	far       []design.Element // of one between the legs: from the other pin to it
	over      bool             // the pin is reached over the shunt: the clamp stands at its other end
}

// key is the rating that the clamp stands for.
func (c clamp) key() string {
	switch {
	case c.between:
		return "differential.survival"
	case c.pin == "supply":
		return "supply.survival"
	}
	return "common-mode.survival"
}

func (c clamp) isInput() bool { return c.pin == "in+" || c.pin == "in-" }

// behind are the resistors between the clamp and the inputs.
func (c clamp) behind() []design.Element { return append(resistors(c.inner), resistors(c.far)...) }

// A legPlace is a net of a block from which something may reach a pin.
type legPlace struct {
	net          circuit.Net
	pin          string
	inner, outer []design.Element // elements between pin and net, and between net and shunt
}

// legPlaces are the nets of an input from the pin to the shunt.
func legPlaces(pin string, l sense.Leg) (out []legPlace) {
	for k, n := range append(append([]circuit.Net{}, l.Inner...), l.Shunt) {
		out = append(out, legPlace{n, pin, l.Series[:k], l.Series[k:]})
	}
	return out
}

// inputPlaces are the nets of both inputs.
func inputPlaces(p *rules.Bench) []legPlace {
	return append(legPlaces("in+", p.Plus), legPlaces("in-", p.Minus)...)
}

// blockPlaces are the nets of inputs, supply, references and output.
func blockPlaces(p *rules.Bench) (out []legPlace) {
	out = inputPlaces(p)
	follow := func(pin string, at circuit.Net, series []design.Element) {
		for k := 0; ; k++ {
			out = append(out, legPlace{net: at, pin: pin, inner: series[:k]})
			if k == len(series) {
				return
			}
			at = series[k].Other(at)
		}
	}
	if p.HasSupply {
		follow("supply", p.Supply, p.SupplySeries)
	}
	for _, r := range p.References {
		follow(r.Role, r.Net, nil)
	}
	if _, ok := p.Pin("out"); ok {
		follow("out", p.Output.Pin, p.Output.Series)
	}
	return out
}

// clampRecords tells that there are records of clamps at all: without them nets of many thousand elements need not be looked
// through.
func clampRecords(p *rules.Bench) bool {
	return slices.ContainsFunc(p.Design.Parts.Records(), func(r *part.Record) bool { return r.Role() == "clamp" })
}

// blockClamps are the clamps with a record on the nets of a block, each at the place nearest to a pin. One at the shunt is there
// for the other input as well, over the shunt.
func blockClamps(p *rules.Bench) (out []clamp) {
	if !clampRecords(p) {
		return nil
	}
	seen := map[circuit.ID]bool{}
	legs := map[circuit.Net]legPlace{}
	for _, at := range inputPlaces(p) {
		if _, ok := legs[at.net]; !ok {
			legs[at.net] = at
		}
	}
	for _, at := range blockPlaces(p) {
		if at.net == p.Ground || at.net == 0 { // what stands on ground clamps another net
			continue
		}
		for e := range p.Design.On(at.net) {
			r := e.Record()
			if r == nil || r.Role() != "clamp" || seen[e.ID] {
				continue
			}
			c := clamp{Element: e, pin: at.pin, inner: at.inner, outer: at.outer}
			var ok bool
			if c.high, c.low, c.both, ok = clampEnds(e); !ok {
				continue
			}
			if c.both && c.low == at.net {
				c.high, c.low = c.low, c.high
			}
			if c.high != at.net || c.high == c.low {
				continue
			}
			if far, ok := legs[c.low]; ok && c.isInput() && far.pin != c.pin {
				c.between, c.far = true, far.inner
			}
			seen[e.ID] = true
			out = append(out, c)
			if other := (map[string]sense.Leg{"in+": p.Minus, "in-": p.Plus}); c.isInput() && !c.between && len(c.outer) == 0 && len(p.Block.Shunt) > 0 {
				c.inner, c.over = other[c.pin].Series, true
				c.pin = map[string]string{"in+": "in-", "in-": "in+"}[c.pin]
				out = append(out, c)
			}
		}
	}
	return out
}

// clampEnds are the nets between which a clamp breaks down: the cathode and the anode.
func clampEnds(e design.Element) (high, low circuit.Net, both, ok bool) {
	if e.Kind() == 'D' {
		return e.Pin(1), e.Pin(0), false, true
	}
	anode, okA := e.PinOf("anode", "")
	cathode, okC := e.PinOf("cathode", "")
	if okA && okC {
		return cathode, anode, false, true
	}
	a, okA := e.PinOf("a", "")
	b, okB := e.PinOf("b", "")
	return a, b, true, okA && okB
}

// ambientOrPolicy is the declared ambient temperature; where nobody said it, 25 degC seen and -40 degC to 125 degC counted.
func ambientOrPolicy(p *rules.Bench) quantity.Quantity {
	if t := p.Design.Temperature(); t.Known() {
		return t
	}
	return (&quantity.Cause{Name: "temperature", Unit: quantity.Celsius, Nom: 25, Sound: quantity.Interval{Lo: -40, Hi: 125}, Seen: quantity.Point(25),
		Grade: quantity.Assumed, Note: "temperature not declared: 25 degC seen, -40 degC .. 125 degC counted"}).Of()
}

// breakdown is the voltage at which the clamp begins to conduct, over its range and the temperature, in volts.
func (c clamp) breakdown(p *rules.Bench) quantity.Quantity {
	volts := p.PartOf(c.Element, "clamp.breakdown")
	if !volts.Known() {
		return volts
	}
	drift := c.Part("clamp.temperature-coefficient")
	if !drift.Known() {
		// an avalanche of some tens of volts rises by about 0.1 %/K (common practice, no source)
		drift = (&quantity.Cause{Name: c.Path() + " temperature coefficient", Unit: quantity.PerKelvin, Sound: quantity.Interval{Hi: 1.1e-3}, Seen: quantity.Point(0),
			Grade: quantity.Assumed, Note: c.Path() + ": its record has no clamp.temperature-coefficient, up to 1100 ppm/K counted"}).Of()
	}
	return quantity.Calc("breakdown of "+c.Path(), quantity.Volt, func(x []float64) float64 { return x[0] * (1 + x[1]*(x[2]-25)) }, volts, drift, ambientOrPolicy(p))
}

// share is how much of the rise that the record allows is there: anything up to all of it.
func (c clamp) share() quantity.Quantity {
	k := &quantity.Cause{Name: c.Path() + " share of clamp.level", Unit: quantity.Ratio, Nom: 1, Sound: quantity.Interval{Lo: 0, Hi: 1}, Seen: quantity.Interval{Lo: 0, Hi: 1}}
	if e := c.Entry("clamp.level"); e != nil {
		k.At = e.At
	}
	return k.Of()
}

// asleep tells that the voltage which intent allows across the clamp stays below its breakdown.
func (c clamp) asleep(p *rules.Bench) bool {
	reach, bv := p.Across(c.high, c.low, design.Survival), c.breakdown(p)
	if !reach.Known() || !bv.Known() || reach.Sound.Empty() {
		return false
	}
	most := reach.Sound.Hi
	if c.both {
		most = max(most, -reach.Sound.Lo)
	}
	return most <= bv.Sound.Lo
}
