package volt_test

import (
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// The levels that source functions take: SPICE3f3 User's Manual, 3.2.1. The net that a source stands on takes them all.
func TestSourceLevelsBoundTheNet(t *testing.T) {
	for _, c := range []struct {
		drive  string
		lo, hi float64
	}{
		{"12", 12, 12},
		{"DC -3", -3, -3},
		{"", 0, 0}, // an ammeter
		{"PULSE(1 5 1u 1n 1n 5u 10u)", 1, 5},
		{"PULSE(5 -1)", -1, 5},
		{"SIN(2 3 1k)", -1, 5},
		{"SIN(2 -3 1k)", -1, 5},
		{"SIN(0 1 1k 0 100)", -1, 1},
		{"EXP(1 4 1m 1m 5m 1m)", 1, 4},
		{"EXP(4 -1 1m 1m 5m 1m)", -1, 4},
		{"PWL(0 1 1m 7 2m -2 3m 3)", -2, 7},
		{"SFFM(1 2 10k 5 1k)", -1, 3},
		{"DC 9 SIN(2 3 1k)", -1, 9}, // the DC value is one of them
	} {
		t.Run(c.drive, func(t *testing.T) {
			d := load(t, "* shuntwright: elements.V1.tolerance = \"0 %\"\n* shuntwright: tolerances.resistors = \"0 %\"\nV1 A 0 "+c.drive+"\nR1 A B 3k\nR2 B 0 1k", "")
			meets(t, "V(A)", voltage(t, d, "A").Seen, c.lo, c.hi, 1e-12)
			meets(t, "V(B)", voltage(t, d, "B").Seen, c.lo/4, c.hi/4, 1e-12)
			meets(t, "V(A), nothing outside,", voltage(t, d, "A").Sound, c.lo, c.hi, 1e-12)
		})
	}
}

// A source drawn without a tolerance is seen at its levels; 5 % are counted around them.
func TestUndeclaredSourceTolerance(t *testing.T) {
	d := load(t, "V1 A 0 PULSE(-2 10)\nR1 A 0 1k", "")
	q := voltage(t, d, "A")
	meets(t, "seen", q.Seen, -2, 10, 1e-12)
	meets(t, "sound", q.Sound, -2.1, 10.5, 1e-12)
}

// A current source pulls its current out of its first node: SPICE3f3 User's Manual, 3.2.2.
func TestCurrentSourceLevels(t *testing.T) {
	d := load(t, "* shuntwright: elements.I1.tolerance = \"0 %\"\nI1 0 A PULSE(1m 3m)\nR1 A 0 1k", "")
	meets(t, "V(A)", voltage(t, d, "A").Seen, 1, 3, 1e-12)
}

// Intent wins over what the netlist draws: inside the declared range the range rules.
func TestIntentWinsOverASource(t *testing.T) {
	d := load(t, "* shuntwright: rails.A = \"10 V .. 14 V\"\nV1 A 0 12\nR1 A 0 1k", "")
	meets(t, "V(A)", voltage(t, d, "A").Seen, 10, 14, 1e-12)
	meets(t, "V(A), nothing outside,", voltage(t, d, "A").Sound, 10, 14, 1e-12)
}

// A rail that declares no tolerance is seen at its figure, and 5 % are counted around it.
func TestUndeclaredRailTolerance(t *testing.T) {
	d := load(t, "* shuntwright: rails.A = \"12 V\"\n* shuntwright: rails.B = \"-5 V\"\n* shuntwright: rails.C = \"5 V exact\"\nR1 A 0 1k\nR2 B 0 1k\nR3 C 0 1k", "")
	meets(t, "V(A)", voltage(t, d, "A").Seen, 12, 12, 0)
	meets(t, "V(A), nothing outside,", voltage(t, d, "A").Sound, 11.4, 12.6, 1e-12)
	meets(t, "V(B), nothing outside,", voltage(t, d, "B").Sound, -5.25, -4.75, 1e-12)
	meets(t, "V(C), nothing outside,", voltage(t, d, "C").Sound, 5, 5, 0)
}

// Rails that follow one another move together.
func TestFollowingRails(t *testing.T) {
	d := load(t, "* shuntwright: rails.A = \"3.3 V +- 2 %\"\n* shuntwright: rails.B = { follows = \"A\", within = \"10 mV\" }\nR1 A 0 1k\nR2 B 0 1k", "")
	meets(t, "V(B)", voltage(t, d, "B").Seen, 3.224, 3.376, 1e-12)
	meets(t, "V(A,B)", across(t, d, "A", "B").Seen, -0.01, 0.01, 1e-12)
}

// A table without survival says nothing about events: the working range is seen, anything may come.
func TestUndeclaredSurvival(t *testing.T) {
	d := load(t, "* shuntwright: rails.A = { operating = \"10 V .. 14 V\" }\n* shuntwright: rails.B = { operating = \"10 V .. 14 V\", survival = \"-14 V .. 9 V\" }\nR1 A 0 1k\nR2 B 0 1k", "")
	s := volt.New(d)
	q := witnessed(t, s, volt.At(net(t, d, "A")), design.Survival)
	meets(t, "V(A) in events", q.Seen, 10, 14, 0)
	if q.Sound.Lo > -1e9 || q.Sound.Hi < 1e9 {
		t.Errorf("V(A) in events is bounded by %v", q.Sound)
	}
	// Events come on top of the working range.
	meets(t, "V(B) in events", witnessed(t, s, volt.At(net(t, d, "B")), design.Survival).Seen, -14, 14, 0)
}
