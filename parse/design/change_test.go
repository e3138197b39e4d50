package design_test

import (
	"slices"
	"testing"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
)

// Pins that change places and pins on other nets are found from the nets as well; the newest change wins.
func TestSwapAndConnect(t *testing.T) {
	d := load(t, "R1 a b 1k\nR2 b c 1k\nR3 c 0 1k", "")
	net := func(name string) circuit.Net { n, _ := d.Net(name); return n }
	pins := func(d *design.Design, path string) [2]circuit.Net {
		e, _ := d.Find(path)
		return [2]circuit.Net{e.Pin(0), e.Pin(1)}
	}
	on := func(d *design.Design, name string) (out []string) {
		for e := range d.On(net(name)) {
			out = append(out, e.Path())
		}
		return out
	}
	swapped := d.With(design.Change{Op: design.Swap, Target: "r1", Pins: [2]int{0, 1}})
	if got := pins(swapped, "R1"); got != [2]circuit.Net{net("b"), net("a")} {
		t.Errorf("swapped: %v", got)
	}
	moved := swapped.With(design.Change{Op: design.Connect, Target: "R1", Pins: [2]int{0}, Net: net("c"), Text: "c"})
	if got := pins(moved, "R1"); got != [2]circuit.Net{net("c"), net("a")} {
		t.Errorf("moved: %v", got)
	}
	if got := on(moved, "b"); !slices.Equal(got, []string{"R2"}) {
		t.Errorf("on b: %v", got)
	}
	if got := on(moved, "c"); !slices.Equal(got, []string{"R2", "R3", "R1"}) {
		t.Errorf("on c: %v", got)
	}
	if got := pins(moved.With(design.Change{Op: design.Swap, Target: "R1", Pins: [2]int{0, 1}}), "R1"); got != [2]circuit.Net{net("a"), net("c")} {
		t.Errorf("swapped again: %v", got)
	}
	if got := pins(d, "R1"); got != [2]circuit.Net{net("a"), net("b")} {
		t.Errorf("the design itself changed: %v", got)
	}
}
