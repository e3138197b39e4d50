package rules_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
)

// Only what a block depends on is solved: a mesh far larger than can be solved, and parts of which nobody knows what they
// do, change nothing where a rail or a source stands between. Without the rail the same mesh leaves the block open.
func TestOnlyTheNeighbourhoodIsSolved(t *testing.T) {
	var far strings.Builder
	for i := range 400 {
		fmt.Fprintf(&far, "RF%d m%d m%d 1k\nRG%d m%d m%d 1k\n", i, i, i+1, i, i, (i+20)%400)
	}
	far.WriteString("BF m9 0 V=V(m1)*V(m2)\nXF m3 m4 never-heard-of\nQF m5 m6 m7 qf\n.model qf npn\n")
	for _, at := range []string{"RJ BUS m0 1k\n", "RJ m0 0 1k\n", ""} {
		if r := judged(t, load(t, deck+far.String()+at, barge), pins); r.Kind != rules.KindPass {
			t.Errorf("%q: %v: %s", at, r.Kind, r.Message)
		}
	}
	if r := judged(t, load(t, deck+far.String()+"RJ VM m0 1k\n", barge), pins); r.Kind != rules.KindOpen {
		t.Errorf("joined: %v: %s", r.Kind, r.Message)
	}
}
