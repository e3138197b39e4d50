package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestWritten(t *testing.T) {
	for _, c := range []struct {
		text string
		want Unit
		is   Written
	}{
		{"5 V", Volt, Written{5, Point(5), Bare, ""}},
		{"  5   V ", Volt, Written{5, Point(5), Bare, ""}},
		{"48.5 V", Volt, Written{48.5, Point(48.5), Bare, ""}},
		{"5V", Volt, Written{5, Point(5), Bare, ""}},
		{"5%", Ratio, Written{0.05, Point(0.05), Bare, ""}},
		{".5 V", Volt, Written{0.5, Point(0.5), Bare, ""}},
		{"5. V", Volt, Written{5, Point(5), Bare, ""}},
		{"1e3 mV", Volt, Written{1, Point(1), Bare, ""}},
		{"1E-3 kV", Volt, Written{1, Point(1), Bare, ""}},
		{"2.6 mA", Amp, Written{0.0026, Point(0.0026), Bare, ""}},
		{"\u22127 V", Volt, Written{-7, Point(-7), Bare, ""}},
		{"5 V exact", Volt, Written{5, Point(5), Exact, ""}},
		{"5 V +- 2 %", Volt, Written{5, Interval{4.9, 5.1}, Toleranced, ""}},
		{"5 V +-2%", Volt, Written{5, Interval{4.9, 5.1}, Toleranced, ""}},
		{"5 V +/- 2 %", Volt, Written{5, Interval{4.9, 5.1}, Toleranced, ""}},
		{"5 V ± 50 mV", Volt, Written{5, Interval{4.95, 5.05}, Toleranced, ""}},
		{"5 V +2 % -4 %", Volt, Written{5, Interval{4.8, 5.1}, Toleranced, ""}},
		{"5 V -4 % +2 %", Volt, Written{5, Interval{4.8, 5.1}, Toleranced, ""}},
		{"5 V + 0 % - 40 mV", Volt, Written{5, Interval{4.96, 5}, Toleranced, ""}},
		{"-5 V +- 2 %", Volt, Written{-5, Interval{-5.1, -4.9}, Toleranced, ""}},
		{"-5 V +2 % -4 %", Volt, Written{-5, Interval{-5.2, -4.9}, Toleranced, ""}},
		{"32 V/V +- 0.25 %", VoltPerVolt, Written{32, Interval{31.92, 32.08}, Toleranced, ""}},
		{"32 V/V +- 0.08 V/V", VoltPerVolt, Written{32, Interval{31.92, 32.08}, Toleranced, ""}},
		{"50 % +- 10 %", Ratio, Written{0.5, Interval{0.45, 0.55}, Toleranced, ""}},
		{"25 degC +- 5 K", Celsius, Written{25, Interval{20, 30}, Toleranced, ""}},
		{"25 degC +- 5 degC", Celsius, Written{25, Interval{20, 30}, Toleranced, ""}},
		{"114 dB +- 3 dB", Decibel, Written{114, Interval{111, 117}, Toleranced, ""}},
		{"36 V .. 58 V", Volt, Written{47, Interval{36, 58}, Ranged, ""}},
		{"36 .. 58 V", Volt, Written{47, Interval{36, 58}, Ranged, ""}},
		{"36..58 mV", Volt, Written{0.047, Interval{0.036, 0.058}, Ranged, ""}},
		{"-7 V .. 66 V", Volt, Written{29.5, Interval{-7, 66}, Ranged, ""}},
		{"500 mV .. 1 V", Volt, Written{0.75, Interval{0.5, 1}, Ranged, ""}},
		{"3 V .. 3 V", Volt, Written{3, Interval{3, 3}, Ranged, ""}},
		{"-25 degC .. 85 degC", Celsius, Written{30, Interval{-25, 85}, Ranged, ""}},
		{"4.7 kohm", Ohm, Written{4700, Point(4700), Bare, ""}},
	} {
		w, err := ReadWritten(c.text, c.want)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		c.is.Text = c.text
		if diff := cmp.Diff(c.is, w, cmp.Comparer(func(a, b float64) bool {
			return a == b || math.Abs(a-b) <= 1e-14*math.Abs(a)
		})); diff != "" {
			t.Errorf("%s: %s", c.text, diff)
		}
	}
}

