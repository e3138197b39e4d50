package builtin

import (
	_ "embed" // the page
	"fmt"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

//go:embed doc/filter-asymmetry.md
var filterAsymmetryPage string

// FilterAsymmetry holds what legs of unequal time constants make of an edge of the common mode against the goal: one pin is
// late by a little, and the amplifier takes the difference for current.
var FilterAsymmetry = &rules.Rule{
	ID:    "filter-asymmetry",
	Title: "unequal filter legs turn switching edges into current",
	Level: rules.Error,
	Page:  filterAsymmetryPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if len(p.Block.Shunt) == 0 {
			p.ShuntOhms()
			return
		}
		net := switchedEnd(p)
		switch {
		case p.Digital():
			p.Skip("a digital monitor averages over edges that go up and down alike")
			return
		case p.Kind != "sense-amplifier":
			p.Skip("the resistors at the inputs set the gain: they are no filter")
			return
		case net == "":
			p.Skip("no net of the shunt is declared to be switched")
			return
		}
		f, ok := filterParts(p)
		switch {
		case !ok:
			p.Skip("no capacitance to ground stands behind a series resistance: the edge reaches both pins at once")
			return
		case !p.Goal().Declared:
			p.Skip("no goal is declared")
			return
		}
		goal := p.Goal()
		allowed := func(part float64, text string) quantity.Quantity {
			return quantity.Calc(text, quantity.Volt, func(x []float64) float64 { return x[0] * x[1] * x[2] / part }, goal.Error, goal.From, p.ShuntOhms())
		}
		whole, third := allowed(1, "goal at its lowest current"), allowed(3, "a third of the goal at its lowest current")
		edge := p.Design.Declared(quantity.VoltPerSecond, "switching", net, "edge")
		height := commonSwing(p)
		q, when := f.worst(p, height, edge, third)
		for _, l := range []struct {
			limit quantity.Quantity
			level rules.Level
		}{{whole, rules.Error}, {third, rules.Warning}} {
			p.AtMost(q, l.limit, l.limit.Name).At(l.level).Lower(f.resistors...).Fails(func(m rules.Measure) string {
				sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
				return fmt.Sprintf("an edge of %s leaves %s between the inputs %s, %s; %s is %s", net, sc.Text(m.Max, quantity.Up), when,
					quantity.Show(threeDigits(m.Max/p.ShuntOhms().Nom), quantity.Amp), l.limit.Name, sc.Text(m.LimitMax, quantity.Down))
			}).Shows(func(bool) string { return f.text(height) }).
				Advise("make both legs alike in value and of a closer tolerance, or put a capacitor of ten times those to ground between the pins")
		}
		// The usual proportion is worth a note where the legs are found to cost something.
		d, c := f.nominal().diff, max(f.nominal().still[0], f.nominal().still[1])
		if q.Known() && third.Known() && !q.Seen.Empty() && q.Seen.Hi > third.Seen.Lo {
			p.AtLeast(quantity.Exactly("capacitance between the inputs", quantity.Farad, d), quantity.Exactly("ten times", quantity.Farad, 10*c),
				"ten times the capacitance to ground").At(rules.Note).Fails(func(rules.Measure) string {
				return fmt.Sprintf("the capacitance between the inputs, %s, is less than ten times that of each to ground, %s",
					quantity.Show(d, quantity.Farad), quantity.Show(c, quantity.Farad))
			})
		}
	},
}

// switchedEnd is the net of the shunt that intent declares to be switched, "" where none is.
func switchedEnd(p *rules.Bench) string {
	for _, n := range []circuit.Net{p.Plus.Shunt, p.Minus.Shunt} {
		name := p.Design.Circuit.NetName(n)
		if n != 0 && p.Design.Intent.Says("switching", name) {
			return name
		}
	}
	return ""
}

// commonSwing is how far the shunt's switched end goes in an edge, in volts: from its lowest to its highest.
func commonSwing(p *rules.Bench) quantity.Quantity {
	name := switchedEnd(p)
	n, _ := p.Design.Net(name)
	if e := p.Design.Intent.Get("switching", name, "between"); e != nil && len(e.Names) == 2 {
		ends := [2]quantity.Quantity{}
		for i, end := range e.Names {
			// A net that nothing holds would be read as standing at ground.
			ends[i] = quantity.Missing(quantity.Volt, quantity.Need{In: "intent", Key: design.Key("rails", end)})
			if n, ok := p.Design.Net(end); ok {
				if v, held := p.Design.Rail(n, design.Operating); held {
					ends[i] = v
				}
			}
		}
		return quantity.Minus("edge of "+name, ends[1], ends[0]).Peak().Named("edge of " + name)
	}
	q := p.Net(n, design.Operating)
	c := &quantity.Cause{Name: "edge of " + name, Unit: quantity.Volt, Nom: q.Sound.Width(), Grade: q.Grade, Needs: q.Needs, Basis: q.Causes(),
		Sound: quantity.Point(q.Sound.Width()), Seen: quantity.Point(q.Seen.Width())}
	if q.Seen.Empty() {
		c.Seen = quantity.Nothing
	} else {
		c.Sound.Lo = min(c.Sound.Hi, q.Seen.Width())
		c.Nom = q.Seen.Width()
	}
	return c.Of()
}

// filterNetwork is what the legs of a filter are made of.
type filterNetwork struct {
	resistors []design.Element
	r         [2][]quantity.Quantity
	still     [2][]quantity.Quantity
	moves     [2][]quantity.Quantity
	diff      []quantity.Quantity
}

