package report

import (
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// cells is the width of the gauge between its ends.
const cells = 32

// gauge draws a quantity between its limits:
//
//	0.055 V !|===================.............| 3.144 V
//
// The figures are the limits, each with its bar. Between them "=" is what a state reaches, "?" what no state was shown
// to reach but nothing declared rules out, or an end that nothing bounds, and "." is room. Outside a bar "!" is a state
// beyond the limit and "?" an end beyond it that nothing declared rules out. A side without a limit has no bar: its
// figure is where the drawing begins.
//
// Without any limit there is nothing to draw.
func gauge(m rules.Measure, s quantity.Scale) string {
	if !finite(m.LimitMin) && !finite(m.LimitMax) {
		return ""
	}
	low, high := window(m)
	var b strings.Builder
	b.WriteString(s.Text(low, towards(finite(m.LimitMin))) + " ")
	if finite(m.LimitMin) {
		b.WriteString(beyond(m.Min < low, m.SoundMin < low || nobodySaid(m)) + "|")
	}
	b.WriteString(inside(m, low, high))
	if finite(m.LimitMax) {
		b.WriteString("|" + beyond(m.Max > high, m.SoundMax > high || nobodySaid(m)))
	}
	b.WriteString(" " + s.Text(high, towards(!finite(m.LimitMax))))
	return b.String()
}

// nobodySaid tells that nothing at all is known of the quantity.
func nobodySaid(m rules.Measure) bool {
	return math.IsNaN(m.Min) && math.IsNaN(m.Max) && math.IsNaN(m.SoundMin) && math.IsNaN(m.SoundMax)
}

func beyond(shown, possible bool) string {
	switch {
	case shown:
		return "!"
	case possible:
		return "?"
	}
	return ""
}

// window is what the gauge spans: the limits; on a side without one zero, where the quantity keeps to one side of it, or
// the last finite end.
func window(m rules.Measure) (low, high float64) {
	ends := make([]float64, 0, 4)
	for _, v := range []float64{m.Min, m.Max, m.SoundMin, m.SoundMax} {
		if finite(v) {
			ends = append(ends, v)
		}
	}
	low, high = m.LimitMin, m.LimitMax
	if !finite(low) {
		low = open(high, ends, -1)
	}
	if !finite(high) {
		high = open(low, ends, 1)
	}
	return low, high
}

// open is the far end of a gauge that has a limit on one side only; side is +1 where the far end is the high one.
func open(limit float64, ends []float64, side float64) float64 {
	far := limit
	if limit*side < 0 {
		far = 0
	}
	for _, v := range ends {
		if v*side > far*side {
			far = v
		}
	}
	if far == limit { // nothing lies on that side
		if limit == 0 {
			return side
		}
		return limit + side*math.Abs(limit)
	}
	return far
}

// inside fills the cells.
func inside(m rules.Measure, low, high float64) string {
	seenLow, seenHigh := m.Min, m.Max
	if math.IsNaN(seenLow) {
		seenLow = seenHigh
	}
	if math.IsNaN(seenHigh) {
		seenHigh = seenLow
	}
	mayLow, mayHigh := m.SoundMin, m.SoundMax
	if math.IsNaN(mayLow) || seenLow < mayLow {
		mayLow = seenLow
	}
	if math.IsNaN(mayHigh) || seenHigh > mayHigh {
		mayHigh = seenHigh
	}
	if nobodySaid(m) {
		mayLow, mayHigh = math.Inf(-1), math.Inf(1)
	}
	if math.IsInf(seenLow, 0) { // nothing bounds that end: only the other one is a place
		seenLow = seenHigh
	}
	if math.IsInf(seenHigh, 0) {
		seenHigh = seenLow
	}
	var out [cells]byte
	for i := range out {
		a := low + (high-low)*float64(i)/cells
		b := low + (high-low)*float64(i+1)/cells
		last := i == cells-1
		switch {
		case touches(seenLow, seenHigh, a, b, last):
			out[i] = '='
		case touches(mayLow, mayHigh, a, b, last):
			out[i] = '?'
		default:
			out[i] = '.'
		}
	}
	return string(out[:])
}

// touches tells whether the reach from p to q has a part in the cell from a to b. A point lies in the cell that begins
// with it, the upper limit in the last cell; limits that coincide are one point.
func touches(p, q, a, b float64, last bool) bool {
	switch {
	case a == b:
		return p <= a && q >= a
	case p == q:
		return p >= a && (p < b || last && p == b)
	}
	return p < b && q > a
}
