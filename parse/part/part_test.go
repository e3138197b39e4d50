package part

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

// ferryRecord is an invented part, numbers like no catalogue's.
const ferryRecord = `[[part]]
name = "ferry-sense-32"
match = ["FERRYSENSE32", "U*_FS32"]
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref-a", "ref-b", "supply"]
gain = "32 V/V +- 0.23 %"
direction = "bidirectional"
supply = { operating = "3.1 V .. 14 V", survival = "-0.4 V .. 16.5 V", current = "2.6 mA" }
common-mode = { operating = "-7 V .. 66 V", survival = "-17 V .. 78 V" }
differential = { operating = "-80 mV .. 80 mV", survival = "-24 V .. 24 V" }
input = { model = "differential", resistance = "6.2 kohm +- 18 %" }
bias = { typical = "18 uA", max = "31 uA", mismatch = "0.7 uA" }
output = { low = "55 mV", high = "supply - 90 mV" }
offset = { max = "72 uV", drift = "0.34 uV/K", at = { common-mode = "15 V", supply = "4.5 V", temperature = "25 degC" } }
cmrr = { min = "114 dB" }
psrr = { max = "11 uV/V" }
reference = { model = "resistor-pair", resistance = "820 kohm", split = "0.07 %", operating = "ground .. supply" }
rated = { ambient = "-40 degC .. 125 degC", junction = "150 degC", theta-ja = "160 K/W" }

[[part.code]]
suffix = "-8"
gain = "8 V/V +- 0.23 %"
differential = { operating = "-320 mV .. 320 mV", survival = "-24 V .. 24 V" }
`

// read reads texts as record files into one library.
func read(texts ...string) (*Library, []string) {
	set, l := source.NewSet(), &Library{}
	var list []string
	for i, text := range texts {
		for _, d := range l.Read(set, set.Add(fmt.Sprintf("parts/%c.toml", 'a'+i), []byte(text), source.Span{})) {
			list = append(list, line(set, d))
		}
	}
	return l, list
}

func line(set *source.Set, d source.Diagnostic) string {
	p := set.Place(d.At)
	s := fmt.Sprintf("%s:%d:%d: %s", strings.TrimPrefix(p.Path, "parts/"), p.Line, p.Column, d.Text())
	for _, r := range d.Related {
		q := set.Place(r.At)
		s += fmt.Sprintf(" [%s:%d:%d %s]", strings.TrimPrefix(q.Path, "parts/"), q.Line, q.Column, r.Message)
	}
	if d.Rule != "record-field" {
		s += " under " + d.Rule
	}
	return s
}

