package volt

import (
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A simple is an X card whose record says that it is a part with two ends: a clamp, a shunt, a capacitor or a switch.
type simple struct {
	role  string
	a, b  circuit.Net      // of a clamp with two different ends: anode and cathode; of a transistor: drain and source
	named bool             // the ends are anode and cathode, or drain and source
	sense [][2]circuit.Net // each sense terminal of a shunt with its end
}

// simplePart is what a simple part joins; ok is false for other elements, and where its ends are not named or its nets are
// not as many as its pins.
func simplePart(e design.Element) (p simple, ok bool) {
	r := e.Record()
	if r == nil || part.Simple[r.Role()] == nil || len(r.Pins()) != e.Pins() {
		return p, false
	}
	p.role = r.Role()
	ends := func(x, y string) (ok bool) {
		a, okA := e.PinOf(x, "")
		b, okB := e.PinOf(y, "")
		if okA && okB {
			p.a, p.b = a, b
		}
		return okA && okB
	}
	switch {
	case p.role == "clamp" && ends("anode", "cathode"), p.role == "switch" && ends("drain", "source"):
		p.named = true
	case !ends("a", "b"):
		return p, false
	}
	for _, pair := range [][2]string{{"sense-a", "a"}, {"sense-b", "b"}} {
		if s, has := e.PinOf(pair[0], ""); has && p.role == "shunt" {
			end, _ := e.PinOf(pair[1], "")
			p.sense = append(p.sense, [2]circuit.Net{s, end})
		}
	}
	return p, true
}

// simple adds what a part that stands for itself does; false where its record is of another kind or does not say which
// pins are its ends.
func (is *island) simple(e design.Element, n circuit.Net) bool {
	p, ok := simplePart(e)
	if !ok {
		return false
	}
	if r := e.Record(); r.Doubted() {
		is.unknown(quantity.Need{In: "part record", Key: r.Name() + " without errors", At: r.At()})
		return true
	}
	between := n == p.a || n == p.b
	switch p.role {
	case "capacitor":
	case "shunt":
		for _, s := range p.sense {
			between = between || n == s[0]
		}
		if between && is.once(e, "", "ends") {
			is.resistors = append(is.resistors, resistor{is.place(p.a), is.place(p.b), is.input(e.ShuntResistance(is.tracked)), -1, e.Path()})
			is.senseJoints(e)
		}
	case "clamp":
		if !between || is.signal != nil || is.undecided(e) || !is.once(e, "", "ends") {
			return true
		}
		if p.named {
			is.diode(e, p.a, p.b)
			return true
		}
		for i, way := range [2]string{"", " backwards"} {
			from, to := is.place(p.a), is.place(p.b)
			if i > 0 {
				from, to = to, from
			}
			if !is.breaksDown(e, from, to, way) {
				is.unknown(e.PartNeed("clamp.breakdown"))
			}
		}
	case "switch":
		is.supplied(e, n)
		if !between || is.signal != nil || is.undecided(e) || !is.once(e, "", "ends") {
			return true
		}
		is.resistors = append(is.resistors, resistor{is.place(p.a), is.place(p.b), is.input(is.onResistance(e)), is.state(e, "off", "on"), e.Path()})
		if p.named {
			is.partBody(e, p.a, p.b)
		}
	}
	return true
}

// senseJoints joins the sense terminals of a shunt to its ends.
func (is *island) senseJoints(e design.Element) {
	p, _ := simplePart(e)
	for _, s := range p.sense {
		if s[0] != s[1] {
			is.resistors = append(is.resistors, resistor{is.place(s[0]), is.place(s[1]), -1, -1, e.Path()})
		}
	}
}

// supplied draws the supply current of a part with a supply pin, where its record says one: a switch without it takes
// none that counts.
func (is *island) supplied(e design.Element, n circuit.Net) {
	if e.Entry("supply.current") == nil {
		return
	}
	for _, role := range []string{"supply", "ground"} {
		if at, ok := e.PinOf(role, ""); ok && at == n {
			is.consumer(e, "")
		}
	}
}

// partBody adds the body diode of a switch with a drain and a source.
func (is *island) partBody(e design.Element, drain, source circuit.Net) {
	d := diode{anode: is.place(source), cathode: is.place(drain), drop: is.input(is.drop(e)), ohms: -1, what: "body diode of " + e.Path()}
	switch channel, _ := e.Word("channel"); channel {
	case "n":
	case "p":
		d.anode, d.cathode = d.cathode, d.anode
	default:
		is.unknown(e.PartNeed("channel"))
		return
	}
	is.diodes = append(is.diodes, d)
}

// undecided refuses a device whose state somebody else decides, where what the netlist itself drives for sure is asked for.
func (is *island) undecided(e design.Element) bool {
	if is.sure {
		is.unknown(quantity.Need{In: "netlist", Key: "the state of " + e.Path(), At: e.Card()})
	}
	return is.sure
}

// breaksDown adds the direction in which a clamp breaks down, in which the current enters at from and leaves at to. It begins
// to conduct at clamp.breakdown. clamp.level says how much more there may be at a current: a resistance of its own, from
// none to as much as the steepest of its points asks for. Above the current of the last point nobody said the level, so
// that what would flow beyond it is not counted on; it is seen to go on as below. way tells the second direction of a clamp
// from the first: they break down at one voltage and go on each for itself. False where the record has no breakdown
// voltage.
func (is *island) breaksDown(e design.Element, from, to int, way string) bool {
	level, volts := e.Entry("clamp.level"), e.Part("clamp.breakdown")
	what := e.Path() + " in breakdown" + way
	if e.Entry("clamp.breakdown") == nil {
		if level != nil {
			is.unknown(e.PartNeed("clamp.breakdown"))
		}
		return level != nil
	}
	if r := e.Record(); r.Doubted() {
		is.unknown(quantity.Need{In: "part record", Key: r.Name() + " without errors", At: r.At()})
		return true
	}
	switch {
	case level == nil: // a clamp counts only with its level at the current it carries
		c := *volts.Causes()[0]
		c.Sound.Hi = math.Inf(1)
		c.Grade, c.Note = quantity.Assumed, e.Path()+": its record has no clamp.level, so its level at the current is not known and it is not counted on"
		is.diodes = append(is.diodes, diode{anode: from, cathode: to, drop: is.input(c.Of()), ohms: -1, what: what})
		return true
	case len(level.Points) == 0: // up to this at any current
		c := *volts.Causes()[0]
		c.Name, c.At = e.Path()+" clamp.level", level.At
		c.Sound.Hi = max(c.Sound.Hi, level.Written.Range.Hi)
		c.Seen = c.Sound
		is.diodes = append(is.diodes, diode{anode: from, cathode: to, drop: is.input(c.Of()), ohms: -1, what: what})
		return true
	}
	steepest, last := 0.0, 0.0
	for _, pt := range level.Points {
		amps := pt[0].Range.Lo
		if amps > 0 {
			steepest = max(steepest, (pt[1].Range.Hi-volts.Sound.Hi)/amps)
		}
		last = max(last, amps)
	}
	copies := e.Copies()
	own := &quantity.Cause{Name: "resistance of " + what, Unit: quantity.Ohm, Nom: steepest / copies, At: level.At,
		Sound: quantity.Interval{Lo: 0, Hi: steepest / copies}, Seen: quantity.Interval{Lo: 0, Hi: steepest / copies}}
	const none = 1e-5 // ohm: nothing beside a clamp, and far above what stands for no resistance in the arithmetic
	beyond := &quantity.Cause{Name: "level of " + e.Path() + " beyond " + quantity.Show(last*copies, quantity.Amp) + way, Unit: quantity.Ohm, At: level.At,
		Nom: none, Sound: quantity.Interval{Lo: none, Hi: math.Inf(1)}, Seen: quantity.Point(none), Grade: quantity.Assumed,
		Note: e.Path() + ": its record gives its level up to " + quantity.Show(last*copies, quantity.Amp) + ", and more is not counted on"}
	// What may pass at no voltage is a current in a ring with a diode; the rest goes through the resistance beside it. That
	// stands as a switch which is always closed, so that its current is an unknown of its own and rounding leaves no trace.
	inner := is.node("inside of " + e.Path())
	amps := is.input(quantity.Exactly("last point of "+e.Path(), quantity.Amp, last*copies))
	is.ring(from, inner, amps, e.Path())
	is.diodes = append(is.diodes, diode{anode: inner, cathode: from, drop: -1, ohms: -1, what: e.Path()},
		diode{anode: inner, cathode: to, drop: is.input(volts), ohms: is.input(own.Of()), what: what})
	is.resistors = append(is.resistors, resistor{from, inner, is.input(beyond.Of()), is.input(quantity.Exactly("closed", quantity.Ratio, 1)), e.Path()})
	return true
}

// ring drives a current from a node to another that always finds its way back there: it is no load of anything.
func (is *island) ring(from, to, amps int, what string) {
	for _, c := range []injection{{into: from, sign: -1}, {into: to, sign: 1}} {
		if c.into >= 0 {
			c.amps, c.idle, c.ring, c.what = amps, -1, true, what
			is.currents = append(is.currents, c)
		}
	}
}

// misfit asks for what would tell what a part with a record does to a net: the roles of its pins where there are any for
// such a part.
func (is *island) misfit(e design.Element, n circuit.Net) quantity.Need {
	r := e.Record()
	if roles := part.Simple[r.Role()]; roles != nil && len(r.Pins()) == e.Pins() {
		return quantity.Need{In: "part record", Key: r.Name() + " pins (" + strings.Join(roles, ", ") + ")", At: r.At()}
	}
	return quantity.Need{In: "netlist", Key: "what " + e.Path() + " does to " + is.s.d.Circuit.NetName(n), At: e.Card()}
}
