package volt

import "math"

// The states of the diodes and of the outputs stand in one list: on[k] for a diode, then two for each output, that it
// stops low and that it stops high.

func (is *island) lowOf(clip int) int { return len(is.diodes) + 2*clip }

// writeClips writes the equation of each output: it carries what it must.
func (is *island) writeClips(add func(row, col int, v float64), branch func(a, b, row int), apply func(row int, f function)) {
	w := is.work
	for i, c := range is.clips {
		row := w.clipRow + i
		if c.out < 0 { // something else holds it
			add(row, row, 1)
			continue
		}
		branch(c.out, ^is.held[0], row)
		low, high := w.on[is.lowOf(i)], w.on[is.lowOf(i)+1]
		switch {
		case low:
			apply(row, function{unknown: []weight{{c.out, 1}}})
			apply(row, c.low.function(-1))
		case high:
			apply(row, function{unknown: []weight{{c.out, 1}}})
			apply(row, c.high.function(-1))
		case c.law >= 0:
			apply(row, function{unknown: []weight{{c.out, 1}, {c.law, -1}}})
		default:
			apply(row, c.meets())
		}
	}
}

// meets is how far the inputs of a nullor are from meeting: n above p, with the offset.
func (c clip) meets() (f function) {
	f.volts(c.p, -1)
	f.volts(c.n, 1)
	f.known = append(f.known, weight{c.offset, 1})
	return f
}

// clipConditions are what each output asks as it stands: between its levels, or driven beyond the one at which it stops.
func (is *island) clipConditions() (fs []function, of []int) {
	for i, c := range is.clips {
		if c.out < 0 {
			continue
		}
		k := is.lowOf(i)
		ask := func(f function, bit int) { fs, of = append(fs, f), append(of, bit) }
		plus := func(f function, node int, times float64) function {
			f.volts(node, times)
			return f
		}
		driven := func(sign float64, l level) function { // sign times the law beyond a level
			if c.law >= 0 {
				return plus(l.function(-sign), c.law, sign)
			}
			f := c.meets()
			for j := range f.unknown {
				f.unknown[j].times *= -sign
			}
			for j := range f.known {
				f.known[j].times *= -sign
			}
			return f
		}
		switch {
		case is.work.on[k]:
			ask(driven(-1, c.low), k)
		case is.work.on[k+1]:
			ask(driven(1, c.high), k+1)
		default:
			ask(plus(c.low.function(-1), c.out, 1), k)
			ask(plus(c.high.function(1), c.out, -1), k+1)
		}
	}
	return fs, of
}

// clipped is the output that contradicts its state most, as the number of the state to change; -1 for none.
func (is *island) clipped(x []float64, worst float64) (float64, int) {
	at := -1
	fs, of := is.clipConditions()
	for i, f := range fs {
		v, size := 0.0, 1.0
		for _, t := range f.unknown {
			v += t.times * is.work.x[t.of]
			size = max(size, math.Abs(t.times*is.work.x[t.of]))
		}
		for _, t := range f.known {
			v += t.times * x[t.of]
			size = max(size, math.Abs(t.times*x[t.of]))
		}
		if -v > 1e-9*size && -v > worst {
			worst, at = -v, of[i]
		}
	}
	return worst, at
}
