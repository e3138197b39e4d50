package quantity

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// A Unit is a symbol and its dimension, as powers of m, kg, s, A, K. Numbers are kept in the unit itself: volts, not
// millivolts.
type Unit struct {
	Symbol string
	Dim    [5]int8
}

// The units that fields are declared in. Celsius is an absolute temperature and Decibel a level: their numbers stay in
// degC and dB. Kelvin is a difference of temperatures.
var (
	Ratio         = Unit{"", [5]int8{}}
	Volt          = Unit{"V", [5]int8{2, 1, -3, -1, 0}}
	Amp           = Unit{"A", [5]int8{0, 0, 0, 1, 0}}
	Ohm           = Unit{"ohm", [5]int8{2, 1, -3, -2, 0}}
	Second        = Unit{"s", [5]int8{0, 0, 1, 0, 0}}
	Hertz         = Unit{"Hz", [5]int8{0, 0, -1, 0, 0}}
	Farad         = Unit{"F", [5]int8{-2, -1, 4, 2, 0}}
	Henry         = Unit{"H", [5]int8{2, 1, -2, -2, 0}}
	Watt          = Unit{"W", [5]int8{2, 1, -3, 0, 0}}
	Joule         = Unit{"J", [5]int8{2, 1, -2, 0, 0}}
	Kelvin        = Unit{"K", [5]int8{0, 0, 0, 0, 1}}
	Celsius       = Unit{"degC", [5]int8{0, 0, 0, 0, 1}}
	VoltPerAmp    = Unit{"V/A", [5]int8{2, 1, -3, -2, 0}}
	AmpPerVolt    = Unit{"A/V", [5]int8{-2, -1, 3, 2, 0}}
	VoltPerVolt   = Unit{"V/V", [5]int8{}}
	VoltPerSecond = Unit{"V/s", [5]int8{2, 1, -4, -1, 0}}
	AmpPerSecond  = Unit{"A/s", [5]int8{0, 0, -1, 1, 0}}
	PerKelvin     = Unit{"1/K", [5]int8{0, 0, 0, 0, -1}}
	VoltPerKelvin = Unit{"V/K", [5]int8{2, 1, -3, -1, -1}}
	KelvinPerWatt = Unit{"K/W", [5]int8{-2, -1, 3, 0, 1}}
	Decibel       = Unit{"dB", [5]int8{}}
)

// nouns says what a unit measures; the example is the unit a missing one is shown with.
var nouns = []struct {
	unit    Unit
	noun    string
	example string
}{
	{Ratio, "a ratio", "%"}, {Volt, "a voltage", "V"}, {Amp, "a current", "A"}, {Ohm, "a resistance", "ohm"},
	{Second, "a time", "s"}, {Hertz, "a frequency", "Hz"}, {Farad, "a capacitance", "F"},
	{Henry, "an inductance", "H"}, {Watt, "a power", "W"}, {Joule, "an energy", "J"},
	{Kelvin, "a temperature difference", "K"}, {Celsius, "a temperature", "degC"},
	{VoltPerAmp, "a scale", "V/A"}, {AmpPerVolt, "a transconductance", "A/V"}, {VoltPerVolt, "a ratio", "V/V"},
	{VoltPerSecond, "a slew rate", "V/us"}, {AmpPerSecond, "a rate of current", "A/us"},
	{PerKelvin, "a temperature coefficient", "ppm/K"}, {VoltPerKelvin, "a voltage drift", "uV/K"},
	{KelvinPerWatt, "a thermal resistance", "K/W"}, {Decibel, "a level", "dB"},
}

// describe is how messages name a unit: "a voltage (V)".
func describe(u Unit) string {
	for _, n := range nouns {
		switch {
		case n.unit != u:
		case u == Ratio:
			return n.noun
		default:
			return n.noun + " (" + u.Symbol + ")"
		}
	}
	return "a quantity in " + u.Symbol
}

// Example is the unit as a person would write it after a number of this unit: "%" for a ratio, "ppm/K" for a
// temperature coefficient.
func (u Unit) Example() string {
	for _, n := range nouns {
		if n.unit == u {
			return n.example
		}
	}
	return u.Symbol
}

// String is the symbol; the empty text for a ratio.
func (u Unit) String() string { return u.Symbol }

type measureKind uint8

const (
	linear   measureKind = iota // a power of ten times base units
	fraction                    // % or ppm: a ratio that is relative when it is a tolerance
	celsius                     // an absolute temperature
	decibel                     // a level
)

// A measure is what a written unit multiplies a number by. Every unit accepted is a power of ten of base units, so that a
// number and its unit are converted together, rounded once.
type measure struct {
	exp  int
	dim  [5]int8
	kind measureKind
}

var atoms = map[string]measure{
	"V": {0, Volt.Dim, linear}, "A": {0, Amp.Dim, linear}, "ohm": {0, Ohm.Dim, linear}, "\u03a9": {0, Ohm.Dim, linear},
	"\u2126": {0, Ohm.Dim, linear}, "Hz": {0, Hertz.Dim, linear}, "F": {0, Farad.Dim, linear}, "H": {0, Henry.Dim, linear},
	"W": {0, Watt.Dim, linear}, "J": {0, Joule.Dim, linear}, "s": {0, Second.Dim, linear}, "K": {0, Kelvin.Dim, linear},
}

