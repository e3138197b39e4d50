package design_test

import "testing"

// A diode takes the record of a clamp by the name of its model, a transistor or switch that of a switch, and an X card any;
// a record of another role is none of theirs, however closely it matches.
func TestRecordByModel(t *testing.T) {
	records := `[[part]]
name = "quay-5"
role = "clamp"
pins = ["anode", "cathode"]
[[part]]
name = "quay-any"
match = ["QUAY*", "LATCH*"]
role = "switch"
pins = ["a", "control", "b"]
on-resistance = "3 ohm"
`
	d, diags := bind(`D1 a 0 quay-5
D2 a 0 quay-6
M1 a g 0 0 LATCH7
S1 a 0 c 0 quay-8
Q1 a b 0 other
X1 a c 0 latch7
X2 a 0 quay-5
R1 a b quay-9 l=1u w=1u
.model quay-5 D
.model quay-6 D
.model LATCH7 NMOS
.model quay-8 SW
.model other NPN
.model quay-9 R rsh=1`, records)
	for _, diag := range diags {
		t.Error(diag.Text())
	}
	for path, want := range map[string]string{"D1": "quay-5", "D2": "", "M1": "quay-any", "S1": "quay-any", "Q1": "", "X1": "quay-any", "X2": "quay-5", "R1": ""} {
		e, _ := d.Find(path)
		got := ""
		if r := e.Record(); r != nil {
			got = r.Name()
		}
		if got != want {
			t.Errorf("%s has the record %q, want %q", path, got, want)
		}
	}
}
