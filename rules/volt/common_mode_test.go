package volt_test

import (
	"math"
	"strings"
	"testing"
)

// Bounds of both ends of a shunt in the usual places, derived by hand: 10 mohm and 20 A make 0.2 V.
func TestCommonModeByTopology(t *testing.T) {
	const models = "\n.model fet NMOS\n.model free D"
	type end struct {
		net    string
		lo, hi float64
	}
	for _, c := range []struct {
		name, deck string
		ends       []end
	}{
		{"high side", `* shuntwright: rails.BATT = "40 V .. 58 V"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BATT" }
* shuntwright: tolerances.resistors = "0 %"
RSH BATT LOAD 10m
RL LOAD 0 4`, []end{{"BATT", 40, 58}, {"LOAD", 39.8, 58.2}}},

		{"high side, shunt of 1 %", `* shuntwright: rails.BATT = "40 V .. 58 V"
* shuntwright: currents.RSH = { range = "0 A .. 20 A", from = "BATT" }
* shuntwright: tolerances.resistors = "1 %"
RSH BATT LOAD 10m
RL LOAD 0 4`, []end{{"LOAD", 40 - 0.202, 58}}},

		{"low side", `* shuntwright: rails.BATT = "40 V .. 58 V"
* shuntwright: currents.RSH = { range = "-5 A .. 20 A", from = "RET" }
* shuntwright: tolerances.resistors = "0 %"
RL BATT RET 4
RSH RET 0 10m`, []end{{"RET", -0.05, 0.2}}},

		// A half bridge with the load's current both ways: a body diode drops 0.9 V at most below and above.
		{"in line with a phase", `* shuntwright: rails.BATT = "40 V .. 58 V"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "PH" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.MH = { drop = "0.6 V .. 0.9 V", on-resistance = "5 mohm .. 15 mohm", exclusive-with = ["ML"] }
* shuntwright: elements.ML = { drop = "0.6 V .. 0.9 V", on-resistance = "5 mohm .. 15 mohm" }
MH BATT gh PH PH fet
ML PH gl 0 0 fet
RSH PH MOT 10m
LM MOT N 1m
RM N 0 1`, []end{{"PH", -0.9, 58.9}, {"MOT", -0.9 - 0.2, 58.9 + 0.2}}},

		// Between coil and switch: on, 2 A make 0.02 V to 0.04 V and nothing makes 0 V; the diode at the switch lifts the
		// node to the battery and a drop, the coil's side by 0.02 V more.
		{"low-side switch with a freewheel diode", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "COIL" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.DF = { drop = "0.5 V .. 1 V" }
* shuntwright: elements.ML = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 20 mohm" }
LC BATT COIL 80m
RSH COIL SW 10m
DF SW BATT free
ML SW g 0 0 fet`, []end{{"SW", 0, 17}, {"COIL", 0, 17.02}}},

		// Between the switch's source and ground: on-time current only.
		{"between switch and ground", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "SRC" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.DF = { drop = "0.5 V .. 1 V" }
* shuntwright: elements.ML = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 20 mohm" }
LC BATT SW 80m
DF SW BATT free
ML SW g SRC SRC fet
RSH SRC 0 10m`, []end{{"SRC", 0, 0.02}}},

		// After a high-side switch: off, the diode holds its node a drop below ground, the coil's side 0.02 V lower.
		{"high-side switch", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "SW" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.DF = { drop = "0.5 V .. 1 V" }
* shuntwright: elements.SH.on-resistance = "10 mohm .. 20 mohm"
SH BATT SW c 0 hs
DF 0 SW free
RSH SW COIL 10m
LC COIL N 80m
RC N 0 7
.model hs SW`, []end{{"SW", -1, 16}, {"COIL", -1.02, 16}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := load(t, c.deck+models, "")
			for _, e := range c.ends {
				q := voltage(t, d, e.net)
				meets(t, "V("+e.net+")", q.Seen, e.lo, e.hi, 1e-6)
				if !q.Seen.In(q.Sound) || !q.Known() {
					t.Errorf("V(%s): seen %v, sound %v, needs %v", e.net, q.Seen, q.Sound, q.Needs)
				}
				meets(t, "V("+e.net+"), nothing outside,", q.Sound, e.lo, e.hi, 1e-6)
			}
		})
	}
}

// Without the diode nothing limits the node, and the reason names the coil and the switch.
func TestCoilWithoutAClampIsUnbounded(t *testing.T) {
	d := load(t, `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: elements.LC.current = "0 A .. 2 A"
* shuntwright: elements.SL.on-resistance = "10 mohm .. 20 mohm"
LC BATT SW 80m
SL SW 0 c 0 ls
.model ls SW`, "")
	q := voltage(t, d, "SW")
	if !math.IsInf(q.Seen.Hi, 1) || math.IsInf(q.Seen.Lo, -1) {
		t.Errorf("V(SW) is seen in %v, want it unbounded above only", q.Seen)
	}
	if !strings.Contains(q.Why, "LC") || !strings.Contains(q.Why, "SL") || !q.Known() {
		t.Errorf("the reason is %q, needs %v", q.Why, q.Needs)
	}
}

// The current that the coil may carry is what the netlist drives through it where intent says none: 16 V over 8 ohm
// and a closed switch lift the node by a drop of 1 V over the supply whatever the current.
func TestCoilCurrentFromTheNetlist(t *testing.T) {
	const deck = `* shuntwright: rails.BATT = "16 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.SL.on-resistance = "1 mohm exact"
LC BATT N 80m
RC N SW 8
SL SW 0 c 0 ls
.model ls SW
.model free D`
	q := voltage(t, load(t, deck, ""), "SW")
	if !math.IsInf(q.Seen.Hi, 1) {
		t.Errorf("V(SW) is seen in %v without a diode", q.Seen)
	}
	q = voltage(t, load(t, deck+"\n* shuntwright: elements.DF.drop = \"1 V exact\"\nDF SW BATT free", ""), "SW")
	meets(t, "V(SW)", q.Seen, 0, 17, 1e-2)
}

// A drop that nobody declared is seen at 0.7 V and counted from 0 V to 1.5 V (common practice, no source).
func TestUndeclaredDrop(t *testing.T) {
	d := load(t, `* shuntwright: rails.BATT = "16 V exact"
* shuntwright: elements.LC.current = "2 A exact"
* shuntwright: elements.SL.on-resistance = "1 mohm exact"
LC BATT SW 80m
SL SW 0 c 0 ls
DF SW BATT free
.model ls SW
.model free D`, "")
	q := voltage(t, d, "SW")
	meets(t, "V(SW)", q.Seen, 0, 16.7, 1e-2)
	meets(t, "V(SW), nothing outside,", q.Sound, 0, 17.5, 1e-2)
}

// Without exclusive switches both may be closed; then the half bridge shorts its supply, which its own resistances share.
func TestExclusiveSwitches(t *testing.T) {
	const deck = `* shuntwright: rails.BATT = "10 V exact"
* shuntwright: elements.SH = { on-resistance = "1 ohm exact"%s }
* shuntwright: elements.SL.on-resistance = "3 ohm exact"
SH BATT PH c 0 sw
SL PH 0 c 0 sw
RP PH 0 1k
RQ BATT PH 1k
VC c 0 1
.model sw SW`
	// States: both open 5 V, the high one 10 x 1k/(1k + 1k||1) ~ 9.99 V, the low one ~ 0.03 V, both ~ 7.5 V.
	low, high := 10*(3*1000./1003)/(1000+3*1000./1003), 10*1000/(1000+1000./1001)
	for _, exclusive := range []string{"", `, exclusive-with = ["SL"]`} {
		q := voltage(t, load(t, strings.Replace(deck, "%s", exclusive, 1), ""), "PH")
		meets(t, "V(PH)"+exclusive, q.Seen, low, high, 1e-6)
	}
	// A lamp from the middle that only lights when both are closed: 7.5 V against 9.99 V and 0.03 V is no extreme, so look
	// at the current of the pair, the drop over a resistor in series with both.
	const series = `* shuntwright: rails.BATT = "10 V exact"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.SH = { on-resistance = "1 ohm exact"%s }
* shuntwright: elements.SL.on-resistance = "3 ohm exact"
RS BATT TOP 1
SH TOP PH c 0 sw
SL PH 0 c 0 sw
RP PH 0 1k
RQ TOP PH 1k
VC c 0 1
.model sw SW`
	q := voltage(t, load(t, strings.Replace(series, "%s", "", 1), ""), "TOP")
	both := 10 * (1000./1001 + 3000./1003) / (1 + 1000./1001 + 3000./1003)
	if math.Abs(q.Seen.Lo-both) > 1e-6 {
		t.Errorf("V(TOP) reaches down to %v, with both closed it is %v", q.Seen.Lo, both)
	}
	q = voltage(t, load(t, strings.Replace(series, "%s", `, exclusive-with = ["SL"]`, 1), ""), "TOP")
	one := 10 * (1000 + 3000./1003) / (1001 + 3000./1003)
	two := 10 * (1000 + 1000./1001) / (1001 + 1000./1001)
	if math.Abs(q.Seen.Lo-min(one, two)) > 1e-6 {
		t.Errorf("V(TOP) reaches down to %v where one at most is closed, want %v", q.Seen.Lo, min(one, two))
	}
}
