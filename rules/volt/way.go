package volt

import (
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
)

// A way is how a current may pass through an element from one of its nets to another, whatever its state.
type way struct {
	a, b circuit.Net
	how  how
	ohms float64 // of what resists; NaN where nobody knows
}

type how uint8

const (
	resists   how = iota
	winds         // an inductor
	holds         // a voltage source
	rectifies     // a diode or a clamp, whichever way it points
	switches
)

// end is the other end of the way from a net; ok is false where the net is none of its ends, or both.
func (w way) end(n circuit.Net) (to circuit.Net, ok bool) {
	switch {
	case w.a == w.b:
		return n, false
	case n == w.a:
		return w.b, true
	case n == w.b:
		return w.a, true
	}
	return n, false
}

// ways are the ways through an element, appended to list: none through capacitors, controlled sources, and what nobody
// knows.
func ways(list []way, e design.Element) []way {
	add := func(i, j int, h how, ohms float64) {
		if i < e.Pins() && j < e.Pins() {
			list = append(list, way{e.Pin(i), e.Pin(j), h, ohms})
		}
	}
	switch e.Kind() {
	case 'R':
		add(0, 1, resists, e.Value())
	case 'L':
		add(0, 1, winds, 0)
	case 'V':
		add(0, 1, holds, 0)
	case 'D':
		add(0, 1, rectifies, 0)
	case 'S', 'W':
		add(0, 1, switches, 0)
	case 'M', 'Q', 'J', 'Z':
		add(0, 2, switches, 0)
	case 'X':
		list = simpleWays(list, e)
	}
	return list
}

// simpleWays are the ways through a part that stands for itself.
func simpleWays(list []way, e design.Element) []way {
	p, ok := simplePart(e)
	if !ok {
		return list
	}
	switch p.role {
	case "shunt":
		list = append(list, way{p.a, p.b, resists, e.ShuntResistance(false).Nom})
		for _, s := range p.sense {
			list = append(list, way{s[0], s[1], resists, 0})
		}
	case "clamp":
		list = append(list, way{p.a, p.b, rectifies, 0})
	case "switch":
		list = append(list, way{p.a, p.b, switches, 0})
	}
	return list
}

// Channel is the two nets that a switch or transistor joins while it is closed; ok is false for what is neither.
func Channel(e design.Element) (a, b circuit.Net, ok bool) {
	var room [4]way
	for _, w := range ways(room[:0], e) {
		if w.how == switches {
			return w.a, w.b, w.a != w.b
		}
	}
	return a, b, false
}
