package rules

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// With is the bench with changes laid over its design: what it hands out holds there. It is nil where they leave no block.
func (p *Bench) With(changes ...design.Change) *Bench {
	s := p.site.under(changes...)
	if s == nil {
		return nil
	}
	return s.bench(p.rule)
}

// NetAfter is what a net can reach against node 0 while the design works with changes laid over it, in volts; it asks for no
// block there: an op amp whose output is held is none.
func (p *Bench) NetAfter(n circuit.Net, changes ...design.Change) quantity.Quantity {
	return p.note(volt.New(p.Design.With(changes...)).Bound(volt.At(n), design.Operating))
}

// Of is a bench for the pins and the record of another part, such as a comparator behind the output, and one of its units;
// it has no shunt. It is for asking: a check belongs to the bench that the rule was given.
func (p *Bench) Of(e design.Element, unit string) *Bench {
	b := &sense.Block{Amp: p.Design.Element(e.ID), Unit: unit}
	b.Supply, b.HasSupply = b.Pin("supply")
	b.Ground, _ = b.Pin("ground")
	s := *p.site // the states of the other part, and its output at rest, are its own
	s.block, s.looked, s.states, s.resting = b, false, nil, nil
	return s.bench(p.rule)
}
