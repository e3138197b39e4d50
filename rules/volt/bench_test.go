package volt_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A bound over twelve uncertain values and four switches.
func BenchmarkBound(b *testing.B) {
	var s strings.Builder
	s.WriteString("* shuntwright: rails.BUS = \"40 V .. 58 V\"\n* shuntwright: tolerances.resistors = \"1 %\"\n.model sw SW(RON=10m)\nVC c 0 1\n")
	at := "BUS"
	for i := range 4 {
		n := fmt.Sprint("n", i)
		fmt.Fprintf(&s, "RA%d %s %s 1k\nRB%d %s 0 10k\nRC%d %s m%d 2k\nS%d m%d 0 c 0 sw\n", i, at, n, i, n, i, n, i, i, i)
		fmt.Fprintf(&s, "RD%d m%d 0 1meg\n* shuntwright: elements.S%d.on-resistance = \"10 mohm exact\"\n* shuntwright: elements.RD%d.tolerance = \"0 %%\"\n", i, i, i, i)
		at = n
	}
	d := load(b, s.String(), "")
	for b.Loop() {
		voltage(b, d, "n3")
	}
}

// What a sense block asks of its two inputs: a shunt, two filter resistors, the input's resistance and bias, twelve values
// that vary, on a fresh solver.
func BenchmarkSenseBlock(b *testing.B) {
	d := load(b, `* shuntwright: rails.BATT = "40 V .. 58 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "-20 A .. 60 A", from = "BATT" }
* shuntwright: tolerances.resistors = "1 %"
RSH BATT LOAD 1m
RL LOAD 0 1
RF1 BATT INP 10
RF2 LOAD INM 10
RP1 INP 0 100k
RP2 INM 0 100k
RD INP INM 47k
XA INP INM OUT 0 REF V5 hawser-30
RR1 V5 REF 10k
RR2 REF 0 10k`, `[[part]]
name = "hawser-30"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "20 V/V +- 0.5 %"
supply = { operating = "3 V .. 6 V", current = "1 mA" }
input = { model = "differential", resistance = "5 kohm +- 15 %" }
bias = { max = "20 uA", mismatch = "0.5 uA" }
output = { low = "50 mV", high = "supply - 50 mV" }
offset = { max = "0.1 mV" }
reference = { model = "high-impedance" }
`)
	for b.Loop() {
		s := volt.New(d)
		for _, n := range []string{"INP", "INM"} {
			if q := s.Bound(volt.At(net(b, d, n)), design.Operating); !q.Known() || q.Loose {
				b.Fatal(q.Needs, q.Loose)
			}
		}
	}
}
