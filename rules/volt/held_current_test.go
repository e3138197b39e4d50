package volt_test

import "testing"

// A current into a net that something holds, in an island that is solved on the way to an op amp's supply: it drives no group of
// nodes, and none is looked for.
func TestCurrentIntoAHeldNet(t *testing.T) {
	d := load(t, `* shuntwright: rails.V5 = "5 V exact"
V3 V5 c 1
L6 b c 10u
I8 b d 1
X10 d c b d c mole-amp`, `
[[part]]
name = "mole-amp"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply.current = "0.7 mA"
`)
	q := voltage(t, d, "d")
	if q.Known() || !q.Seen.Empty() {
		t.Errorf("V(d), which nothing but the current ties down, is seen in %v", q.Seen)
	}
}
