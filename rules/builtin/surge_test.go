package builtin_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

func TestSurgeEvent(t *testing.T) {
	rule := builtin.SurgeEvent
	// The clamp takes most where it breaks down earliest, at 50 V: (80 V - 50 V) / 2.3 ohm = 13.04 A, 652.2 W; its record
	// allows 1000 W for 100 us. As the power lost to the surge's resistance: 80 V x 13.04 A - 13.04^2 A^2 x 2.3 ohm.
	amps := 30 / 2.3
	watts := 80*amps - amps*amps*2.3
	r := wants(t, rule, rules.KindPass, 0, quayDeck, buoyParts)
	agrees(t, "power", measure(t, r, "peak power of XT in dump").Max, watts, 1e-9)
	agrees(t, "energy", measure(t, r, "energy of XT in dump").Max, watts*100e-6, 1e-9)
	// The curve falls tenfold in a hundredfold time: 1000 W x sqrt(100 us / t) = 652.2 W at 235.1 us. Its energy rises as
	// 0.1 J x sqrt(t / 100 us), and t x 652.2 W reaches it at 235.1 us too.
	at := func(d string) string { return edit(t, quayDeck, `"100 us"`, `"`+d+`"`) }
	wants(t, rule, rules.KindPass, 0, at("235 us"), buoyParts)
	r = wants(t, rule, rules.KindFail, rules.Error, at("236 us"), buoyParts)
	if !strings.Contains(r.Message, "dump leaves up to") {
		t.Error(r.Message)
	}
	wants(t, rule, rules.KindFail, rules.Error, at("10 ms"), buoyParts)
	// Beyond the curve nobody said; a shorter pulse is no worse than its first point, of the energy nobody said.
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, at("11 ms"), `"80 V"`, `"51 V"`, `"2.3 ohm"`, `"50 ohm"`), buoyParts), "clamp.pulse-power at 11 ms")
	power := edit(t, buoyParts, `clamp.pulse-energy = [["100 us", "0.1 J"], ["10 ms", "1 J"]]`, "")
	wants(t, rule, rules.KindPass, 0, at("10 us"), power)
	lacks(t, wants(t, rule, rules.KindOpen, 0, at("10 us"), buoyParts), "clamp.pulse-energy at 10 us")
	// By its shape: an exponential pulse that falls to a half in t holds t / ln 2 times its peak.
	energy := edit(t, buoyParts, `clamp.pulse-power = [["100 us", "1000 W"], ["10 ms", "100 W"]]`, "")
	for shape, f := range map[string]float64{"rectangular": 1, "exponential": math.Log2(math.E), "half-sine": 0.63662, "triangular": 0.5} {
		r = judge(t, rule, edit(t, quayDeck, `"100 us"`, `"100 us", shape = "`+shape+`"`), energy)
		agrees(t, "energy of a "+shape+" pulse", measure(t, r, "energy of XT in dump").Max, watts*100e-6*f, 1e-5)
	}
	// Where the clamp may take half of the surge's voltage, 100 V, it takes V^2 / 4 R.
	r = judge(t, rule, edit(t, quayDeck, `"80 V"`, `"110 V"`), buoyParts)
	agrees(t, "power where source and clamp match", measure(t, r, "peak power of XT in dump").Max, 110*110/4/2.3, 1e-9)
	// A surge that stays below the breakdown asks for nothing.
	dumb := edit(t, power, `clamp.pulse-power = [["100 us", "1000 W"], ["10 ms", "100 W"]]`, "")
	wants(t, rule, rules.KindPass, 0, edit(t, quayDeck, `"80 V"`, `"49 V"`), dumb)
	lacks(t, wants(t, rule, rules.KindOpen, 0, quayDeck, dumb), "clamp.pulse-power")
	for key, text := range map[string]string{"resistance": `, resistance = "2.3 ohm"`, "duration": `, duration = "100 us"`, "voltage": `, voltage = "80 V"`} {
		lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, quayDeck, text, ""), buoyParts), "surges.dump."+key)
	}
	lacks(t, wants(t, rule, rules.KindOpen, 0, quayDeck, edit(t, buoyParts, `clamp.level = [["10 A", "70 V"]]`, "")), "mooring-50 clamp.level")
}

