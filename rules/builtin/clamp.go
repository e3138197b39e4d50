package builtin

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
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

// blockClamps are the clamps with a record on the nets of a block, each at the place nearest to a pin. One at the shunt is there
// for the other input as well, over the shunt.
func blockClamps(p *rules.Bench) (out []clamp) {
	if !slices.ContainsFunc(p.Design.Parts.Records(), func(r *part.Record) bool { return r.Role() == "clamp" }) {
		return nil // nets of many thousand elements need not be looked through
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

// A clampCurve is what a clamp adds to its breakdown voltage by current: points from (0 A, 0 V), straight between them and flat
// beyond the last, which is all that the record tells.
type clampCurve struct {
	points [][2]float64 // A, V
	rated  float64      // A, of the last point; infinite where the record gives one level for every current
}

// curve is read from the record; ok is false where it tells no level.
func (c clamp) curve() (k clampCurve, ok bool) {
	level, breakdown := c.Entry("clamp.level"), c.Entry("clamp.breakdown")
	if level == nil || breakdown == nil {
		return k, false
	}
	most := breakdown.Written.Range.Hi
	k.points = [][2]float64{{0, 0}}
	if len(level.Points) == 0 {
		k.points = append(k.points, [2]float64{0, max(0, level.Written.Range.Hi-most)})
		k.rated = math.Inf(1)
		return k, true
	}
	for _, pt := range level.Points {
		k.rated = pt[0].Range.Lo * c.Copies()
		k.points = append(k.points, [2]float64{k.rated, max(0, pt[1].Range.Hi-most)})
	}
	return k, true
}

// rise is the voltage above the breakdown at a current.
func (k clampCurve) rise(amps float64) float64 {
	for i := 1; i < len(k.points); i++ {
		a, b := k.points[i-1], k.points[i]
		if amps <= b[0] && b[0] > a[0] {
			return a[1] + (b[1]-a[1])*(amps-a[0])/(b[0]-a[0])
		}
	}
	return k.points[len(k.points)-1][1]
}

// load is the current that a source of volts behind ohms drives through a clamp of a breakdown voltage, of whose rise a
// share is there: V = Vbr + share * rise(I) + R * I. What no resistance limits is infinite.
func (k clampCurve) load(volts, ohms, breakdown, share float64) (amps float64) {
	over := volts - breakdown
	if !(over > 0) {
		return 0
	}
	left := func(i float64) float64 { return over - share*k.rise(i) - ohms*i }
	hi := over / ohms
	if math.IsInf(hi, 1) {
		if hi = k.rated; math.IsInf(hi, 1) || left(hi) > 0 {
			return math.Inf(1)
		}
	}
	lo := 0.0
	for range 200 {
		if m := (lo + hi) / 2; m == lo || m == hi {
			break
		} else if left(m) > 0 {
			lo = m
		} else {
			hi = m
		}
	}
	return hi
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

// onCurve reads a field given by points, straight in the scale asked for between them; ok is false beyond its ends. One
// value holds everywhere.
func onCurve(e *field.Entry, x float64, scale curveScale) (y float64, ok bool) {
	if e == nil {
		return 0, false
	}
	if len(e.Points) == 0 {
		return e.Written.Range.Hi, true
	}
	for i, b := range e.Points {
		switch {
		case x == b[0].Nom:
			return b[1].Range.Hi, true
		case x < b[0].Nom && i == 0:
			return 0, false
		case x < b[0].Nom:
			a := e.Points[i-1]
			part := (scale.x(x) - scale.x(a[0].Nom)) / (scale.x(b[0].Nom) - scale.x(a[0].Nom))
			lo, hi := a[1].Range.Hi, b[1].Range.Hi
			if !(lo > 0 && hi > 0) { // no logarithm
				return lo + (hi-lo)*part, true
			}
			return lo * math.Pow(hi/lo, part), true
		}
	}
	return 0, false
}

// A curveScale is how the x of a curve is drawn; its y is logarithmic.
type curveScale struct{ x func(float64) float64 }

var (
	byTemperature = curveScale{func(x float64) float64 { return x }}
	byTime        = curveScale{math.Log}
)