// Each text that is refused stands beside one that means what was meant.
func TestWrittenRefused(t *testing.T) {
	for _, c := range []struct {
		text string
		want Unit
		why  string
		twin string
	}{
		{"12 A", Volt, `"12 A" is a current, this wants a voltage (V)`, "12 V"},
		{"12 ohm", Henry, `"12 ohm" is a resistance, this wants an inductance (H)`, "12 H"},
		{"5 V/ns", Volt, `"5 V/ns" is in V/ns, this wants a voltage (V)`, "5 V"},
		{"11 uV/V", Decibel, `"11 uV/V" is a ratio, this wants a level (dB)`, "99 dB"},
		{"20 dB", VoltPerVolt, `"20 dB" is a level, this wants a ratio (V/V)`, "10 V/V"},
		{"25 degC", Kelvin, `"25 degC" is a temperature, this wants a temperature difference (K)`, "25 K"},
		{"5", Volt, `"5" has no unit; this wants a voltage (V), such as "5 V"`, "5 V"},
		{"0.02", Ratio, `"0.02" has no unit; this wants a ratio, such as "0.02 %"`, "2 %"},
		{"32", VoltPerVolt, `"32" has no unit; this wants a ratio (V/V), such as "32 V/V"`, "32 V/V"},
		{"25", PerKelvin, `"25" has no unit; this wants a temperature coefficient (1/K), such as "25 ppm/K"`, "25 ppm/K"},
		{"1 .. 5", Volt, `"1" has no unit; this wants a voltage (V), such as "1 V"`, "1 .. 5 V"},
		{"1 V .. 5", Volt, `"5" has no unit; this wants a voltage (V), such as "5 V"`, "1 V .. 5 V"},
		{"10meg", Ohm, `"10meg" is netlist notation; write "10 Mohm"`, "10 Mohm"},
		{"10 MEGohm", Ohm, `"10MEGohm" is netlist notation; write "10 Mohm"`, "10 Mohm"},
		{"10k", Ohm, `"10k" is netlist notation; write "10 kohm"`, "10 kohm"},
		{"10K", Ohm, `"10K" is netlist notation; write "10 kohm"`, "10 kohm"},
		{"10u", Amp, `"10u" is netlist notation; write "10 uA"`, "10 uA"},
		{"10M", Ohm, `"10M" is netlist notation; write "10 mohm" for milli or "10 Mohm" for mega`, "10 mohm"},
		{"4K7", Ohm, `"4K7" is not a number with a unit; write "4.7 kohm"`, "4.7 kohm"},
		{"4M7", Ohm, `"4M7" is not a number with a unit; write "4.7 Mohm"`, "4.7 Mohm"},
		{"0R1", Ohm, `"0R1" is not a number with a unit; write "0.1 ohm"`, "0.1 ohm"},
		{"3V3", Volt, `"3V3" is not a number with a unit; write "3.3 V"`, "3.3 V"},
		{"5 volts", Volt, `unknown unit "volts"; did you mean "V"?`, "5 V"},
		{"5 kOhm", Ohm, `unknown unit "kOhm"; did you mean "kohm"?`, "5 kohm"},
		{"5 min", Second, `unknown unit "min"; this wants a time (s)`, "300 s"},
		{"5 uV/kelvin", VoltPerKelvin, `unknown unit "uV/kelvin"; this wants a voltage drift (V/K)`, "5 uV/K"},
		{"5 hZ", Hertz, `unknown unit "hZ"; did you mean "Hz"?`, "5 Hz"},
		{"", Volt, `nothing is written; this wants a voltage (V), such as "5 V"`, "0 V"},
		{"abc", Volt, `"abc" is not a number with a unit; this wants a voltage (V), such as "5 V"`, "0 V"},
		{"V 5", Volt, `"V 5" is not a number with a unit; this wants a voltage (V), such as "5 V"`, "5 V"},
		{"NaN V", Volt, `"NaN V" is not a number with a unit; this wants a voltage (V), such as "5 V"`, "0 V"},
		{"inf V", Volt, `"inf V" is not a number with a unit; this wants a voltage (V), such as "5 V"`, "9e9 V"},
		{"-Inf V", Volt, `"-Inf V" is not a number with a unit; this wants a voltage (V), such as "5 V"`, "-9e9 V"},
		{"1e309 V", Volt, `"1e309" is out of range`, "1e308 V"},
		{"1e308 kV", Volt, `"1e308" is out of range`, "1e305 kV"},
		{"1e99999999999999999999 V", Volt, `"1e99999999999999999999" is out of range`, "1e3 V"},
		{"1e308 V +- 90 %", Volt, `"1e308 V +- 90 %" is out of range`, "1e308 V +- 70 %"},
		{"3,3 V", Volt, `"3,3 V": a decimal point is written ".", and thousands are not marked`, "3.3 V"},
		{"58 V .. 36 V", Volt, `the range runs backwards; write "36 V .. 58 V"`, "36 V .. 58 V"},
		{"-7 .. -17 V", Volt, `the range runs backwards; write "-17 V .. -7 V"`, "-17 .. -7 V"},
		{"1 V ... 2 V", Volt, `a range has two ends with " .. " between them`, "1 V .. 2 V"},
		{"1 V .. 2 V .. 3 V", Volt, `a range has two ends with " .. " between them`, "1 V .. 3 V"},
		{"1 V .. ", Volt, `"" is not a number with a unit; this wants a voltage (V), such as "5 V"`, "1 V .. 1 V"},
		{"1 V +- 1 % .. 2 V", Volt, `"1 V +- 1 %": the end of a range is one number with a unit`, "1 V .. 2 V"},
		{"36 V .. 58 V exact", Volt, `"58 V exact": the end of a range is one number with a unit`, "36 V .. 58 V"},
		{"5 V +- 2 % exact", Volt, `"5 V +- 2 % exact" says both a tolerance and exact`, "5 V exact"},
		{"5 V +- -2 %", Volt, `a tolerance is a size without a sign, such as "+- 2 %"`, "5 V +- 2 %"},
		{"5 V +-", Volt, `a tolerance is a size without a sign, such as "+- 2 %"`, "5 V +- 0 %"},
		{"5 V +- 2", Volt, `"2" has no unit; a tolerance is one of the nominal (%) or a voltage (V)`, "5 V +- 2 %"},
		{"5 V +- 2 A", Volt, `"2 A" is a current, this wants a voltage (V)`, "5 V +- 2 V"},
		{"5 V -10 %", Volt, `"-10 %" says one side; write both, such as "+2 % -0 %"`, "5 V +0 % -10 %"},
		{"5 V +1 % +2 %", Volt, `"+1 % +2 %" says the same side twice`, "5 V +1 % -2 %"},
		{"5 V +1 % -2 % -3 %", Volt, `"-3 %" stands after the tolerance`, "5 V +1 % -2 %"},
		{"5 V +- 1 % typ", Volt, `"typ" stands after the tolerance`, "5 V +- 1 %"},
		{"5 V max", Volt, `"max" stands where a tolerance would, such as "+- 2 %"`, "5 V"},
		{"25 degC +- 5 %", Celsius, `"5 %": a share of a temperature (degC) means nothing`, "25 degC +- 5 K"},
		{"-300 degC", Celsius, `"-300 degC" is below absolute zero`, "-273 degC"},
		{"5 \x1b[31mV", Volt, `unknown unit "\x1b[31mV"; this wants a voltage (V)`, "5 V"},
	} {
		w, err := ReadWritten(c.text, c.want)
		if err == nil {
			t.Errorf("%q is accepted: %+v", c.text, w)
		} else if err.Error() != c.why {
			t.Errorf("%q:\n got %s\nwant %s", c.text, err, c.why)
		}
		if _, err := ReadWritten(c.twin, c.want); err != nil {
			t.Errorf("the twin of %q: %v", c.text, err)
		}
	}
	if _, err := ReadWritten(strings.Repeat("5", maxText)+" V", Volt); err == nil {
		t.Error("a text without an end is accepted")
	}
}

