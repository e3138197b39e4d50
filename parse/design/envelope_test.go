package design_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

func TestEnvelopes(t *testing.T) {
	d := load(t, `* shuntwright: rails.A = { envelope = "ISO 16750-2:2023 12 V C" }
* shuntwright: rails.B = { envelope = "ISO 16750-2:2023 12 V C", events = ["jump start", "reversed 2", "load dump B 35 V"] }
* shuntwright: rails.C = { envelope = "ISO 16750-2:2023 24 V G", operating = "20 V .. 30 V", events = [] }
* shuntwright: rails.D = { envelope = "Li-ion 13s", survival = "0 V .. 60 V" }
* shuntwright: rails.E = { envelope = "PoE type 1 PD" }
* shuntwright: rails.F = { envelope = "EN 300 132-2 -48 V", events = ["abnormal"] }
* shuntwright: rails.G = { envelope = "MIL-STD-1275E 28 V", events = ["surge", "spike"] }
* shuntwright: rails.H = { envelope = "EN 300 132-2 -48 V", survival = "-70 V .. 0 V" }
* shuntwright: rails.K = { follows = "A", within = "0.5 V" }
R1 A B 1k
R2 C D 1k
R3 E F 1k
R4 G H 1k
R5 K 0 1k`, "")
	ever, never := quantity.Everything.Hi, quantity.Everything.Lo
	ends(t, "A", rail(t, d, "A", design.Operating), 9, 16, 9, 16)
	ends(t, "A in events", rail(t, d, "A", design.Survival), 9, 16, never, ever)
	ends(t, "B in events", rail(t, d, "B", design.Survival), -14, 35, -14, 35)
	ends(t, "C", rail(t, d, "C", design.Operating), 20, 30, 20, 30) // what is declared comes before the envelope
	ends(t, "C in events", rail(t, d, "C", design.Survival), 20, 30, 20, 30)
	ends(t, "D", rail(t, d, "D", design.Operating), 32.5, 54.6, 32.5, 54.6)
	ends(t, "D in events", rail(t, d, "D", design.Survival), 0, 60, 0, 60)
	ends(t, "E in events", rail(t, d, "E", design.Survival), 37, 57, never, ever)
	ends(t, "F", rail(t, d, "F", design.Operating), -48, -48, -57, -40.5) // from memory: it proves no failure
	ends(t, "F in events", rail(t, d, "F", design.Survival), -48, -48, -60, 0)
	ends(t, "G in events", rail(t, d, "G", design.Survival), 18, 100, -250, 250)
	ends(t, "H in events", rail(t, d, "H", design.Survival), -70, 0, -70, 0)
	ends(t, "K", rail(t, d, "K", design.Operating), 8.5, 16.5, 8.5, 16.5)

	for _, c := range []struct {
		net    string
		regime design.Regime
		grade  quantity.Grade
		note   string
	}{
		{"A", design.Operating, quantity.Firm, ""},
		{"A", design.Survival, quantity.Assumed, "rails.A.events not declared: only the working range is known"},
		{"E", design.Survival, quantity.Assumed, "rails.E.survival not declared: only the working range is known"},
		{"F", design.Operating, quantity.Soft, "rails.F.envelope: EN 300 132-2 -48 V is from memory, not confirmed"},
		{"F", design.Survival, quantity.Soft, "rails.F.envelope: EN 300 132-2 -48 V is from memory, not confirmed"},
		{"G", design.Operating, quantity.Firm, ""},
		{"G", design.Survival, quantity.Soft, "rails.G.envelope: spike of MIL-STD-1275E 28 V is from memory, not confirmed"},
		{"H", design.Survival, quantity.Firm, ""},
	} {
		q := rail(t, d, c.net, c.regime)
		cause := q.Causes()[0]
		if q.Grade != c.grade || cause.Note != c.note {
			t.Errorf("%s %s: grade %v, %q", c.net, c.regime, q.Grade, cause.Note)
		}
	}
}

// An envelope or an event that nobody knows leaves the rail missing, by its key.
func TestUnknownEnvelopeIsMissing(t *testing.T) {
	d, diags := bind(`* shuntwright: rails.A = { envelope = "ISO 16750-2:2023 12 V Z" }
* shuntwright: rails.B = { envelope = "ISO 16750-2:2023 12 V C", events = ["meteor"] }
R1 A B 1k`, "")
	if len(diags) != 2 || !strings.Contains(diags[0].Text(), "did you mean") {
		t.Errorf("%v", diags)
	}
	for net, c := range map[string]struct {
		r   design.Regime
		key string
	}{"A": {design.Operating, "rails.A.envelope"}, "B": {design.Survival, "rails.B.events"}} {
		q := rail(t, d, net, c.r)
		if q.Known() || len(q.Needs) != 1 || q.Needs[0].Key != c.key {
			t.Errorf("%s: %+v", net, q)
		}
	}
}

// A source that stands outside of the envelope disagrees with it; one inside does not.
func TestEnvelopeAndSource(t *testing.T) {
	for volts, want := range map[string]int{"12": 0, "40": 1} {
		_, diags := bind("* shuntwright: rails.A = { envelope = \"ISO 16750-2:2023 12 V C\" }\nV1 A 0 "+volts+"\nR1 A 0 1k", "")
		if len(diags) != want || want > 0 && (diags[0].Rule != "intent-disagreement" || len(diags[0].Related) != 1) {
			t.Errorf("%s V: %v", volts, diags)
		}
	}
}
