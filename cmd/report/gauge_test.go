package report

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

var (
	nan = math.NaN()
	inf = math.Inf(1)
)

// held is a measure in volts whose two intervals are the same.
func held(low, high, limitLow, limitHigh float64) rules.Measure {
	return rules.Measure{Unit: quantity.Volt, Min: low, Max: high, SoundMin: low, SoundMax: high, LimitMin: limitLow, LimitMax: limitHigh}
}

func may(m rules.Measure, low, high float64) rules.Measure {
	m.SoundMin, m.SoundMax = low, high
	return m
}

func TestGauge(t *testing.T) {
	line := func(parts ...any) string {
		var b strings.Builder
		for i := 0; i < len(parts); i += 2 {
			b.WriteString(strings.Repeat(parts[i].(string), parts[i+1].(int)))
		}
		return b.String()
	}
	for _, c := range []struct {
		name string
		m    rules.Measure
		want string
	}{
		{"inside both limits", held(1, 2, 0, 4), "0.000 V |" + line(".", 8, "=", 8, ".", 16) + "| 4.000 V"},
		{"from limit to limit", held(0, 4, 0, 4), "0.000 V |" + line("=", 32) + "| 4.000 V"},
		{"beyond the low limit", held(-1, 2, 0, 4), "0.000 V !|" + line("=", 16, ".", 16) + "| 4.000 V"},
		{"beyond the high limit", held(3, 5, 0, 4), "0.000 V |" + line(".", 24, "=", 8) + "|! 4.000 V"},
		{"beyond both", held(-1, 5, 0, 4), "0.000 V !|" + line("=", 32) + "|! 4.000 V"},
		{"wholly beyond", held(5, 6, 0, 4), "0.000 V |" + line(".", 32) + "|! 4.000 V"},
		{"a point", held(1, 1, 0, 4), "0.000 V |" + line(".", 8, "=", 1, ".", 23) + "| 4.000 V"},
		{"a point at the high limit", held(4, 4, 0, 4), "0.000 V |" + line(".", 31, "=", 1) + "| 4.000 V"},
		{"a point at the low limit", held(0, 0, 0, 4), "0.000 V |" + line("=", 1, ".", 31) + "| 4.000 V"},
		{"limits that coincide, met", held(4, 4, 4, 4), "4.000 V |" + line("=", 32) + "| 4.000 V"},
		{"limits that coincide, missed", held(5, 5, 4, 4), "4.000 V |" + line(".", 32) + "|! 4.000 V"},
		{"only a high limit", held(1, 2, nan, 4), "0.000 V " + line(".", 8, "=", 8, ".", 16) + "| 4.000 V"},
		{"only a high limit, reach below zero", held(-4, 0, nan, 4), "-4.000 V " + line("=", 16, ".", 16) + "| 4.000 V"},
		{"only a high limit, beyond it", held(1, 5, nan, 4), "0.000 V " + line(".", 8, "=", 24) + "|! 4.000 V"},
		{"only a high limit, at zero", held(1, 1, nan, 0), "-1.000 V " + line(".", 32) + "|! 0.000 V"},
		{"only a low limit", held(2, 4, 1, nan), "1.000 V |" + line(".", 10, "=", 22) + " 4.000 V"},
		{"only a low limit, beyond it", held(-1, 2, 0, nan), "0.000 V !|" + line("=", 32) + " 2.000 V"},
		{"only a low limit, wholly beyond", held(-3, -2, -1, nan), "-1.000 V !|" + line(".", 32) + " 0.000 V"},
		{"only a low limit, no end known", may(held(nan, nan, 2, nan), -inf, inf), "2.000 V ?|" + line("?", 32) + " 4.000 V"},
		{"an end that nothing bounds", held(1, inf, 0, 4), "0.000 V |" + line(".", 8, "=", 1, "?", 23) + "|! 4.000 V"},
		{"a low end that nothing bounds", held(-inf, 1, 0, 4), "0.000 V !|" + line("?", 8, "=", 1, ".", 23) + "| 4.000 V"},
		{"no end that anything bounds", held(-inf, inf, 0, 4), "0.000 V !|" + line("?", 32) + "|! 4.000 V"},
		{"an undeclared tolerance", may(held(1, 2, 0, 4), 0.5, 3), "0.000 V |" + line(".", 4, "?", 4, "=", 8, "?", 8, ".", 8) + "| 4.000 V"},
		{"undeclared beyond the limit", may(held(1, 2, 0, 4), 1, 5), "0.000 V |" + line(".", 8, "=", 8, "?", 16) + "|? 4.000 V"},
		{"nobody said", may(held(nan, nan, 0, 4), nan, nan), "0.000 V ?|" + line("?", 32) + "|? 4.000 V"},
		{"one end is known", may(held(nan, 2, 0, 4), -inf, 2), "0.000 V ?|" + line("?", 16, "=", 1, ".", 15) + "| 4.000 V"},
		{"no limit", held(1, 2, nan, nan), ""},
		{"limits at infinity", held(1, 2, -inf, inf), ""},
	} {
		if got := gauge(c.m, quantity.ScaleFor(quantity.Volt, 4)); got != c.want {
			t.Errorf("%s:\n got %q\nwant %q", c.name, got, c.want)
		}
	}
}

// The drawing is as wide as the page says and shows "!" exactly where a state lies beyond a limit.
func TestGaugeProperties(t *testing.T) {
	end := rapid.OneOf(rapid.Float64Range(-100, 100), rapid.Just(nan), rapid.Just(inf), rapid.Just(-inf), rapid.Just(0.0))
	rapid.Check(t, func(t *rapid.T) {
		m := may(held(end.Draw(t, "min"), end.Draw(t, "max"), end.Draw(t, "low"), end.Draw(t, "high")), end.Draw(t, "soundMin"), end.Draw(t, "soundMax"))
		if m.LimitMin > m.LimitMax {
			m.LimitMin, m.LimitMax = m.LimitMax, m.LimitMin
		}
		got := gauge(m, scale(m))
		if !finite(m.LimitMin) && !finite(m.LimitMax) {
			if got != "" {
				t.Fatalf("a gauge without limits: %q", got)
			}
			return
		}
		parts := strings.Fields(got) // figure, unit, bar, figure, unit
		if len(parts) != 5 {
			t.Fatalf("%q has not two figures and a bar", got)
		}
		bar := parts[2]
		if want := finite(m.LimitMin) && m.Min < m.LimitMin; strings.HasPrefix(bar, "!") != want {
			t.Fatalf("low end of %q: beyond is %v", got, want)
		}
		if want := finite(m.LimitMax) && m.Max > m.LimitMax; strings.HasSuffix(bar, "!") != want {
			t.Fatalf("high end of %q: beyond is %v", got, want)
		}
		width := strings.Count(bar, "=") + strings.Count(bar, ".") + strings.Count(bar, "?")
		if strings.HasPrefix(bar, "?|") {
			width--
		}
		if strings.HasSuffix(bar, "|?") {
			width--
		}
		if width != cells {
			t.Fatalf("%q has %d cells", got, width)
		}
	})
}
