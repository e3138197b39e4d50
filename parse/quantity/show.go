package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A Rounding is the side that a printed figure errs to, so that no figure looks better than it is.
type Rounding int8

const (
	Near Rounding = iota
	Down
	Up
)

// A Scale prints numbers of one unit with one prefix and one number of decimals, so that figures that stand under
// each other compare at a glance.
type Scale struct {
	factor   float64
	symbol   string
	decimals int
}

var prefixes = []struct {
	factor float64
	symbol string
}{{1e-12, "p"}, {1e-9, "n"}, {1e-6, "u"}, {1e-3, "m"}, {1, ""}, {1e3, "k"}, {1e6, "M"}, {1e9, "G"}}

// prefixed chooses the prefix under which a figure has one to three digits before the point. Units that take none
// (degC, dB) keep theirs; volts are compared in volts down to a twentieth.
func prefixed(v float64, u Unit) (factor float64, symbol string) {
	factor, symbol = 1, u.Symbol
	switch {
	case u.Symbol == "" || u.Symbol == "%":
		return 0.01, "%"
	case u == Celsius || u == Kelvin || u == Decibel || u == VoltPerVolt || v == 0:
		return 1, u.Symbol
	case u == Volt && v >= 0.05 && v < 1:
		return 1, u.Symbol
	case u == PerKelvin:
		return 1e-6, "ppm/K"
	}
	for _, p := range prefixes {
		if v >= p.factor*0.9999999 {
			factor, symbol = p.factor, p.symbol+u.Symbol
		}
	}
	return factor, symbol
}

// ScaleFor chooses a scale for figures of a unit: four digits of the largest; volts to the millivolt below 10 V and to
// 10 mV above. Ratios print in percent.
func ScaleFor(u Unit, figures ...float64) Scale {
	largest := 0.0
	for _, v := range figures {
		if a := math.Abs(v); a > largest && !math.IsInf(a, 0) && !math.IsNaN(a) {
			largest = a
		}
	}
	s := Scale{decimals: 3}
	s.factor, s.symbol = prefixed(largest, u)
	switch {
	case s.symbol == "V" && largest >= 10:
		s.decimals = 2
	case s.symbol != "V" && largest > 0:
		s.decimals = min(6, max(0, 3-int(math.Floor(math.Log10(largest/s.factor)+1e-12))))
	}
	return s
}

// Figure is the number without its unit.
func (s Scale) Figure(v float64, r Rounding) string {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return "unbounded"
	}
	p := math.Pow(10, float64(s.decimals))
	x := v / s.factor * p
	near := math.Round(x)
	switch exact := math.Abs(x-near) < 1e-6*max(1, math.Abs(x)*1e-3); {
	case exact || r == Near:
		x = near
	case r == Down:
		x = math.Floor(x)
	case r == Up:
		x = math.Ceil(x)
	}
	if x == 0 {
		x = 0 // no minus zero
	}
	return strconv.FormatFloat(x/p, 'f', s.decimals, 64)
}

// Text is the number with its unit.
func (s Scale) Text(v float64, r Rounding) string {
	f := s.Figure(v, r)
	if f == "unbounded" {
		return f
	}
	return f + " " + s.symbol
}

// Unit is the symbol with the prefix in use.
func (s Scale) Unit() string { return s.symbol }

// Show prints one number by itself in up to four digits, trailing zeros dropped: "31.9 mV/A", "0.5 V", "10 ohm".
func Show(v float64, u Unit) string {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return "unbounded"
	}
	if u == Ratio && math.Abs(v) >= 1 {
		return fmt.Sprintf("%.4g", v)
	}
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(math.Abs(v), 'e', 3, 64), 64) // 999.96 mA is 1 A
	factor, symbol := prefixed(rounded, u)
	text := fmt.Sprintf("%.4g", v/factor)
	if strings.Contains(text, "e") {
		text = strconv.FormatFloat(v/factor, 'f', -1, 64)
	}
	return strings.TrimSpace(text + " " + symbol)
}
