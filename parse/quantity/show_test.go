package quantity

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestShow(t *testing.T) {
	for _, c := range []struct {
		v    float64
		u    Unit
		want string
	}{
		{0.0319, VoltPerAmp, "31.9 mV/A"}, {0.5, Volt, "0.5 V"}, {10, Ohm, "10 ohm"}, {1e-3, Ohm, "1 mohm"}, {4.7e3, Ohm, "4.7 kohm"},
		{0, Volt, "0 V"}, {-20, Amp, "-20 A"}, {0.02, Ratio, "2 %"}, {1e6, Ohm, "1 Mohm"}, {85, Celsius, "85 degC"},
		{0.99996, Amp, "1 A"}, {71e-6, Volt, "71 uV"}, {-2.3e-3, Volt, "-2.3 mV"}, {math.Inf(1), Volt, "unbounded"}, {math.NaN(), Volt, "unbounded"},
	} {
		if got := Show(c.v, c.u); got != c.want {
			t.Errorf("Show(%v, %v) = %q, want %q", c.v, c.u, got, c.want)
		}
	}
}

// read takes a printed figure back to a number.
func read(t interface{ Fatalf(string, ...any) }, text string) float64 {
	number, unit, _ := strings.Cut(text, " ")
	v, err := strconv.ParseFloat(number, 64)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	factor := map[string]float64{"pV": 1e-12, "nV": 1e-9, "uV": 1e-6, "mV": 1e-3, "V": 1, "kV": 1e3, "MV": 1e6, "GV": 1e9}[unit]
	if factor == 0 {
		t.Fatalf("%q: unit", text)
	}
	return v * factor
}

// No figure promises more than the number: rounded down it is not larger, rounded up not smaller, and never by more than
// the last digit. What is a round number but for the rounding of the arithmetic prints as it.
func TestFiguresErrToTheirSide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1, 1).Draw(t, "digits") * math.Pow(10, float64(rapid.IntRange(-6, 6).Draw(t, "decade")))
		other := rapid.Float64Range(-100, 100).Draw(t, "beside")
		s := ScaleFor(Volt, v, other)
		slack := 2e-6 * s.factor * math.Pow(10, -float64(s.decimals)) * max(1, math.Abs(v)/s.factor*math.Pow(10, float64(s.decimals))*1e-3)
		down, up, near := read(t, s.Text(v, Down)), read(t, s.Text(v, Up)), read(t, s.Text(v, Near))
		if down > v+slack || up < v-slack {
			t.Fatalf("%v prints as %q rounded down and %q rounded up", v, s.Text(v, Down), s.Text(v, Up))
		}
		step := s.factor * math.Pow(10, -float64(s.decimals)) * 1.0001
		if v-down > step || up-v > step || math.Abs(near-v) > step/2 {
			t.Fatalf("%v prints as %q, %q and %q", v, s.Text(v, Down), s.Text(v, Near), s.Text(v, Up))
		}
	})
}

func TestFigures(t *testing.T) {
	for _, c := range []struct {
		v    float64
		r    Rounding
		want string
	}{
		{58.04, Up, "58.1 V"}, {58.04, Down, "58.0 V"}, {-0.1404, Down, "-0.2 V"}, {61.96, Down, "61.9 V"}, {0.1 + 0.2, Up, "0.3 V"},
		{62 + 1e-12, Up, "62.0 V"}, {62 - 1e-12, Down, "62.0 V"}, {-0.00001, Up, "0.0 V"},
	} {
		s := Scale{1, "V", 1}
		if got := s.Text(c.v, c.r); got != c.want {
			t.Errorf("%v rounded to side %d prints %q, want %q", c.v, c.r, got, c.want)
		}
	}
	s := ScaleFor(Volt, math.Inf(1), 3)
	if s.Text(math.Inf(1), Up) != "unbounded" || s.Text(math.NaN(), Near) != "unbounded" {
		t.Error("an infinite figure has digits")
	}
	// A gauge's figures stand under each other with one prefix.
	s = ScaleFor(Volt, 0.0003, 0.072, 0.0018)
	if s.Unit() != ScaleFor(Volt, 0.072).Unit() {
		t.Errorf("unit %q", s.Unit())
	}
}

// A margin that is negative must not print as zero, nor a failing figure as its limit.
func TestSmallMarginsKeepTheirSign(t *testing.T) {
	s := ScaleFor(Volt, 5.5004, 5.5)
	if got := s.Text(5.5004, Up); got == s.Text(5.5, Near) {
		t.Errorf("5.5004 V, beyond 5.5 V, prints as %s", got)
	}
	if got := s.Text(-0.0004, Down); strings.Trim(got, "-0. V") == "" {
		t.Errorf("a margin of -0.4 mV prints as %s", got)
	}
}

// A magnitude that four digits show prints without an error larger than half of the fourth.
func TestShowKeepsFourDigits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(1, 10).Draw(t, "digits") * math.Pow(10, float64(rapid.IntRange(-11, 8).Draw(t, "decade")))
		got := read(t, Show(v, Volt))
		if math.Abs(got-v) > 0.5001e-3*v {
			t.Fatalf("%v prints as %q", v, Show(v, Volt))
		}
	})
}
