package volt

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// junctionFet is a J or Z: a switch from drain to source in either state, whatever its gate says. The gate takes no current;
// that its junction conducts where it is driven beyond the channel is not modelled.
func (is *island) junctionFet(e design.Element, n circuit.Net) {
	d, s := e.Pin(0), e.Pin(2)
	if n != d && n != s {
		is.seen[e.ID] = false
		return
	}
	is.resistors = append(is.resistors, resistor{is.place(d), is.place(s), is.input(is.onResistance(e)), is.state(e, "off", "on"), e.Path()})
}

// bipolar is a Q: a switch from collector to emitter in either state. Whatever voltage it saturates at, with its current it
// makes a resistance, of which any is counted unless something says less.
//
// The current of the base leaves an n-p-n by the emitter, whoever drives it, and enters a p-n-p there. Where the emitter is
// held it does not count; elsewhere it is elements.Q.base-current, from none up to that, and missing where nobody said it:
// only what depends on it is undecided then. A net on the base is loaded with the same current. What is not modelled: the
// base follows the emitter by a drop, so that a net on it is bounded too widely, never too closely; the junction from base to
// collector, which conducts where the collector is pulled beyond the base, and limits it there; a substrate.
func (is *island) bipolar(e design.Element, n circuit.Net) {
	c, b, em := e.Pin(0), e.Pin(1), e.Pin(2)
	if n != c && n != b && n != em {
		return
	}
	sign := 0.0
	switch m := e.Model(); {
	case m != nil && m.Type == "NPN":
		sign = 1
	case m != nil && m.Type == "PNP":
		sign = -1
	default:
		is.unknown(quantity.Need{In: "netlist", Key: "the type of " + e.Path() + " (a .model of type NPN or PNP)", At: e.Card()})
		return
	}
	if (n == c || n == em) && is.once(e, "", "channel") {
		is.resistors = append(is.resistors, resistor{is.place(c), is.place(em), is.input(is.onResistance(e)), is.state(e, "off", "on"), e.Path()})
		is.base(e, em, sign)
	}
	if n == b && is.once(e, "", "base") {
		is.base(e, b, -sign)
	}
}

// base drives the base current of a transistor into a net, against it where sign says so.
func (is *island) base(e design.Element, n circuit.Net, sign float64) {
	if is.place(n) < 0 {
		return
	}
	is.inject(n, injection{amps: is.input(is.s.d.Declared(quantity.Amp, "elements", e.Path(), "base-current")), sign: sign, idle: -1,
		drive: unsaidOn, what: e.Path()})
}