// A clamp on a bus wants to know what surges there are; no clamp and no surge want nothing.
func TestSurgeUndeclared(t *testing.T) {
	rule := builtin.SurgeEvent
	surge := "* shuntwright: surges.dump = { at = \"BUS\", voltage = \"80 V\", resistance = \"2.3 ohm\", duration = \"100 us\" }\n"
	bare := edit(t, quayDeck, surge, "")
	r := wants(t, rule, rules.KindOpen, 0, bare, buoyParts)
	lacks(t, r, `surges.NAME with at = "BUS"`)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, bare, "XT 0 BUS mooring-50\n", ""), buoyParts)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, bare, "XT 0 BUS mooring-50", "XT 0 LOAD mooring-50"), buoyParts) // no bus
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, bare, `{ operating = "30 V .. 42 V" }`, `{ operating = "30 V .. 42 V", survival = "0 V .. 49 V" }`), buoyParts)
	lacks(t, wants(t, rule, rules.KindOpen, 0, edit(t, quayDeck, `at = "BUS", `, ""), buoyParts), "surges.dump.at")
	// A surge somewhere else does not answer.
	wants(t, rule, rules.KindOpen, 0, edit(t, quayDeck, `at = "BUS"`, `at = "V5"`), buoyParts)
}

// Without a clamp, or below ground with one that conducts forwards, the inputs take the surge.
func TestSurgeOnBareInputs(t *testing.T) {
	rule := builtin.SurgeEvent
	bare := edit(t, quayDeck, "XT 0 BUS mooring-50\n", "")
	to := func(deck, v string) string { return edit(t, deck, `"80 V"`, `"`+v+`"`) }
	wants(t, rule, rules.KindPass, 0, to(bare, "69 V"), buoyParts)
	wants(t, rule, rules.KindFail, rules.Error, to(bare, "70 V"), buoyParts)
	wants(t, rule, rules.KindPass, 0, to(bare, "-7.9 V"), buoyParts)
	wants(t, rule, rules.KindFail, rules.Error, to(bare, "-8 V"), buoyParts)
	lacks(t, wants(t, rule, rules.KindOpen, 0, to(bare, "69 V"), edit(t, buoyParts, `, survival = "-8 V .. 70 V"`, "")), "common-mode.survival")
	// What a rail is declared to reach in every event stands.
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, bare, `{ operating = "30 V .. 42 V" }`, `{ operating = "30 V .. 42 V", survival = "0 V .. 60 V" }`), buoyParts)
	// 470 uF - 20 % behind 2.3 ohm: in 100 us from 42 V by a tenth of the way; half of it when it lasts as long as 0.693 R C.
	stored := edit(t, bare, "RL LOAD 0 4", "RL LOAD 0 4\nCB BUS 0 470u")
	r := wants(t, rule, rules.KindPass, 0, to(stored, "150 V"), buoyParts)
	c := 376e-6
	v := 42.0
	for range 100000 { // a capacitor charged in small steps, and not by the exponential
		v += (150 - v) / 2.3 / c * 1e-9
	}
	agrees(t, "charged to", measure(t, r, "in+ in dump").SoundMax, v, 1e-4)
	wants(t, rule, rules.KindFail, rules.Error, edit(t, to(stored, "150 V"), `"100 us"`, `"900 us"`), buoyParts)
	// The clamp conducts forwards below ground: 0.6 V to 1.1 V, whatever the surge.
	clamped := to(quayDeck, "-30 V")
	r = wants(t, rule, rules.KindPass, 0, clamped, buoyParts)
	agrees(t, "below ground", measure(t, r, "in+ in dump").Min, -1.1, 1e-9)
	low := edit(t, buoyParts, `survival = "-8 V .. 70 V"`, `survival = "-0.3 V .. 70 V"`)
	wants(t, rule, rules.KindFail, rules.Error, clamped, low)
	// 0.8 V over 150 ohm - 1 % are 5.39 mA, over 162 ohm 4.99 mA; 5 mA are allowed.
	leg := func(ohms string) string {
		return edit(t, clamped, "XA BUS LOAD", "RF1 BUS inp "+ohms+"\nRF2 LOAD inm "+ohms+"\nXA inp inm")
	}
	r = wants(t, rule, rules.KindFail, rules.Error, leg("150"), low)
	agrees(t, "pin current", measure(t, r, "in+ current in dump").Max, 0.8/148.5, 1e-9)
	wants(t, rule, rules.KindPass, 0, leg("162"), low)
	lacks(t, wants(t, rule, rules.KindOpen, 0, leg("162"), edit(t, low, `, survival-current = "5 mA"`, "")), "input.survival-current")
	// Without a drop in the record 0.7 V are seen, up to 1.5 V counted.
	undropped := edit(t, low, `drop = "0.6 V .. 1.1 V"`, "", `"-0.3 V .. 70 V"`, `"-1 V .. 70 V"`)
	if r = wants(t, rule, rules.KindReview, 0, clamped, undropped); !strings.Contains(strings.Join(r.Assumed, " "), "XT: no drop declared") {
		t.Error(r.Assumed)
	}
	wants(t, rule, rules.KindPass, 0, clamped+"\n* shuntwright: elements.XT.drop = \"0.5 V .. 0.9 V\"", undropped)
}

