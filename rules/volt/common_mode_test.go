package volt_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// An invented clamp: 38 V and up to 41 V at 2 A.
const fender = `[[part]]
name = "fender-41"
role = "clamp"
pins = ["anode", "cathode"]
drop = "0.5 V .. 1 V"
clamp = { breakdown = "36 V .. 38 V", level = [["2 A", "41 V"]] }
`

// Bounds of both ends of a shunt in the usual places, derived by hand: 10 mohm and 20 A make 0.2 V.
func TestCommonModeByTopology(t *testing.T) {
	const models = "\n.model fet NMOS\n.model pfet PMOS\n.model free D"
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

		// A p-channel switch above its load. Off, the load takes its node to ground: 0 V. On, 2 A make 0.02 V to 0.04 V.
		{"high-side transistor, resistive load", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "1 A .. 2 A", from = "LOAD" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.MP = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 20 mohm" }
MP LOAD g BATT BATT pfet
RSH LOAD OUT 10m
RL OUT 0 8`, []end{{"LOAD", 0, 15.99}, {"OUT", 0, 15.98}}},

		// The same without a declared current: 16 V x 8 / 8.01 while it is on.
		{"high-side transistor, its load only", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.MP = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 20 mohm" }
MP LOAD g BATT BATT pfet
RL LOAD 0 8`, []end{{"LOAD", 0, 16 * 8 / 8.01}}},

		// With a coil behind it, off: down to the freewheel drop, the coil's side of the shunt 0.02 V lower.
		{"high-side transistor, inductive load", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "1 A .. 2 A", from = "LOAD" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.MP = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 20 mohm" }
* shuntwright: elements.DF = { drop = "0.5 V .. 1 V" }
MP LOAD g BATT BATT pfet
DF 0 LOAD free
RSH LOAD A 10m
LL A N 1m
RL N 0 8`, []end{{"LOAD", -1, 15.99}, {"A", -1.02, 15.98}}},

		// The mirror image: off, the load takes its node to the supply.
		{"low-side transistor, resistive load", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "1 A .. 2 A", from = "OUT" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.ML = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 20 mohm" }
RL BATT OUT 8
RSH OUT SW 10m
ML SW g 0 0 fet`, []end{{"SW", 0.01, 16}, {"OUT", 0.02, 16}}},

		// Fast decay, the clamp across the coil: battery, 41 V of the clamp at 2 A and the diode, 16 + 41 + 1.
		{"low-side switch with a clamp across the coil", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "COIL" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.DF = { drop = "0.5 V .. 1 V" }
* shuntwright: elements.ML = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 20 mohm" }
LC BATT COIL 80m
RSH COIL SW 10m
DF SW K free
XZ BATT K fender-41
ML SW g 0 0 fet`, []end{{"SW", 0, 58}, {"COIL", 0, 58.02}}},

		// Across the switch: 41 V about ground, whatever the battery.
		{"low-side switch with a clamp across it", `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "COIL" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.ML = { drop = "0.5 V .. 1 V", on-resistance = "10 mohm .. 20 mohm" }
LC BATT COIL 80m
RSH COIL SW 10m
XZ 0 SW fender-41
ML SW g 0 0 fet`, []end{{"SW", 0, 41}, {"COIL", 0, 41.02}}},

		// Above the coil, to ground: the clamp and its diode below ground, -41 - 1.
		{"high-side switch with a clamp to ground", `* shuntwright: rails.BATT = "9 V .. 14 V"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "SW" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.DF = { drop = "0.5 V .. 1 V" }
* shuntwright: elements.SH.on-resistance = "10 mohm .. 20 mohm"
SH BATT SW c 0 hs
XZ SW K fender-41
DF 0 K free
RSH SW COIL 10m
LC COIL N 80m
RC N 0 4
.model hs SW`, []end{{"SW", -42, 14}, {"COIL", -42.02, 14}}},

		// Across the switch: below the battery by the clamp, 14 - 41 = -27 where the battery stands at 14 V.
		{"high-side switch with a clamp across it", `* shuntwright: rails.BATT = "14 V exact"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "SW" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.SH.on-resistance = "10 mohm .. 20 mohm"
SH BATT SW c 0 hs
XZ SW BATT fender-41
RSH SW COIL 10m
LC COIL N 80m
RC N 0 4
.model hs SW`, []end{{"SW", -27, 14}, {"COIL", -27.02, 14}}},

		// Low-side transistors back to back, against cell minus at 0. Off, a charger of 34 V pulls the system's minus down to
		// 20 - 34 = -14 V, the load alone lifts it to the pack's 29 V.
		{"battery disconnect below", `* shuntwright: rails.PACK = "20 V .. 29 V"
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.MC = { drop = "0.5 V .. 1 V", on-resistance = "2 mohm .. 4 mohm" }
* shuntwright: elements.MD = { drop = "0.5 V .. 1 V", on-resistance = "2 mohm .. 4 mohm" }
* shuntwright: elements.SCH.on-resistance = "1 uohm exact"
* shuntwright: elements.VCH.tolerance = "0 %"
MD 0 gd MID MID fet
MC SYS gc MID MID fet
VCH CHG SYS 34
SCH PACK CHG c 0 hs
RLOAD PACK SYS 3k
.model hs SW`, []end{{"SYS", -14, 29}}},

		// The shunt between the cells and the transistors sees its current only.
		{"battery disconnect, shunt at the cells", `* shuntwright: rails.PACK = "20 V .. 29 V"
* shuntwright: currents.RSH = { range = "-5 A .. 20 A", from = "A" }
* shuntwright: tolerances.resistors = "0 %"
* shuntwright: elements.MC = { drop = "0.5 V .. 1 V", on-resistance = "2 mohm .. 4 mohm" }
* shuntwright: elements.MD = { drop = "0.5 V .. 1 V", on-resistance = "2 mohm .. 4 mohm" }
RSH A 0 1m
MD A gd MID MID fet
MC SYS gc MID MID fet
RLOAD PACK SYS 3k`, []end{{"A", -0.005, 0.02}}},

		// High-side ones: off, the load's node is taken to the charger's 34 V, and by its coil a drop below ground.
		{"battery disconnect above", disconnectAbove + "\n.model hs SW", []end{{"OUT", -1, 34}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := load(t, c.deck+models, fender)
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
	if !strings.Contains(q.Reason(true), "LC") || !strings.Contains(q.Reason(true), "SL") || !q.Known() {
		t.Errorf("the reason is %q, needs %v", q.Reason(true), q.Needs)
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

// What an event lets through: behind 2 ohm a feed of 45 V meets a clamp of 38 V and 1.5 ohm, (45 - 38) / 3.5 = 2 A and
// 41 V, its last point. A feed of 60 V asks for more, (60 - 38) / 3.5 = 6.3 A: seen at 38 V + 1.5 ohm x 6.3 A, and not
// counted on beyond 2 A, 60 V - 4 V. A reverse battery stops at the diode in series, and does not where a transistor may be
// closed: 8 ohm against 4 mohm.
func TestEventsAtTheSupply(t *testing.T) {
	for _, c := range []struct {
		name, deck  string
		operating   quantity.Interval
		seen, sound quantity.Interval
	}{
		{"load dump", `* shuntwright: rails.FEED = { operating = "20 V .. 30 V", survival = "0 V .. 45 V" }
RS FEED IN 2
XZ 0 IN fender-41`, quantity.Interval{Lo: 20, Hi: 30}, quantity.Interval{Lo: 0, Hi: 41}, quantity.Interval{Lo: 0, Hi: 41}},
		{"more than the clamp is known for", `* shuntwright: rails.FEED = { operating = "20 V .. 30 V", survival = "0 V .. 60 V" }
RS FEED IN 2
XZ 0 IN fender-41`, quantity.Interval{Lo: 20, Hi: 30}, quantity.Interval{Lo: 0, Hi: 38 + 1.5*22/3.5}, quantity.Interval{Lo: 0, Hi: 56}},
		{"reverse battery at a diode", `* shuntwright: rails.FEED = { operating = "9 V .. 16 V", survival = "-16 V .. 40 V" }
* shuntwright: elements.DR.drop = "0.5 V .. 1 V"
DR FEED IN free
RL IN 0 8
.model free D`, quantity.Interval{Lo: 8, Hi: 15.5}, quantity.Interval{Lo: 0, Hi: 39.5}, quantity.Interval{Lo: 0, Hi: 39.5}},
		{"reverse battery at a transistor", `* shuntwright: rails.FEED = { operating = "9 V .. 16 V", survival = "-16 V .. 40 V" }
* shuntwright: elements.MR = { drop = "0.5 V .. 1 V", on-resistance = "4 mohm exact" }
MR FEED g IN IN pfet
RL IN 0 8
.model pfet PMOS`, quantity.Interval{Lo: 8, Hi: 16 * 8 / 8.004}, quantity.Interval{Lo: -16 * 8 / 8.004, Hi: 40 * 8 / 8.004},
			quantity.Interval{Lo: -16 * 8 / 8.004, Hi: 40 * 8 / 8.004}},
	} {
		d := load(t, "* shuntwright: tolerances.resistors = \"0 %\"\n"+c.deck, fender)
		meets(t, c.name+": V(IN)", voltage(t, d, "IN").Sound, c.operating.Lo, c.operating.Hi, 1e-6)
		q := volt.New(d).Bound(volt.At(net(t, d, "IN")), design.Survival)
		meets(t, c.name+": V(IN) in events", q.Seen, c.seen.Lo, c.seen.Hi, 1e-4)
		meets(t, c.name+": V(IN) in events, nothing outside,", q.Sound, c.sound.Lo, c.sound.Hi, 1e-4)
	}
}

// Two open transistors back to back leave the net between them to their leakage: it is asked for. So is a net that only a
// diode in the path of a load without current would hold.
func TestNetsThatNothingHoldsAreAskedFor(t *testing.T) {
	for name, deck := range map[string]string{
		"MID": `* shuntwright: rails.PACK = "20 V .. 29 V"
MD 0 gd MID MID fet
MC SYS gc MID MID fet
RLOAD PACK SYS 3k`,
		"SW": `* shuntwright: rails.BATT = "9 V .. 16 V"
* shuntwright: currents.RSH = { range = "0 A .. 2 A", from = "OUT" }
RL BATT A 8
DL A OUT free
RSH OUT SW 10m
ML SW g 0 0 fet
.model free D`,
	} {
		q := voltage(t, load(t, deck+"\n.model fet NMOS", ""), name)
		if q.Known() || q.Needs[0].Key != "rails."+name || q.Seen.Empty() {
			t.Errorf("V(%s) is %v, seen in %v, needs %v", name, q.Sound, q.Seen, q.Needs)
		}
	}
}
