package volt_test

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A path that ends at a rail with wires on it is called by the rail, every time.
func TestPathEndsAtTheRail(t *testing.T) {
	d := load(t, "* shuntwright: temperature = \"25 degC\"\n* shuntwright: rails.GEN = \"24 V .. 30 V\"\n* shuntwright: currents.XS = { range = \"0 A .. 4 A\", from = \"GEN\" }\n"+
		"XS GEN sa sb OUT keel-2m\nRZ GEN a 0\nRL OUT 0 4", simpleParts)
	n, _ := d.Net("OUT")
	for range 20 {
		s := volt.New(d)
		f := volt.At(n)
		w, err := s.Witness(f, design.Operating, s.Bound(f, design.Operating), true)
		if got := strings.Join(w.Path, " - "); err != nil || got != "OUT - XS - GEN" {
			t.Fatalf("%q, %v", got, err)
		}
	}
}
