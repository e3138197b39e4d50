package volt_test

import (
	"slices"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A witness names the state of a switch that moves its end, also where the pieces are not shown to hang together and what
// all of them could reach is the same whether the switch is closed or not.
func TestWitnessOfALooseBoundNamesItsSwitch(t *testing.T) {
	d := load(t, `* shuntwright: rails.n6 = "-19 V .. 19 V"
* shuntwright: elements.R4.tolerance = "39 %"
.model sw SW
.model d D
VC ctl 0 1
R2 n3 0 720
R4 n5 n3 30
R6 n4 n6 840
R7 n5 0 5
D12 n5 n4 d
D13 n4 n3 d
S15 0 n3 ctl 0 sw`, "")
	q := voltage(t, d, "n4")
	for _, high := range []bool{false, true} {
		if !slices.ContainsFunc(q.Witness(high), func(s quantity.State) bool { return s.Name == "state of S15" }) {
			t.Errorf("high %v: %v", high, q.Witness(high))
		}
	}
}
