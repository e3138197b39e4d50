package rules

import (
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A State is a declared state of the equipment beside the working one, seen from the block.
type State struct {
	Name      string
	Measuring bool // the output is used in it
	*Bench         // what it hands out holds in that state
}

// States are the declared states of intent.
func (p *Bench) States() (out []State) {
	for _, name := range p.Design.Intent.Names("states") {
		s := State{Name: name}
		if m := p.Design.Intent.Get("states", name, "measuring"); m != nil {
			s.Measuring = m.Flag
		}
		var changes []design.Change
		for _, net := range p.Design.Intent.Names("states", name, "rails") {
			if e := p.Design.Intent.Get("states", name, "rails", net); e != nil {
				changes = append(changes, design.Change{Op: design.Declare, Target: net, Text: e.Text})
			}
		}
		d := p.Design.With(changes...)
		b := sense.At(d, p.Amp.ID, p.Unit)
		if b == nil {
			continue
		}
		s.Bench = &Bench{Block: b, Design: d, volt: volt.New(d), rule: p.rule, together: p.together}
		out = append(out, s)
	}
	return out
}
