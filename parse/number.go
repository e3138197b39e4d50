package parse

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Number reads a number as SPICE does: a mantissa, an exponent behind E or D, a scale factor, and letters that mean
// nothing. tail is those letters ("Ohm", and also the "7" that 4K7 silently loses). ok is false where the text is no
// number. The micro sign counts as U; nobody means anything else by it.
func Number(s string) (value float64, tail string, ok bool) {
	mantissa, exponent, mil, tail, ok := dissect(s)
	if !ok {
		return math.NaN(), "", false
	}
	// One conversion from decimal, so that 33m is the double nearest to 0.033.
	value, exact := small(mantissa, exponent)
	if !exact {
		var err error
		value, err = strconv.ParseFloat(mantissa+"e"+strconv.Itoa(exponent), 64)
		if err != nil && math.IsInf(value, 0) {
			return math.NaN(), "", false
		}
	}
	if mil {
		if value *= 25.4e-6; math.IsInf(value, 0) {
			return math.NaN(), "", false
		}
	}
	return value, tail, true
}

// small converts a decimal whose digits and power of ten are doubles both: then one rounding is all there is.
// (W. D. Clinger, How to Read Floating Point Numbers Accurately, 1990.)
func small(mantissa string, exponent int) (value float64, exact bool) {
	whole, negative := uint64(0), false
	for i := range len(mantissa) {
		switch b := mantissa[i]; {
		case b == '-':
			negative = true
		case b == '.':
			exponent -= len(mantissa) - 1 - i
		case whole >= 1<<53/10:
			return 0, false
		default:
			whole = whole*10 + uint64(b-'0')
		}
	}
	switch value = float64(whole); {
	case whole >= 1<<53 || exponent < -22 || exponent > 22:
		return 0, false
	case exponent < 0:
		value /= tens[-exponent]
	default:
		value *= tens[exponent]
	}
	if negative {
		value = -value
	}
	return value, true
}

// tens are the powers of ten that a double holds exactly.
var tens = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
	1e19, 1e20, 1e21, 1e22}

// dissect splits a number into what strconv understands, the power of ten of exponent and scale factor together, and
// the letters that are ignored.
func dissect(s string) (mantissa string, exponent int, mil bool, tail string, ok bool) {
	i := 0
	if i < len(s) && s[i] == '+' {
		i++
	}
	start := i // "+-5" is -5, "-+5" is nothing
	if i < len(s) && s[i] == '-' {
		i++
	}
	digits := 0
	for dot := false; i < len(s) && (digit(s[i]) || s[i] == '.' && !dot); i++ {
		if s[i] == '.' {
			dot = true
		} else {
			digits++
		}
	}
	if digits == 0 {
		return "", 0, false, "", false
	}
	mantissa = s[start:i]
	if i < len(s) && (lower(s[i]) == 'e' || lower(s[i]) == 'd') {
		i++
		sign := 1
		if i < len(s) && (s[i] == '+' || s[i] == '-') {
			if s[i] == '-' {
				sign = -1
			}
			i++
		}
		for ; i < len(s) && digit(s[i]); i++ {
			exponent = min(exponent*10+int(s[i]-'0'), 1_000_000)
		}
		exponent *= sign
	}
	scale, mil, n := scaleFactor(s[i:])
	tail = s[i+n:]
	for _, r := range tail {
		if 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' {
			continue
		}
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) || r == utf8.RuneError {
			return "", 0, false, "", false
		}
	}
	return mantissa, exponent + scale, mil, tail, true
}

// scaleFactor reads the scale factor that a text starts with: its power of ten, or mil for 25.4e-6, and its length.
func scaleFactor(s string) (power int, mil bool, n int) {
	if s == "" {
		return 0, false, 0
	}
	if s[0] >= utf8.RuneSelf {
		for _, micro := range []string{"\u00b5", "\u03bc", "\xb5"} { // the last is the same sign in Latin-1
			if strings.HasPrefix(s, micro) {
				return -6, false, len(micro)
			}
		}
	}
	switch lower(s[0]) {
	case 't':
		return 12, false, 1
	case 'g':
		return 9, false, 1
	case 'k':
		return 3, false, 1
	case 'u':
		return -6, false, 1
	case 'n':
		return -9, false, 1
	case 'p':
		return -12, false, 1
	case 'f':
		return -15, false, 1
	case 'm':
		if len(s) >= 3 {
			switch string([]byte{lower(s[0]), lower(s[1]), lower(s[2])}) {
			case "meg":
				return 6, false, 3
			case "mil":
				return 0, true, 3
			}
		}
		return -3, false, 1
	}
	return 0, false, 0
}

func digit(b byte) bool { return '0' <= b && b <= '9' }

func lower(b byte) byte {
	if 'A' <= b && b <= 'Z' {
		return b + 'a' - 'A'
	}
	return b
}
