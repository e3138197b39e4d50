package builtin

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
)

const (
	// beadHenry is up to where an inductor counts as a ferrite bead, which splits the name of a net and not the net at the
	// frequencies of a supply current; common practice, no source.
	beadHenry = 10e-6
	// mostWired is how many nets are looked at for one that goes by several names.
	mostWired = 64
)

// tied tells that an element only gives a net a second name: a piece of wire, a declared net tie, a ferrite bead.
func tied(d *design.Design, e design.Element) bool {
	if e.Pins() != 2 {
		return false
	}
	return e.Short() || netTie(d, e) || e.Kind() == 'L' && e.Value() <= beadHenry
}

// netTie tells that intent calls an element a net tie.
func netTie(d *design.Design, e design.Element) bool {
	f := d.Intent.Get("elements", e.Path(), "net-tie")
	return f != nil && f.Flag
}

// wired are the nets that go with a net by pieces of wire, net ties and ferrite beads, itself first. Node 0 is among them
// where it is reached, and not looked beyond: half of a netlist is on it.
func wired(d *design.Design, n circuit.Net) []circuit.Net {
	out := []circuit.Net{n}
	seen := map[circuit.Net]bool{n: true}
	for i := 0; i < len(out) && len(out) < mostWired; i++ {
		if out[i] == 0 {
			continue
		}
		for e := range d.On(out[i]) {
			if k := e.Kind(); (k == 'R' || k == 'L') && tied(d, e) && !seen[e.Other(out[i])] {
				seen[e.Other(out[i])] = true
				out = append(out, e.Other(out[i]))
			}
		}
	}
	return out
}

// meets tells that two nets are one but for pieces of wire, net ties and ferrite beads.
func meets(d *design.Design, a, b circuit.Net) bool {
	if a == b {
		return true
	}
	if a == 0 {
		a, b = b, a
	}
	for _, n := range wired(d, a) {
		if n == b {
			return true
		}
		if b != 0 && n == 0 { // the other one may reach node 0 as well
			for _, m := range wired(d, b) {
				if m == 0 {
					return true
				}
			}
		}
	}
	return false
}

// ohms is the nominal resistance of a resistor or inductor to direct current; NaN where it is neither or has no value.
func ohms(e design.Element) float64 {
	switch {
	case e.Pins() != 2:
	case e.Kind() == 'L':
		return 0
	case e.Kind() == 'R':
		return e.Value()
	}
	return math.NaN()
}
