package volt_test

import (
	"math"
	"testing"
)

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

// Where no rail feeds what is drawn around a node, that nothing limits it is a rail that is missing and no failure; with
// the rail there, a coil whose path opens without a diode is one.
func TestUnlimitedOnlyWhereSomethingFeeds(t *testing.T) {
	deck := `* shuntwright: currents.RS = { range = "0 A .. 2 A", from = "COIL" }
* shuntwright: elements.MB = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm" }
.model fet NMOS
LB BUS COIL 80m
RS COIL SW 20m
MB SW g 0 0 fet
`
	q := voltage(t, load(t, deck+".model free D\nDF SW BUS free", ""), "SW")
	if q.Known() || q.Needs[0].Key != "rails.BUS" || !q.Seen.Empty() && q.Seen.Hi > 1e6 {
		t.Errorf("without a rail: %v, needs %v", q.Seen, q.Needs)
	}
	q = voltage(t, load(t, `* shuntwright: rails.BUS = "40 V .. 58 V"`+"\n"+deck, ""), "SW")
	if q.Seen.Hi < 1e300 || q.Reason(true) == "" {
		t.Errorf("with the rail: %v, %q, needs %v", q.Seen, q.Reason(true), q.Needs)
	}
}

// With its current at 0 A and the switch open a coil ties the node to its own supply: the bias current of an amplifier
// does not pull it to the body diode. On: 0 V; off and driving: 58 V + 1 V.
func TestDeadCoilIsNoUndershoot(t *testing.T) {
	records := `[[part]]
name = "hawser-20"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "supply"]
gain = "20 V/V"
supply = { operating = "3 V .. 6 V", current = "1 mA" }
input = { model = "differential", resistance = "5 kohm" }
bias = { max = "20 uA", mismatch = "0.5 uA" }
`
	d := load(t, `* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: rails.V5 = "5 V exact"
* shuntwright: currents.RS = { range = "0 A .. 2 A", from = "COIL" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.MB = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm" }
* shuntwright: elements.DF = { drop = "0.5 V .. 1 V" }
.model fet NMOS
.model free D
LB BUS COIL 80m
RS COIL SW 20m
DF SW BUS free
MB SW g 0 0 fet
XA COIL SW out 0 V5 hawser-20`, records)
	meets(t, "V(SW)", voltage(t, d, "SW").Seen, 0, 59, 1e-3)
}

// However small the resistance between the nodes that float together, the current that has nowhere to go is not lost: it
// was once, in rounding beside a few siemens, and the state with it.
func TestLowOhmsDoNotHideAnOpenedCoil(t *testing.T) {
	for _, ohms := range []string{"10k", "1", "100m", "20m", "1m", "10u"} {
		for _, load2 := range []string{"", "RP A B 7\n", "RC B C 3m\nRD C A 2m\n"} {
			deck := `* shuntwright: rails.BUS = "20 V .. 30 V"
* shuntwright: elements.MB = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm" }
* shuntwright: elements.LB = { current = "0 A .. 2 A" }
.model fet NMOS
LB BUS A 80m
` + load2 + `RS A B ` + ohms + `
MB B g 0 0 fet
`
			for _, n := range []string{"A", "B"} {
				if q := voltage(t, load(t, deck, ""), n); !math.IsInf(q.Seen.Hi, 1) {
					t.Errorf("%s %q: V(%s) is %v", ohms, load2, n, q.Seen)
				}
			}
			q := voltage(t, load(t, deck+"DF B BUS free\n.model free D\n* shuntwright: elements.DF = { drop = \"0.6 V .. 1.1 V\" }", ""), "B")
			meets(t, ohms+load2+" with a diode", q.Seen, -1e-9, 31.1, 2e-3)
		}
	}
}

// An inductor whose card gives it a resistance is no piece of wire: 10 V over 1 ohm and 9 ohm. Its current in a path that a
// switch breaks is what that resistance lets through, 1 A, and goes through a diode of 1 V with it.
func TestWindingResistance(t *testing.T) {
	const rail = "* shuntwright: rails.BUS = \"10 V exact\"\n* shuntwright: tolerances.resistors = \"0 %\"\n"
	meets(t, "V(A)", voltage(t, load(t, rail+"LB BUS A 80m Rser=1\nRL A 0 9", ""), "A").Seen, 9, 9, 1e-9)
	deck := rail + `* shuntwright: elements.SB.on-resistance = "9 ohm exact"
* shuntwright: elements.DF.drop = "1 V exact"
LB BUS A 80m DCR=1
SB A 0 c 0 sw
.model sw SW
DF A B free
RF B BUS 2
.model free D`
	meets(t, "V(B)", voltage(t, load(t, deck, ""), "B").Seen, 10, 12, 1e-6)
}
