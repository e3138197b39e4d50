package volt

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// visit adds what an element does at a node of the island.
func (is *island) visit(e design.Element, n circuit.Net) {
	if is.seen[e.ID] && e.Kind() != 'X' && e.Kind() != 'Q' { // these do different things at different pins
		return
	}
	if c, ok := is.declared(e); ok && is.signal == nil && !is.own {
		is.carryOnce(e, c)
		return
	}
	is.seen[e.ID] = true
	switch e.Kind() {
	case 'D', 'M', 'S', 'W', 'Q', 'J', 'Z':
		if is.undecided(e) {
			return
		}
	}
	if e.Short() && e.Pins() == 2 {
		is.wire(e)
		return
	}
	switch e.Kind() {
	case 'R':
		is.resistors = append(is.resistors, resistor{is.place(e.Pin(0)), is.place(e.Pin(1)), is.input(is.resistance(e)), -1, e.Path()})
	case 'L':
		is.inductor(e)
	case 'C':
		is.capIDs = append(is.capIDs, e.ID)
	case 'K':
	case 'V':
		if is.signal != nil {
			is.wire(e)
			return
		}
		is.meters[e.ID] = meter{at: len(is.sources)}
		is.sources = append(is.sources, branch{is.place(e.Pin(0)), is.place(e.Pin(1)), is.input(e.Drive(is.regime)), e.Path()})
	case 'I': // positive current leaves the first node inside the source: SPICE3f3 User's Manual, 3.2.1
		amps := is.input(e.Drive(is.regime))
		is.inject(e.Pin(0), injection{amps: amps, sign: -1, idle: -1, drive: drivesOn, what: e.Path()})
		is.inject(e.Pin(1), injection{amps: amps, sign: 1, idle: -1, drive: drivesOn, what: e.Path()})
	case 'D':
		is.diode(e, e.Pin(0), e.Pin(1))
	case 'M':
		is.mosfet(e, n)
	case 'S', 'W':
		is.contact(e, n)
	case 'Q':
		is.bipolar(e, n)
	case 'J', 'Z':
		is.junctionFet(e, n)
	case 'E', 'G', 'F', 'H', 'B':
		is.controlled(e, n)
	case 'T': // an ideal line is through at DC
		if e.Pins() == 4 {
			for i := range 2 {
				is.resistors = append(is.resistors, resistor{is.place(e.Pin(i)), is.place(e.Pin(i + 2)), -1, -1, e.Path()})
			}
		}
	case 'X':
		is.subcircuit(e, n)
	default:
		is.unknown(quantity.Need{In: "netlist", Key: "what " + e.Path() + " does to " + is.s.d.Circuit.NetName(n), At: e.Card()})
	}
}

func (is *island) wire(e design.Element) {
	if e.Kind() == 'V' {
		is.meters[e.ID] = meter{wire: true, at: len(is.resistors)}
	}
	is.resistors = append(is.resistors, resistor{is.place(e.Pin(0)), is.place(e.Pin(1)), -1, -1, e.Path()})
}

// inject drives a current into a net; a held net does not care.
func (is *island) inject(n circuit.Net, c injection) {
	if at := is.place(n); at >= 0 && is.signal == nil {
		c.into = at
		is.currents = append(is.currents, c)
	}
}

// drop is the forward drop of a diode or body diode: declared, or from its record, or the policy range 0 to 1.5 V around
// the handbook's 0.7 V for silicon (Lessons In Electric Circuits, Semiconductors, ch. 3).
func (is *island) drop(e design.Element) quantity.Quantity {
	if d := is.s.d.Declared(quantity.Volt, "elements", e.Path(), "drop"); d.Known() {
		return d
	}
	if e.Entry("drop") != nil && !e.Record().Doubted() {
		return e.Part("drop")
	}
	c := &quantity.Cause{Name: "drop of " + e.Path(), Unit: quantity.Volt, Nom: 0.7, Sound: quantity.Interval{Lo: 0, Hi: 1.5},
		Seen: quantity.Interval{Lo: 0.7, Hi: 0.7}, Grade: quantity.Assumed, At: e.Card(),
		Note: e.Path() + ": no drop declared, 0.7 V seen and 0 V .. 1.5 V counted"}
	return c.Of()
}

