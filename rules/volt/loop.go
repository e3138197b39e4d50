package volt

import "math"

// looped tells that diodes which conduct without any resistance close a ring with each other, with sources and with what
// is held: that is a state only where their voltages add up to exactly nothing, and the states beside it say the same.
func (is *island) looped() bool {
	w := is.work
	g := w.rings
	g.reset()
	held := len(g) - 1
	node := func(n int) int {
		if n < 0 {
			return held
		}
		return n
	}
	for i, b := range is.sources {
		if !is.exact[i] {
			g.join(b.a, b.b)
		}
	}
	for _, c := range is.controls {
		if !c.current {
			g.join(c.a, c.b)
		}
	}
	for _, c := range is.clips {
		g.join(c.out, -1)
	}
	for k, d := range is.diodes {
		if !w.on[k] || d.ohms >= 0 || d.anode < 0 && d.cathode < 0 || d.anode == d.cathode {
			continue
		}
		if g.find(node(d.anode)) == g.find(node(d.cathode)) {
			return true
		}
		g.join(d.anode, d.cathode)
	}
	return false
}

// shorted tells a state in which such a ring carries a current without measure: sources against each other.
func (is *island) shorted() bool {
	const beyondMeasure = 1e6 // A
	if !is.looped() {
		return false
	}
	for k := range is.diodes {
		if is.work.on[k] && math.Abs(is.work.x[is.work.diodeRow+k]) > beyondMeasure {
			return true
		}
	}
	return false
}
