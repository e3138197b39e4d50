package volt_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Nodes that only diodes tie have more than one answer: whatever the search settles in, each of them counts.
func TestNodesThatOnlyDiodesTie(t *testing.T) {
	var idle strings.Builder
	for k := range 10 {
		fmt.Fprintf(&idle, "* shuntwright: elements.D3%d.drop = \"0.5 V exact\"\nD3%d 0 b free\n", k, k)
	}
	const fed = `* shuntwright: rails.V1 = "9 V .. 10 V"
* shuntwright: elements.D1.drop = "0.5 V exact"
`
	for _, c := range []struct {
		name, deck, net string
		lo, hi          float64 // allowed, or an end without limit
		needs           bool
	}{
		// 10 V - 0.2 V at the least, and as far above as D9 blocks: 10 V + 0.8 V. Ten more diodes block all the time.
		{"more diodes than are all looked at", `* shuntwright: rails.V1 = "10 V exact"
* shuntwright: elements.D6.drop = "0 V exact"
* shuntwright: elements.D7.drop = "0.1 V .. 0.2 V"
* shuntwright: elements.D9.drop = "0.6 V .. 0.8 V"
D6 a b free
D7 V1 a free
D9 b V1 free
` + idle.String(), "b", 9.8, 10.8, false},
		// A drop to either side of a rail that does not move.
		{"between two diodes", `* shuntwright: rails.V1 = "10 V exact"
* shuntwright: elements.D1.drop = "0.5 V exact"
* shuntwright: elements.D2.drop = "0.5 V exact"
D1 V1 x free
D2 x V1 free
R1 V1 0 1k`, "x", 9.5, 10.5, false},
		// What circulates in a part drives nothing out of it.
		{"a current in a circle", `* shuntwright: rails.V6 = "-11 V .. 11 V"
* shuntwright: elements.I0.tolerance = "0 %"
* shuntwright: elements.D1.drop = "0.3 V .. 0.4 V"
* shuntwright: elements.D7.drop = "0.3 V .. 0.6 V"
R1 b a 100
I0 a b 7m
D1 a V6 free
D7 b 0 free`, "a", math.Inf(-1), -0.4, true},
		{"fed by one diode", fed + "D1 V1 x free", "x", 8.5, math.Inf(1), true},
		{"drained by one diode", fed + "D1 x V1 free", "x", math.Inf(-1), 10.5, true},
	} {
		q := voltage(t, load(t, "* shuntwright: tolerances.resistors = \"0 %\"\n.model free D\n"+c.deck, ""), c.net)
		if q.Sound.Lo > c.lo+1e-6 || q.Sound.Hi < c.hi-1e-6 || q.Known() == c.needs {
			t.Errorf("%s: %v, needs %v; %v .. %v is allowed", c.name, q.Sound, q.Needs, c.lo, c.hi)
		}
	}
}
