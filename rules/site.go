package rules

import (
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A site is one block of one design with what the rules that judge it there have in common: the solver, which remembers
// its bounds, the declared states, and what stands for the output at rest. It belongs to one goroutine.
type site struct {
	design   *design.Design
	block    *sense.Block // nil for rules about the whole netlist
	volt     *volt.Solver
	together *together

	states  []standing
	looked  bool         // whether states is made
	resting *volt.Solver // with the output at node 0
}

// A standing is a declared state as a site sees it.
type standing struct {
	name      string
	measuring bool
	*site
}

// newSite is nil where the amplifier is no block of the design.
func newSite(d *design.Design, at amplifier, t *together) *site {
	b := sense.At(d, at.id, at.unit)
	if b == nil {
		return nil
	}
	return siteOf(d, b, t)
}

func siteOf(d *design.Design, b *sense.Block, t *together) *site {
	return &site{design: d, block: b, volt: volt.New(d), together: t}
}

// bench is a new bench for a rule.
func (s *site) bench(r *Rule) *Bench {
	return &Bench{Block: s.block, Design: s.design, volt: s.volt, rule: r, site: s}
}

// under is the site with changes laid over its design; nil where they leave no block.
func (s *site) under(changes ...design.Change) *site {
	d := s.design.With(changes...)
	return newSite(d, amplifier{id: s.block.Amp.ID, unit: s.block.Unit}, s.together)
}

// standings are the declared states of intent.
func (s *site) standings() []standing {
	if s.looked {
		return s.states
	}
	s.looked = true
	in := s.design.Intent
	for _, name := range in.Names("states") {
		st := standing{name: name}
		if m := in.Get("states", name, "measuring"); m != nil {
			st.measuring = m.Flag
		}
		var changes []design.Change
		for _, net := range in.Names("states", name, "rails") {
			if e := in.Get("states", name, "rails", net); e != nil {
				changes = append(changes, design.Change{Op: design.Declare, Target: net, Text: e.Text})
			}
		}
		if st.site = s.under(changes...); st.site != nil {
			s.states = append(s.states, st)
		}
	}
	return s.states
}

// rest is the solver of the design with the output at node 0.
func (s *site) rest() *volt.Solver {
	if s.resting == nil {
		s.resting = volt.New(s.design.With(design.Change{Op: design.Declare, Target: s.design.Circuit.NetName(s.block.Output.Pin), Text: "0 V exact"}))
	}
	return s.resting
}