// filterParts collects the resistors of both legs and the capacitors at the pins; ok is false where no leg delays an edge.
func filterParts(p *rules.Bench) (f filterNetwork, ok bool) {
	legs := [2][]design.Element{resistors(p.Plus.Resistors()), resistors(p.Minus.Resistors())}
	pins := [2]circuit.Net{p.Plus.Pin, p.Minus.Pin}
	shunt := []circuit.Net{p.Plus.Shunt, p.Minus.Shunt}
	for i := range 2 {
		f.resistors = append(f.resistors, legs[i]...)
		if len(legs[i]) == 0 {
			continue // the pin stands where the shunt does
		}
		f.r[i] = append(f.r[i], [2]sense.Leg{p.Plus, p.Minus}[i].Resistance("filter resistance"))
		inner := slices.Concat(shunt, p.Plus.Inner, p.Minus.Inner)
		own := p.Plus.Inner // the pin among them: what hangs between the resistors of a leg counts as if it hung at the pin
		if i == 1 {
			own = p.Minus.Inner
		}
		for _, n := range own {
			for e := range p.Design.On(n) {
				if e.Kind() != 'C' || e.Pins() != 2 {
					continue
				}
				switch o := e.Other(n); {
				case n == pins[i] && o == pins[1-i] && len(legs[1-i]) > 0:
					if i == 0 {
						f.diff = append(f.diff, e.Capacitance())
					}
				case slices.Contains(inner, o):
					f.moves[i] = append(f.moves[i], e.Capacitance())
				default:
					f.still[i] = append(f.still[i], e.Capacitance())
				}
			}
		}
	}
	return f, len(f.still[0])+len(f.still[1]) > 0
}

// over is a number of the whole network as a quantity, of further ones beside it.
func (f filterNetwork) over(name string, calc func(l legPair, more []float64) float64, more ...quantity.Quantity) quantity.Quantity {
	var in []quantity.Quantity
	lists := [][]quantity.Quantity{f.r[0], f.r[1], f.still[0], f.still[1], f.moves[0], f.moves[1], f.diff}
	for _, l := range lists {
		in = append(in, l...)
	}
	of := len(in)
	return quantity.Calc(name, quantity.Volt, func(x []float64) float64 {
		var sums [7]float64
		k := 0
		for i, l := range lists {
			for range l {
				sums[i] += x[k]
				k++
			}
		}
		return calc(legPair{r: [2]float64(sums[0:2]), still: [2]float64(sums[2:4]), moves: [2]float64(sums[4:6]), diff: sums[6]}, x[of:])
	}, append(in, more...)...).Peak()
}

// peaks is the largest voltage between the pins after an edge. It grows as the legs come apart, so that it is largest at a
// corner of the tolerances.
func (f filterNetwork) peaks(height, edge quantity.Quantity) quantity.Quantity {
	return f.over("voltage between the inputs after an edge", func(l legPair, x []float64) float64 { return l.peak(x[0], x[1]) }, height, edge)
}

// left is what is left of it when the converter samples, a time after the edge has ended.
func (f filterNetwork) left(height, edge, after quantity.Quantity) quantity.Quantity {
	return f.over("voltage between the inputs at the sample", func(l legPair, x []float64) float64 { return l.left(x[0], x[1], x[2]) }, height, edge, after)
}

// worst is what an edge does to the reading, and when. What holds at the peak of a step holds always, and nobody needs to say
// how steep the edge is and when the converter samples; else what is left at the sample counts.
func (f filterNetwork) worst(p *rules.Bench, height, edge, limit quantity.Quantity) (q quantity.Quantity, when string) {
	holds := func(q quantity.Quantity) bool { return q.Known() && limit.Known() && q.Sound.Hi <= limit.Sound.Lo }
	step := quantity.Exactly("a step", quantity.VoltPerSecond, aStep)
	edges := []quantity.Quantity{step, ceilingOf(edge)}
	for _, e := range edges {
		if q = f.peaks(height, e); holds(q) {
			return q, "at its peak"
		}
	}
	name := p.Output.Declared
	if name == "" {
		name = p.Design.Circuit.NetName(p.Output.Converter)
	}
	after := p.Design.Declared(quantity.Second, "converters", name, "sample-after-edge")
	for _, e := range edges {
		if q = f.left(height, e, after); holds(q) {
			break
		}
	}
	return q, "when the converter samples"
}

// nominal is the network with every part at its nominal value.
func (f filterNetwork) nominal() (l legPair) {
	sum := func(list []quantity.Quantity) (v float64) {
		for _, q := range list {
			v += q.Nom
		}
		return v
	}
	for i := range 2 {
		l.r[i], l.still[i], l.moves[i] = sum(f.r[i]), sum(f.still[i]), sum(f.moves[i])
	}
	l.diff = sum(f.diff)
	return l
}

// text is what an edge meets: "58 V into 10 ohm, 220 pF and 10 ohm, 220 pF, 4.7 nF between".
func (f filterNetwork) text(height quantity.Quantity) string {
	l := f.nominal()
	side := func(i int) string {
		return quantity.Show(threeDigits(l.r[i]), quantity.Ohm) + ", " + quantity.Show(threeDigits(l.still[i]), quantity.Farad)
	}
	text := fmt.Sprintf("%s into %s and %s", quantity.Show(threeDigits(height.Nom), quantity.Volt), side(0), side(1))
	if l.diff > 0 {
		text += ", " + quantity.Show(threeDigits(l.diff), quantity.Farad) + " between"
	}
	return text
}