// A quantity printed in any unit and form is read back as the numbers it was printed from.
func TestWrittenRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(unitTable).Draw(t, "unit")
		a, b := drawNumber(t, "a"), drawNumber(t, "b")
		number := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
		near := func(got, want float64) bool {
			return math.Abs(got-want) <= 1e-12*max(math.Abs(got), math.Abs(want), 1e-15)
		}
		w, err := ReadWritten(fmt.Sprintf("%s %s", number(a), u.text), u.want)
		if err != nil {
			t.Fatal(err)
		}
		if !near(w.Nom, a*u.one) || w.Range != Point(w.Nom) || w.Form != Bare {
			t.Fatalf("%v: %+v", a, w)
		}
		lo, hi := min(a, b), max(a, b)
		text := fmt.Sprintf("%s %s .. %s %s", number(lo), u.text, number(hi), u.text)
		if w, err = ReadWritten(text, u.want); err != nil {
			t.Fatal(err)
		}
		if !near(w.Range.Lo, lo*u.one) || !near(w.Range.Hi, hi*u.one) || w.Form != Ranged || !w.Range.Contains(w.Nom) {
			t.Fatalf("%s: %+v", text, w)
		}
		if short, err := ReadWritten(fmt.Sprintf("%s .. %s %s", number(lo), number(hi), u.text), u.want); err != nil || short.Range != w.Range {
			t.Fatalf("without the first unit: %+v, %v", short, err)
		}
		if lo < hi {
			if _, err := ReadWritten(fmt.Sprintf("%s .. %s %s", number(hi), number(lo), u.text), u.want); err == nil {
				t.Fatalf("%v .. %v is accepted", hi, lo)
			}
		}
		if u.want == Celsius || u.want == Decibel {
			return
		}
		up, down := rapid.IntRange(0, 300).Draw(t, "up"), rapid.IntRange(0, 300).Draw(t, "down")
		text = fmt.Sprintf("%s %s +%d %% -%d %%", number(a), u.text, up, down)
		if w, err = ReadWritten(text, u.want); err != nil {
			t.Fatal(err)
		}
		size := math.Abs(a * u.one)
		if !near(w.Range.Hi-w.Nom, size*float64(up)/100) && size*float64(up) > 1e-9*size || !w.Range.Contains(w.Nom) ||
			!near(w.Nom-w.Range.Lo, size*float64(down)/100) && size*float64(down) > 1e-9*size {
			t.Fatalf("%s: %+v", text, w)
		}
	})
}

func drawNumber(t *rapid.T, label string) float64 {
	v := rapid.IntRange(-2730, 99999).Draw(t, label)
	return float64(v) / 10
}

func FuzzReadWritten(f *testing.F) {
	for _, s := range []string{"5 V", "5 V +- 2 %", "5 V +2 % -5 %", "36 .. 58 V", "5 V exact", "10meg", "4K7", "1e999 V",
		"300 K", "25 degC +- 5 K", "3,3 V", "± V", "5 V +", "..", "1..", "\xff V", "5 1/K", "5 V exact exact", "5V..6V"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, n := range nouns {
			w, err := ReadWritten(s, n.unit)
			if err != nil {
				if err.Error() == "" {
					t.Error("an error without a word")
				}
				continue
			}
			if w.Range.Empty() || !w.Range.Contains(w.Nom) || math.IsInf(w.Range.Width(), 0) && w.Form != Ranged || math.IsNaN(w.Nom) {
				t.Errorf("%q: %+v", s, w)
			}
			if w.Form <= Exact && w.Range != Point(w.Nom) {
				t.Errorf("%q: a %v quantity with a width: %+v", s, w.Form, w)
			}
		}
	})
}
