package volt

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// Own is the current that the netlist itself drives through an element, from its first to its second node in amperes,
// whatever intent declares for it. ok is false where that is no plain DC answer: where switches, diodes or coils that a
// switch breaks have a say, where something is missing, or where nothing drives the element.
func (s *Solver) Own(e design.Element) (q quantity.Quantity, ok bool) { return s.drawn(e, true) }

// OwnSwitched is Own over every state of switches and diodes, with coils as pieces of wire: what it may be in one or another.
func (s *Solver) OwnSwitched(e design.Element) (q quantity.Quantity, ok bool) {
	return s.drawn(e, false)
}

func (s *Solver) drawn(e design.Element, sure bool) (q quantity.Quantity, ok bool) {
	a, b := e.Ends()
	free := s.free(e)
	if !(e.Value() > 0) || free == nil {
		return q, false
	}
	if drive, _ := s.load(*free, e); drive == unsaidOn {
		return q, false // no load is drawn: what an amplifier takes is none
	}
	row := -1
	is := s.buildWith([]circuit.Net{a, b}, design.Operating, func(is *island) {
		is.own, is.sure, is.steady = true, sure, !sure
		n := len(is.resistors)
		if is.visit(e, a); len(is.resistors) == n+1 || e.Kind() == 'X' && len(is.resistors) > n {
			row = n
			is.coils[row] = true
		}
	})
	if len(is.unknowns) > 0 || len(is.controls) > 0 || row < 0 {
		return q, false
	}
	driven := len(is.sources) > 0
	for n := range is.held {
		driven = driven || n != 0
	}
	for _, c := range is.currents {
		driven = driven || c.drive == drivesOn
	}
	if !driven {
		return q, false
	}
	q = is.bound(currentName(e), quantity.Amp, reading{{at: is.work.rowOf[row], times: 1}})
	return q, q.Known() && !q.Seen.Empty()
}