// A hot plug rings: 24 V over 1 uH and 50 mohm into 10 uF reach 42.7 V.
func TestHotPlug(t *testing.T) {
	rule := builtin.CommonModeSurvival
	plug := func(s string) string { return tug + "\n* shuntwright: hot-plug.BUS = { " + s + " }" }
	const cable = `voltage = "24 V", inductance = "1 uH", resistance = "50 mohm"`
	r := wants(t, rule, rules.KindPass, 0, plug(cable+`, capacitance = "10 uF"`), tugSense)
	// The same by stepping the circuit through time (trapezoidal rule), and not by its closed form.
	peak, v, i := 0.0, 0.0, 0.0
	const h = 1e-10
	for range 200000 { // 20 us
		di := (24 - 50e-3*i - v) / 1e-6
		i2 := i + h*di
		v2 := v + h/2*(i+i2)/10e-6
		i += h / 2 * (di + (24-50e-3*i2-v2)/1e-6)
		v = v2
		peak = max(peak, v)
	}
	m := measure(t, r, "in+ as BUS is plugged in")
	agrees(t, "peak", m.Max, peak, 1e-5)
	agrees(t, "peak", m.Max, 42.7, 1e-3)
	agrees(t, "peak at in-", measure(t, r, "in- as BUS is plugged in").Max, peak, 1e-5)
	// No resistance doubles, 2 sqrt(L / C) = 0.632 ohm does not overshoot: 80 V and 72 V are the thresholds.
	at := func(volts, ohms string) string {
		return plug(`voltage = "` + volts + `", inductance = "1 uH", resistance = "` + ohms + `", capacitance = "10 uF"`)
	}
	wants(t, rule, rules.KindFail, rules.Error, at("40 V", "0 ohm"), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, at("39.9 V", "0 ohm"), tugSense)
	wants(t, rule, rules.KindPass, 0, at("35.9 V", "0 ohm"), tugSense)
	wants(t, rule, rules.KindPass, 0, at("71.9 V", "0.64 ohm"), tugSense)
	wants(t, rule, rules.KindFail, rules.Warning, at("71.9 V", "0.5 ohm"), tugSense)
	// Controls: a ramped connection, a net that the inputs do not follow, and nothing declared.
	wants(t, rule, rules.KindPass, 0, plug(`voltage = "48 V", ramped = true`), tugSense)
	wants(t, rule, rules.KindPass, 0, edit(t, at("48 V", "0 ohm"), "hot-plug.BUS", "hot-plug.V5"), tugSense)
	wants(t, rule, rules.KindPass, 0, tug, tugSense)
	// The capacitance is that of the net's own capacitors where nothing is said: 10 uF - 20 %, damped less.
	own := plug(cable) + "\nC1 BUS 0 6.8u\nC2 BUS 0 3.2u"
	agrees(t, "peak", measure(t, wants(t, rule, rules.KindPass, 0, own, tugSense), "in+ as BUS is plugged in").Max, peak, 1e-5)
	// The wrong way around it rings below ground.
	wants(t, rule, rules.KindFail, rules.Error, at("-7.5 V", "0 ohm"), tugSense)
	wants(t, rule, rules.KindPass, 0, at("-6.7 V", "0 ohm"), tugSense)
	// Over a fuse into the shunt's own capacitors it rings with both resistances: 1.2 ohm and 0.3 ohm into 1 uF, 1 % less.
	fuse := edit(t, tug, "RSH BUS", "RFU IN BUS 1.2\nC1 BUS 0 1u\nRSH BUS") + "\n* shuntwright: tolerances.capacitors = \"0 %\"" +
		"\n* shuntwright: hot-plug.IN = { voltage = \"58 V\", inductance = \"1 uH\", resistance = \"0.3 ohm\" }"
	zeta := (0.3 + 1.2*0.99) / 2
	agrees(t, "behind a fuse", measure(t, wants(t, rule, rules.KindPass, 0, fuse, tugSense), "in- as IN is plugged in").Max,
		58*(1+math.Exp(-math.Pi*zeta/math.Sqrt(1-zeta*zeta))), 1e-9)
	wants(t, rule, rules.KindFail, rules.Warning, edit(t, fuse, "0.3 ohm", "0 ohm", `voltage = "58 V"`, `voltage = "66 V"`), tugSense)
	// A clamp on the net holds it down: 40 V x sqrt(5 uF / 100 uH) = 8.94 A at the most make 1.7 ohm x 8.94 A on top of 56.18 V,
	// instead of 80 V. At 45 V there may be 10.06 A, of which its record says nothing.
	clamped := func(volts string) string {
		return edit(t, quayDeck, `* shuntwright: surges.dump = { at = "BUS", voltage = "80 V", resistance = "2.3 ohm", duration = "100 us" }`,
			`* shuntwright: hot-plug.BUS = { voltage = "`+volts+`", inductance = "100 uH", resistance = "0 ohm", capacitance = "5 uF" }`)
	}
	amps := 40 * math.Sqrt(0.05)
	r = judge(t, rule, clamped("40 V"), buoyParts)
	agrees(t, "held down to", measure(t, r, "in+ as BUS is plugged in").Max, 56.18+1.7*amps, 1e-9)
	agrees(t, "beyond its record", measure(t, judge(t, rule, clamped("45 V"), buoyParts), "in+ as BUS is plugged in").Max, 90, 1e-9)
	for key, said := range map[string]string{
		"capacitance": cable, "inductance": `voltage = "24 V", resistance = "1 ohm", capacitance = "1 uF"`,
		"resistance": `voltage = "24 V", inductance = "1 uH", capacitance = "1 uF"`, "voltage": `inductance = "1 uH", resistance = "1 ohm", capacitance = "1 uF"`,
	} {
		lacks(t, wants(t, rule, rules.KindOpen, 0, plug(said), tugSense), "hot-plug.BUS."+key)
	}
}