// diode adds the forward direction and, where record or model has a breakdown voltage, the reverse one.
func (is *island) diode(e design.Element, anode, cathode circuit.Net) {
	a, c := is.place(anode), is.place(cathode)
	ohms := -1
	rs, ok := e.ModelParam("rs")
	if d := is.s.d.Declared(quantity.Ohm, "elements", e.Path(), "on-resistance"); d.Known() {
		if d.Sound.Hi > 0 {
			ohms = is.input(d)
		}
	} else if ok && rs != 0 {
		rs /= e.Area() * e.Copies() // SPICE3f3 User's Manual, 3.4.2: RS counts for area 1
		if !(rs > 0) {
			is.unknown(quantity.Need{In: "netlist", Key: "the series resistance of " + e.Path() + " (RS of its model, its area)", At: e.Card()})
			return
		}
		ohms = is.input(quantity.Exactly(e.Path()+" rs", quantity.Ohm, rs))
	}
	is.diodes = append(is.diodes, diode{anode: a, cathode: c, drop: is.input(is.drop(e)), ohms: ohms, what: e.Path()})
	if is.breaksDown(e, c, a, "") {
		return
	}
	bv, ok := e.ModelParam("bv")
	if math.IsNaN(bv) {
		is.unknown(quantity.Need{In: "netlist", Key: "the breakdown voltage of " + e.Path() + " (BV of its model)", At: e.Card()})
		return
	}
	if ok && bv > 0 && !math.IsInf(bv, 0) {
		z := &quantity.Cause{Name: "breakdown of " + e.Path(), Unit: quantity.Volt, Nom: bv, Seen: quantity.Point(bv),
			Sound: quantity.Interval{Lo: 0.95 * bv, Hi: 1.05 * bv}, Grade: quantity.Assumed, At: e.Card(),
			Note: e.Path() + ": breakdown voltage from the model, 5 % counted"}
		if ohms < 0 { // a clamp counts only with its level at the current it carries
			z.Sound.Hi = math.Inf(1)
			z.Note = e.Path() + ": its model has no resistance (RS), so its level at the current is not known and it is not counted on"
		}
		is.diodes = append(is.diodes, diode{anode: c, cathode: a, drop: is.input(z.Of()), ohms: ohms, what: e.Path() + " in breakdown"})
	}
}

// onResistance is that of a closed switch: declared, or from its record, or from its model, or anything from a short
// upwards.
func (is *island) onResistance(e design.Element) quantity.Quantity {
	if d := is.s.d.Declared(quantity.Ohm, "elements", e.Path(), "on-resistance"); d.Known() {
		return d
	}
	if e.Entry("on-resistance") != nil && !e.Record().Doubted() {
		copies := e.Copies() // a record is that of one part
		return quantity.Calc("on-resistance of "+e.Path(), quantity.Ohm, func(x []float64) float64 { return x[0] / copies }, e.Part("on-resistance"))
	}
	c := &quantity.Cause{Name: "on-resistance of " + e.Path(), Unit: quantity.Ohm, At: e.Card(), Grade: quantity.Assumed}
	if k := e.Kind(); k != 'S' && k != 'W' {
		c.Sound, c.Seen = quantity.Interval{Lo: 0, Hi: 1e9}, quantity.Interval{}
		c.Note = e.Path() + ": no on-resistance declared, 0 ohm seen and any counted"
		return c.Of()
	}
	ron, ok := e.ModelParam("ron")
	if !ok {
		ron = 1 // SPICE3f3 User's Manual, 3.1.10: RON defaults to 1 ohm
	}
	if math.IsNaN(ron) {
		return quantity.Missing(quantity.Ohm, quantity.Need{In: "intent", Key: design.Key("elements", e.Path(), "on-resistance")})
	}
	ron /= e.Copies() // what is declared is that of the whole element
	c.Nom, c.Seen, c.Sound = ron, quantity.Interval{Lo: ron, Hi: ron}, quantity.Interval{Lo: 0.95 * ron, Hi: 1.05 * ron}
	c.Note = e.Path() + ": on-resistance from the model, 5 % counted"
	return c.Of()
}

// contact is an S or W switch: on or off whatever its control says. An open one carries nothing.
func (is *island) contact(e design.Element, n circuit.Net) {
	if n != e.Pin(0) && n != e.Pin(1) {
		is.seen[e.ID] = false // a control pin takes no current
		return
	}
	is.resistors = append(is.resistors, resistor{is.place(e.Pin(0)), is.place(e.Pin(1)), is.input(is.onResistance(e)),
		is.state(e, "open", "closed"), e.Path()})
}

// mosfet is a switch from drain to source with diodes between bulk and channel ends: from the bulk in an n-channel
// part, to it in a p-channel one. The gate takes no current.
func (is *island) mosfet(e design.Element, n circuit.Net) {
	d, g, s := e.Pin(0), e.Pin(1), e.Pin(2)
	b := s // a card with three nodes has its bulk at the source
	if e.Pins() > 3 {
		b = e.Pin(3)
	}
	if n == g && n != d && n != s && n != b {
		is.seen[e.ID] = false
		return
	}
	m := e.Model()
	if m == nil || m.Type != "NMOS" && m.Type != "PMOS" {
		is.unknown(quantity.Need{In: "netlist", Key: "the channel type of " + e.Path() + " (a .model of type NMOS or PMOS)", At: e.Card()})
		return
	}
	is.resistors = append(is.resistors, resistor{is.place(d), is.place(s), is.input(is.onResistance(e)), is.state(e, "off", "on"), e.Path()})
	drop := is.input(is.drop(e))
	for _, end := range []circuit.Net{d, s} {
		switch {
		case end == b:
		case m.Type == "NMOS":
			is.diodes = append(is.diodes, diode{anode: is.place(b), cathode: is.place(end), drop: drop, ohms: -1, what: "body diode of " + e.Path()})
		default:
			is.diodes = append(is.diodes, diode{anode: is.place(end), cathode: is.place(b), drop: drop, ohms: -1, what: "body diode of " + e.Path()})
		}
	}
}
