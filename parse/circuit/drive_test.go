package circuit

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// SPICE3f3 User's Manual, 3.2.1. The extremes follow from the definitions there.
func TestDrives(t *testing.T) {
	for _, c := range []struct {
		card          string
		dc, low, high float64
	}{
		{"V1 a 0 DC 6", 6, 6, 6},
		{"V1 a 0 -4", -4, -4, -4},
		{"V1 a 0", 0, 0, 0}, // a source without a value is a zero volt source
		{"I1 a 0 AC 1", 0, 0, 0},
		{"V1 a 0 {2*3}", 6, 6, 6},
		{"V1 a 0 PULSE(-1 5 1n 1n 1n 1u 2u)", -1, -1, 5},
		{"V1 a 0 PULSE(5 -1)", 5, -1, 5},
		{"V1 a 0 SIN(2 3 1k)", 2, -1, 5},
		{"V1 a 0 SIN(2 -3 1k 0 100)", 2, -1, 5},
		{"VIN 13 2 0.001 AC 1 SIN(0 1 1MEG)", 0.001, -1, 1},
		{"V1 a 0 DC 7 SIN(0 1 1k)", 7, -1, 7}, // the DC value is a state of its own
		{"V1 a 0 SIN(0 2 1k 0 0 90)", 2, -2, 2},
		{"V1 a 0 EXP(1 4 1n 1u 2u 1u)", 1, 1, 4},
		{"V1 a 0 EXP(1 4)", 1, 1, 4},
		{"V1 a 0 PWL(0 1 1m 5 2m -2)", 1, -2, 5},
		{"V1 a 0 PWL(1m 3 2m 4)", 3, 3, 4}, // the first value holds before the first time
		{"V1 a 0 PWL(-1 0 1 4)", 2, 0, 4},  // between two points it is a line
		{"V1 a 0 PWL(-2 0 -1 4)", 4, 0, 4}, // the last value holds
		{"ISRC 23 21 AC 0.333 45.0 SFFM(0 1 10K 5 1K)", 0, -1, 1},
	} {
		ct, diags := deck(t, c.card+"\n")
		same(t, c.card, diags, nil)
		s := ct.Source(0)
		if !s.Known || math.Abs(s.DC-c.dc) > 1e-12 || s.Levels != [2]float64{c.low, c.high} {
			t.Errorf("%s: %+v, want %v in %v .. %v", c.card, *s, c.dc, c.low, c.high)
		}
		if ct.Elements[0].Value != s.DC || s.Current != (c.card[0] == 'I') {
			t.Errorf("%s: value %v", c.card, ct.Elements[0].Value)
		}
	}
	for _, card := range []string{
		"V1 a 0 SIN(0 1 1k 0 -1)", // grows without end
		"V1 a 0 PULSE(5)", "V1 a 0 PWL(1 1 0 2)", "V1 a 0 SIN(0 {nope})", "V1 a 0 {nope}", "V1 a 0 {nope} PULSE(0 1)",
	} {
		ct, _ := deck(t, card+"\n")
		if s := ct.Source(0); s == nil || s.Known || !math.IsNaN(ct.Elements[0].Value) {
			t.Errorf("%s: %+v", card, s)
		}
	}
}

// Every value an EXP source takes lies between its levels, by the formula of the manual.
func TestExpLevels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		level := rapid.Float64Range(-10, 10)
		tau := rapid.Float64Range(0.01, 10)
		v1, v2 := level.Draw(t, "v1"), level.Draw(t, "v2")
		td1 := rapid.Float64Range(0, 5).Draw(t, "td1")
		td2 := td1 + rapid.Float64Range(0.001, 5).Draw(t, "td2")
		tau1, tau2 := tau.Draw(t, "tau1"), tau.Draw(t, "tau2")
		s := &Source{Function: "EXP"}
		s.follow([]float64{v1, v2, td1, tau1, td2, tau2})
		at := rapid.Float64Range(0, 40).Draw(t, "time")
		v := v1
		if at > td1 {
			v += (v2 - v1) * (1 - math.Exp(-(at-td1)/tau1))
		}
		if at > td2 {
			v += (v1 - v2) * (1 - math.Exp(-(at-td2)/tau2))
		}
		if v < s.Levels[0]-1e-9 || v > s.Levels[1]+1e-9 {
			t.Fatalf("%v at %v is outside %v", v, at, s.Levels)
		}
	})
}