// A clamp behind the filter of in+ leaves in- bare: 10 V beyond the rating over 99 ohm are 101 mA into it.
func TestSurgeOnTheOtherInput(t *testing.T) {
	rule := builtin.SurgeEvent
	for _, c := range []string{"XT 0 P mooring-50", "XT 0 N mooring-50"} {
		deck := edit(t, quayDeck, "XT 0 BUS mooring-50", c, "XA BUS LOAD", "RF1 BUS P 100\nRF2 LOAD N 100\nXA P N")
		bare := map[string]string{"XT 0 P mooring-50": "in-", "XT 0 N mooring-50": "in+"}[c]
		r := wants(t, rule, rules.KindFail, rules.Error, deck, buoyParts)
		agrees(t, bare, measure(t, r, bare+" current in dump").Max, 10/99., 1e-9)
		wants(t, rule, rules.KindPass, 0, deck+"\nXT2 0 BUS mooring-50", buoyParts)
	}
}

// Over 2.2 ohm the load takes a part of the surge that nobody has said; where all of it does nothing, or a low-side shunt
// stands on ground, nothing is asked.
func TestSurgeOverAResistance(t *testing.T) {
	rule := builtin.SurgeEvent
	deck := edit(t, quayDeck, "XT 0 BUS mooring-50\n", "RX IN BUS 2.2\n", `at = "BUS"`, `at = "IN"`)
	lacks(t, wants(t, rule, rules.KindOpen, 0, deck, buoyParts), "rails.BUS.survival")
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, deck, `"80 V"`, `"69 V"`), buoyParts)
	wants(t, rule, rules.KindNotApplicable, 0, edit(t, deck, "BUS = { operating = \"30 V .. 42 V\" }", "BUS = { operating = \"30 V .. 42 V\", survival = \"0 V .. 60 V\" }"), buoyParts)
	low := edit(t, deck, "RSH BUS LOAD 1m\nRL LOAD 0 4", "RL BUS LOW 4\nRSH LOW 0 1m", `from = "BUS"`, `from = "LOW"`, "XA BUS LOAD", "XA LOW 0")
	wants(t, rule, rules.KindNotApplicable, 0, low, buoyParts)
}

