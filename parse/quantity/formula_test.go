package quantity

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// volts are the nets of the examples.
var volts = map[string]float64{"supply": 5, "ground": 0.5, "V3V3": 3.3, "a": 1, "b": -2, "+5V": 5.1, "net-5": -5, "5V": 4.9,
	"0": 0, "a b": 7, "it's": 8, "min": 9, "x1.n2": 11, "-": 12}

func TestFormula(t *testing.T) {
	for _, c := range []struct {
		text  string
		value float64
		print string // "" when it prints as it stands
	}{
		{"supply - 90 mV", 4.91, ""},
		{"max(ground - 7 V, supply - 66 V)", -6.5, ""},
		{"V3V3 / 2", 1.65, ""},
		{"ground", 0.5, ""},
		{"0.5 * (a + b)", -0.5, ""},
		{"55 mV", 0.055, ""},
		{"-7 V", -7, ""},
		{"+5V - net-5", 10.1, ""},
		{"5V / 2", 2.45, ""},
		{"'0' + 'a b'", 7, ""},
		{`"it's"`, 8, ""},
		{"min(a, b, 'min')", -2, "min(a, b, min)"},
		{"min * 2", 18, ""},
		{"'-' - 1 V", 11, ""},
		{"x1.n2", 11, ""},
		{"- supply + 1 V", -4, ""},
		{"- (a - b) * 2", -6, ""},
		{"a - (b - 1 V)", 4, ""},
		{"a - b - 1 V", 2, ""},
		{"(a - b) - 1 V", 2, "a - b - 1 V"},
		{"supply / (2 * 5)", 0.5, ""},
		{"supply / 2 * 5", 12.5, ""},
		{"supply * a / a", 5, ""},
		{"supply * 50 %", 2.5, ""},
		{"2 A * 100 mohm", 0.2, ""},
		{"31.9 mV/A * 10 A + 'V3V3' / 2", 1.969, "31.9 mV/A * 10 A + V3V3 / 2"},
		{"max(min(a, b), ground)", 0.5, ""},
		{"supply \u2212 \u22121 V", 6, "supply - -1 V"},
	} {
		f, err := ReadFormula(c.text, Volt)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if v := f.Eval(func(n string) float64 { return volts[n] }); math.Abs(v-c.value) > 1e-12 {
			t.Errorf("%s is %v, not %v", c.text, v, c.value)
		}
		if c.print == "" {
			c.print = c.text
		}
		if f.String() != c.print {
			t.Errorf("%s prints as %s", c.text, f)
		}
		v, constant := f.Constant()
		if constant != (len(f.Names()) == 0) || constant && v != c.value {
			t.Errorf("%s: constant %v, %v", c.text, v, constant)
		}
		if f.Unit() != Volt {
			t.Errorf("%s is in %s", c.text, f.Unit())
		}
	}
}

func TestFormulaNames(t *testing.T) {
	f, err := ReadFormula("max(b + a, 'a b' - a, 5V)", Volt)
	if err != nil {
		t.Fatal(err)
	}
	if want := []string{"b", "a", "a b", "5V"}; !slices.Equal(f.Names(), want) {
		t.Errorf("names %q, not %q", f.Names(), want)
	}
}

