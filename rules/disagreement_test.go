package rules_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
)

// The load of the deck is 4 ohm at 30 V to 40 V, 7.1 A to 10.6 A with every 1 % counted; intent is followed, but a range
// that never meets that is said to disagree. One of 60 ohm behind a switch draws 40 V / 59.4 ohm = 0.67 A at the most.
func TestDeclaredCurrentAgainstTheNetlistsLoad(t *testing.T) {
	const swap = "* the load of the deck is taken out\n"
	said := `range = "-20 A .. 20 A"`
	for _, c := range []struct {
		name, declared, from string
		more                 string
		disagrees            bool
	}{
		{"inside", `range = "0 A .. 20 A"`, "BUS", "", false},
		{"meets", `range = "0 A .. 8 A"`, "BUS", "", false},
		{"below", `range = "0 A .. 7 A"`, "BUS", "", true},
		{"above", `range = "11 A .. 20 A"`, "BUS", "", true},
		{"other way round", `range = "5 A .. 20 A"`, "LOAD", "", true},
		{"negative the other way round", `range = "-20 A .. -5 A"`, "LOAD", "", false},
		{"both ends on rails", `range = "0 A .. 20 A"`, "BUS", "* shuntwright: rails.LOAD = \"30 V .. 40 V\"", true},
		{"both ends on sources", `range = "0 A .. 20 A"`, "BUS", "VL LOAD 0 30", true},
		{"a source and what it drives", `range = "0 A .. 20 A"`, "BUS", "VL L2 0 30\nRL2 LOAD L2 1", false},
		{"both ends held, within", `range = "-20 kA .. 20 kA"`, "BUS", "* shuntwright: rails.LOAD = \"30 V .. 40 V\"", true},
		{"a load too large behind a switch", `range = "1 A .. 7 A"`, "BUS", swap + "S1 LOAD x g 0 sw\nRX x 0 60\n.model sw SW(RON=4)\nVG g 0 5", true},
		{"one that fits behind a switch", `range = "0.5 A .. 7 A"`, "BUS", swap + "S1 LOAD x g 0 sw\nRX x 0 60\n.model sw SW(RON=4)\nVG g 0 5", false},
		{"a load too large behind a transistor and a coil", `range = "1 A .. 7 A"`, "BUS", swap + "M1 x g 0 0 fet\nLX LOAD y 1m\nRX y x 60\n.model fet NMOS", true},
		{"a load too large behind a diode", `range = "1 A .. 7 A"`, "BUS", swap + "DX LOAD y d\nRX y 0 60\n.model d D", true},
		{"no load at all", `range = "1 A .. 7 A"`, "BUS", swap, false},
		{"a shunt across itself", `range = "0 A .. 20 A"`, "BUS", "* shuntwright: currents.RY.range = \"1 A\"\nRY VM VM 1", true},
		{"a current of a coil", `range = "0 A .. 20 A"`, "BUS", "* shuntwright: currents.LY.range = \"1 A\"\nLY VM y 1u\nRY y 0 1k", true},
		{"a switch has a say", `range = "0 A .. 7 A"`, "BUS", "S1 LOAD 0 g 0 sw\n.model sw SW(RON=4)\nVG g 0 5", false},
	} {
		text := strings.Replace(strings.Replace(deck, said, c.declared, 1), `from = "BUS"`, `from = "`+c.from+`"`, 1) + c.more
		if strings.Contains(text, swap) {
			text = strings.Replace(strings.Replace(text, swap, "", 1), "RL LOAD 0 4\n", "", 1)
		}
		var found []rules.Result
		for _, r := range rules.Judge(load(t, text, barge), nil).Results {
			if r.Rule == "intent-disagreement" {
				found = append(found, r)
			}
		}
		if (len(found) == 1) != c.disagrees || len(found) > 1 {
			t.Errorf("%s: %+v", c.name, found)
			continue
		}
		if c.disagrees && (found[0].Level != rules.Warning || found[0].Kind != rules.KindFail || len(found[0].Related) != 1) {
			t.Errorf("%s: %+v", c.name, found[0])
		}
	}
}

// 10 V less 9 V over 0.1 ohm are 10 A, which is said beside the 0 A .. 2 A of the intent, in the direction of the intent.
func TestHeldEndsSayTheirCurrent(t *testing.T) {
	for from, want := range map[string]string{"A": "it carries 10 A, intent declares 0 A .. 2 A", "B": "it carries -10 A, intent declares 0 A .. 2 A"} {
		d := load(t, deck+`* shuntwright: rails.A = "10 V exact"
* shuntwright: rails.B = "9 V exact"
* shuntwright: currents.RY = { range = "0 A .. 2 A", from = "`+from+`" }
RY A B 0.1`, barge)
		n := 0
		for _, r := range rules.Judge(d, nil).Results {
			if r.Rule == "intent-disagreement" {
				if n++; !strings.Contains(r.Message, want) {
					t.Errorf("%s, want %s", r.Message, want)
				}
			}
		}
		if n != 1 {
			t.Errorf("from %s: %d results", from, n)
		}
	}
}
