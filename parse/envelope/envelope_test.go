package envelope

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// The numbers are typed again from the standards' own tables, the source named beside each group. What is from memory is
// only held to being marked as such, and what was read in files that nobody named is compared and never fails.
func TestRows(t *testing.T) {
	for _, c := range []struct {
		name     string
		low, top float64
	}{
		// ISO 16750-2:2023, 4.2, tables 3 and 4: the codes of the supply voltage.
		{"ISO 16750-2:2023 12 V A", 6, 16},
		{"ISO 16750-2:2023 12 V B", 8, 16},
		{"ISO 16750-2:2023 12 V C", 9, 16},
		{"ISO 16750-2:2023 12 V D", 10.5, 16},
		{"ISO 16750-2:2023 24 V E", 10, 32},
		{"ISO 16750-2:2023 24 V F", 16, 32},
		{"ISO 16750-2:2023 24 V G", 22, 32},
		{"ISO 16750-2:2023 24 V H", 18, 32},
		// IEC 61131-2: 24 V -15 % +20 %, ripple 5 % of 24 V: 20.4 - 1.2 and 28.8 + 1.2.
		{"IEC 61131-2 24 V DC mean", 24 * (1 - 0.15), 24 * (1 + 0.20)},
		{"IEC 61131-2 24 V DC", 24*(1-0.15) - 0.05*24, 24*(1+0.20) + 0.05*24},
		// MIL-STD-704F, 4.3: external power at the receptacle.
		{"MIL-STD-704F 28 V external power", 24, 29},
		{"MIL-STD-704F 270 V external power", 260, 280},
		// MIL-STD-1275E, steady state.
		{"MIL-STD-1275E 28 V", 20, 33},
		// USB Power Delivery, vSrcNew: 0.95 to 1.05 of the nominal voltage.
		{"USB PD 5 V", 0.95 * 5, 1.05 * 5},
		{"USB PD 9 V", 0.95 * 9, 1.05 * 9},
		{"USB PD 15 V", 0.95 * 15, 1.05 * 15},
		{"USB PD 20 V", 0.95 * 20, 1.05 * 20},
		{"USB PD 28 V", 0.95 * 28, 1.05 * 28},
		{"USB PD 36 V", 0.95 * 36, 1.05 * 36},
		{"USB PD 48 V", 0.95 * 48, 1.05 * 48},
		// IEEE 802.3, types 1 to 4.
		{"PoE type 1 PSE", 44, 57}, {"PoE type 1 PD", 37, 57},
		{"PoE type 2 PSE", 50, 57}, {"PoE type 2 PD", 42.5, 57},
		{"PoE type 3 PSE", 50, 57}, {"PoE type 3 PD", 42.5, 57},
		{"PoE type 4 PSE", 52, 57}, {"PoE type 4 PD", 41.1, 57},
		// Cells: 2.5 V to 4.2 V of Li-ion, 1.75 V to 2.45 V of lead-acid.
		{"Li-ion 1s", 2.5, 4.2},
		{"Li-ion 13s", 32.5, 54.6},
		{"Li-ion 16s", 40, 67.2},
		{"lead-acid 6s", 10.5, 14.7},
		{"lead-acid 12s", 21, 29.4},
	} {
		e := Find(c.name)
		switch {
		case e == nil:
			t.Errorf("there is no %s", c.name)
		case math.Abs(e.Low-c.low) > 1e-9 || math.Abs(e.High-c.top) > 1e-9:
			disagrees(t, c.name)("%s is %g V to %g V, want %g to %g", c.name, e.Low, e.High, c.low, c.top)
		case e.Status == Memory:
			t.Errorf("%s is marked as from memory", c.name)
		}
	}
}

// disagrees is how a row that disagrees is said: an error, but for the rows whose secondary source has no name.
func disagrees(t *testing.T, name string) func(string, ...any) {
	if strings.HasPrefix(name, "USB PD ") || strings.HasPrefix(name, "MIL-STD-1275E ") {
		return t.Logf
	}
	return t.Errorf
}

