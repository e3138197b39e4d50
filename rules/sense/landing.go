package sense

import (
	"cmp"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
)

// A Landing is a net with a sense element on it that an input pin leads to.
type Landing struct {
	Net    circuit.Net
	Series []design.Element // from the pin outwards
	Shunts []design.Element // those whose current intent declares, else all that could be one
}

// Mover is what would have to be moved to lead the leg elsewhere: its last element, or the amplifier's own pin, by its
// position on the card.
func (l Landing) Mover(amp design.Element, pin int) (e design.Element, at int) {
	if len(l.Series) == 0 {
		return amp, pin
	}
	e = l.Series[len(l.Series)-1]
	if e.Pin(0) == l.Net {
		return e, 0
	}
	return e, 1
}

// throng is how many elements a net may have for all of them to be looked at.
const throng = 1 << 14

// Landings are the nets with sense elements that a pin leads to through series resistors, ferrites and inductors, the one
// over the smallest resistance first.
func Landings(d *design.Design, pin circuit.Net) (list []Landing) {
	steps := spread(d, pin)
	ohms := make([]float64, len(steps))
	var far []float64
	for i, s := range steps {
		if i > 0 {
			ohms[i] = ohms[s.from]
			if s.over.Kind() == 'R' {
				ohms[i] += s.over.Value()
			}
		}
		if len(d.Circuit.On(s.net)) > throng {
			continue
		}
		leg := (&Block{}).leg(steps, i)
		if shunts := sensing(d, s.net, leg.Series); shunts != nil {
			at, _ := slices.BinarySearchFunc(far, ohms[i], func(a, b float64) int {
				if a == b {
					return -1 // fewer steps come first
				}
				return cmp.Compare(a, b)
			})
			far = slices.Insert(far, at, ohms[i])
			list = slices.Insert(list, at, Landing{s.net, leg.Series, shunts})
		}
	}
	return list
}

// sensing are the elements on a net that could be sense elements, of those that a leg does not pass through.
func sensing(d *design.Design, n circuit.Net, leg []design.Element) (list []design.Element) {
	declared := false
	for e := range d.On(n) {
		if slices.ContainsFunc(leg, func(o design.Element) bool { return o.ID == e.ID }) {
			continue
		}
		switch says := d.Intent.Says("currents", e.Path()); {
		case says && !declared:
			list, declared = []design.Element{e}, true
		case says:
			list = append(list, e)
		case !declared && couldSense(d, e, n):
			list = append(list, e)
		}
	}
	return list
}

// couldSense tells a small resistor that joins two nets, or a part whose record makes it a shunt.
func couldSense(d *design.Design, e design.Element, n circuit.Net) bool {
	if tie := d.Intent.Get("elements", e.Path(), "net-tie"); tie != nil && tie.Flag || !e.Carries() {
		return false
	}
	return e.Kind() == 'X' || e.Other(n) != n && e.Value() > 0 && e.Value() <= most
}

// Unknown are the elements of which nobody knows what they do, on the nets that a pin leads to and that nothing holds: the
// way to a shunt may go on through them.
func Unknown(d *design.Design, pin circuit.Net) (list []design.Element) {
	for _, s := range spread(d, pin) {
		if held(d, s.net) {
			continue
		}
		for e := range d.On(s.net) {
			known := e.Kind() != '?' && (e.Kind() != 'X' || e.Record() != nil)
			if !known && !slices.ContainsFunc(list, func(o design.Element) bool { return o.ID == e.ID }) {
				list = append(list, e)
			}
		}
	}
	return list
}

// Together tells whether two pins are on one net or lead to one through series resistors, ferrites and inductors.
func Together(d *design.Design, one, other circuit.Net) bool {
	at := map[circuit.Net]bool{}
	for _, s := range spread(d, one) {
		at[s.net] = true
	}
	return slices.ContainsFunc(spread(d, other), func(s reach) bool { return at[s.net] })
}

// Straddles tells whether one input leads to one of two nets and the other to the other, without passing through an element
// that joins them.
func (b *Block) Straddles(d *design.Design, e design.Element, x, y circuit.Net) bool {
	p, okP := b.Pin("in+")
	m, okM := b.Pin("in-")
	if !okP || !okM || x == y {
		return false
	}
	// Where other ways lead to both nets, the shorter one counts.
	nearer := func(pin circuit.Net) circuit.Net {
		for _, s := range spread(d, pin, e.ID) {
			if s.net == x || s.net == y {
				return s.net
			}
		}
		return pin
	}
	one, other := nearer(p), nearer(m)
	return one == x && other == y || one == y && other == x
}