func TestRecord(t *testing.T) {
	l, diags := read(ferryRecord)
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	if len(l.Records()) != 2 {
		t.Fatalf("%d records", len(l.Records()))
	}
	r, code := l.Records()[0], l.Records()[1]
	if r.Name() != "ferry-sense-32" || r.Suffix() != "" || code.Name() != "ferry-sense-32-8" || code.Suffix() != "-8" ||
		r.Role() != "sense-amplifier" || code.Role() != "sense-amplifier" || code.At() != r.At() || r.At().None() {
		t.Errorf("%s, %s", r.Name(), code.Name())
	}
	if r.Pin("IN+") != 0 || r.Pin("supply") != 6 || r.Pin("ref") != -1 || len(code.Pins()) != 7 || r.Units() != nil {
		t.Errorf("pins %q", r.Pins())
	}
	near := func(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-12*math.Abs(b) }
	for key, want := range map[string][3]float64{ // nominal and ends
		"gain":                  {32, 31.9264, 32.0736},
		"supply.current":        {2.6e-3, 2.6e-3, 2.6e-3},
		"input.resistance":      {6200, 5084, 7316},
		"bias.typical":          {18e-6, 18e-6, 18e-6},
		"bias.max":              {31e-6, 31e-6, 31e-6},
		"bias.mismatch":         {0.7e-6, 0.7e-6, 0.7e-6},
		"offset.max":            {72e-6, 72e-6, 72e-6},
		"offset.drift":          {0.34e-6, 0.34e-6, 0.34e-6},
		"offset.at.common-mode": {15, 15, 15},
		"offset.at.supply":      {4.5, 4.5, 4.5},
		"offset.at.temperature": {25, 25, 25},
		"cmrr.min":              {114, 114, 114},
		"psrr.max":              {11e-6, 11e-6, 11e-6},
		"reference.resistance":  {820e3, 820e3, 820e3},
		"reference.split":       {0.0007, 0.0007, 0.0007},
		"rated.junction":        {150, 150, 150},
		"rated.theta-ja":        {160, 160, 160},
	} {
		w := r.Get(key).Written
		if !near(w.Nom, want[0]) || !near(w.Range.Lo, want[1]) || !near(w.Range.Hi, want[2]) {
			t.Errorf("%s is %+v, not %v", key, w, want)
		}
	}
	pins := map[string]float64{"supply": 5, "ground": 0}
	at := func(name string) float64 { return pins[name] }
	for key, want := range map[string]quantity.Interval{
		"supply.operating":       {Lo: 3.1, Hi: 14},
		"supply.survival":        {Lo: -0.4, Hi: 16.5},
		"common-mode.operating":  {Lo: -7, Hi: 66},
		"common-mode.survival":   {Lo: -17, Hi: 78},
		"differential.operating": {Lo: -0.08, Hi: 0.08},
		"differential.survival":  {Lo: -24, Hi: 24},
		"reference.operating":    {Lo: 0, Hi: 5},
		"rated.ambient":          {Lo: -40, Hi: 125},
	} {
		if got := r.Get(key).Limits.Eval(at); got != want {
			t.Errorf("%s is %v, not %v", key, got, want)
		}
	}
	for key, want := range map[string]float64{"output.low": 0.055, "output.high": 4.91} {
		if got := r.Get(key).Formula.Eval(at); !near(got, want) {
			t.Errorf("%s is %v, not %v", key, got, want)
		}
	}
	for key, want := range map[string]string{"direction": "bidirectional", "input.model": "differential", "reference.model": "resistor-pair"} {
		if got := r.Get(key).Text; got != want {
			t.Errorf("%s is %q", key, got)
		}
	}
	if code.Get("gain").Written.Nom != 8 || code.Get("differential.operating").Limits.String() != "-320 mV .. 320 mV" ||
		code.Get("supply.current") != r.Get("supply.current") || r.Get("polarity") != nil {
		t.Error("the gain code overrides the wrong things")
	}
	if f := code.Lookup("gain"); f == nil || f.Unit != quantity.VoltPerVolt || Lookup("gian") != nil {
		t.Error("the field of the gain is not known")
	}
}

// Every key, in every form that a record may use.
func TestOtherKeys(t *testing.T) {
	l, diags := read(`[[part]]
name = "ferry-sense-9"
role = "sense-amplifier"
pins = ["IN+", "in-", "out", "ground", "ref", "supply", "enable", "nc", "nc"]
polarity = "inverted"
source = "measured on the ferry"
input.model = "resistor-difference"
input.temperature-coefficient = "25 ppm/K"
bias.max = [["0 V", "-10 uA"], ["15 V", "31 uA"]]
output.low = [["10 kohm", "55 mV"], ["2 kohm", "ground + 90 mV"]]
common-mode.operating = "max(ground - 7 V, supply - 66 V) .. 66 V"
reference = { model = "high-impedance", current = "20 nA", internal = "supply / 2" }

[[part]]
name = "ferry-shunt-2"
role = "shunt"
pins = ["force-a", "force-b", "sense-a", "sense-b"]
resistance = "2 mohm +- 1 %"
terminals = 4
power = "3 W"
temperature-coefficient = "50 ppm/K"
`)
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	r, shunt := l.Get("FERRY-SENSE-9"), l.Get("ferry-shunt-2")
	if r.Pin("in+") != 0 || r.Pin("nc") != 7 || r.Get("polarity").Text != "inverted" || len(r.Get("bias.max").Points) != 2 ||
		r.Get("bias.max").Points[0][1].Nom != -10e-6 || len(r.Get("output.low").Steps) != 2 ||
		r.Get("reference.current").Written.Nom != 20e-9 || r.Get("reference.internal").Formula.String() != "supply / 2" {
		t.Error("a key is read wrong")
	}
	if shunt.Get("resistance").Written.Nom != 0.002 || shunt.Get("terminals").Count != 4 || shunt.Get("power").Written.Nom != 3 {
		t.Error("the shunt is read wrong")
	}
	if (*Library)(nil).Get("x") != nil || (*Library)(nil).Records() != nil {
		t.Error("a nil library has records")
	}
}

