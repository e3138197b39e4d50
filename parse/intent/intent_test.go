package intent

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

const ferryIntent = `temperature = "-25 degC .. 85 degC"

[rails]
VTRAC = { operating = "40 V .. 58 V", survival = "0 V .. 76 V" }
V3V3 = "3.3 V +- 2 %"
VADC = { follows = "V3V3", within = "10 mV" }

[currents]                       # positive leaves the named net and enters the shunt
RSH_A = { range = "-20 A .. 20 A", from = "PHASE_A", rms = "12 A", ripple = "3 A", fault = "90 A for 20 us", least = "0.5 A" }

[switching]
PHASE_A = { between = ["0", "VTRAC"], frequency = "20 kHz", edge = "5 V/ns" }

[goals]
X_A = { error = "2 %", at = "10 A", method = "worst-case" }

[converters]
OUT_A = { range = "0 V .. V3V3", bits = 12, scale = "31.9 mV/A", zero = "V3V3 / 2" }    # jointly

[calibration]
X_A = { offset = { temperature = "25 degC", common-mode = "48 V" }, gain = true }

[states]                         # states beside the working one that matter
asleep = { measuring = false, rails = { V3V3 = "0 V" } }

[tolerances]
resistors = "1 %"

[elements]                       # what the netlist cannot say about one element; paths as printed, XA.R3
RF1 = { tolerance = "0.1 %", temperature-coefficient = "25 ppm/K" }
D2 = { drop = "0.3 V .. 1.1 V" }
MH = { on-resistance = "2 mohm .. 6 mohm", exclusive-with = ["ML"] }
LM = { current = "-40 A .. 40 A" }
`

func read(text string) (*source.Set, *Intent, []string) {
	set := source.NewSet()
	i, diags := Read(set, set.Add("ferry.intent.toml", []byte(text), source.Span{}))
	return set, i, lines(set, diags)
}

func lines(set *source.Set, diags []source.Diagnostic) (list []string) {
	for _, d := range diags {
		p := set.Place(d.At)
		line := fmt.Sprintf("%s:%d:%d: %s", p.Path, p.Line, p.Column, d.Text())
		for _, r := range d.Related {
			q := set.Place(r.At)
			line += fmt.Sprintf(" [%s:%d:%d %s]", q.Path, q.Line, q.Column, r.Message)
		}
		if d.Rule != "intent-field" {
			line += " under " + d.Rule
		}
		list = append(list, strings.ReplaceAll(line, "ferry.intent.toml:", ""))
	}
	return list
}

