package rules_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/volt"
)

func boundOf(t *testing.T, d *design.Design, name string) rules.Bound {
	t.Helper()
	n, ok := d.Net(name)
	if !ok {
		t.Fatalf("no net %q", name)
	}
	return rules.NetProbe(d, n).Bound(d, volt.New(d))
}

// The nets of a sense block are its shunt's and its pins', ground aside, each once.
func TestSenseProbes(t *testing.T) {
	d := load(t, deck, barge)
	var names []string
	for _, p := range rules.SenseProbes(d) {
		names = append(names, p.Name)
	}
	if want := []string{"BUS", "LOAD", "out", "VM", "V5"}; !slices.Equal(names, want) {
		t.Errorf("%v, want %v", names, want)
	}
}

// What a bound rests on is said of the ends that it widens: here the shunt, which carries 10 A, and not the resistor to a
// net that takes no current, nor the source of a gate whose events nobody declared.
func TestBoundSaysWhatItRestsOn(t *testing.T) {
	d := load(t, `* shuntwright: rails.BUS = "40 V exact"
* shuntwright: currents.RSH = { range = "10 A exact", from = "BUS" }
* shuntwright: elements.MH = { drop = "1 V exact", on-resistance = "5 mohm exact" }
.model fet NMOS
RSH BUS LOAD 1m
RF LOAD IN 1k
MH BUS g PH fet
VG g PH 10
RL PH 0 4`, "")
	for _, r := range boundOf(t, d, "IN").Reach {
		if !slices.Equal(r.Assumed, []string{"RSH: no tolerance declared, 5 % counted"}) || !r.Low.Wider || !r.High.Wider {
			t.Errorf("V(IN) rests on %q", r.Assumed)
		}
	}
	for _, r := range boundOf(t, d, "PH").Reach {
		if slices.ContainsFunc(r.Assumed, func(a string) bool { return strings.Contains(a, "VG") }) {
			t.Errorf("V(PH) rests on %q", r.Assumed)
		}
	}
}

// A net that nothing drives stands at 0 V only while nothing is plugged in; one behind an amplifier's output is driven.
func TestBoundOfWhatNothingDrives(t *testing.T) {
	d := load(t, "* shuntwright: rails.V5 = \"5 V exact\"\nR1 A B 1k\nR2 B 0 1k\nXA A B out 0 V5 V5 barge-30\nRO out adc 1k\nRD adc 0 10k", barge)
	for name, want := range map[string]bool{"A": true, "adc": false, "out": false} {
		for _, r := range boundOf(t, d, name).Reach {
			got := slices.ContainsFunc(r.Assumed, func(a string) bool { return strings.Contains(a, "nothing drives it") })
			if got != want {
				t.Errorf("%s: %q, %v", name, r.Assumed, r.Needs)
			}
		}
	}
}

// Both ends tell a state, or why there is none.
func TestBoundEnds(t *testing.T) {
	d := load(t, "* shuntwright: rails.BUS = \"40 V .. 58 V\"\n* shuntwright: elements.LB.current = \"0 A .. 2 A\"\n.model fet NMOS\nLB BUS A 80m\nMB A g 0 0 fet\nR1 P Q 1", "")
	a := boundOf(t, d, "A")
	r := a.Reach[design.Operating]
	if !a.Same() || !r.Low.Shown || r.High.Shown || !strings.Contains(r.High.Reason, "nothing limits A") {
		t.Errorf("A: %+v", r)
	}
	if r = boundOf(t, d, "P").Reach[design.Operating]; r.Low.Shown || r.Low.Reason != "not declared" || len(r.Needs) == 0 {
		t.Errorf("P: %+v", r)
	}
	bus := boundOf(t, d, "BUS")
	if got := rules.Dangers([]rules.Probe{{Name: "BUS", Form: make(volt.Form, 1)}}, []rules.Bound{bus}); got != nil {
		t.Errorf("58 V are no danger: %v", got)
	}
	if got := rules.Dangers([]rules.Probe{{Name: "A", Form: make(volt.Form, 1)}}, []rules.Bound{a}); len(got) != 1 || !strings.Contains(got[0], "A can exceed 60 V DC") {
		t.Errorf("without limit: %v", got)
	}
}

// No current is told of what is no resistor, inductor or voltage source.
func TestCurrentProbes(t *testing.T) {
	d := load(t, deck, barge)
	for path, want := range map[string]bool{"RSH": true, "XA": false} {
		e, _ := d.Find(path)
		if p, ok := rules.CurrentProbe(e); ok != want || ok && p.Name != "I(RSH)" {
			t.Errorf("%s: %v %v", path, p.Name, ok)
		}
	}
}
