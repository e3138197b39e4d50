package volt

import "math"

// A reading is what is asked of an answer: a weighted sum of unknowns (node voltages, branch currents) and held nets.
type reading []tap

// A tap that counts 0 times only asks that its node stands somewhere or may: where nothing limits it, so nothing does the
// reading, and where the state is none, nor is there a reading.
type tap struct {
	at    int // an unknown; ^k: input k
	times float64
	idle  int // 1 + an input: it counts only where that is 0; 0: always
}

// of is the reading of a form.
func (is *island) of(f Form) (r reading) {
	for _, t := range f {
		r = append(r, tap{at: is.place(t.Net), times: t.Weight})
	}
	return r
}

// counts tells that a tap counts at these inputs.
func (t tap) counts(x []float64) bool { return t.idle == 0 || x[t.idle-1] == 0 }

// read is the reading's value at these inputs; NaN where the state is none.
func (is *island) read(r reading, x []float64) float64 {
	sum := 0.0
	answer := is.solve(x)
	own := false
	for _, t := range r {
		if !t.counts(x) {
			continue
		}
		if t.at < 0 {
			sum += t.times * x[^t.at]
			own = own || t.idle > 0
			continue
		}
		v := answer[t.at]
		if t.times == 0 {
			switch {
			case math.IsNaN(v) && !is.work.floats[t.at]:
				return math.NaN()
			case math.IsInf(v, 0) && !own:
				return v
			}
			continue
		}
		is.floated = is.floated || t.at < len(is.work.floats) && is.work.floats[t.at]
		if !math.IsInf(v, 0) || !math.IsInf(sum, 0) { // two ends without limit, both ways, are no difference
			sum += t.times * v
		} else {
			sum = math.NaN()
		}
	}
	return sum
}

// A function is a linear function of the unknowns and the known values.
type function struct {
	unknown, known []weight
}

type weight struct {
	of    int
	times float64
}

// volts adds the voltage of a node.
func (f *function) volts(node int, times float64) {
	if node >= 0 {
		f.unknown = append(f.unknown, weight{node, times})
	} else {
		f.known = append(f.known, weight{^node, times})
	}
}

// function is the reading at these inputs.
func (r reading) function(x []float64) (f function) {
	for _, t := range r {
		if t.times != 0 && t.counts(x) {
			f.volts(t.at, t.times)
		}
	}
	return f
}

// floor is below what size a reading's rounding is that of the volts around it: a volt, or a milliampere for a current.
func (r reading) floor(is *island) float64 {
	for _, t := range r {
		if t.times != 0 && t.at < len(is.names) {
			return 1
		}
	}
	return 1e-3
}
