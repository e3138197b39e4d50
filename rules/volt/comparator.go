package volt

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
)

// comparatorInput draws the bias current of a comparator's input from its net. What the output drives its net to follows no
// law that is linear: a net with an output of a comparator on it stays unknown unless intent declares it.
func (is *island) comparatorInput(e design.Element, n circuit.Net) bool {
	known := false
	for _, unit := range e.Comparators() {
		if out, ok := e.PinOf("out", unit); ok && out == n {
			return false
		}
		for _, role := range []string{"in+", "in-"} {
			at, ok := e.PinOf(role, unit)
			if !ok || at != n {
				continue
			}
			known = true
			if is.signal == nil && is.once(e, unit, role) {
				bias := Bias(e)
				bias.Name = e.Path() + unit + " bias into " + role
				is.inject(n, injection{amps: is.input(bias.Of()), sign: -1, idle: -1, drive: unsaidOn, what: e.Path()})
			}
		}
	}
	return known
}
