package builtin

import (
	_ "embed" // the page

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/reference-range.md
var referenceRangePage string

// ReferenceRange holds each reference pin, against the ground pin and together with the supply, inside the range in which
// the record says that it works.
var ReferenceRange = &rules.Rule{
	ID:    "reference-range",
	Title: "reference pin outside its range",
	Level: rules.Error,
	Page:  referenceRangePage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		const key = "reference.operating"
		if len(p.References) == 0 {
			p.Skip("the part has no reference pin")
			return
		}
		seen := working{}
		everyState(p, true, func(v *rules.Bench, state string) {
			for _, ref := range v.References {
				q := v.Voltage(ref.Role, design.Operating)
				if _, held := v.Design.Held(v.Amp, ref.Role); !held && !leadsToSource(v, ref.Net) { // only the part's own legs hold it
					q = quantity.Missing(quantity.Volt, quantity.Need{In: "intent", Key: design.Key("rails", v.Design.Circuit.NetName(ref.Net))})
				}
				q = q.Named(ref.Role + state)
				lo, hi, text := v.Limits(key, design.Operating)
				if seen.again(ref.Role, state, held{q, lo, hi}) {
					continue
				}
				p.Within(q, lo, hi, text).Fails(reaches(q.Name, "the pin works")).
					Path(func(high bool) string { return v.Path(ref.Role, design.Operating, q, high) }).
					Drive(ref.Role, q.Nom, false).Drive(ref.Role, q.Nom, true).Widen(key)
			}
		})
	},
}
