package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
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
				held := p.Within(q, lo, hi, text).Rating().Band(0.05).Fails(reaches(q.Name, "the part survives")).On(c.Element)
				if words, changes := c.lower(p, l, hi); changes != nil {
					held.Try(words, changes...)
				}
				held.Widen(c.key()).
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

// lower is a clamp that would do: "a clamp of at most 61 V at 3 A", by the surge that decides and the rating that it
// protects, as changes of its record. There are none where the clamp stands on something else than ground, or where no
// resistance says how much flows.
func (c clamp) lower(p *rules.Bench, l clampHold, rating quantity.Quantity) (words string, changes []design.Change) {
	const (
		room = 0.94 // of the rating, clear of the warning
		hot  = 1.12 // what a breakdown voltage may rise by with the temperature, counted for every clamp
	)
	limit := rating.Sound.Lo
	if !rating.Known() || !(limit > 0) || math.IsInf(limit, 0) || c.low != 0 && c.low != p.Ground {
		return "", nil
	}
	for _, s := range surgesReaching(p, declaredSurges(p), c.high) {
		if l.event != "in "+s.name || !s.volts.Known() || !s.ohms.Known() {
			continue
		}
		most := toThree(room*limit, false)
		amps := (s.volts.Sound.Hi - most) / s.ohms.Sound.Lo
		if !(amps > 0) || math.IsInf(amps, 0) {
			return "", nil
		}
		cold := fmt.Sprintf("%.4g V exact", most/hot)
		return fmt.Sprintf("a clamp of at most %s at %s", quantity.Show(most, quantity.Volt), quantity.Show(toThree(amps, true), quantity.Amp)), []design.Change{
			{Op: design.Field, Target: c.Path(), Key: "clamp.breakdown", Text: cold},
			{Op: design.Field, Target: c.Path(), Key: "clamp.level", Text: cold}}
	}
	return "", nil
}
