package design_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
)

const assembled = `R1 A B 10
R2 B C 20 dnp=1
R3 C D 30
R4 D E 40 dnp=0
C1 E 0 1u
V1 A 0 5
XA A B OUT 0 OUT S barge-30
* shuntwright: elements.R3.placed = false
* shuntwright: elements.R4.placed = true
* shuntwright: variants.full.placed = ["R2"]
* shuntwright: variants.full.values.R3 = "33 ohm"
* shuntwright: variants.lite = { absent = ["R1", "XA"], wires = ["R2"], values = { C1 = "100 nF", V1 = "-3 V" }, parts = { } }
* shuntwright: variants.other.parts.XA = "barge-60"
`

const other = barge + `
[[part]]
name = "barge-60"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "60 V/V"
`

func TestVariants(t *testing.T) {
	d := load(t, assembled, other)
	if got := d.Unplaced(); !slices.Equal(got, []string{"R2", "R3"}) {
		t.Errorf("not placed: %q", got)
	}
	if !d.Plain() {
		t.Error("what is not placed is a change")
	}
	kinds := func(d *design.Design) (out string) {
		for e := range d.Elements() {
			if k := e.Kind(); k == design.Gone {
				out += "-"
			} else {
				out += string(k)
			}
		}
		return out
	}
	for name, want := range map[string]string{"": "R--RCVX", "full": "RRRRCVX", "LITE": "-R-RCV-", "other": "R--RCVX"} {
		o := d
		if name != "" {
			v, ok := d.Variant(name)
			if !ok {
				t.Fatalf("no variant %q", name)
			}
			o = d.With(v.Changes...)
		}
		if got := kinds(o); got != want {
			t.Errorf("%q: %s, want %s", name, got, want)
		}
		n, _ := o.Net("B")
		on := 0
		for range o.On(n) {
			on++
		}
		if want := map[string]int{"": 2, "full": 3, "LITE": 1, "other": 2}[name]; on != want {
			t.Errorf("%q: %d elements on B, want %d", name, on, want)
		}
		switch name {
		case "full":
			if r := element(t, o, "R3"); r.Value() != 33 {
				t.Errorf("R3 is %g ohm", r.Value())
			}
		case "LITE":
			if r := element(t, o, "R2"); !r.Short() || r.Value() != 0 {
				t.Errorf("R2 is no wire")
			}
			if c := element(t, o, "C1"); c.Value() != 100e-9 {
				t.Errorf("C1 is %g F", c.Value())
			}
			if q := element(t, o, "V1").Drive(design.Operating); q.Nom != -3 {
				t.Errorf("V1 is %g V", q.Nom)
			}
		case "other":
			if r := element(t, o, "XA").Record(); r.Name() != "barge-60" {
				t.Errorf("XA is a %s", r.Name())
			}
		}
	}
	if _, ok := d.Variant("lit"); ok || len(d.Variants()) != 3 {
		t.Error("the variants are not those of intent")
	}
}

func TestVariantTroubles(t *testing.T) {
	for said, want := range map[string]string{
		`absent = ["R9"]`:          `intent-name: the netlist has no element named "R9"`,
		`values.R9 = "1 ohm"`:      `intent-name: the netlist has no element named "R9"`,
		`values.R1 = "1 nF"`:       "intent-field: variants.a.values.R1: ",
		`values.R1 = "1 ohm +-1%"`: "intent-field: variants.a.values.R1: this is the value alone; how far it may be off stands in elements.R1.tolerance",
		`values.R1 = "-1 ohm"`:     "intent-field: variants.a.values.R1: R1 has no negative value",
		`values.XA = "1 ohm"`:      "intent-field: variants.a.values.XA: the value of XA is no number that a variant changes",
		`wires = ["XA"]`:           "intent-field: variants.a.wires: XA has 6 pins, and a wire has two",
		`parts.XA = "barge-31"`:    `intent-name: variants.a.parts.XA: there is no part record named "barge-31"; did you mean "barge-30"?`,
		`parts.R1 = "barge-30"`:    "intent-field: variants.a.parts.R1: R1 takes no part record",
	} {
		_, diags := bind("R1 A B 10\nXA A B OUT 0 OUT S barge-30\n* shuntwright: variants.a."+said, barge)
		if len(diags) == 0 || !strings.HasPrefix(diags[0].Rule+": "+diags[0].Text(), want) {
			t.Errorf("%s: %v, want %s", said, diags, want)
		}
	}
}
