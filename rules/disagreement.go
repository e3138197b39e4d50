package rules

import (
	"fmt"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// loads reports each declared current that is not followed (of what is no resistor, of one whose ends are one net, of one
// between two nets that are held, where the current follows from them), and each whose range the current that the
// netlist's own sources and loads drive never meets. Intent is followed then; but one of the two is wrong.
func loads(d *design.Design) (out []Result) {
	s := volt.New(d)
	for _, name := range d.Intent.Names("currents") {
		e, ok := d.Find(name)
		rng := d.Intent.Get("currents", name, "range")
		if !ok || rng == nil || e.Kind() == design.Gone || e.Kind() == '?' {
			continue
		}
		if said := disagreement(d, s, e); said != "" {
			out = append(out, Result{Rule: "intent-disagreement", Kind: KindFail, Level: Warning, At: e.Card(), Calls: e.Calls(), Message: said,
				Related: []source.Related{{At: rng.At, Message: "declared here"}}})
		}
	}
	return out
}

// disagreement words what is wrong with the declared current of an element; "" where nothing is.
func disagreement(d *design.Design, s *volt.Solver, e design.Element) string {
	a, b := e.Ends()
	switch {
	case e.Kind() != 'R' && !e.Carries():
		return fmt.Sprintf("%s is no resistor: the declared current is not followed; declare that of the resistor it flows through", e.Path())
	case !e.Carries():
		return ""
	case a == b:
		return fmt.Sprintf("both ends of %s are %s: the declared current is not followed", e.Path(), d.Circuit.NetName(a))
	}
	c, _ := e.Current(design.Operating)
	declared, sign := c.Value.Sound, 1.0
	if c.From != a {
		declared, sign = declared.Mirrored(), -1
	}
	against := fmt.Sprintf("intent declares %s .. %s", quantity.Show(c.Value.Sound.Lo, quantity.Amp), quantity.Show(c.Value.Sound.Hi, quantity.Amp))
	if s.Pinned(e) {
		held := quantity.Calc("current", quantity.Amp, func(x []float64) float64 { return x[0] / x[1] },
			s.Bound(volt.Across(a, b), design.Operating), e.Resistance())
		carries := ""
		if held.Known() && held.Sound.Intersect(declared).Empty() {
			carries = fmt.Sprintf(" (it carries %s, %s)", quantity.Show(sign*held.Nom, quantity.Amp), against)
		}
		return fmt.Sprintf("both ends of %s are held, %s and %s: its current follows from them, and the declared one is not followed%s",
			e.Path(), d.Circuit.NetName(a), d.Circuit.NetName(b), carries)
	}
	if !s.Free(e) {
		return ""
	}
	if drawn, ok := s.Own(e); ok {
		if !drawn.Sound.Intersect(declared).Empty() {
			return ""
		}
		return fmt.Sprintf("the netlist's own load draws %s through %s, %s: intent is followed", quantity.Show(sign*drawn.Nom, quantity.Amp), e.Path(), against)
	}
	if declared.Contains(0) { // what a switch may break may be nothing
		return ""
	}
	drawn, ok := s.OwnSwitched(e)
	if !ok || !drawn.Sound.Intersect(declared).Empty() {
		return ""
	}
	most := drawn.Sound
	if sign < 0 {
		most = most.Mirrored()
	}
	return fmt.Sprintf("the netlist's own load draws %s .. %s through %s, whatever its switches do, %s: intent is followed",
		quantity.Show(most.Lo, quantity.Amp), quantity.Show(most.Hi, quantity.Amp), e.Path(), against)
}