// What a surge does to the network of an op amp is op-amp-input-range's, which wants to know what the net reaches in it.
func TestSurgeIntoAnOpAmpsNetwork(t *testing.T) {
	deck := edit(t, over, `rails.BUS = "24 V exact"`, `rails.BUS = { operating = "20 V .. 28 V" }`) +
		"\n* shuntwright: surges.dump = { at = \"BUS\", voltage = \"90 V\", resistance = \"1 ohm\", duration = \"1 ms\" }"
	lacks(t, wants(t, builtin.SurgeEvent, rules.KindOpen, 0, deck, tugOp), "rails.BUS.survival")
	told := edit(t, deck, `operating = "20 V .. 28 V"`, `operating = "20 V .. 28 V", survival = "0 V .. 90 V"`)
	wants(t, builtin.SurgeEvent, rules.KindNotApplicable, 0, told, tugOp)
	wants(t, builtin.OpAmpInputRange, rules.KindFail, rules.Error, told, tugOp)
}

// A reversed supply drives (24 V - 1.1 V) / 2.3 ohm forwards through the clamp: 9.96 A x 1.1 V = 10.95 W. For 100 us that is
// little, for 60 s its continuous power counts.
func TestSurgeForwards(t *testing.T) {
	rule := builtin.SurgeEvent
	deck := edit(t, quayDeck, `"80 V"`, `"-24 V"`)
	r := wants(t, rule, rules.KindPass, 0, deck, buoyParts)
	agrees(t, "forward power", measure(t, r, "power of XT conducting forwards in dump").Max, 22.9/2.3*1.1, 1e-9)
	long := edit(t, deck, `"100 us"`, `"60 s"`)
	lacks(t, wants(t, rule, rules.KindOpen, 0, long, buoyParts), "mooring-50 power")
	watts := func(v string) string {
		return edit(t, buoyParts, `drop = "0.6 V .. 1.1 V"`, `drop = "0.6 V .. 1.1 V"`+"\npower = \""+v+"\"")
	}
	wants(t, rule, rules.KindPass, 0, long, watts("11 W"))
	wants(t, rule, rules.KindFail, rules.Error, long, watts("10.9 W"))
	// A surge of either sign holds a one-way clamp to its level upwards only.
	both := edit(t, quayDeck, `"80 V"`, `"-20 V .. 80 V"`)
	m := measure(t, wants(t, builtin.ClampLevel, rules.KindPass, 0, both, buoyParts), "in+ with XT in dump")
	agrees(t, "upwards", m.Max, 66.3035, 1e-6)
	if m.Min < -1e-9 {
		t.Error(m.Min)
	}
	two := edit(t, both, "XT 0 BUS mooring-50", "XT BUS 0 mooring-50-both")
	for _, m := range wants(t, builtin.ClampLevel, rules.KindFail, rules.Error, two, buoyParts).Measures {
		if m.Max > 66.31 || m.Min < -20.01 {
			t.Errorf("%s reaches %v .. %v", m.Name, m.Min, m.Max)
		}
	}
}