func TestEvents(t *testing.T) {
	for _, c := range []struct {
		envelope, event     string
		low, high, resistor float64
	}{
		// ISO 16750-2:2023, 12 V: 4.3.1.1, 4.3.1.2, 4.3.2, 4.6.1.1, 4.6.3, 4.6.4, 4.7.
		{"ISO 16750-2:2023 12 V A", "long-term overvoltage", 18, 18, 0},
		{"ISO 16750-2:2023 12 V A", "jump start", 26, 26, 0},
		{"ISO 16750-2:2023 12 V B", "transient overvoltage", 18, 18, 0},
		{"ISO 16750-2:2023 12 V B", "momentary drop", 4.5, 4.5, 0},
		{"ISO 16750-2:2023 12 V C", "starting I", 8, 8, 0},
		{"ISO 16750-2:2023 12 V C", "starting II", 4.5, 4.5, 0},
		{"ISO 16750-2:2023 12 V C", "starting III", 3, 3, 0},
		{"ISO 16750-2:2023 12 V C", "starting IV", 6, 6, 0},
		{"ISO 16750-2:2023 12 V D", "load dump A 79 V", 79, 79, 0.5}, // the low voltage goes with the low resistance
		{"ISO 16750-2:2023 12 V D", "load dump A 101 V", 101, 101, 4},
		{"ISO 16750-2:2023 12 V D", "load dump B 27 V", 27, 27, 0},
		{"ISO 16750-2:2023 12 V D", "load dump B 30 V", 30, 30, 0},
		{"ISO 16750-2:2023 12 V D", "load dump B 32 V", 32, 32, 0},
		{"ISO 16750-2:2023 12 V D", "load dump B 35 V", 35, 35, 0},
		{"ISO 16750-2:2023 12 V D", "reversed 1", -4, -4, 0},
		{"ISO 16750-2:2023 12 V D", "reversed 2", -14, -14, 0},
		// The same clauses, 24 V.
		{"ISO 16750-2:2023 24 V E", "long-term overvoltage", 36, 36, 0},
		{"ISO 16750-2:2023 24 V E", "transient overvoltage", 36, 36, 0},
		{"ISO 16750-2:2023 24 V F", "momentary drop", 9, 9, 0},
		{"ISO 16750-2:2023 24 V F", "starting I", 10, 10, 0},
		{"ISO 16750-2:2023 24 V F", "starting II", 8, 8, 0},
		{"ISO 16750-2:2023 24 V F", "starting III", 6, 6, 0},
		{"ISO 16750-2:2023 24 V G", "load dump A 151 V", 151, 151, 1},
		{"ISO 16750-2:2023 24 V G", "load dump A 202 V", 202, 202, 8},
		{"ISO 16750-2:2023 24 V H", "load dump B 58 V", 58, 58, 0},
		{"ISO 16750-2:2023 24 V H", "reversed", -26, -26, 0},
		// MIL-STD-1275E, surge envelope: 100 V up to 50 ms, 18 V up to 500 ms.
		{"MIL-STD-1275E 28 V", "surge", 18, 100, 0.5},
		// IEC 61131-2: what equipment manuals state.
		{"IEC 61131-2 24 V DC", "dynamic", 18.5, 30.2, 0},
		{"IEC 61131-2 24 V DC", "non-periodic", 35, 35, 0},
		// USB Power Delivery, vSrcValid: half a volt on each side of vSrcNew.
		{"USB PD 5 V", "valid", 0.95*5 - 0.5, 1.05*5 + 0.5, 0},
		{"USB PD 20 V", "valid", 0.95*20 - 0.5, 1.05*20 + 0.5, 0},
		{"USB PD 48 V", "valid", 0.95*48 - 0.5, 1.05*48 + 0.5, 0},
	} {
		e := Find(c.envelope)
		if e == nil {
			t.Errorf("there is no %s", c.envelope)
			continue
		}
		ev, ok := e.Event(c.event)
		if !ok || math.Abs(ev.Low-c.low) > 1e-9 || math.Abs(ev.High-c.high) > 1e-9 || ev.Resistance != c.resistor || ev.Status == Memory {
			disagrees(t, c.envelope)("%s of %s: %+v", c.event, c.envelope, ev)
		}
	}
}

