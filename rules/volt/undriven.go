package volt

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
)

// Undriven tells an idle net that no amplifier's output reaches either.
func (s *Solver) Undriven(n circuit.Net, r design.Regime) bool {
	if !s.Idle(n, r) {
		return false
	}
	seen := map[circuit.Net]bool{0: true}
	todo := []circuit.Net{n}
	for len(todo) > 0 && len(seen) < largest {
		at := todo[0]
		todo = todo[1:]
		if seen[at] {
			continue
		}
		seen[at] = true
		for e := range s.d.On(at) {
			for _, u := range append(e.Amplifiers(), e.OpAmps()...) {
				if out, ok := e.PinOf("out", u); ok && out == at {
					return false
				}
			}
			if e.Kind() != 'X' && e.Kind() != 'C' && e.Kind() != 'K' {
				for i := range e.Pins() {
					todo = append(todo, e.Pin(i))
				}
			}
		}
	}
	return true
}
