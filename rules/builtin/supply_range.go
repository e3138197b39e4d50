package builtin

import (
	_ "embed" // the page
	"slices"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/supply-range.md
var supplyRangePage string

// SupplyRange holds V(supply) - V(ground), at the amplifier's own pins, inside the ranges its record guarantees. The
// drop of every consumer's current is in the bound: volt draws supply.current from the pin. The working range counts in
// every declared state that measures.
var SupplyRange = &rules.Rule{
	ID:    "supply-range",
	Title: "supply outside the part's range",
	Level: rules.Error,
	Page:  supplyRangePage,
	Judge: func(p *rules.Bench) {
		works, lives := "supply.operating", "supply.survival"
		path := func(v *rules.Bench, r design.Regime) func(bool) string {
			return func(high bool) string { return v.Path("supply", r, v.Voltage("supply", r), high) }
		}
		seen := working{}
		everyState(p, true, func(v *rules.Bench, state string) {
			lo, hi, text := v.Limits(works, design.Operating)
			q := v.Voltage("supply", design.Operating).Named("supply voltage" + state)
			if seen.again("supply", state, held{q, lo, hi}) {
				return
			}
			p.Within(q, lo, hi, text).Fails(reaches(q.Name, "the part works")).Path(path(v, design.Operating)).
				Lower(resistors(p.SupplySeries)...).Widen(works)
		})

		companions(p, func(s *rules.Bench) {
			q := s.Voltage("supply", design.Operating).Named("supply voltage of " + s.Name())
			lo, hi, text := s.Limits(works, design.Operating)
			p.Within(q, lo, hi, text).Fails(reaches(q.Name, "the op amp works")).Path(path(s, design.Operating))
			q = s.Voltage("supply", design.Survival).Named(q.Name + " in events")
			lo, hi, text = s.Limits(lives, design.Survival)
			p.Within(q, lo, hi, text).Rating().Band(0.1).Fails(reaches(q.Name, "the op amp survives")).Path(path(s, design.Survival))
		})

		lo, hi, text := p.Limits(lives, design.Survival)
		p.Within(p.Voltage("supply", design.Survival).Named("supply voltage in events"), lo, hi, text).Rating().Band(0.1).
			Fails(reaches("supply voltage in events", "the part survives")).Path(path(p, design.Survival)).Widen(lives)
	},
}

// companions are the op amps of a block beside the one that it is named by, one of each package.
func companions(p *rules.Bench, judge func(s *rules.Bench)) {
	if p.Network == nil {
		return
	}
	seen := []string{p.Amp.Path()}
	for i := range p.Network.Stages {
		if s := p.Stage(i); !slices.Contains(seen, s.Amp.Path()) {
			seen = append(seen, s.Amp.Path())
			judge(s)
		}
	}
}
