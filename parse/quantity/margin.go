package quantity

import (
	"fmt"
	"math"
)

// Unbounded is the margin, as it is written and printed, where nothing limits the distance beyond a limit.
const Unbounded = "unbounded"

// ReadMargin reads a distance from a limit in whatever unit stands behind it: "-0.2 V", "3 %". That of Unbounded is
// minus infinity, in the zero Unit.
func ReadMargin(s string) (margin float64, unit Unit, err error) {
	if s == Unbounded {
		return math.Inf(-1), Ratio, nil
	}
	for _, n := range nouns {
		if w, err := ReadWritten(s, n.unit); err == nil && w.Form == Bare && n.unit != VoltPerVolt {
			return w.Nom, n.unit, nil
		}
	}
	return 0, Ratio, fmt.Errorf("%s is no margin; write one number with its unit, such as \"-0.2 V\", or %q", quote(s), Unbounded)
}