func TestIntent(t *testing.T) {
	_, i, diags := read(ferryIntent)
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Abs(b) }
	for key, want := range map[string][3]float64{ // nominal and ends
		"temperature":                          {30, -25, 85},
		"rails.VTRAC.operating":                {49, 40, 58},
		"rails.VTRAC.survival":                 {38, 0, 76},
		"rails.v3v3":                           {3.3, 3.234, 3.366},
		"rails.VADC.within":                    {0.01, 0.01, 0.01},
		"currents.RSH_A.range":                 {0, -20, 20},
		"currents.RSH_A.rms":                   {12, 12, 12},
		"currents.RSH_A.ripple":                {3, 3, 3},
		"currents.RSH_A.fault":                 {90, 90, 90},
		"currents.rsh_a.least":                 {0.5, 0.5, 0.5},
		"switching.PHASE_A.frequency":          {20e3, 20e3, 20e3},
		"switching.PHASE_A.edge":               {5e9, 5e9, 5e9},
		"goals.X_A.error":                      {0.02, 0.02, 0.02},
		"goals.X_A.at":                         {10, 10, 10},
		"converters.OUT_A.scale":               {0.0319, 0.0319, 0.0319},
		"calibration.X_A.offset.temperature":   {25, 25, 25},
		"calibration.X_A.offset.common-mode":   {48, 48, 48},
		"states.asleep.rails.V3V3":             {0, 0, 0},
		"tolerances.resistors":                 {0.01, 0.01, 0.01},
		"elements.RF1.tolerance":               {0.001, 0.001, 0.001},
		"elements.RF1.temperature-coefficient": {25e-6, 25e-6, 25e-6},
		"elements.D2.drop":                     {0.7, 0.3, 1.1},
		"elements.MH.on-resistance":            {0.004, 0.002, 0.006},
		"elements.LM.current":                  {0, -40, 40},
	} {
		e := i.Get(strings.Split(key, ".")...)
		if e == nil {
			t.Errorf("%s is missing", key)
		} else if w := e.Written; !near(w.Nom, want[0]) || !near(w.Range.Lo, want[1]) || !near(w.Range.Hi, want[2]) {
			t.Errorf("%s is %+v, not %v", key, w, want)
		}
	}
	for key, want := range map[string]string{"rails.VADC.follows": "V3V3", "currents.RSH_A.from": "PHASE_A", "goals.X_A.method": "worst-case"} {
		if e := i.Get(strings.Split(key, ".")...); e == nil || e.Text != want {
			t.Errorf("%s is not %q", key, want)
		}
	}
	if d := i.Get("currents", "RSH_A", "fault").Duration.Nom; d != 20e-6 {
		t.Errorf("the fault lasts %v", d)
	}
	if between := i.Get("switching", "PHASE_A", "between").Names; !slices.Equal(between, []string{"0", "VTRAC"}) {
		t.Errorf("switched between %q", between)
	}
	if m := i.Get("elements", "MH", "exclusive-with").Names; !slices.Equal(m, []string{"ML"}) {
		t.Errorf("exclusive with %q", m)
	}
	if i.Get("converters", "OUT_A", "bits").Count != 12 || !i.Get("calibration", "X_A", "gain").Flag || i.Get("states", "asleep", "measuring").Flag {
		t.Error("bits or flags are wrong")
	}
	rail := func(string) float64 { return 3.3 }
	if r := i.Get("converters", "OUT_A", "range").Limits.Eval(rail); r != (quantity.Interval{Lo: 0, Hi: 3.3}) {
		t.Errorf("the converter reads %v", r)
	}
	if z := i.Get("converters", "OUT_A", "zero").Formula.Eval(rail); z != 1.65 {
		t.Errorf("the zero is %v", z)
	}
	if n := i.Names("rails"); !slices.Equal(n, []string{"VTRAC", "V3V3", "VADC"}) {
		t.Errorf("rails %q", n)
	}
	if n := i.Names("states", "asleep", "rails"); !slices.Equal(n, []string{"V3V3"}) {
		t.Errorf("rails of the state %q", n)
	}
	var nobody *Intent
	if nobody.Get("rails") != nil || nobody.Names("rails") != nil || nobody.References() != nil {
		t.Error("a nil intent says something")
	}
	for range nobody.Under() {
		t.Error("a nil intent has entries")
	}
}