func TestFormulaRefused(t *testing.T) {
	for _, c := range []struct {
		text string
		want Unit
		why  string
		twin string
	}{
		{"", Volt, `nothing is written; this wants a voltage (V), such as "5 V"`, "a"},
		{"supply - 90", Volt, `"90" has no unit; this wants a voltage (V), such as "90 V"`, "supply - 90 mV"},
		{"0", Volt, `"0" has no unit; this wants a voltage (V), such as "0 V"`, "'0'"},
		{"max(0, supply)", Volt, `"0" has no unit; this wants a voltage (V), such as "0 V"`, "max(0 V, supply)"},
		{"supply - 90 mA", Volt, `"90 mA" (a current) cannot be subtracted from "supply" (a voltage)`, "supply - 90 mV"},
		{"90 mA + supply", Volt, `"90 mA" (a current) cannot be added to "supply" (a voltage)`, "90 mV + supply"},
		{"min(supply, 3 A)", Volt, `"supply" (a voltage) cannot be compared with "3 A" (a current)`, "min(supply, 3 V)"},
		{"a * b", Volt, `"a * b" is in another unit, this wants a voltage (V)`, "a * 2"},
		{"a / b", Volt, `"a / b" is a ratio, this wants a voltage (V)`, "a / 2"},
		{"3 A", Volt, `"3 A" is a current, this wants a voltage (V)`, "3 V"},
		{"25 degC", Volt, `"25 degC" is a temperature, this wants a voltage (V)`, "25 V"},
		{"10 meg", Ohm, `"10meg" is netlist notation; write "10 Mohm"`, "10 Mohm"},
		{"supply -90 mV", Volt, `"-90" stands where an operator is expected; operators stand between spaces, "- 90"`, "supply - 90 mV"},
		{"supply ground", Volt, `"ground" stands where an operator is expected`, "supply + ground"},
		{"supply -", Volt, "the formula ends where a name or a number is expected", "supply - a"},
		{"* supply", Volt, `"*" stands where a name or a number is expected`, "2 * supply"},
		{"(supply", Volt, "a parenthesis is never closed", "(supply)"},
		{"supply)", Volt, `")" stands where an operator is expected`, "(supply)"},
		{"max(a, b", Volt, "a parenthesis is never closed", "max(a, b)"},
		{"max(a b)", Volt, `"b" stands where an operator is expected`, "max(a, b)"},
		{"max(a)", Volt, "max compares two values or more", "max(a, a)"},
		{"max()", Volt, `")" stands where a name or a number is expected`, "max(a, b)"},
		{"avg(a, b)", Volt, `unknown function "avg"; there are min and max`, "min(a, b)"},
		{"'a b", Volt, `the quote before "a b" is never closed`, "'a b'"},
		{"'' + a", Volt, "a name between quotes is empty", "a"},
		{"a / 0", Volt, `"a" is divided by 0`, "a / 1"},
		{"a / (1 - 1)", Volt, `"a" is divided by 0`, "a / (1 - 2)"},
		{"1e308 V * 10", Volt, `"1e308 V * 10" is not a finite number`, "1e307 V * 10"},
		{"1e999 V", Volt, `"1e999" is out of range`, "1e99 V"},
		{"20 degC + 5 degC", Celsius, "a formula in degC knows only min and max, no +", "max(20 degC, 5 degC)"},
		{"- 20 degC", Celsius, "a negative number in degC is written without a space after the sign", "-20 degC"},
		{strings.Repeat("(", 40) + "a" + strings.Repeat(")", 40), Volt, "the formula is nested more than 32 deep",
			strings.Repeat("(", 30) + "a" + strings.Repeat(")", 30)},
		{strings.Repeat("- ", 40) + "a", Volt, "the formula is nested more than 32 deep", "- - a"},
		{"a" + strings.Repeat(" + a", 300), Volt, "a formula has at most 400 words", "a" + strings.Repeat(" + a", 150)},
		{"1" + strings.Repeat(" * a", 80), Volt, "a product of this many units measures nothing", "1 * a"},
	} {
		f, err := ReadFormula(c.text, c.want)
		if err == nil {
			t.Errorf("%q is accepted: %s", c.text, f)
		} else if err.Error() != c.why {
			t.Errorf("%q:\n got %s\nwant %s", c.text, err, c.why)
		}
		if _, err := ReadFormula(c.twin, c.want); err != nil {
			t.Errorf("the twin of %q: %v", c.text, err)
		}
	}
}

func TestLimits(t *testing.T) {
	for _, c := range []struct {
		text, print string
		is          Interval
	}{
		{"2.7 V .. 18 V", "2.7 V .. 18 V", Interval{2.7, 18}},
		{"36 .. 58 V", "36 V .. 58 V", Interval{36, 58}},
		{"-7 V .. 66 V", "-7 V .. 66 V", Interval{-7, 66}},
		{"ground .. supply", "ground .. supply", Interval{0.5, 5}},
		{"max(ground - 7 V, supply - 66 V) .. 66 V", "max(ground - 7 V, supply - 66 V) .. 66 V", Interval{-6.5, 66}},
		{"0 V .. V3V3", "0 V .. V3V3", Interval{0, 3.3}},
	} {
		l, err := ReadLimits(c.text, Volt)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if got := l.Eval(func(n string) float64 { return volts[n] }); got != c.is {
			t.Errorf("%s is %v, not %v", c.text, got, c.is)
		}
		if l.String() != c.print {
			t.Errorf("%s prints as %s", c.text, l)
		}
		if iv, ok := l.Constant(); ok != (len(l.Names()) == 0) || ok && iv != c.is {
			t.Errorf("%s: constant %v, %v", c.text, iv, ok)
		}
	}
	if (Limits{}).String() != "" {
		t.Error("limits that nobody gave print as something")
	}
}

func TestLimitsRefused(t *testing.T) {
	for text, why := range map[string]string{
		"5 V":                   `"5 V" is no range; this wants two ends, such as "1 V .. 5 V"`,
		"1 V .. 2 V .. 3 V":     `a range has two ends with " .. " between them`,
		"18 V .. 2.7 V":         `the range runs backwards; write "2.7 V .. 18 V"`,
		"1 V .. 2":              `"2" has no unit; this wants a voltage (V), such as "2 V"`,
		"1 A .. 2 V":            `"1 A" is a current, this wants a voltage (V)`,
		".. 2 V":                `nothing is written; this wants a voltage (V), such as "5 V"`,
		"max(1 V .. 2 V)":       "a parenthesis is never closed",
		"supply .. ground + 90": `"90" has no unit; this wants a voltage (V), such as "90 V"`,
	} {
		if _, err := ReadLimits(text, Volt); err == nil || err.Error() != why {
			t.Errorf("%q:\n got %v\nwant %s", text, err, why)
		}
	}
}