func TestFieldsAreDescribed(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range Fields {
		if f.Doc == "" || seen[f.Key] || (f.Shape == field.Word) != (len(f.Words) > 0) {
			t.Errorf("%s is described badly", f.Key)
		}
		seen[f.Key] = true
		key := strings.ReplaceAll(f.Key, "*", "x")
		text := "[[part]]\n" + key + " = " + f.Example() + "\n"
		if _, diags := read(text); slices.ContainsFunc(diags, func(d string) bool { return strings.Contains(d, " wants ") || strings.Contains(d, "unknown key") }) {
			t.Errorf("the example of %s: %q", f.Key, diags)
		}
	}
}

func TestUnits(t *testing.T) {
	l, diags := read(`[[part]]
name = "ferry-twin"
role = "sense-amplifier"
pins = ["out-a", "in--a", "in+-a", "ground", "in+-b", "in--b", "out-b", "supply"]
output.high = "supply - 90 mV"
reference.internal = "in+ - in-"
[part.units]
a = { "in+" = 3, "in-" = 2, out = 1 }
B = { "IN+" = 5, "in-" = 6, out = 7 }
`)
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	units := l.Records()[0].Units()
	if len(units) != 2 || units[0].Name != "a" || units[1].Name != "B" || units[0].At.None() {
		t.Fatalf("%+v", units)
	}
	for role, want := range map[string]int{"in+": 4, "IN-": 5, "out": 6, "supply": 7, "ground": 3, "ref": -1} {
		if got := units[1].Pin(role); got != want {
			t.Errorf("%s of b is net %d, not %d", role, got, want)
		}
	}
}

// body is a record without a trouble; tests put more into it.
const body = "[[part]]\nname = 'ferry-sense-5'\nrole = 'sense-amplifier'\npins = ['in+', 'in-', 'out', 'ground', 'supply']\n"