func TestReferences(t *testing.T) {
	set, i, diags := read(ferryIntent + "[rails.VTRAC2]\noperating = '1 V'\nsurvival = '2 V'\n")
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	var got []string
	for _, r := range i.References() {
		got = append(got, fmt.Sprintf("%s %s at %d %s", r.Kind, r.Name, set.Place(r.At).Line, set.Text(r.At)))
	}
	want := []string{"net VTRAC at 4 VTRAC", "net V3V3 at 5 V3V3", "net VADC at 6 VADC", `net V3V3 at 6 "V3V3"`,
		"element RSH_A at 9 RSH_A", `net PHASE_A at 9 "PHASE_A"`, "net PHASE_A at 12 PHASE_A", `net 0 at 12 "0"`, `net VTRAC at 12 "VTRAC"`,
		"block X_A at 15 X_A", "net OUT_A at 18 OUT_A", `net V3V3 at 18 "0 V .. V3V3"`, `net V3V3 at 18 "V3V3 / 2"`, "block X_A at 21 X_A",
		"net V3V3 at 24 V3V3", "element RF1 at 30 RF1", "element D2 at 31 D2", "element MH at 32 MH", `element ML at 32 "ML"`, "element LM at 33 LM",
		"net VTRAC2 at 34 VTRAC2"}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestFieldsAreDescribed(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range Fields {
		if f.Doc == "" || seen[f.Key] || (f.Shape == field.Word) != (len(f.Words) > 0) || Lookup(f.Key) == nil {
			t.Errorf("%s is described badly", f.Key)
		}
		seen[f.Key] = true
		_, _, diags := read(strings.ReplaceAll(f.Key, "*", "x") + " = " + f.Example())
		if slices.ContainsFunc(diags, func(d string) bool {
			return !strings.Contains(d, "between two nets") && !strings.Contains(d, "the rail follows") && !strings.Contains(d, "the envelope that")
		}) {
			t.Errorf("the example of %s: %q", f.Key, diags)
		}
	}
	if Lookup("rails.*.operatng") != nil {
		t.Error("an unknown key is known")
	}
}

func TestErrors(t *testing.T) {
	for _, c := range []struct{ text, want, twin string }{
		{"[rails]\nV5 = { operatng = '5 V' }", `2:8: unknown key rails.V5.operatng; did you mean "rails.V5.operating"?`, "[rails]\nV5 = { operating = '5 V' }"},
		{"[rails]\nV5 = 5", `2:6: rails.V5 is a number without a unit; write it as text with its unit, such as "5 V"`, "[rails]\nV5 = '5 V'"},
		{"[rails]\n+5V = '5 V'", `2:1: the name +5V has more than letters, digits, - and _: quote it, as in "+5V"`, "[rails]\n'+5V' = '5 V'"},
		{"[elements]\nXA.R3 = { tolerance = '1 %' }", `2:1: unknown key elements.XA.R3; if XA.R3 is one name, quote it: "XA.R3"`, "[elements]\n'XA.R3' = { tolerance = '1 %' }"},
		{"rails.V5 = '58 V .. 36 V'", `1:12: rails.V5: the range runs backwards; write "36 V .. 58 V"`, "rails.V5 = '36 V .. 58 V'"},
		{"currents.R1 = '5 A'", `1:1: currents.R1 is a table; it holds range, from, rms, ripple, fault, stray-inductance, open-shunt, damage, fault-voltage, fault-inductance, inrush, burden, ground-lift, least, slope, step, measures, sampling, includes`, "currents.R1.range = '5 A'"},
		{"goals.X1.method = 'RSS'", `1:19: goals.X1.method: "RSS" is none of worst-case, rss; did you mean "rss"?`, "goals.X1.method = 'rss'"},
		{"goals.X1.gain-error = '1 %'", `1:1: unknown key goals.X1.gain-error; known in goals.X1: error, at, method, trip-only`, "goals.X1.error = '1 %'"},
		{"goals.X1.at = '0 A'", `1:15: goals.X1.at: an error at no current is no share of it`, "goals.X1.at = '1 A'"},
		{"rails.A = { follows = 'B', operating = '1 V' }", `1:28: rails.A.operating: a rail that follows another has no range of its own [1:13 it follows a net here]`, "rails.A = { follows = 'B', within = '1 V' }"},
		{"rails.A.within = '1 V'", `1:1: rails.A.within: this wants the net that the rail follows, as in follows = "VADC"`, "rails.A = { follows = 'B', within = '1 V' }"},
		{"switching.A.between = ['0']", `1:23: switching.A.between: a net is switched between two nets, and this names 1`, "switching.A.between = ['0', 'B']"},
		{"converters.A.bits = 0", `1:21: converters.A.bits: a converter has 1 to 64 bits`, "converters.A.bits = 12"},
		{"converters.A.bits = 65", `1:21: converters.A.bits: a converter has 1 to 64 bits`, "converters.A.bits = 64"},
		{"converters.A.range = '0 .. V3V3'", `1:22: converters.A.range: "0" has no unit; this wants a voltage (V), such as "0 V"`, "converters.A.range = '0 V .. V3V3'"},
		{"rails.A.envelope = 'ISO 16750-2:2023 12V C'", `1:20: rails.A.envelope: there is no envelope "ISO 16750-2:2023 12V C"; did you mean "ISO 16750-2:2023 12 V C"?`, "rails.A.envelope = 'iso 16750-2:2023 12 v c'"},
		{"rails.A.envelope = 'MIL-STD-704F'", `1:20: rails.A.envelope: there is no envelope "MIL-STD-704F"; near are MIL-STD-704F 28 V, MIL-STD-704F 28 V external power, MIL-STD-704F 270 V, MIL-STD-704F 270 V external power`, "rails.A.envelope = 'MIL-STD-704F 28 V'"},
		{"rails.A.envelope = 'Li-ion 0s'", `1:20: rails.A.envelope: there is no envelope "Li-ion 0s"; did you mean "Li-ion 13s"?`, "rails.A.envelope = 'Li-ion 7s'"},
		{"rails.A = { envelope = 'Li-ion 7s', events = ['jump start'] }", `1:47: rails.A.events: Li-ion 7s has no event "jump start"; it has none`, "rails.A = { envelope = 'Li-ion 7s', events = [] }"},
		{"rails.A = { envelope = 'ISO 16750-2:2023 12 V C', events = ['jumpstart'] }", `1:61: rails.A.events: ISO 16750-2:2023 12 V C has no event "jumpstart"; did you mean "jump start"?`, "rails.A = { envelope = 'ISO 16750-2:2023 12 V C', events = ['jump start', 'load dump B 35 V'] }"},
		{"rails.A = { envelope = 'ISO 16750-2:2023 24 V E', survival = '0 V .. 60 V', events = [] }", `1:77: rails.A.events: the rail declares what it survives already [1:51 declared here]`, "rails.A = { envelope = 'ISO 16750-2:2023 24 V E', survival = '0 V .. 60 V', operating = '12 V .. 30 V' }"},
		{"rails.A = { operating = '12 V .. 30 V', events = [] }", `1:41: rails.A.events: this wants the envelope that the events are of, as in envelope = "ISO 16750-2:2023 12 V C"`, "rails.A = { operating = '12 V .. 30 V' }"},
		{"rails.A = { follows = 'B', envelope = 'Li-ion 7s' }", `1:28: rails.A.envelope: a rail that follows another has no range of its own [1:13 it follows a net here]`, "rails.A = { follows = 'B', within = '1 V' }"},
		{"variants.a = { absent = ['R1'], wires = ['r1'] }", `1:42: variants.a.wires: this variant says of r1 already what becomes of it [1:26 first in absent]`, "variants.a = { absent = ['R1'], wires = ['R2'] }"},
		{"variants.a = { absent = ['R1'], placed = ['R1'] }", `1:43: variants.a.placed: this variant says of R1 already what becomes of it [1:26 first in absent]`, "variants.a = { placed = ['R1'], values = { R1 = '1 ohm' } }"},
		{"variants.a = { parts.XA = 'b', values.XA = '1 ohm' }", `1:39: variants.a.values.XA: this variant says of XA already what becomes of it [1:22 first in parts]`, "variants.a = { parts.XA = 'b', values.R1 = '1 ohm' }"},
		{"variants.ALL.absent = ['R1']", `1:10: "ALL" is not the name of a variant: it stands for what is judged; name it otherwise`, "variants.alls.absent = ['R1']"},
		{"variants.'a,b'.absent = ['R1']", `1:10: the name of a variant has no comma and no space at its ends: "a,b"`, "variants.'a b'.absent = ['R1']"},
		{"silent = ['supply-range']", `1:1: silent stands only in a comment card of a netlist`, "temperature = '25 degC'"},
		{"finds.supply-range = 'x'", `1:1: finds.supply-range stands only in a comment card of a netlist`, "temperature = '25 degC'"},
		{"format = 2", `1:10: format 2 is newer than the newest known one, 1`, "format = 1"},
		{"temperature = '300 K .. 20 degC'", `1:15: temperature: the range runs backwards; write "20 degC .. 300 K"`, "temperature = '20 degC .. 300 K'"},
		{"calibration.A = { offset = true, offset = { temperature = '25 degC' } }", `1:45: calibration.A.offset is a table here and one value elsewhere [1:19 first here]`, "calibration.A.offset = true"},
	} {
		if _, _, diags := read(c.text); !slices.Equal(diags, []string{c.want}) {
			t.Errorf("%s\n got %s\nwant %s", c.text, strings.Join(diags, "\n     "), c.want)
		}
		if _, i, diags := read(c.twin); len(diags) > 0 || i == nil {
			t.Errorf("the twin of %s: %q", c.text, diags)
		}
	}
}

// deck puts comment cards into a set and returns where their TOML stands.
func deck(set *source.Set, cards ...string) (pragmas []source.Span) {
	const mark = "* shuntwright: "
	text := "ferry\n"
	var starts []int
	for _, c := range cards {
		starts = append(starts, len(text)+len(mark))
		text += mark + c + "\n"
	}
	id := set.Add("ferry.cir", []byte(text), source.Span{})
	for i, at := range starts {
		pragmas = append(pragmas, source.Span{Pos: source.Pos{File: id, Byte: uint32(at)}, Len: uint32(len(cards[i]))})
	}
	return pragmas
}

func TestPragmas(t *testing.T) {
	set, file, diags := read("rails.VTRAC = '40 V .. 58 V'\nrails.A.follows = 'B'")
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	both, found := ReadPragmas(set, file, deck(set,
		`rails.V5 = "5 V"`,
		`rails.vtrac = "40 V"`,
		`accept.reference-bias = { at = "X_A", until = "2027-06-30", because = "bench supply only" }`,
		`finds.reference-bias = "stops reading"`,
		`silent = ["supply-range", "pin-map"]`,
		`rails.V5 = "6 V"`,
		`rail.V6 = "6 V"`,
		`rails.+5V = "5 V"`,
		`rails.A.within = "1 V"`,
		`rails.B.within = "1 V"`))
	want := []string{
		"ferry.cir:3:16: rails.vtrac is said twice [1:1 first here]",
		"ferry.cir:7:16: rails.V5 is said twice [ferry.cir:2:16 first here]",
		`ferry.cir:8:16: unknown key rail.V6; did you mean "rails.V6"?`,
		`ferry.cir:9:22: the name +5V has more than letters, digits, - and _: quote it, as in "+5V"`,
		`ferry.cir:11:16: rails.B.within: this wants the net that the rail follows, as in follows = "VADC"`,
	}
	if got := lines(set, found); !slices.Equal(got, want) {
		t.Errorf("got\n%s", strings.Join(got, "\n"))
	}
	finds, silent := both.Expectations()
	if len(finds) != 1 || finds["reference-bias"] != "stops reading" || !slices.Equal(silent, []string{"supply-range", "pin-map"}) {
		t.Errorf("%q, %q", finds, silent)
	}
	if both.Get("rails", "V5") == nil || file.Get("rails", "V5") != nil || both.Get("rails", "VTRAC").Written.Range.Hi != 58 {
		t.Error("the file's intent changed, or lost to a card")
	}
	alone, found := ReadPragmas(set, nil, deck(set, `rails.VTRAC = "40 V .. 58 V"`, `rails.A = { within = "1 V", follows = "B" }`))
	if len(found) > 0 || alone.Get("rails", "vtrac") == nil || alone.Get("rails", "a", "follows") == nil {
		t.Errorf("%q", lines(set, found))
	}
	if none, found := ReadPragmas(set, nil, nil); none == nil || len(found) > 0 {
		t.Error("no cards give no intent")
	}
	if finds, silent := (*Intent)(nil).Expectations(); len(finds) > 0 || silent != nil {
		t.Error("a nil intent expects something")
	}
}