// ISO 7637-2:2011, annex A, table A.1: levels III and IV.
func TestPulses(t *testing.T) {
	for _, c := range []struct {
		name            string
		level, resistor float64
	}{
		{"1 III", -112, 10}, {"1 IV", -150, 10},
		{"2a III", 55, 2}, {"2a IV", 112, 2},
		{"3a III", -165, 50}, {"3a IV", -220, 50},
		{"3b III", 112, 50}, {"3b IV", 150, 50},
	} {
		p := FindPulse("ISO 7637-2:2011 12 V " + c.name)
		if p == nil || p.Level != c.level || p.Resistance != [2]float64{c.resistor, c.resistor} || p.Status == Memory {
			t.Errorf("pulse %s: %+v", c.name, p)
		}
	}
}

// What nobody confirmed is marked.
func TestMemoryIsMarked(t *testing.T) {
	for _, name := range []string{"ISO 21780:2020 48 V", "EN 300 132-2 -48 V", "MIL-STD-704F 28 V", "MIL-STD-704F 270 V", "LFP 16s"} {
		e := Find(name)
		if e == nil || e.Status != Memory {
			t.Errorf("%s is not marked as from memory", name)
			continue
		}
		for _, ev := range e.Events {
			if ev.Status != Memory {
				t.Errorf("%s of %s is not marked as from memory", ev.Name, name)
			}
		}
	}
	for _, name := range []string{"spike", "cranking", "initial engagement"} {
		if ev, ok := Find("MIL-STD-1275E 28 V").Event(name); !ok || ev.Status != Memory {
			t.Errorf("%s is not marked as from memory", name)
		}
	}
	for _, p := range Pulses {
		if (strings.Contains(p.Name, " 24 V ") || strings.Contains(p.Name, " 2b ")) && p.Status != Memory {
			t.Errorf("%s is not marked as from memory", p.Name)
		}
	}
}

func TestTable(t *testing.T) {
	seen := map[string]bool{}
	for name := range Names() {
		e := Find(strings.ToUpper(name))
		if e == nil || e.Name != name || seen[name] {
			t.Errorf("%s is not found by its name", name)
			continue
		}
		seen[name] = true
		if e.Source == "" || e.Clause == "" || !(e.Low < e.High) || e.Middle() < e.Low || e.Middle() > e.High {
			t.Errorf("%s: %+v", name, e)
		}
		for i, ev := range e.Events {
			if ev.Name == "" || ev.Clause == "" || ev.Low > ev.High || slices.Index(e.EventNames(), ev.Name) != i {
				t.Errorf("%s: %+v", name, ev)
			}
		}
	}
	for _, p := range Pulses {
		if FindPulse(p.Name).Name != p.Name || p.Clause == "" || p.Lasts == "" {
			t.Errorf("%+v", p)
		}
	}
	for _, name := range []string{"", "Li-ion", "Li-ion s", "Li-ion 0s", "Li-ion 007s", "Li-ion -3s", "Li-ion 401s", "Li-ion 3.5s", "lead-acid 6", "ISO 16750-2:2023 12 V"} {
		if e := Find(name); e != nil {
			t.Errorf("%q is %s", name, e.Name)
		}
	}
}

func TestNear(t *testing.T) {
	for _, c := range []struct{ name, near, list string }{
		{"ISO 16750-2:2023 12V C", "ISO 16750-2:2023 12 V C", "ISO 16750-2:2023 12 V C"},
		{"PoE type 2", "", "PoE type 2 PSE, PoE type 2 PD"},
		{"MIL-STD-1275", "", "MIL-STD-1275E 28 V"},
		{"xyzzy", "", ""},
		{strings.Repeat("ISO ", 30), "", ""},
	} {
		near, list := Near(c.name)
		if near != c.near && c.near != "" || strings.Join(list, ", ") != c.list {
			t.Errorf("near %q: %q, %s", c.name, near, strings.Join(list, ", "))
		}
	}
}
