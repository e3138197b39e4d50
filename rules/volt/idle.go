package volt

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
)

// mostWalked is how many nets are looked at for what drives a net.
const mostWalked = 4096

// Idle tells that nothing drives what a net hangs on: through resistors, inductors, sources, switches and diodes it
// reaches ground and nothing else that holds a voltage, and no current is driven or declared on the way. Such a net is
// at 0 V only if its connector carries nothing. What amplifiers pass on to it does not drive it.
func (s *Solver) Idle(n circuit.Net, r design.Regime) bool {
	seen := map[circuit.Net]bool{}
	todo := []circuit.Net{n}
	var list []way
	for len(todo) > 0 {
		at := todo[0]
		todo = todo[1:]
		if seen[at] {
			continue
		}
		seen[at] = true
		if _, held := s.d.Rail(at, r); held {
			if at != 0 {
				return false
			}
			continue
		}
		if len(seen) > mostWalked {
			return false
		}
		for e := range s.d.On(at) {
			switch e.Kind() {
			case 'C', 'K':
				continue
			case 'X':
				if _, ok := simplePart(e); !ok && e.Amplifiers() == nil && e.OpAmps() == nil {
					return false // it may be the source
				}
			case 'R', 'L', 'D':
				if s.d.Intent.Says("currents", e.Path()) {
					return false
				}
			case 'S', 'W', 'M', 'J', 'Z':
			case 'Q':
				if at == e.Pin(1) {
					return false // whatever drives the base drives the net
				}
			case 'E', 'G':
				if at == e.Pin(0) || at == e.Pin(1) {
					return false
				}
			default: // sources, controlled or not, and what nobody knows
				return false
			}
			list = ways(list[:0], e)
			for _, w := range list {
				if to, ok := w.end(at); ok {
					todo = append(todo, to)
				}
			}
		}
	}
	return true
}

// reachesRail tells that a net reaches one that something holds, other than ground, through whatever may conduct.
func (s *Solver) reachesRail(n circuit.Net) bool {
	seen := map[circuit.Net]bool{}
	todo := []circuit.Net{n}
	var list []way
	for len(todo) > 0 && len(seen) < 4096 {
		at := todo[0]
		todo = todo[1:]
		if seen[at] {
			continue
		}
		seen[at] = true
		if s.rail(at) {
			if at != 0 {
				return true
			}
			continue
		}
		for e := range s.d.On(at) {
			switch e.Kind() {
			case 'E', 'H', 'B':
				if l := e.Linear(); l != nil && !l.Current && (at == e.Pin(0) || at == e.Pin(1)) {
					return true // it feeds what hangs on it
				}
			}
			list = ways(list[:0], e)
			for _, w := range list {
				if to, ok := w.end(at); ok {
					todo = append(todo, to)
				}
			}
		}
	}
	return false
}

// starved tells an island that feeds a consumer whose supply nothing drives: nobody said what it is.
func (is *island) starved() (circuit.Net, bool) {
	if is.signal != nil || len(is.fed) == 0 {
		return 0, false
	}
	at := slices.Min(is.fed)
	if !is.s.Idle(at, is.regime) {
		return 0, false
	}
	if end, ok := is.deadEnd(at); ok {
		at = end
	}
	return at, true
}

// deadEnd follows the only resistor or inductor on each net to a net where nothing goes on: where a connector feeds what
// was drawn.
func (is *island) deadEnd(at circuit.Net) (circuit.Net, bool) {
	seen := map[circuit.Net]bool{at: true}
	for range mostWalked {
		var next []circuit.Net
		for e := range is.s.d.On(at) {
			if k := e.Kind(); (k == 'R' || k == 'L') && !seen[e.Other(at)] {
				next = append(next, e.Other(at))
			}
		}
		switch {
		case len(next) == 0:
			return at, true
		case len(next) > 1 || next[0] == 0:
			return at, false
		}
		at = next[0]
		seen[at] = true
	}
	return at, false
}
