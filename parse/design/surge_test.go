package design_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// ISO 7637-2:2011, table A.1 (secondary: a public design note that quotes it): pulse 2a, level IV, +112 V behind 2 ohm for
// 50 us; here on top of 9 V to 16 V. What is said beside the pulse wins.
func TestSurgeOfAStandard(t *testing.T) {
	d := load(t, `* shuntwright: rails.BAT = "9 V .. 16 V"
* shuntwright: surges.p2a = { at = "BAT", pulse = "ISO 7637-2:2011 12 V 2a IV" }
* shuntwright: surges.mine = { at = "BAT", pulse = "iso 7637-2:2011 12 v 3a iv", voltage = "-40 V", resistance = "47 ohm" }
* shuntwright: surges.lost = { voltage = "5 V" }
R1 BAT 0 1k`, "")
	s, ok := d.Surge("p2a")
	if !ok || math.Abs(s.Voltage.Sound.Hi-128) > 1e-9 || math.Abs(s.Voltage.Sound.Lo-121) > 1e-9 || s.Ohms.Nom != 2 || math.Abs(s.Duration.Nom-50e-6) > 1e-12 {
		t.Errorf("%v %v V, %v ohm, %v s", ok, s.Voltage.Sound, s.Ohms.Nom, s.Duration.Nom)
	}
	if s.Voltage.Grade != quantity.Soft || !strings.Contains(strings.Join(s.Voltage.Notes(0), ""), "from memory") {
		t.Errorf("grade %v, notes %v", s.Voltage.Grade, s.Voltage.Notes(0))
	}
	if s, _ = d.Surge("mine"); s.Voltage.Nom != -40 || s.Ohms.Nom != 47 || math.Abs(s.Duration.Nom-150e-9) > 1e-15 || s.Voltage.Grade == quantity.Soft {
		t.Errorf("%v V, %v ohm, %v s", s.Voltage.Nom, s.Ohms.Nom, s.Duration.Nom)
	}
	if _, ok = d.Surge("lost"); ok {
		t.Error("a surge enters nowhere")
	}
	_, diags := bind(`* shuntwright: surges.a = { at = "BAT", pulse = "ISO 7637-2:2011 12 V 2c IV" }`+"\nR1 BAT 0 1k", "")
	if len(diags) != 1 || !strings.Contains(diags[0].Text(), "did you mean") {
		t.Errorf("%v", diags)
	}
}
