package quantity

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A literal is a number and a unit as written, not yet converted.
type literal struct{ number, unit string }

func (l literal) text() string {
	if l.unit == "" {
		return l.number
	}
	return l.number + " " + l.unit
}

// numberEnd is the length of the decimal number that s begins with; 0 when it begins with none.
func numberEnd(s string) int {
	digits := func(i int) int {
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
		return i
	}
	start := 0
	if s != "" && (s[0] == '-' || s[0] == '+') {
		start = 1
	}
	i := digits(start)
	seen := i - start
	if i < len(s) && s[i] == '.' {
		j := digits(i + 1)
		seen += j - i - 1
		i = j
	}
	if seen == 0 {
		return 0
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '-' || s[j] == '+') {
			j++
		}
		if k := digits(j); k > j {
			i = k
		}
	}
	return i
}

// scaled is number times ten to a power, rounded once.
func scaled(number string, exp int) (float64, error) {
	mantissa, power, _ := strings.Cut(strings.ToLower(number), "e")
	if power != "" {
		p, err := strconv.Atoi(power)
		if err != nil || p < -10000 || p > 10000 {
			return 0, fmt.Errorf("%s is out of range", quote(number))
		}
		exp += p
	}
	v, err := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(exp), 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, fmt.Errorf("%s is out of range", quote(number))
	}
	return v, nil
}

// absoluteZero is 0 K in degC.
const absoluteZero = -273.15

// in converts a literal to the unit that is wanted.
func (l literal) in(want Unit) (float64, measure, error) {
	m, err := l.measure(want)
	if err != nil {
		return 0, m, err
	}
	if !m.fits(want) {
		if hint := netlistNotation(l, want); l.unit == "K" && hint != "" {
			return 0, m, errors.New(hint)
		}
		return 0, m, misfit(l.text(), l.unit, m, want)
	}
	v, err := scaled(l.number, m.exp)
	if err != nil || want != Celsius {
		return v, m, err
	}
	if m.kind == linear {
		v += absoluteZero
	}
	if v < absoluteZero {
		return 0, m, fmt.Errorf("%s is below absolute zero", quote(l.text()))
	}
	return v, m, nil
}

// measure reads the unit of a literal; want only chooses the words of an error.
func (l literal) measure(want Unit) (measure, error) {
	if l.unit == "" {
		return measure{}, fmt.Errorf("%s has no unit; this wants %s, such as %s", quote(l.number), describe(want),
			quote(l.number+" "+want.Example()))
	}
	if m, ok := readUnit(l.unit); ok {
		return m, nil
	}
	if hint := netlistNotation(l, want); hint != "" {
		return measure{}, errors.New(hint)
	}
	if near := nearestUnit(l.unit, want); near != "" {
		return measure{}, fmt.Errorf("unknown unit %s; did you mean %s?", quote(l.unit), quote(near))
	}
	return measure{}, fmt.Errorf("unknown unit %s; this wants %s", quote(l.unit), describe(want))
}

// netlistSuffixes are the scale suffixes of netlists and what they are here.
var netlistSuffixes = map[string]string{
	"t": "T", "g": "G", "meg": "M", "k": "k", "m": "m", "u": "u", "n": "n", "p": "p", "f": "f",
}

// netlistNotation recognises "10meg" and "4K7" and says how they are written here; "" when it is neither.
func netlistNotation(l literal, want Unit) string {
	if _, ok := atoms[want.Symbol]; !ok {
		return ""
	}
	text := l.number + l.unit
	if l.unit == "M" {
		return fmt.Sprintf("%s is netlist notation; write %s for milli or %s for mega", quote(text),
			quote(l.number+" m"+want.Symbol), quote(l.number+" M"+want.Symbol))
	}
	suffix := strings.ToLower(l.unit)
	for _, word := range []string{strings.ToLower(want.Symbol), "ohms"} {
		if s := strings.TrimSuffix(suffix, word); s == "meg" {
			suffix = s
		}
	}
	if prefix, ok := netlistSuffixes[suffix]; ok {
		return fmt.Sprintf("%s is netlist notation; write %s", quote(text), quote(l.number+" "+prefix+want.Symbol))
	}
	if letters := strings.TrimRight(l.unit, "0123456789"); len(letters) == 1 && letters != l.unit &&
		!strings.ContainsAny(l.number, ".eE") {
		number := l.number + "." + l.unit[1:]
		prefix, known := map[string]string{"K": "k", "k": "k", "M": "M", "m": "m", "u": "u", "n": "n", "p": "p"}[letters]
		if known || strings.ContainsAny(letters, "RrEV") {
			return fmt.Sprintf("%s is not a number with a unit; write %s", quote(text),
				quote(number+" "+prefix+want.Symbol))
		}
	}
	return ""
}