// A drawn expression, its text, and its value by its own evaluation: the second opinion on formulas.
type drawn struct {
	text  string
	value float64
	volt  bool // else a plain number
}

func drawFormula(t *rapid.T, depth int, volt bool) drawn {
	leaf := depth == 0
	switch n := rapid.IntRange(0, 6).Draw(t, "op"); {
	case !leaf && n == 0: // sum
		a, b := drawFormula(t, depth-1, volt), drawFormula(t, depth-1, volt)
		return drawn{"(" + a.text + ") + (" + b.text + ")", a.value + b.value, volt}
	case !leaf && n == 1:
		a, b := drawFormula(t, depth-1, volt), drawFormula(t, depth-1, volt)
		return drawn{"(" + a.text + ") - (" + b.text + ")", a.value - b.value, volt}
	case !leaf && n == 2:
		a, b := drawFormula(t, depth-1, volt), drawFormula(t, depth-1, false)
		if rapid.Bool().Draw(t, "swap") {
			return drawn{"(" + b.text + ") * (" + a.text + ")", b.value * a.value, volt}
		}
		return drawn{"(" + a.text + ") * (" + b.text + ")", a.value * b.value, volt}
	case !leaf && n == 3:
		a := drawFormula(t, depth-1, volt)
		d := rapid.SampledFrom([]float64{2, -4, 0.5}).Draw(t, "divisor")
		return drawn{fmt.Sprintf("(%s) / %v", a.text, d), a.value / d, volt}
	case !leaf && n == 4:
		a, b := drawFormula(t, depth-1, volt), drawFormula(t, depth-1, volt)
		if rapid.Bool().Draw(t, "max") {
			return drawn{"max(" + a.text + ", " + b.text + ")", max(a.value, b.value), volt}
		}
		return drawn{"min(" + a.text + ", " + b.text + ")", min(a.value, b.value), volt}
	case !leaf && n == 5:
		a := drawFormula(t, depth-1, volt)
		return drawn{"- (" + a.text + ")", -a.value, volt}
	}
	v := float64(rapid.IntRange(-40, 40).Draw(t, "number")) / 4
	if !volt {
		return drawn{fmt.Sprint(v), v, false}
	}
	if rapid.Bool().Draw(t, "name") {
		name := rapid.SampledFrom([]string{"supply", "ground", "+5V", "net-5", "a b", "0", "min", "it's", "-"}).Draw(t, "which")
		return drawn{quoteName(name), volts[name], true}
	}
	return drawn{fmt.Sprintf("%v mV", v*1000), v, true}
}

func TestFormulaAgainstASecondEvaluator(t *testing.T) {
	get := func(n string) float64 { return volts[n] }
	rapid.Check(t, func(t *rapid.T) {
		d := drawFormula(t, rapid.IntRange(0, 4).Draw(t, "depth"), true)
		f, err := ReadFormula(d.text, Volt)
		if err != nil {
			t.Fatalf("%s: %v", d.text, err)
		}
		if v := f.Eval(get); math.Abs(v-d.value) > 1e-9*max(1, math.Abs(d.value)) {
			t.Fatalf("%s is %v, not %v", d.text, v, d.value)
		}
		again, err := ReadFormula(f.String(), Volt)
		if err != nil {
			t.Fatalf("%s prints as %s: %v", d.text, f, err)
		}
		if again.String() != f.String() || again.Eval(get) != f.Eval(get) || !slices.Equal(again.Names(), f.Names()) {
			t.Fatalf("%s prints as %s, which reads as %s", d.text, f, again)
		}
	})
}

func FuzzReadFormula(f *testing.F) {
	for _, s := range []string{"supply - 90 mV", "max(ground - 7 V, supply - 66 V)", "V3V3 / 2", "0.5 * (a + b)", "+5V", "'a b'",
		"- - a", "1 V .. 2 V", "ground .. supply", "((((", "a / (1 - 1)", "max(", "\"", "\xff", "1e999 V", "5 V/ns * 1 ns",
		"25 degC", "20 dB", "min * min(min, min)"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, u := range []Unit{Volt, Celsius, Decibel, Ratio} {
			if l, err := ReadLimits(s, u); err == nil {
				if iv, ok := l.Constant(); ok && iv.Empty() {
					t.Errorf("%q runs backwards", s)
				}
			}
			g, err := ReadFormula(s, u)
			if err != nil {
				continue
			}
			one := func(string) float64 { return 1 }
			again, err := ReadFormula(g.String(), u)
			if err != nil {
				t.Errorf("%q prints as %q: %v", s, g, err)
			} else if v, w := g.Eval(one), again.Eval(one); v != w && !(math.IsNaN(v) && math.IsNaN(w)) {
				t.Errorf("%q is %v, printed and read again %v", s, v, w)
			}
			if v, ok := g.Constant(); ok && (math.IsNaN(v) || math.IsInf(v, 0)) {
				t.Errorf("%q is %v", s, v)
			}
		}
	})
}
