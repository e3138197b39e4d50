package volt

import "math"

// astray takes back the answers that follow, through a controlled source, a node that nothing ties down: they are no
// better known than that node. Which they are shows when the floating groups of nodes are moved.
func (is *island) astray(x []float64) {
	w := is.work
	held := is.find(len(is.names))
	clear(w.moved)
	first, floats := -1, false
	for _, c := range is.controls {
		for _, t := range c.volts {
			for _, n := range []int{t.p, t.n} {
				if n < 0 || is.find(n) == held {
					continue
				}
				g := is.find(n)
				if first < 0 {
					first = n
				}
				// Each is moved by another voltage, lest they cancel, and by what shows beside where it stands.
				if _, ok := w.moved[g]; !ok {
					w.moved[g] = (1 + math.Sqrt2*float64(len(w.moved))) * max(1, math.Abs(w.x[n]))
				}
				floats = floats || w.floats[n] || math.IsInf(w.answer[n], 0)
			}
		}
	}
	if first < 0 {
		return
	}
	was := append([]float64(nil), w.x...)
	solved := is.assemble(x)
	for k, v := range w.x {
		off := v - was[k]
		if solved && math.Abs(off) <= 1e-9*max(1, math.Abs(was[k])) {
			continue
		}
		switch {
		case k >= len(is.names):
			w.answer[k] = math.NaN()
		case hasKey(w.moved, is.find(k)): // it is known to float
		case solved && len(w.moved) == 1 && math.IsInf(w.answer[first], 0) && !w.floats[first]:
			w.answer[k] = w.answer[first] * math.Copysign(1, off) // nothing limits it either
		default:
			w.answer[k] = math.NaN()
			if w.floats[k] = floats; !floats {
				continue
			}
			is.floating = is.principal(is.find(first))
			if len(x) > w.level && x[w.level] == 0 {
				w.answer[k] = math.Inf(-1)
			} else if len(x) > w.level && x[w.level] == 1 {
				w.answer[k] = math.Inf(1)
			}
		}
	}
	copy(w.x, was)
	clear(w.moved)
}

func hasKey(m map[int]float64, k int) bool { _, ok := m[k]; return ok }
