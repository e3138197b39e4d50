package builtin

import (
	_ "embed" // the page

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/common-mode-survival.md
var commonModeSurvivalPage string

// CommonModeSurvival holds each input pin, not their mean, inside its rating through declared events, in every declared
// state, while a declared stray inductance lifts it and where it is plugged to a live supply. Reaching the rating fails; coming within a tenth of it warns.
var CommonModeSurvival = &rules.Rule{
	ID:    "common-mode-survival",
	Title: "input pin beyond its rating",
	Level: rules.Error,
	Page:  commonModeSurvivalPage,
	Judge: func(p *rules.Bench) {
		if p.Network != nil {
			p.Skip("op-amp-input-range judges the pins of an op amp")
			return
		}
		const key = "common-mode.survival"
		seen := working{}
		everyState(p, false, func(v *rules.Bench, state string) {
			for _, pin := range []string{"in+", "in-"} {
				lo, hi, text := v.Limits(key, design.Survival)
				q := v.Voltage(pin, design.Survival).Named(pin + " in events" + state)
				if seen.again(pin, state, held{q, lo, hi}) {
					continue
				}
				p.Within(q, lo, hi, text).Rating().Band(0.1).Fails(reaches(q.Name, "the part survives")).Widen(key).
					Path(func(high bool) string { return v.Path(pin, design.Survival, q, high) })
			}
		})
		kicksUp(p, key)
		plugsIn(p, key)
	},
}
