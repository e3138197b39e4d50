package volt_test

import (
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A current that nobody knows is one in amperes as well: 12 V drive ideal diodes straight to ground here, which has no
// solution.
func TestUnknownCurrentIsInAmperes(t *testing.T) {
	d := load(t, "* shuntwright: rails.IN = \"12 V exact\"\n.model d D\nD1 IN m d\nD2 m 0 d\nR1 m 0 1k", "")
	e, _ := d.Find("R1")
	if q := volt.New(d).Current(e, design.Operating); q.Known() || q.Unit != quantity.Amp {
		t.Errorf("%v in %v", q.Seen, q.Unit)
	}
}
