package rules_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
)

// The load of the deck is 4 ohm at 30 V to 40 V, 7.1 A to 10.6 A with every 1 % counted; intent is followed, but a range
// that never meets that is said to disagree.
func TestDeclaredCurrentAgainstTheNetlistsLoad(t *testing.T) {
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
		{"a switch has a say", `range = "0 A .. 7 A"`, "BUS", "S1 LOAD 0 g 0 sw\n.model sw SW(RON=4)\nVG g 0 5", false},
	} {
		text := strings.Replace(strings.Replace(deck, said, c.declared, 1), `from = "BUS"`, `from = "`+c.from+`"`, 1) + c.more
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
