package report

import (
	"cmp"
	"math"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// scale is one prefix for all figures of a measure, so that they compare at a glance.
func scale(m rules.Measure) quantity.Scale {
	return quantity.ScaleFor(m.Unit, m.LimitMin, m.LimitMax, reached(m))
}

// limit is the limit that the deciding end is held against; NaN when there is none.
func limit(m rules.Measure) float64 {
	if m.AtHigh {
		return m.LimitMax
	}
	return m.LimitMin
}

// reached is the end that decides: the one a state was found for, unless the margin was counted from the one that no
// state can pass.
func reached(m rules.Measure) float64 {
	seen, sound := m.Min, m.SoundMin
	if m.AtHigh {
		seen, sound = m.Max, m.SoundMax
	}
	if math.IsNaN(seen) {
		return sound
	}
	off := func(end float64) float64 { return math.Abs(math.Abs(limit(m)-end) - math.Abs(m.Margin)) }
	if finite(sound) && finite(m.Margin) && off(sound) < off(seen) {
		return sound
	}
	return seen
}

// towards is the side a printed end of a quantity errs to.
func towards(high bool) quantity.Rounding {
	if high {
		return quantity.Up
	}
	return quantity.Down
}

// relative is the margin as a fraction of the limit's size: of the distance between two limits, of a single limit's
// magnitude. NaN when there is no margin.
func relative(m rules.Measure) float64 {
	size := math.Abs(limit(m))
	if finite(m.LimitMin) && finite(m.LimitMax) && m.LimitMax > m.LimitMin {
		size = m.LimitMax - m.LimitMin
	}
	if size == 0 || !finite(size) {
		size = cmp.Or(math.Abs(reached(m)), 1)
	}
	return m.Margin / size
}

// tightest is the measure of a result with the least relative margin; ok is false where none has a margin.
func tightest(r rules.Result) (m rules.Measure, ok bool) {
	for _, x := range r.Measures {
		if !math.IsNaN(x.Margin) && (!ok || relative(x) < relative(m)) {
			m, ok = x, true
		}
	}
	return m, ok
}

// tighter orders results by their tightest margin; results without any come last.
func tighter(a, b rules.Result) int {
	x, okA := tightest(a)
	y, okB := tightest(b)
	switch {
	case okA && okB:
		return cmp.Compare(relative(x), relative(y))
	case okA:
		return -1
	case okB:
		return 1
	}
	return 0
}
