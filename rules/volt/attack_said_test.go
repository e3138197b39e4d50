package volt_test

import (
	"math"
	"testing"
)

// What is not loose is exact. A diode into 160 kohm beside an open switch: what rounding leaves to its condition is a
// millionth of a volt there, which is either not in the bound or said.
func TestLooseIsSaid(t *testing.T) {
	d := load(t, `* shuntwright: rails.IN = "-1 V .. 1 V"
* shuntwright: elements.R2.tolerance = "24 %"
* shuntwright: elements.D6.drop = "0.9 V .. 1.3 V"
* shuntwright: elements.S8.on-resistance = "1 ohm .. 2 ohm"
.model sw SW
.model d D
VC ctl 0 1
R2 out 0 127k
D6 IN out d
S8 out 0 ctl 0 sw`, "")
	q := voltage(t, d, "out")
	meets(t, "seen", q.Seen, 0, 0.1, 1e-9)
	meets(t, "sound", q.Sound, 0, 0.1, 1e-5)
	if off := math.Max(q.Seen.Lo-q.Sound.Lo, q.Sound.Hi-q.Seen.Hi); off > 1e-9 && !q.Loose {
		t.Errorf("%v is seen, %v counted, and nothing is loose", q.Seen, q.Sound)
	}
}
