package builtin

import "math"

// A legPair is the input filter of an amplifier against an edge of the common mode: each leg its series resistance, its
// capacitance to nets that stand still, and what else hangs at its pin and moves with the edge; between the pins a capacitance.
type legPair struct {
	r     [2]float64 // ohm
	still [2]float64 // F, to ground and rails
	moves [2]float64 // F, to nets that move with the edge
	diff  float64    // F, between the pins
}

// Floors of resistance and capacitance, in ohm and farad, below which a leg is as fast as nothing.
const (
	leastLeg      = 1e-3
	leastCapacity = 1e-15
)

// response is the difference of the two pins, in volts, at a time after an edge of a height in volts and a slope in V/s has
// begun, and the two time constants in seconds.
// With w = pin less common mode, M w' = -G w - c u', M the capacitance matrix, G the conductances, c the capacitances to what
// stands still: two exponentials while the edge lasts, and two after it.
func (l legPair) response() (at func(height, slope, t float64) float64, tau [2]float64) {
	var g, c [2]float64
	for i := range 2 {
		g[i] = 1 / max(l.r[i], leastLeg)
		c[i] = l.still[i] + leastCapacity
	}
	m11, m22, m12 := c[0]+l.moves[0]+l.diff, c[1]+l.moves[1]+l.diff, -l.diff
	det := m11*m22 - m12*m12
	// A = M^-1 G has two real eigenvalues above zero: M and G are symmetric and positive definite.
	a11, a12, a21, a22 := m22*g[0]/det, -m12*g[1]/det, -m12*g[0]/det, m11*g[1]/det
	mean, half := (a11+a22)/2, (a11-a22)/2
	root := math.Sqrt(half*half + a12*a21)
	fast := mean + root
	slow := (g[0] * g[1] / det) / fast // the product of both is det A; their difference would lose digits
	// Per unit of slope w stands still at -G^-1 c; the difference of its parts is split between the two modes.
	w := [2]float64{-c[0] / g[0], -c[1] / g[1]}
	dw := w[0] - w[1]
	// d' at the beginning of the edge is that of -M^-1 c.
	d1 := -(m22*c[0]-m12*c[1])/det + (m11*c[1]-m12*c[0])/det
	// d(t)/slope = dw - a e^(-slow t) - b e^(-fast t), a + b = dw, slow a + fast b = d1.
	var a, b float64
	if fast-slow > 1e-9*fast {
		a = (fast*dw - d1) / (fast - slow)
		b = dw - a
	} else {
		a = dw
	}
	// While the edge lasts, and after its end: a e^(-slow (t-T)) (1 - e^(-slow T)), written so that a step keeps its digits.
	return func(height, slope, t float64) float64 {
		end := height / slope
		if t <= end {
			return slope * (-a*math.Expm1(-slow*t) - b*math.Expm1(-fast*t))
		}
		return slope * (-a*math.Exp(-slow*(t-end))*math.Expm1(-slow*end) - b*math.Exp(-fast*(t-end))*math.Expm1(-fast*end))
	}, [2]float64{1 / slow, 1 / fast}
}

// aStep is a slope, in V/s, that is steeper than any edge.
const aStep = 1e15

// peak is the largest difference of the pins that an edge makes, in volts.
func (l legPair) peak(height, slope float64) float64 {
	switch {
	case !(height > 0), !(slope > 0):
		return 0
	case math.IsInf(height, 1):
		return height
	}
	slope = min(slope, aStep)
	at, tau := l.response()
	end := height / slope
	most := 0.0
	try := func(t float64) float64 {
		v := math.Abs(at(height, slope, t))
		most = max(most, v)
		return v
	}
	best, where := try(end), end
	for _, t := range []float64{tau[0], tau[1]} {
		for k := -24; k <= 24; k++ {
			s := math.Pow(10, float64(k)/12) * t
			for _, x := range []float64{s, end + s} {
				if v := try(x); v > best {
					best, where = v, x
				}
			}
		}
	}
	for lo, hi := where/1.25, where*1.25; hi-lo > 1e-7*where; { // golden section, inside one step of the search
		a, b := hi-0.618*(hi-lo), lo+0.618*(hi-lo)
		if try(a) > try(b) {
			hi = b
		} else {
			lo = a
		}
	}
	return most
}

// left is what is left of it a time in seconds after the edge has ended, in volts.
func (l legPair) left(height, slope, after float64) float64 {
	switch {
	case !(height > 0), !(slope > 0), !(after >= 0), math.IsInf(after, 1):
		return 0
	case math.IsInf(height, 1):
		return height
	}
	slope = min(slope, aStep)
	at, _ := l.response()
	return math.Abs(at(height, slope, height/slope+after))
}
