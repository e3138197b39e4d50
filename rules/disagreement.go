package rules

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// loads reports each declared current whose range the current that the netlist's own sources and loads drive never
// meets, and each between two nets that are held, where the current follows from them. Intent is followed where it can be;
// but one of the two is wrong.
func loads(d *design.Design) (out []Result) {
	s := volt.New(d)
	for _, name := range d.Intent.Names("currents") {
		e, ok := d.Find(name)
		rng := d.Intent.Get("currents", name, "range")
		if !ok || rng == nil || e.Kind() != 'R' || e.Pins() != 2 {
			continue
		}
		if s.Pinned(e) {
			out = append(out, Result{Rule: "intent-disagreement", Kind: KindFail, Level: Warning, At: e.Card(), Calls: e.Calls(),
				Message: fmt.Sprintf("both ends of %s are held, %s and %s: its current follows from them, and the declared one is not followed",
					e.Path(), d.Circuit.NetName(e.Pin(0)), d.Circuit.NetName(e.Pin(1))),
				Related: []source.Related{{At: rng.At, Message: "declared here"}}})
			continue
		}
		if !s.Free(e) {
			continue
		}
		drawn, ok := s.Own(e)
		if !ok {
			continue
		}
		c, _ := e.Current(design.Operating)
		declared := c.Value.Sound
		if c.From != e.Pin(0) {
			declared = quantity.Interval{Lo: -declared.Hi, Hi: -declared.Lo}
		}
		if !drawn.Sound.Intersect(declared).Empty() {
			continue
		}
		own := drawn.Nom
		if c.From != e.Pin(0) {
			own = -own
		}
		out = append(out, Result{Rule: "intent-disagreement", Kind: KindFail, Level: Warning, At: e.Card(), Calls: e.Calls(),
			Message: fmt.Sprintf("the netlist's own load draws %s through %s, intent declares %s .. %s: intent is followed", quantity.Show(own, quantity.Amp),
				e.Path(), quantity.Show(c.Value.Sound.Lo, quantity.Amp), quantity.Show(c.Value.Sound.Hi, quantity.Amp)),
			Related: []source.Related{{At: rng.At, Message: "declared here"}}})
	}
	return out
}
