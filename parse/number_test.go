package parse

import (
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// SPICE3f3 User's Manual, 2.1 (scale factors, number forms, published equalities), and what follows from the number
// reader of the published SPICE3f5 program source where the manual is silent.
func TestNumber(t *testing.T) {
	for _, c := range []struct {
		text  string
		value float64
		tail  string
	}{
		// Scale factors, in any case.
		{"1T", 1e12, ""}, {"1t", 1e12, ""}, {"1G", 1e9, ""}, {"1g", 1e9, ""}, {"1MEG", 1e6, ""}, {"1meg", 1e6, ""},
		{"1K", 1e3, ""}, {"1k", 1e3, ""}, {"1MIL", 25.4e-6, ""}, {"1mil", 25.4e-6, ""}, {"1M", 1e-3, ""}, {"1m", 1e-3, ""},
		{"1U", 1e-6, ""}, {"1u", 1e-6, ""}, {"1N", 1e-9, ""}, {"1n", 1e-9, ""}, {"1P", 1e-12, ""}, {"1p", 1e-12, ""},
		{"1F", 1e-15, ""}, {"1f", 1e-15, ""},
		// Published equalities.
		{"10", 10, ""}, {"10V", 10, "V"}, {"10Volts", 10, "Volts"}, {"10Hz", 10, "Hz"},
		{"1MA", 1e-3, "A"}, {"1MSec", 1e-3, "Sec"}, {"1MMhos", 1e-3, "Mhos"},
		{"1000", 1000, ""}, {"1000.0", 1000, ""}, {"1000Hz", 1000, "Hz"}, {"1e3", 1000, ""}, {"1.0e3", 1000, ""},
		{"1KHz", 1000, "Hz"}, {"1K", 1000, ""},
		// Number forms.
		{"12", 12, ""}, {"-44", -44, ""}, {"3.14159", 3.14159, ""}, {"1e-14", 1e-14, ""}, {"2.65e3", 2650, ""},
		// No atto, no X for mega.
		{"100A", 100, "A"}, {"3X", 3, "X"},
		// Edges.
		{"1Meg", 1e6, ""}, {"1Mega", 1e6, "a"}, {"1MEGohm", 1e6, "ohm"},
		{"1MILLI", 25.4e-6, "LI"}, {"1Meter", 1e-3, "eter"}, {"1me", 1e-3, "e"},
		{"10F", 1e-14, ""}, {"1Farad", 1e-15, "arad"},
		{"1uF", 1e-6, "F"}, {"1UH", 1e-6, "H"}, {"15.7MA", 0.0157, "A"}, {"0.1MMHO", 1e-4, "MHO"}, {"33mOhm", 0.033, "Ohm"},
		{"1Tesla", 1e12, "esla"}, {"5Pa", 5e-12, "a"}, {"1Ohm", 1, "Ohm"},
		{"1e3k", 1e6, ""}, {"1e-3m", 1e-6, ""}, {"2.5d3", 2500, ""}, {"2.5D3", 2500, ""},
		{"1e", 1, ""}, {"1EV", 1, "V"}, {"4K7", 4000, "7"}, {"+-5", -5, ""}, {"+5", 5, ""}, {"1.", 1, ""}, {".5", 0.5, ""},
		{"5d", 5, ""}, {"1e+3", 1000, ""}, {"1EM", 1e-3, ""}, {"0", 0, ""}, {"00", 0, ""},
		// Not in the manual: the micro sign means nothing else.
		{"10\u00b5F", 1e-5, "F"}, {"10\u03bc", 1e-5, ""}, {"10\xb5", 1e-5, ""},
	} {
		v, tail, ok := Number(c.text)
		if !ok || v != c.value || tail != c.tail {
			t.Errorf("Number(%q) = %v, %q, %v; want %v, %q", c.text, v, tail, ok, c.value, c.tail)
		}
	}
	for _, text := range []string{"", "R47", "-+5", "--5", "++5", ".", "-", "e3", "1.2.3", "2*k", "10k%", "1-2", "{1}", "1e999", "1 "} {
		if v, _, ok := Number(text); ok {
			t.Errorf("Number(%q) = %v, want no number", text, v)
		}
	}
}

func TestNumberReadsWhatGoWrites(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.Float64().Draw(t, "number")
		text := strconv.FormatFloat(want, 'e', -1, 64)
		if got, tail, ok := Number(text); !ok || got != want || tail != "" {
			t.Fatalf("Number(%q) = %v, %q, %v", text, got, tail, ok)
		}
	})
}
