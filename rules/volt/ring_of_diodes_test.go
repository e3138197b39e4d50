package volt_test

import (
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// Diodes without resistance around a declared current: where they would have to carry without measure there is no state. By
// hand: D13 and D10 keep n4 within 0.9 V of the rail, so that R2, with the closed switch, carries 0.9 V over 66 ohm at the
// most; what the tolerance of the shunt is changes nothing, since a smaller current makes up for it.
func TestDiodesAroundADeclaredCurrent(t *testing.T) {
	for _, tolerance := range []string{"0 %", "1 %", "20 %"} {
		d := load(t, still+`* shuntwright: rails.n2 = "1.9 V exact"
* shuntwright: currents.R8 = { range = "0.5 A .. 2 A", from = "n2" }
* shuntwright: elements.R8.tolerance = "`+tolerance+`"
* shuntwright: elements.D13.drop = "0.2 V exact"
* shuntwright: elements.D10.drop = "0.7 V exact"
* shuntwright: elements.D14.drop = "0.7 V exact"
* shuntwright: elements.S11.on-resistance = "1 ohm exact"
R2 n5 n4 65
D14 n5 n6 free
R8 n2 n4 0.5
S11 n5 n2 cc 0 hs
D13 n2 n6 free
D10 n6 n4 free
.model free D
.model hs SW`, "")
		e, _ := d.Find("R2")
		q := volt.New(d).Current(e, design.Operating)
		meets(t, tolerance+": I(R2)", q.Seen, 0, 0.9/66, 1e-10)
		meets(t, tolerance+": I(R2), nothing outside,", q.Sound, 0, 0.9/66, 1e-9)
		reproduces(t, q, func(high bool) ([]string, error) { return volt.New(d).CurrentDeck(e, design.Operating, q, high) })
	}
}

// A coil that rests ties the node to its rail through nothing: a clamp below that leaves no such state.
func TestClampAgainstARestingCoil(t *testing.T) {
	q := voltage(t, load(t, still+`* shuntwright: rails.n1 = "10 V exact"
* shuntwright: rails.n2 = "2 V exact"
* shuntwright: currents.R3 = { range = "0.2 A .. 2 A", from = "n3" }
* shuntwright: elements.D7.drop = "0.4 V exact"
* shuntwright: elements.S6.on-resistance = "25 ohm exact"
L2 n1 n3 1m
R3 n3 n4 0.03
S6 n4 0 cc 0 hs
D7 n4 n2 free
.model free D
.model hs SW`, ""), "n4")
	meets(t, "n4", q.Seen, 2.4, 2.4, 1e-9)
	meets(t, "n4, nothing outside,", q.Sound, 2.4, 2.4, 1e-9)
}
