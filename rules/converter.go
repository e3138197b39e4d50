package rules

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A Converter is what intent says of the one that reads the block's output.
type Converter struct {
	Name string // of its net, as intent writes it
	Net  circuit.Net
}

// Converter is the declared converter behind the output; ok is false where intent declares none on the way.
func (p *Bench) Converter() (c Converter, ok bool) {
	return Converter{p.Output.Declared, p.Output.Converter}, p.Output.Declared != ""
}

// says is what intent says of the converter under a key such as "range"; nil where it says nothing.
func (p *Bench) says(c Converter, key string) *field.Entry {
	return p.Design.Intent.Get("converters", c.Name, key)
}

// OfNets is a formula of intent over nets, in volts against node 0: a net in it is what that net can reach, together with
// everything else that moves with it.
func (p *Bench) OfNets(e *field.Entry, f *quantity.Formula, r design.Regime) quantity.Quantity {
	return formulaOver(e.Key(), e.Field.Unit, f, e.ValueAt, func(name string) quantity.Quantity {
		net, ok := p.Design.Net(name)
		if !ok {
			return p.note(quantity.Missing(e.Field.Unit, quantity.Need{In: "netlist", Key: "a net named " + name, At: e.ValueAt}))
		}
		return p.Net(net, r)
	})
}

// ConverterLimits are the two ends of a range that intent declares for the converter, "range" or "survival", against node
// 0; said is false where it declares none.
func (p *Bench) ConverterLimits(c Converter, key string, r design.Regime) (lo, hi quantity.Quantity, said bool) {
	e := p.says(c, key)
	if e == nil || e.Limits.Lo == nil || e.Limits.Hi == nil {
		return lo, hi, false
	}
	return p.OfNets(e, e.Limits.Lo, r), p.OfNets(e, e.Limits.Hi, r), true
}

// ConverterZero is the voltage that firmware takes for no current, against node 0; said is false where nobody declares it.
func (p *Bench) ConverterZero(c Converter, r design.Regime) (q quantity.Quantity, said bool) {
	e := p.says(c, "zero")
	if e == nil || e.Formula == nil {
		return q, false
	}
	return p.OfNets(e, e.Formula, r), true
}

// Rest is the voltage of a net behind the output, against node 0, while the output stands at node 0: what other sources
// make of it, a divider to a rail or a leakage.
func (p *Bench) Rest(to circuit.Net, r design.Regime) quantity.Quantity {
	if to == p.Output.Pin {
		return quantity.Exactly("rest", quantity.Volt, 0)
	}
	return p.note(p.site.rest().Bound(volt.At(to), r)).Named("rest")
}

// Arriving is what an output that stands at a voltage against the amplifier's ground pin makes of a net behind it,
// against node 0, in volts.
func (p *Bench) Arriving(out quantity.Quantity, to circuit.Net, r design.Regime) quantity.Quantity {
	return quantity.Calc("converter", quantity.Volt, func(x []float64) float64 { return x[0]*(x[1]+x[2]) + x[3] },
		p.Transfer(to), out, p.Net(p.Ground, r), p.Rest(to, r))
}

// SeriesOhms is the sum of the resistors between the output and the converter, in ohm; parallel ones count as one.
func (p *Bench) SeriesOhms() quantity.Quantity {
	var q []quantity.Quantity
	var alike []int // how many of them stand in parallel, in turn
	at := p.Output.Pin
	for _, e := range p.Output.Series {
		from, to := at, e.Other(at)
		at = to
		if e.Kind() != 'R' {
			continue
		}
		q = append(q, p.note(e.Resistance()))
		alike = append(alike, 1)
		for o := range p.Design.On(from) {
			if o.Kind() == 'R' && o.Pins() == 2 && o.ID != e.ID && o.Other(from) == to && o.Value() > 0 && e.Value() > 0 {
				q = append(q, p.note(o.Resistance()))
				alike[len(alike)-1]++
			}
		}
	}
	return quantity.Calc("series resistance", quantity.Ohm, func(x []float64) float64 {
		sum := 0.0
		for _, n := range alike {
			if n == 1 {
				sum += x[0]
			} else {
				g := 0.0
				for _, v := range x[:n] {
					g += 1 / v
				}
				sum += 1 / g
			}
			x = x[n:]
		}
		return sum
	}, q...)
}

// OfConverter is a number of the converter: intent's by its key, else that of the record of a part of role converter on
// the net. said is false where neither says it.
func (p *Bench) OfConverter(c Converter, u quantity.Unit, key, field string) (q quantity.Quantity, said bool) {
	if p.says(c, key) != nil {
		return p.Declared(u, "converters", c.Name, key), true
	}
	for e := range p.Design.On(c.Net) {
		if rec := e.Record(); rec != nil && rec.Role() == "converter" && e.Entry(field) != nil {
			return p.PartOf(e, field), true
		}
	}
	return q, false
}
