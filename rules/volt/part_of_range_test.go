package volt_test

import (
	"fmt"
	"testing"
)

// A declared current of which some part of the range is no state, beside a switch: what the rest of the range does counts.
// By hand: a is 4 V less 1.7 ohm times the current; D2 brings it to b, less 0.6 V, and D3 stops b at 4.4 V; where b would
// have to be higher there is no state.
func TestPartOfADeclaredRangeIsNoState(t *testing.T) {
	for _, c := range []struct {
		from, to, hi float64
	}{
		{-1, 2, 4.4},
		{0, 2, 3.4},
		{-0.3, 2, 3.4 + 1.7*0.3},
		{0.5, 2, 3.4 - 1.7*0.5},
	} {
		d := load(t, still+fmt.Sprintf(`* shuntwright: rails.V2 = "4 V exact"
* shuntwright: elements.D2.drop = "0.6 V exact"
* shuntwright: elements.D3.drop = "0.4 V exact"
* shuntwright: elements.S4.on-resistance = "6 ohm exact"
* shuntwright: currents.R0 = { range = "%v A .. %v A", from = "V2" }
.model free D
.model hs SW
R0 V2 a 1.7
R1 b 0 165
D2 a b free
D3 b V2 free
S4 0 b cc 0 hs`, c.from, c.to), "")
		q := voltage(t, d, "b")
		meets(t, fmt.Sprint("from ", c.from), q.Seen, 0, c.hi, 1e-7)
		meets(t, fmt.Sprint("from ", c.from, ", nothing outside,"), q.Sound, 0, c.hi, 1e-7)
	}
	q := voltage(t, load(t, `* shuntwright: tolerances.resistors = "30 %"
* shuntwright: rails.V2 = "0.456 V .. 0.956 V"
* shuntwright: currents.R0 = { range = "-1 A .. 2 A", from = "V2" }
* shuntwright: elements.D6.drop = "0.437 V .. 0.637 V"
* shuntwright: elements.D7.drop = "0.371 V .. 0.571 V"
.model free D
.model hs SW
R0 V2 b 1.96
R1 a b 1240
D6 a 0 free
D7 b a free
S8 b a cc 0 hs`, ""), "a")
	if q.Seen.Hi < 0.5 || q.Sound.Hi < 0.637 {
		t.Errorf("V(a): %v, %v; D6 carries up to 0.637 V", q.Seen, q.Sound)
	}
}
