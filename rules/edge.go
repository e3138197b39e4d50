package rules

import "math"

// A trial is what judging again at one value gave: whether it is good, and the margin that the check has there; NaN where it has
// none.
type trial struct {
	good   bool
	margin float64
}

// edge moves a bad and a good value towards each other until close says that they are near enough, and returns the good one.
// Where the margins of both are known it looks where a straight line between them crosses zero (regula falsi, the older end
// counting half when the same one moved twice), else in the middle.
func edge(bad, ok float64, atBad, atOk trial, try func(float64) trial, middle func(a, b float64) float64, close func(bad, ok float64) bool) float64 {
	lo, hi := atBad.margin, atOk.margin
	moved := 0 // which end moved last, and how often: negative the bad one
	for range 48 {
		if close(bad, ok) {
			break
		}
		x := middle(bad, ok)
		if lo < 0 && hi > 0 && known(lo) && known(hi) && moved > -4 && moved < 4 {
			x = bad + (ok-bad)*math.Min(math.Max(lo/(lo-hi), 0.001), 0.999)
		}
		t := try(x)
		switch {
		case t.good:
			ok, hi = x, t.margin
			if moved = max(moved, 0) + 1; moved > 1 {
				lo /= 2
			}
		default:
			bad, lo = x, t.margin
			if moved = min(moved, 0) - 1; moved < -1 {
				hi /= 2
			}
		}
		if moved >= 4 || moved <= -4 { // the line leads nowhere: halve once
			moved = 0
			if m := middle(bad, ok); !close(bad, ok) {
				if t := try(m); t.good {
					ok, hi = m, t.margin
				} else {
					bad, lo = m, t.margin
				}
			}
		}
	}
	return ok
}
