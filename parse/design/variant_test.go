package design_test

import (
	"slices"
	"strconv"
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
			o = d.As(v)
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
		`absent = ["R9"]`:          `intent-name: the netlist has no element or instance named "R9"`,
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

// An instance of a subcircuit is left out, and placed, with all that is in it.
func TestUnplacedInstances(t *testing.T) {
	const deck = `.subckt leg a b
R1 a b 1
X1 a b cell
.ends
.subckt cell a b
R2 a b 2
.ends
.subckt asks a b dnp=0
R3 a b {1+dnp}
.ends
XL A B leg dnp=1
XM A B leg
XN A B leg dnp=0
XP A B asks dnp=1
XQ A B leg dnp={1-1}
R9 A B 9
* shuntwright: elements.XM.placed = false
* shuntwright: elements."XM.X1".placed = true
* shuntwright: variants.a = { placed = ["xl.x1"], absent = ["XN", "R9"] }
`
	d := load(t, deck, "")
	if got, want := d.Unplaced(), []string{"XL.R1", "XL.X1.R2", "XM.R1"}; !slices.Equal(got, want) {
		t.Errorf("not placed: %q, want %q", got, want)
	}
	v, _ := d.Variant("a")
	var there []string
	for e := range d.As(v).Elements() {
		if e.Kind() != design.Gone {
			there = append(there, e.Path())
		}
	}
	if want := []string{"XL.X1.R2", "XM.X1.R2", "XP.R3", "XQ.R1", "XQ.X1.R2"}; !slices.Equal(there, want) {
		t.Errorf("placed in the variant: %q, want %q", there, want)
	}
	if r := element(t, d, "XP.R3"); r.Value() != 2 {
		t.Errorf("the parameter dnp is not that of the subcircuit: %g ohm", r.Value())
	}
	_, diags := bind("R1 A B 1\n* shuntwright: elements.XZ.placed = false", "")
	if len(diags) != 1 || diags[0].Rule != "intent-name" || !strings.HasPrefix(diags[0].Message, `the netlist has no element or instance named "XZ"`) {
		t.Errorf("%v", diags)
	}
}

// With many changes the newest to an element counts, as with few; those to rails stay by name.
func TestManyChanges(t *testing.T) {
	var cards strings.Builder
	var changes []design.Change
	for i := range 40 {
		name := "R" + strconv.Itoa(i)
		cards.WriteString(name + " A B 1\n")
		changes = append(changes, design.Change{Op: design.Set, Target: strings.ToLower(name), Value: float64(i)})
	}
	d := load(t, cards.String(), "")
	changes = append(changes, design.Change{Op: design.Set, Target: "R7", Value: 70}, design.Change{Op: design.Declare, Target: "a", Text: "5 V exact"},
		design.Change{Op: design.Swap, Target: "R8", Pins: [2]int{0, 1}})
	o := d.With(changes...).With(design.Change{Op: design.Open, Target: "R9"})
	for name, want := range map[string]float64{"R6": 6, "R7": 70, "R39": 39} {
		if got := element(t, o, name).Value(); got != want {
			t.Errorf("%s is %g ohm, want %g", name, got, want)
		}
	}
	if element(t, o, "R9").Kind() != design.Gone || element(t, o, "R10").Kind() != 'R' || element(t, d, "R9").Kind() != 'R' {
		t.Error("R9 alone is open")
	}
	if r := element(t, o, "R8"); r.Pin(0) != element(t, d, "R8").Pin(1) || element(t, o, "R7").Pin(0) != element(t, d, "R7").Pin(0) {
		t.Error("R8 alone is turned round")
	}
	ends(t, "A", rail(t, o, "A", design.Operating), 5, 5, 5, 5)
}