// bare are the units that take no prefix.
var bare = map[string]measure{
	"%": {-2, Ratio.Dim, fraction}, "ppm": {-6, Ratio.Dim, fraction}, "1": {0, Ratio.Dim, linear},
	"degC": {0, Celsius.Dim, celsius}, "°C": {0, Celsius.Dim, celsius}, "dB": {0, Ratio.Dim, decibel},
}

var unitPrefixes = []struct {
	text string
	exp  int
}{
	{"T", 12}, {"G", 9}, {"M", 6}, {"k", 3}, {"m", -3}, {"u", -6}, {"\u00b5", -6}, {"\u03bc", -6}, {"n", -9}, {"p", -12}, {"f", -15},
}

// maxFactors bounds a compound unit.
const maxFactors = 6

// readUnit reads a unit: an atom with or without a prefix, or products and quotients of them, "V/ns", "V*s". A degC in
// a quotient is a difference of temperatures.
func readUnit(text string) (total measure, ok bool) {
	if s, ok := readFactor(text); ok && text != "1" {
		return s, true
	}
	words := strings.FieldsFunc(text, isUnitOperator)
	operators := strings.Map(func(r rune) rune {
		if isUnitOperator(r) {
			return r
		}
		return -1
	}, text)
	signs := []rune(operators)
	if len(words) < 2 || len(words) > maxFactors || len(signs) != len(words)-1 {
		return measure{}, false
	}
	for i, word := range words {
		s, ok := readFactor(word)
		if !ok || s.kind == decibel {
			return measure{}, false
		}
		sign := 1
		if i > 0 && signs[i-1] == '/' {
			sign = -1
		}
		total.exp += sign * s.exp
		for d := range s.dim {
			total.dim[d] += int8(sign) * s.dim[d]
		}
	}
	return total, true
}

func isUnitOperator(r rune) bool { return r == '/' || r == '*' || r == '·' }

func readFactor(word string) (measure, bool) {
	if s, ok := bare[word]; ok {
		return s, true
	}
	if s, ok := atoms[word]; ok {
		return s, true
	}
	for _, p := range unitPrefixes {
		if tail, ok := strings.CutPrefix(word, p.text); ok {
			if s, ok := atoms[tail]; ok {
				s.exp += p.exp
				return s, true
			}
		}
	}
	return measure{}, false
}

// fits tells that a written unit measures what is wanted.
func (s measure) fits(want Unit) bool {
	switch {
	case want == Celsius:
		return s.kind == celsius || s.kind == linear && s.dim == want.Dim
	case want == Decibel:
		return s.kind == decibel
	}
	return s.kind <= fraction && s.dim == want.Dim
}

// noun says what a written unit measures, for the message that it does not fit.
func (s measure) noun(text string) string {
	switch {
	case s.kind == celsius:
		return "a temperature"
	case s.kind == decibel:
		return "a level"
	case s.kind == linear && strings.ContainsAny(text, "/*·") && s.dim != Ratio.Dim:
		return "in " + text
	}
	for _, n := range nouns {
		if n.unit.Dim == s.dim {
			return n.noun
		}
	}
	return "in " + text
}

// misfit is the message that a quantity measures something else than is wanted.
func misfit(quantity, unit string, s measure, want Unit) error {
	return fmt.Errorf("%s is %s, this wants %s", quote(quantity), s.noun(unit), describe(want))
}

// spelled are units as people spell them out.
var spelled = map[string]string{
	"volt": "V", "volts": "V", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A", "ohms": "ohm", "r": "ohm",
	"hertz": "Hz", "farad": "F", "farads": "F", "henry": "H", "henries": "H", "watt": "W", "watts": "W",
	"joule": "J", "joules": "J", "sec": "s", "second": "s", "seconds": "s", "c": "degC", "deg": "degC",
	"°": "degC", "celsius": "degC", "kelvin": "K", "percent": "%", "db": "dB", "degc": "degC", "ppm/c": "ppm/K",
	"ppm/°c": "ppm/K",
}

// nearestUnit is the known unit closest to a mistyped one, those that measure what is wanted first; "" when none is.
func nearestUnit(text string, want Unit) string {
	if u, ok := spelled[strings.ToLower(text)]; ok {
		return u
	}
	if len(text) > 12 {
		return ""
	}
	known := make([]string, 0, 160)
	for word := range atoms {
		known = append(known, word)
		for _, p := range unitPrefixes {
			known = append(known, p.text+word)
		}
	}
	for word := range bare {
		known = append(known, word)
	}
	for _, n := range nouns {
		known = append(known, n.example, n.unit.Symbol)
	}
	known = append(known, "uV/V", "mV/A", "V/ns", "A/ns", "%/K", "ppm/K")
	slices.Sort(known)
	var fitting []string
	for _, k := range known {
		if s, ok := readUnit(k); ok && s.fits(want) {
			fitting = append(fitting, k)
		}
	}
	if near := source.Nearest(text, slices.Values(fitting)); near != "" {
		return near
	}
	return source.Nearest(text, slices.Values(known))
}

// quote puts a text of a file into a message: escaped, and cut where it is long.
func quote(s string) string {
	if r := []rune(s); len(r) > 60 {
		s = string(r[:57]) + "..."
	}
	return fmt.Sprintf("%q", s)
}
