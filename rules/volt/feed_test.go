package volt_test

import "testing"

// A net on which nothing is drawn but the shunt and the amplifier has a feed that nobody declared: the implied source of
// the current stands at the load, and the bound asks for the rail.
func TestUndeclaredFeedIsMissing(t *testing.T) {
	deck := `* shuntwright: currents.RS = { range = "-20 A .. 20 A", from = "BUS" }
RS BUS LOAD 1m
RL LOAD 0 4`
	d := load(t, deck, "")
	q := voltage(t, d, "BUS")
	if q.Known() || len(q.Needs) != 1 || q.Needs[0].Key != "rails.BUS" || !q.Seen.Empty() {
		t.Errorf("V(BUS) is %v, needs %v", q.Seen, q.Needs)
	}
	meets(t, "with its rail", voltage(t, load(t, `* shuntwright: rails.BUS = "40 V .. 58 V"`+"\n"+deck, ""), "LOAD").Seen, 39.98, 58.02, 1e-9)
}
