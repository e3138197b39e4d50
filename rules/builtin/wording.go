package builtin

import (
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// reaches words a failed range: "in- reaches 62.0 V, the part measures up to 58 V".
func reaches(what, verb string) func(rules.Measure) string {
	return func(m rules.Measure) string {
		sc := quantity.ScaleFor(m.Unit, m.Min, m.Max, m.LimitMin, m.LimitMax)
		end, limit, side := m.Max, m.LimitMax, "up to"
		round := quantity.Up
		if !m.AtHigh {
			end, limit, side, round = m.Min, m.LimitMin, "down to", quantity.Down
		}
		if unlimited(end) {
			return fmt.Sprintf("%s is unbounded, %s %s %s", what, verb, side, sc.Text(limit, quantity.Near))
		}
		if m.Margin > 0 || m.Margin == 0 && m.Level == rules.Warning {
			return fmt.Sprintf("%s comes within %s of its rating: it reaches %s, %s %s %s", what,
				sc.Text(m.Margin, quantity.Down), sc.Text(end, round), verb, side, sc.Text(limit, quantity.Near))
		}
		return fmt.Sprintf("%s reaches %s, %s %s %s", what, sc.Text(end, round), verb, side, sc.Text(limit, quantity.Near))
	}
}

func unlimited(v float64) bool { return v > 1e300 || v < -1e300 }

// toThree rounds a value other than 0 up or down to three digits.
func toThree(v float64, up bool) float64 {
	s := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
	if up {
		return math.Ceil(v/s-1e-9) * s
	}
	return math.Floor(v/s+1e-9) * s
}
