package builtin

import (
	_ "embed" // the page

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/common-mode-operating.md
var commonModeOperatingPage string

// CommonModeOperating holds each input pin, against the amplifier's ground pin, inside the common-mode range in which
// the part measures, in the working state and in every declared state that measures.
var CommonModeOperating = &rules.Rule{
	ID:    "common-mode-operating",
	Title: "common mode outside the range in which the part measures",
	Level: rules.Error,
	Page:  commonModeOperatingPage,
	Judge: func(p *rules.Bench) {
		if p.Network != nil {
			p.Skip("op-amp-input-range judges the pins of an op amp")
			return
		}
		const key = "common-mode.operating"
		seen := working{}
		everyState(p, true, func(v *rules.Bench, state string) {
			for _, pin := range []string{"in+", "in-"} {
				lo, hi, text := v.Limits(key, design.Operating)
				q := v.Voltage(pin, design.Operating).Named(pin + state)
				if seen.again(pin, state, held{q, lo, hi}) {
					continue
				}
				p.Within(q, lo, hi, text).Fails(reaches(q.Name, "the part measures")).Widen(key).
					Path(func(high bool) string { return v.Path(pin, design.Operating, q, high) })
			}
		})
	},
}
