package volt_test

import (
	"fmt"
	"strings"
	"testing"
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
