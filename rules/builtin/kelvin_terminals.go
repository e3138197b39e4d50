package builtin

import (
	_ "embed" // the page
	"fmt"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

//go:embed doc/kelvin-terminals.md
var kelvinTerminalsPage string

// KelvinTerminals looks at how shunts are tapped: sense terminals that carry more than a signal or stand unused, and low shunts
// with two terminals, of which only the layout can tell. It speaks once for a netlist.
var KelvinTerminals = &rules.Rule{
	ID:    "kelvin-terminals",
	Title: "shunt not tapped by terminals of its own",
	Level: rules.Warning,
	Page:  kelvinTerminalsPage,
	Since: 2,
	Whole: true,
	Judge: func(p *rules.Bench) {
		d := p.Design
		legs := map[circuit.ID]bool{} // the input networks of all blocks
		for b := range sense.Blocks(d) {
			for _, l := range []sense.Leg{b.Plus, b.Minus} {
				for _, e := range append(l.Series, l.Beside...) {
					legs[e.ID] = true
				}
			}
		}
		looked := map[circuit.ID]bool{}
		good, bad := 0, 0
		var low []design.Element
		for b := range sense.Blocks(d) {
			for _, shunt := range b.Shunt {
				sa, sb, four := shunt.SenseTerminals()
				if four && b.Network == nil {
					for _, l := range []sense.Leg{b.Plus, b.Minus} {
						if tap := tapOf(l); tap != sa && tap != sb && len(b.Shunt) == 1 {
							bad++
							unused := sa
							if x, _ := shunt.Ends(); x != tap {
								unused = sb
							}
							p.Breach(fmt.Sprintf("%s takes the voltage of %s from its end %s, its sense terminal %s stands unused", b.Name(), shunt.Path(),
								d.Circuit.NetName(tap), d.Circuit.NetName(unused))).On(b.Amp).
								Evidence(source.Related{At: shunt.Card(), Message: "the shunt"}).Advise("tap the shunt at its sense terminals")
						}
					}
				}
				if looked[shunt.ID] {
					continue
				}
				looked[shunt.ID] = true
				if !four {
					if shunt.Value() == 0 {
						continue // a piece of wire is no shunt
					}
					if !(shunt.Value() > 0) {
						p.Lacks("", quantity.Need{In: "netlist", Key: "the value of " + shunt.Path(), At: shunt.Card()})
						bad++
					} else if shunt.Value() < lowOhms && !tapped(d, b, shunt) {
						low = append(low, shunt)
					} else {
						good++
					}
					continue
				}
				used := false
				for _, n := range []circuit.Net{sa, sb} {
					for e := range d.On(n) {
						if e.ID != shunt.ID && !legs[e.ID] && loads(d, e, n) {
							used = true
							p.Breach(fmt.Sprintf("the sense terminal %s of %s carries what %s draws: the drop in its lead is read as current", d.Circuit.NetName(n), shunt.Path(), e.Path())).
								On(shunt).Evidence(source.Related{At: e.Card(), Message: "what draws current"}).
								Advise(fmt.Sprintf("take %s from the end of %s", e.Path(), shunt.Path()))
						}
					}
				}
				if used {
					bad++
				} else {
					good++
				}
			}
		}
		switch {
		case len(low) > 0:
			p.HoldsIf(exposure(low)).On(low[0])
		case good+bad == 0:
			p.Skip("no shunt was recognised")
		case bad == 0:
			p.Holds("the shunts are tapped by terminals of their own, or are large enough")
		}
	},
}

const (
	// lowOhms is below what a shunt with two terminals is asked about; common practice, no source.
	lowOhms = 5e-3
	// feedlessOhms is from what a resistor draws nothing that matters in a lead; common practice, no source.
	feedlessOhms = 10e3
	// squareOhms is the resistance of a square of copper of 35 um at 20 degC: 17.24 nohm m / 35 um; it rises by
	// 0.39 %/K (IEC 60028).
	squareOhms = 0.49e-3
)

// tapOf is the net that a leg takes the voltage of the shunt from.
func tapOf(l sense.Leg) circuit.Net {
	at := l.Pin
	for _, e := range l.Series {
		at = e.Other(at)
	}
	return at
}

// tapped tells that something says how the shunt is tapped: four terminals by intent or its record, or a net tie on the way.
func tapped(d *design.Design, b *sense.Block, shunt design.Element) bool {
	if t := d.Intent.Get("elements", shunt.Path(), "terminals"); t != nil {
		return t.Count >= 4
	}
	if t := shunt.Entry("terminals"); t != nil && t.Count >= 4 {
		return true
	}
	if netTie(d, shunt) {
		return true
	}
	for _, l := range []sense.Leg{b.Plus, b.Minus} {
		for _, e := range l.Series {
			if netTie(d, e) {
				return true
			}
		}
	}
	return false
}

// loads tells that an element draws a current from a net that matters in a lead: all but capacitors, clamps, large resistors
// and inputs.
func loads(d *design.Design, e design.Element, n circuit.Net) bool {
	switch e.Kind() {
	case 'R':
		return !(e.Value() > feedlessOhms) && !inputOn(d, e.Other(n))
	case 'L', 'I', 'V', 'S', 'W':
		return true
	case 'M', 'J', 'Z':
		return e.Pins() > 2 && (e.Pin(0) == n || e.Pin(2) == n)
	case 'Q':
		return true
	case 'X':
		r := e.Record()
		if r == nil {
			return true
		}
		for i, role := range r.Pins() {
			if role = strings.ToLower(role); i < e.Pins() && e.Pin(i) == n && (role == "supply" || role == "ground" || role == "out" || role == "a" || role == "b" ||
				role == "drain" || role == "source") && r.Role() != "capacitor" && r.Role() != "clamp" {
				return true
			}
		}
	}
	return false
}

// inputOn tells that an input of an amplifier or comparator stands on a net: a resistor to it is part of an input network.
func inputOn(d *design.Design, n circuit.Net) bool { return n != 0 && pinOn(d, n, "in+", "in-") }

// pinOn tells that a pin of one of some roles stands on a net.
func pinOn(d *design.Design, n circuit.Net, roles ...string) bool {
	for e := range d.On(n) {
		if e.Kind() != 'X' || e.Record() == nil {
			continue
		}
		units := append(append(e.Amplifiers(), e.OpAmps()...), "")
		for _, unit := range units {
			for _, role := range roles {
				if at, ok := e.PinOf(role, unit); ok && at == n {
					return true
				}
			}
		}
	}
	return false
}

// exposure words what two terminals leave to the layout, for the lowest shunt.
func exposure(low []design.Element) string {
	worst := low[0]
	for _, e := range low {
		if e.Value() < worst.Value() {
			worst = e
		}
	}
	who := paths(low)
	verb := "has two terminals"
	if len(low) > 1 {
		verb = "have two terminals"
	}
	return fmt.Sprintf("%s %s: holds only if the sense traces leave at the pads; each square of 35 um copper inside them adds %.2f mohm, %.0f %% of %s, and drifts by 0.39 %%/K",
		who, verb, 1e3*squareOhms, 100*squareOhms/worst.Value(), worst.Path())
}
