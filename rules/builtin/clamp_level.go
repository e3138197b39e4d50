package builtin

import (
	_ "embed" // the page

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/clamp-level.md
var clampLevelPage string

// ClampLevel holds the voltage at which a clamp holds a surge below the rating of the pin that stands directly behind it.
// Behind a resistance it is a current that counts, which is clamp-current's.
var ClampLevel = &rules.Rule{
	ID:    "clamp-level",
	Title: "clamp above the rating that it protects",
	Level: rules.Error,
	Page:  clampLevelPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		skip := "no clamp with a part record stands directly at the inputs or the supply"
		for _, c := range blockClamps(p) {
			switch {
			case !c.isInput() && c.pin != "supply":
				continue
			case c.isInput() && (len(c.behind()) > 0 || p.Network != nil): // op-amp-input-range judges the pins of an op amp
				continue
			case len(surgesReaching(p, declaredSurges(p), c.high)) == 0 && c.asleep(p):
				skip = "what is declared of " + p.Design.Circuit.NetName(c.high) + " stays below the breakdown of " + c.Path()
				continue
			}
			lo, hi, text := p.Limits(c.key(), design.Survival)
			for _, l := range c.levels(p) {
				q := c.fromGround(p, l.volts).Named(c.subject(l))
				p.Within(q, lo, hi, text).Rating().Band(0.05).Fails(reaches(q.Name, "the part survives")).Widen(c.key()).On(c.Element).
					Advise("a clamp of a lower breakdown voltage or a flatter level, or a resistance between it and the pin")
				c.exceeded(p, l)
			}
			skip = ""
		}
		if skip != "" {
			p.Skip(skip)
		}
	},
}