func TestRecordErrors(t *testing.T) {
	for _, c := range []struct{ text, want, twin string }{
		{"[[part]]\nrole = 'shunt'\npins = ['a', 'b']", "a.toml:1:3: the record has no name", "[[part]]\nname = 's'\nrole = 'shunt'\npins = ['a', 'b']"},
		{"[[part]]\nname = 's'\npins = ['a', 'b']", `a.toml:1:3: the record "s" has no role`, body},
		{"[[part]]\nname = 's'\nrole = 'shunt'", `a.toml:1:3: the record "s" has no pins`, body},
		{strings.Replace(body, "'out'", "'IN-'", 1), `a.toml:4:23: two pins have the role "IN-" [a.toml:4:16 first here]`, strings.Replace(body, "'out'", "'nc', 'NC'", 1)},
		{strings.Replace(body, "'ground'", "'groud'", 1), `a.toml:4:30: unknown pin role "groud"; did you mean "ground"?`, body},
		{strings.Replace(body, "'out'", "'signal'", 1), `a.toml:4:23: unknown pin role "signal"; there are in+, in-, out, ground, supply, ref, ref-a, ref-b, enable, gain-select, address, nc`,
			strings.Replace(strings.Replace(body, "'out'", "'signal'", 1), "sense-amplifier", "converter", 1)},
		{body + "output.high = 'suply - 90 mV'", `a.toml:5:15: output.high: unknown pin role "suply"; did you mean "supply"?`, body + "output.high = 'SUPPLY - 90 mV'"},
		{body + "output.high = 'ref - 90 mV'", `a.toml:5:15: output.high: unknown pin role "ref"; there are in+, in-, out, ground, supply`, strings.Replace(body, "'out'", "'out', 'ref'", 1) + "output.high = 'ref - 90 mV'"},
		{body + "supply.operating = '2.7V .. 18 V'", `a.toml:5:20: supply.operating: "2.7V" is read as a name; write "2.7 V"`, body + "supply.operating = '2.7 V .. 18 V'"},
		{body + "output.high = 'supply-90'", `a.toml:5:15: output.high: "supply-90" is read as a name; write "supply - 90"`, body + "output.high = 'supply - 90 mV'"},
		{body + "output.high = [['1 ohm', 'spply']]", `a.toml:5:15: output.high: unknown pin role "spply"; did you mean "supply"?`, body + "output.high = [['1 ohm', 'supply']]"},
		{body + "[[part.code]]\nsuffix = '-2'\noutput.low = 'groun'", `a.toml:7:14: output.low: unknown pin role "groun"; did you mean "ground"?`, body + "[[part.code]]\nsuffix = '-2'\noutput.low = 'ground'"},
		{body + "[[part.code]]\ngain = '2 V/V'", "a.toml:5:3: the gain code has no suffix", body + "[[part.code]]\nsuffix = '-2'\ngain = '2 V/V'"},
		{body + "[[part.code]]\nsuffix = '-2'\nrole = 'shunt'", `a.toml:7:1: unknown key role; known here: suffix, source, gain, gain-drift, transconductance, nonlinearity, direction, polarity, bandwidth, delay, hysteresis, start-up, supply, common-mode, differential, input, bias, output, offset, cmrr, psrr, reference, isolated, enable, gain-select, address, rated, digital, resistance, temperature-coefficient, terminals, power, derating, pulse, inductance, voltage, on-resistance, channel, drop, clamp`,
			body + "[[part.code]]\nsuffix = '-2'"},
		{body + "[[part.code]]\nsuffix = '-2'\n[[part.code]]\nsuffix = '-2'", `a.toml:8:10: there are two records named "ferry-sense-5-2" [a.toml:6:10 first here]`, body + "[[part.code]]\nsuffix = '-2'\n[[part.code]]\nsuffix = '-3'"},
		{body + strings.Replace(body, "ferry-sense", "ferry-SENSE", 1), `a.toml:6:8: there are two records named "ferry-SENSE-5" [a.toml:2:8 first here]`, body},
		{body + "[part.units]\na = { 'in+' = 6 }", `a.toml:6:15: units.a."in+" is pin 6, but the pins are counted from 1 to 5 [a.toml:4:1 the pins]`, body + "[part.units]\na = { 'in+' = 5 }"},
		{body + "[part.units]\na = { 'in+' = 0 }", `a.toml:6:15: units.a."in+" is pin 0, but the pins are counted from 1 to 5 [a.toml:4:1 the pins]`, body + "[part.units]\na = { 'in+' = 1 }"},
		{body + "[part.units]\na = { in = 1 }", `a.toml:6:7: unknown pin role "in"; did you mean "in+"?`, body + "[part.units]\na = { 'in+' = 1 }"},
		{body + "[part.units]\na = { in+ = 1 }", `a.toml:6:7: the name in+ has more than letters, digits, - and _: quote it, as in "in+"`, body + "[part.units]\na = { 'in+' = 1 }"},
		{body + "gain = 32", `a.toml:5:8: gain is a number without a unit; write it as text with its unit, such as "32 V/V"`, body + "gain = '32 V/V'"},
		{body + "supply = { survivl = '1 V .. 2 V' }", `a.toml:5:12: unknown key supply.survivl; did you mean "supply.survival"?`, body + "supply = { survival = '1 V .. 2 V' }"},
		{strings.Replace(body, "sense-amplifier", "sense-amplifer", 1), `a.toml:3:8: role: "sense-amplifer" is none of sense-amplifier, digital-monitor, op-amp, comparator, shunt, clamp, converter, capacitor, switch; did you mean "sense-amplifier"?`, body},
		{strings.Replace(body, "['in+', 'in-', 'out', 'ground', 'supply']", "'in+'", 1), `a.toml:4:8: pins is text; this wants a list of texts, such as ["name"]`, body},
		{"name = 'x'", "a.toml:1:1: unknown key name; known here: part", body},
		{"format = 3\n" + body, "a.toml:1:10: format 3 is newer than the newest known one, 1", "format = 1\n" + body},
	} {
		if _, diags := read(c.text); !slices.Equal(diags, []string{c.want}) {
			t.Errorf("%s\n got %s\nwant %s", c.text, strings.Join(diags, "\n     "), c.want)
		}
		if l, diags := read(c.twin); len(diags) > 0 || len(l.Records()) == 0 {
			t.Errorf("the twin of %s: %q", c.text, diags)
		}
	}
}

func TestTwoFiles(t *testing.T) {
	l, diags := read(ferryRecord, body+strings.Replace(body, "ferry-sense-5", "ferry-sense-32-8", 1))
	if want := []string{`b.toml:6:8: there are two records named "ferry-sense-32-8" [a.toml:21:10 first here]`}; !slices.Equal(diags, want) {
		t.Errorf("%q", diags)
	}
	if len(l.Records()) != 3 {
		t.Errorf("%d records", len(l.Records()))
	}
}
