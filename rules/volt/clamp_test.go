package volt_test

import (
	"math"
	"testing"
)

// A card with three nodes has its bulk at the source: the body diode runs from there to the drain.
func TestTransistorWithThreeNodes(t *testing.T) {
	d := load(t, `* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: currents.RS = { range = "-20 A .. 20 A", from = "PH" }
* shuntwright: elements.MH = { drop = "0.5 V .. 1 V", on-resistance = "5 mohm" }
* shuntwright: elements.ML = { drop = "0.5 V .. 1 V", on-resistance = "5 mohm" }
.model fet NMOS
MH BUS gh PH fet
ML PH gl 0 fet
RS PH MOT 1m
LM MOT N 1m`, "")
	q := voltage(t, d, "PH")
	meets(t, "V(PH)", q.Seen, -1, 59, 1e-6)
}

// A breakdown voltage is a clamp only with the level at the current that it carries: with a resistance in its model that
// is known, 62 V + 5 % and 0.5 ohm x (150 V - 62 V x 1.05) / 10.5 ohm at the most; without one it is seen and not counted on.
func TestClampCountsWithItsLevel(t *testing.T) {
	deck := func(model string) string {
		return `* shuntwright: rails.BUS = "0 V .. 150 V"
* shuntwright: tolerances.resistors = "0 %"
.model z D(` + model + `)
RL BUS B 10
DZ 0 B z`
	}
	known := voltage(t, load(t, deck("BV=62 RS=0.5"), ""), "B")
	level := func(bv float64) float64 { return bv + 0.5*(150-bv)/10.5 }
	if math.Abs(known.Seen.Hi-level(62)) > 1e-6 || math.Abs(known.Sound.Hi-level(62*1.05)) > 1e-6 {
		t.Errorf("with a resistance: %v, %v; want up to %v, %v", known.Seen, known.Sound, level(62), level(62*1.05))
	}
	bare := voltage(t, load(t, deck("BV=62"), ""), "B")
	if math.Abs(bare.Seen.Hi-62) > 1e-6 || bare.Sound.Hi < 150-1e-6 {
		t.Errorf("without: %v, %v", bare.Seen, bare.Sound)
	}
}
