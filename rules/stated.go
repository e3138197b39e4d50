package rules

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// Breach states a failure that no number shows: a name, a part, something that is not there.
func (p *Bench) Breach(message string) *Check { return p.state(KindFail, message) }

// Holds states that something was looked at and is as it should be.
func (p *Bench) Holds(message string) *Check { return p.state(KindPass, message) }

// HoldsIf states what holds only if something undeclared is true; the message says what.
func (p *Bench) HoldsIf(message string) *Check { return p.state(KindReview, message) }

// Lacks states that the rule cannot judge without what is missing. Without a message the needs make one.
func (p *Bench) Lacks(message string, needs ...quantity.Need) *Check {
	c := p.state(KindOpen, message)
	c.needs = needs
	return c
}

func (p *Bench) state(k Kind, message string) *Check {
	c := &Check{stated: true, said: message, kind: k, level: p.rule.Level}
	p.checks = append(p.checks, c)
	return c
}

// On is the element that a finding of this check is about, whose card it is printed at; that of the amplifier otherwise.
func (c *Check) On(e design.Element) *Check { c.on = &e; return c }

// Evidence adds a place and what there is to see there.
func (c *Check) Evidence(r ...source.Related) *Check { c.related = append(c.related, r...); return c }

// Tells names inputs that other rules miss because of this failure: what they ask for is told here.
func (c *Check) Tells(needs ...quantity.Need) *Check { c.told = append(c.told, needs...); return c }

// SameAs names a rule whose failure on the block is the same defect: where that rule fails, this failure follows it.
func (c *Check) SameAs(rule string) *Check { c.same = rule; return c }

// Advise words what would cure a failure where no value can be searched for; it is printed as not judged again.
func (c *Check) Advise(text string) *Check { c.advice = text; return c }

// Net is what a net can reach against node 0, in volts.
func (p *Bench) Net(n circuit.Net, r design.Regime) quantity.Quantity {
	if n == 0 {
		return quantity.Exactly("node 0", quantity.Volt, 0)
	}
	return p.note(p.volt.Bound(volt.At(n), r))
}

// Across is the voltage from one net up to another, both in the same state, in volts.
func (p *Bench) Across(high, low circuit.Net, r design.Regime) quantity.Quantity {
	if high == low {
		return quantity.Exactly("one net", quantity.Volt, 0)
	}
	return p.note(p.volt.Bound(volt.Across(high, low), r))
}

// Through is the current of an element from its first to its second node, in amperes.
func (p *Bench) Through(e design.Element, r design.Regime) quantity.Quantity {
	if _, ok := CurrentProbe(e); !ok {
		return p.note(quantity.Missing(quantity.Amp, quantity.Need{In: "netlist", Key: "a V card in series with " + e.Path(), At: e.Card()}))
	}
	return p.note(p.volt.Current(e, r))
}
