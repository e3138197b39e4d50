package volt_test

import (
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// An op amp without feedback is a comparator: what it is asked about may pass its threshold inside the range of a
// resistance, and what stands just there counts on both sides, and in between. All by hand.
func TestThresholdsInsideTheRangeOfAResistance(t *testing.T) {
	const window = still + `* shuntwright: rails.V1 = "5 V exact"
* shuntwright: rails.LO = "2.4 V exact"
* shuntwright: rails.HI = "2.6 V exact"
* shuntwright: elements.RT.tolerance = "40 %"
X1 a LO p 0 V1 capstan-ideal
X2 HI a q 0 V1 capstan-ideal
R5 p m 1k
R6 q m 1k
RT a 0 10k
RU a V1 10k
RLO LO 0 1k
RHI HI 0 1k
`
	for _, c := range []struct {
		name, deck, a, b string
		lo, hi           float64
		loose            bool
	}{
		// 5 V x RT / (RT + 10 kohm) is 1.875 V .. 2.917 V: both outputs stand at 5 V in the window, one of them outside.
		{"a window", window, "m", "0", 2.5, 5, false},
		{"a window with a load", window + "R7 m 0 1k\n", "m", "0", 5. / 3, 10. / 3, false},
		// 20 V x 1 kohm / (R1 + 1 kohm) is 8 V .. 13.33 V; the output turns over at 12 V +- 1 mV.
		{"a divider", still + `* shuntwright: rails.V1 = "12 V exact"
* shuntwright: rails.V3 = "20 V exact"
* shuntwright: elements.R1.tolerance = "50 %"
X0 a V1 b 0 V1 capstan-op
R2 b 0 1k
R1 a V3 1k
R4 a 0 1k
`, "a", "b", -0.001, 12.001, false},
		// 5 V + R1 x I5 is 9.05 V .. 14.18 V.
		{"a current", still + `* shuntwright: rails.V1 = "8 V .. 12 V"
* shuntwright: rails.V3 = "5 V exact"
* shuntwright: elements.R1.tolerance = "30 %"
* shuntwright: elements.I5.tolerance = "10 %"
X0 a V1 b 0 V1 capstan-op
R2 b 0 1k
R1 a V3 8120
I5 0 a 0.000791
`, "a", "b", -0.001, 12.001, false},
		// 5 V x RT / (RT + RU) is 2.066 V .. 2.862 V, against 2.5 V.
		{"a temperature", still + `* shuntwright: temperature = "-40 degC .. 125 degC"
* shuntwright: rails.V1 = "5 V exact"
X0 a r b 0 V1 capstan-ideal
RA r V1 1k
RB r 0 1k
RT a 0 10k TC=0.004
RU a V1 10.4k
`, "a", "b", -2.5, 2.5, false},
		{"a temperature of both", still + `* shuntwright: temperature = "-40 degC .. 125 degC"
* shuntwright: rails.V1 = "5 V exact"
X0 a r b 0 V1 capstan-ideal
RA r V1 1k
RB r 0 1k
RT a 0 10k TC=0.004
RU a V1 10.4k TC=-0.001
`, "a", "b", -2.5, 2.5, true},
		// 5 V / 2.05 .. 5 V / 1.95 are the thresholds.
		{"three resistances", still + `* shuntwright: rails.V1 = "5 V exact"
* shuntwright: elements.RT.tolerance = "20 %"
* shuntwright: elements.RU.tolerance = "10 %"
* shuntwright: elements.RA.tolerance = "5 %"
X0 a r b 0 V1 capstan-ideal
RA r V1 1k
RB r 0 1k
RT a 0 10k
RU a V1 10k
`, "a", "b", -5 * 1.05 / 2.05, 5 / 1.95, false},
	} {
		d := load(t, c.deck, outputs)
		var q = voltage(t, d, c.a)
		if c.b != "0" {
			q = across(t, d, c.a, c.b)
		}
		meets(t, c.name, q.Seen, c.lo, c.hi, 1e-8)
		if q.Loose != c.loose {
			t.Errorf("%s: loose is %v", c.name, q.Loose)
		}
		if c.loose {
			if q.Sound.Lo > c.lo || q.Sound.Hi < c.hi || q.Sound.Width() > 1.5*(c.hi-c.lo) {
				t.Errorf("%s, nothing outside, is %v", c.name, q.Sound)
			}
			continue
		}
		meets(t, c.name+", nothing outside,", q.Sound, c.lo, c.hi, 1e-7)
	}
	d := load(t, window+"R7 m 0 1k\n", outputs)
	e, _ := d.Find("R7")
	q := volt.New(d).Current(e, design.Operating)
	meets(t, "I(R7)", q.Seen, 5e-3/3, 10e-3/3, 1e-10)
	meets(t, "I(R7), nothing outside,", q.Sound, 5e-3/3, 10e-3/3, 1e-9)
}
