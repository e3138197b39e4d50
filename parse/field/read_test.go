package field

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// ferry is a list of fields with one of every shape.
var ferry = []Field{
	{Key: "name", Shape: Text},
	{Key: "mode", Shape: Word, Words: []string{"drive", "coast", "moor"}},
	{Key: "crew", Shape: Names},
	{Key: "cable.resistance", Shape: Value, Unit: quantity.Ohm},
	{Key: "cable.current", Shape: AtMost, Unit: quantity.Amp},
	{Key: "cable.strength", Shape: AtLeast, Unit: quantity.Watt},
	{Key: "cable.drop", Shape: Typical, Unit: quantity.Volt},
	{Key: "winch.supply", Shape: Allowed, Unit: quantity.Volt},
	{Key: "winch.level", Shape: Level, Unit: quantity.Volt, XUnit: quantity.Ohm},
	{Key: "winch.zero", Shape: Level, Unit: quantity.Volt},
	{Key: "winch.bias", Shape: Points, Unit: quantity.Amp, XUnit: quantity.Volt},
	{Key: "winch.fault", Shape: Fault, Unit: quantity.Amp},
	{Key: "winch.brake", Shape: Flag},
	{Key: "winch.teeth", Shape: Count},
	{Key: "goal", Shape: Goal, Unit: quantity.Ratio},
	{Key: "ports.*", Shape: Value, Unit: quantity.Volt},
	{Key: "ports.*.deep", Shape: Value, Unit: quantity.Volt},
	{Key: "ports.*.tide.low", Shape: Value, Unit: quantity.Volt},
}

// fleet holds ferries as an array of tables.
var fleet = &Table{
	Fields: []Field{{Key: "owner", Shape: Text}},
	Arrays: map[string]*Table{
		"ferry":  {Fields: ferry, Arrays: map[string]*Table{"deck": {Fields: []Field{{Key: "load", Shape: AtMost, Unit: quantity.Watt}}}}},
		"pass.*": {Fields: []Field{{Key: "until", Shape: Text}}},
	},
}

// load reads a text as a file of the given table.
func load(text string, known *Table) (*Doc, []string) {
	set := source.NewSet()
	id := set.Add("ferry.toml", []byte(text), source.Span{})
	doc, diags := ReadTable(set, source.Span{Pos: source.Pos{File: id}, Len: uint32(len(text))}, "record-field", known)
	return doc, lines(set, diags)
}

func lines(set *source.Set, diags []source.Diagnostic) (list []string) {
	for _, d := range diags {
		p := set.Place(d.At)
		line := fmt.Sprintf("%d:%d-%d: %s", p.Line, p.Column, p.EndCol, d.Text())
		for _, r := range d.Related {
			q := set.Place(r.At)
			line += fmt.Sprintf(" [%d:%d %s]", q.Line, q.Column, r.Message)
		}
		list = append(list, line)
	}
	return list
}

func TestEveryShape(t *testing.T) {
	text := `format = 1
name = "ferry"
mode = 'coast'
crew = ["Ada", "Grace"]
goal = "2 %"
cable = { resistance = "5 kohm +- 20 %", current = "3 mA", strength = "2 W" }
cable.drop = "0.7 V"
[winch]
supply = "ground .. supply - 1 V"
level = [["10 kohm", "55 mV"], ["2 kohm", "supply - 90 mV"]]
zero = "supply / 2"
bias = [["0 V", "-10 uA"], ["15 V", "31 uA"]]
fault = "90 A for 20 us"
brake = true
teeth = 1_2

[ports]
"+5V" = "5 V +- 2 %"
"x1.n2" = { deep = "1 V .. 2 V", tide.low = "1 V" }
[ports.North.tide]
low = "3 V exact"
`
	// Of TOML itself, a table in braces is closed: the dotted key below it is the one thing wrong above.
	doc, diags := load(text, &Table{Fields: ferry})
	if want := []string{`7:1-11: cable was closed by its braces; what belongs to it stands inside them [6:1 first here]`}; !slices.Equal(diags, want) {
		t.Errorf("diagnostics %q", diags)
	}
	doc, diags = load(strings.Replace(text, "cable.drop", "#", 1), &Table{Fields: ferry})
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	get := func(path ...string) *Entry {
		e := doc.Get(path...)
		if e == nil {
			t.Fatalf("%q is missing", path)
		}
		return e
	}
	is := func(what string, ok bool) {
		if !ok {
			t.Errorf("%s is wrong", what)
		}
	}
	is("name", get("name").Text == "ferry")
	is("mode", get("mode").Text == "coast")
	is("crew", slices.Equal(get("crew").Names, []string{"Ada", "Grace"}) && len(get("crew").NamesAt) == 2)
	is("goal", get("goal").Written.Nom == 0.02)
	is("resistance", get("cable", "resistance").Written.Range == quantity.Interval{Lo: 4000, Hi: 6000})
	is("current", get("cable", "current").Written.Nom == 0.003)
	is("supply", get("winch", "supply").Limits.String() == "ground .. supply - 1 V")
	is("supply's names", slices.Equal(get("winch", "supply").FormulaNames(), []string{"ground", "supply"}))
	level := get("winch", "level")
	is("level", len(level.Steps) == 2 && level.Steps[1].X.Nom == 2000 && level.Steps[1].Y.String() == "supply - 90 mV")
	is("level's names", slices.Equal(level.FormulaNames(), []string{"supply"}))
	is("zero", get("winch", "zero").Formula.Eval(func(string) float64 { return 3 }) == 1.5)
	bias := get("winch", "bias").Points
	is("bias", len(bias) == 2 && bias[0][1].Nom == -10e-6 && bias[1][0].Nom == 15 && bias[1][1].Nom == 31e-6)
	fault := get("winch", "fault")
	is("fault", fault.Written.Nom == 90 && fault.Duration.Nom == 20e-6)
	is("brake", get("winch", "brake").Flag)
	is("teeth", get("winch", "teeth").Count == 12)
	is("+5V", get("ports", "+5v").Written.Range == quantity.Interval{Lo: 4.9, Hi: 5.1} && get("ports", "+5V").Key() == `ports."+5V"`)
	is("x1.n2", get("ports", "X1.N2", "deep").Key() == `ports."x1.n2".deep`)
	is("north", get("ports", "north", "tide", "low").Written.Form == quantity.Exact)
	is("names", slices.Equal(doc.Names("ports"), []string{"+5V", "x1.n2", "North"}))
	is("no names", doc.Names("winch") == nil && doc.Names() == nil && doc.Names("nothing") == nil)
	is("absent", doc.Get("ports", "South") == nil && doc.Get() == nil && doc.Get("ports") == nil)
	var under []string
	for e := range doc.Under("ports") {
		under = append(under, e.Key())
	}
	is("under", slices.Equal(under, []string{`ports."+5V"`, `ports."x1.n2".deep`, `ports."x1.n2".tide.low`, "ports.North.tide.low"}))
	for e := range doc.Under() {
		is("leaving early", e.Key() == "name")
		break
	}
}

func TestPlacesOfEntries(t *testing.T) {
	text := "[ports.North]\r\ntide = { \"low\" = \"3 V\" }\r\n[winch]\r\nbias = [\r\n [ \"0 V\", \"1 A\" ], # a list\r\n]\r\nµ = 1\r\n"
	set := source.NewSet()
	before := "* shuntwright: "
	id := set.Add("ferry.cir", []byte(before+text), source.Span{})
	doc, _ := Read(set, source.Span{Pos: source.Pos{File: id, Byte: uint32(len(before))}, Len: uint32(len(text) - 7)}, "intent-field", ferry)
	low := doc.Get("ports", "north", "tide", "low")
	if set.Text(low.At) != `"low"` || set.Text(low.ValueAt) != `"3 V"` || set.Text(low.PathAt[1]) != "North" || set.Text(low.PathAt[2]) != "tide" {
		t.Errorf("%q %q %q", set.Text(low.At), set.Text(low.ValueAt), set.Text(low.PathAt[1]))
	}
	if p := set.Place(low.ValueAt); p.Line != 2 || p.Column != 18 {
		t.Errorf("the value stands at %d:%d", p.Line, p.Column)
	}
	bias := doc.Get("winch", "bias")
	if got := set.Text(bias.ValueAt); !strings.HasPrefix(got, "[\r\n") || !strings.HasSuffix(got, "\r\n]") || got != bias.Text {
		t.Errorf("the list is %q", got)
	}
}

func TestErrors(t *testing.T) {
	for _, c := range []struct{ text, want, twin string }{
		// keys
		{`nam = "x"`, `1:1-4: unknown key nam; did you mean "name"?`, `name = "x"`},
		{`[cable]` + "\n" + `resistence = "5 ohm"`, `2:1-11: unknown key cable.resistence; did you mean "cable.resistance"?`, `cable.resistance = "5 ohm"`},
		{`cabel = { current = "5 A" }`, `1:1-6: unknown key cabel; did you mean "cable"?`, `cable = { current = "5 A" }`},
		{`[cabel]` + "\n" + `current = "5 A"`, `1:2-7: unknown key cabel; did you mean "cable"?`, "[cable]\ncurrent = '5 A'"},
		{`ports.North.dep = "5 V"`, `1:1-16: unknown key ports.North.dep; did you mean "ports.North.deep"?`, `ports.North.deep = "5 V"`},
		{`port.North = "5 V"`, `1:1-11: unknown key port.North; did you mean "ports.North"?`, `ports.North = "5 V"`},
		{`winch.voltage = "5 V"`, `1:1-14: unknown key winch.voltage; known in winch: supply, level, zero, bias, fault, brake, teeth`, `winch.supply = "5 V .. 6 V"`},
		{`anchor = "5 V"`, `1:1-7: unknown key anchor; known here: name, mode, crew, cable, winch, goal, ports`, `name = "5 V"`},
		{`cable = "5 V"`, `1:1-6: cable is a table; it holds resistance, current, strength, drop`, `cable.drop = "5 V"`},
		{`ports = "5 V"`, `1:1-6: ports is a table of names`, `ports.A = "5 V"`},
		{`goal.error = "5 %"`, `1:1-11: unknown key goal.error; goal is one value and holds no keys`, `goal = "5 %"`},
		{"[goal]", `1:2-6: goal is one value, not a table`, `goal = "5 %"`},
		{"[[cable]]", `1:3-8: there is only one of these: write [cable]`, `[cable]`},
		{`+5V = "5 V"`, `1:1-4: the name +5V has more than letters, digits, - and _: quote it, as in "+5V"`, `ports."+5V" = "5 V"`},
		{"[ports]\n  +5V = \"5 V\"", `2:3-6: the name +5V has more than letters, digits, - and _: quote it, as in "+5V"`, `ports."+5V" = "5 V"`},
		{"[ports]\nA+B = \"5 V\"", `2:1-4: the name A+B has more than letters, digits, - and _: quote it, as in "A+B"`, `ports."A+B" = "5 V"`},
		{"ports.A+B.deep = \"5 V\"", `1:7-10: the name A+B has more than letters, digits, - and _: quote it, as in "A+B"`, `ports."A+B".deep = "5 V"`},
		{"ports = { +5V = \"5 V\" }", `1:11-14: the name +5V has more than letters, digits, - and _: quote it, as in "+5V"`, `ports = { "+5V" = "5 V" }`},
		{"[ports.+5V]", `1:8-11: the name +5V has more than letters, digits, - and _: quote it, as in "+5V"`, `[ports."+5V"]`},
		{"[ports]\nmy net = \"5 V\"", `2:1-7: the name my net has more than letters, digits, - and _: quote it, as in "my net"`, `ports."my net" = "5 V"`},
		{"[ports]\nx1.n2 = \"5 V\"", `2:1-6: unknown key ports.x1.n2; if x1.n2 is one name, quote it: "x1.n2"`, `ports."x1.n2" = "5 V"`},
		{"ports.x1.n2.deep = \"5 V\"", `1:1-17: unknown key ports.x1.n2.deep; if x1.n2 is one name, quote it: "x1.n2"`, `ports."x1.n2".deep = "5 V"`},
		{"[ports.x1.n2]", `1:2-13: unknown key ports.x1.n2; if x1.n2 is one name, quote it: "x1.n2"`, `[ports."x1.n2"]`},
		{"[ports]\nx1.n2 = { deep = \"5 V\" }", `2:1-6: unknown key ports.x1.n2; if x1.n2 is one name, quote it: "x1.n2"`, `ports."x1.n2" = { deep = "5 V" }`},
		{strings.Repeat("a.", 20) + "b = 1", `1:1-26: tables are nested more than 12 deep`, `name = "a"`},
		{`ports."a\u0000b" = "5 V"`, `1:1-17: the name "a\x00b" holds a control character`, `ports."a b" = "5 V"`},
		{"[ports.\"a\\tb\"]", `1:2-14: the name "a\tb" holds a control character`, `[ports."a b"]`},
		// the same thing twice
		{"name = 'a'\nname = 'b'", `2:1-5: name is said twice [1:1 first here]`, "name = 'a'"},
		{"ports.a = '1 V'\n[ports]\nA = '2 V'", `3:1-2: ports.A is said twice [1:1 first here]`, "ports.a = '1 V'\n[ports]\nB = '2 V'"},
		{"[winch]\n[winch]", `2:2-7: the table winch stands twice [1:2 first here]`, "[winch]\n[cable]"},
		{"ports.A = '1 V'\n[ports.A]\ndeep = '2 V'", `3:1-5: ports.A is a table here and one value elsewhere [1:1 first here]`, "ports.A = '1 V'\n[ports.B]\ndeep = '2 V'"},
		{"ports.A.deep = '1 V'\n[ports]\nA = '2 V'", `3:1-2: ports.A is one value here and a table elsewhere [1:1 first here]`, "ports.A.deep = '1 V'\n[ports]\nB = '2 V'"},
		{"ports = { A = '1 V' }\n[ports.B]", `2:2-9: ports was closed by its braces; what belongs to it stands inside them [1:1 first here]`, "ports = { A = '1 V', B = {} }"},
		{"cable = {}\ncable = {}", `2:1-6: cable was closed by its braces; what belongs to it stands inside them [1:1 first here]`, "cable = {}"},
		// values
		{`cable.drop = 5`, `1:14-15: cable.drop is a number without a unit; write it as text with its unit, such as "5 V"`, `cable.drop = "5 V"`},
		{`cable.drop = 1.5e3`, `1:14-19: cable.drop is a number without a unit; write it as text with its unit, such as "1.5e3 V"`, `cable.drop = "1.5e3 V"`},
		{`winch.supply = 5`, `1:16-17: winch.supply is a number without a unit; write it as text with its unit, such as "1 V .. 5 V"`, `winch.supply = "1 V .. 5 V"`},
		{`winch.fault = 5`, `1:15-16: winch.fault is a number without a unit; write it as text with its unit, such as "5 A for 20 us"`, `winch.fault = "5 A for 20 us"`},
		{`goal = true`, `1:8-12: goal is true or false; write it as text with its unit, such as "5 %"`, `goal = "5 %"`},
		{`goal = ["1 %"]`, `1:8-15: goal is a list; write it as text with its unit, such as "5 %"`, `goal = "1 %"`},
		{`goal = { max = "1 %" }`, `1:8-23: goal is a table; write it as text with its unit, such as "5 %"`, `goal = "1 %"`},
		{`goal = 2026-01-02`, `1:8-18: goal is a date or time; write it as text with its unit, such as "5 %"`, `goal = "1 %"`},
		{`winch.brake = "true"`, `1:15-21: winch.brake is text; this wants true or false, such as true`, `winch.brake = true`},
		{`winch.teeth = "12"`, `1:15-19: winch.teeth is text; this wants a whole number, such as 4`, `winch.teeth = 12`},
		{`winch.teeth = 1.5`, `1:15-18: winch.teeth is a number without a unit; this wants a whole number, such as 4`, `winch.teeth = 0x10`},
		{`winch.teeth = -1`, `1:15-17: winch.teeth is a whole number from 0`, `winch.teeth = 0`},
		{`winch.teeth = 99999999999`, `1:15-26: winch.teeth is a whole number from 0`, `winch.teeth = 99`},
		{`crew = "Ada"`, `1:8-13: crew is text; this wants a list of texts, such as ["name"]`, `crew = ["Ada"]`},
		{`crew = ["Ada", 5]`, `1:16-17: crew holds a number without a unit; this wants a list of texts`, `crew = ["Ada", "5"]`},
		{`crew = ["Ada", " "]`, `1:16-19: crew holds an empty name`, `crew = []`},
		{`name = 5`, `1:8-9: name is a number without a unit; this wants text, such as "name"`, `name = "5"`},
		{`name = ""`, `1:8-10: name: the text is empty`, `name = "-"`},
		{`mode = "coats"`, `1:8-15: mode: "coats" is none of drive, coast, moor; did you mean "coast"?`, `mode = "coast"`},
		{`mode = "reverse"`, `1:8-17: mode: "reverse" is none of drive, coast, moor`, `mode = "moor"`},
		{`cable = { drop = "12 A" }`, `1:18-24: cable.drop: "12 A" is a current, this wants a voltage (V)`, `cable = { drop = "12 V" }`},
		{`cable.resistance = "10meg"`, `1:20-27: cable.resistance: "10meg" is netlist notation; write "10 Mohm"`, `cable.resistance = "10 Mohm"`},
		{`cable.current = "3 mA +- 1 %"`, `1:17-30: cable.current: a limit has no tolerance: write the worst value`, `cable.current = "3 mA .. 4 mA"`},
		{`cable.current = "-3 mA"`, `1:17-24: cable.current: this limits a magnitude, which is not negative`, `cable.current = "-3 mA .. 4 mA"`},
		{`cable.strength = "3 W .. 4 W"`, `1:18-30: cable.strength: this wants one value, such as "5 W"`, `cable.strength = "3 W"`},
		{`winch.supply = "5 V"`, `1:16-21: winch.supply: "5 V" is no range; this wants two ends, such as "1 V .. 5 V"`, `winch.supply = "5 V .. 5 V"`},
		{`winch.zero = "supply -90 mV"`, `1:14-29: winch.zero: "-90" stands where an operator is expected; operators stand between spaces, "- 90"`, `winch.zero = "supply - 90 mV"`},
		{`winch.zero = [["1 ohm", "5 V"]]`, `1:14-32: winch.zero is a list; write it as text with its unit, such as "5 V"`, `winch.level = [["1 ohm", "5 V"]]`},
		{`winch.fault = "90 A"`, `1:15-21: winch.fault: how long does it last? write it as in "5 A for 20 us"`, `winch.fault = "90 A for 20 us"`},
		{`winch.fault = "90 A for -1 s"`, `1:15-30: winch.fault: it cannot last a negative time`, `winch.fault = "90 A for 1 s"`},
		{`winch.fault = "90 V for 1 s"`, `1:15-29: winch.fault: "90 V" is a voltage, this wants a current (A)`, `winch.fault = "90 A for 1 s"`},
		{`winch.bias = []`, `1:14-16: winch.bias is an empty list; this wants pairs such as ["1 V", "5 A"]`, `winch.bias = "5 A"`},
		{`winch.bias = ["5 A"]`, `1:14-21: winch.bias is a list of pairs such as ["1 V", "5 A"]`, `winch.bias = [["1 V", "5 A"]]`},
		{`winch.bias = [["1 V", "5 A", "6 A"]]`, `1:14-37: winch.bias is a list of pairs such as ["1 V", "5 A"]`, `winch.bias = [["1 V", "5 A"]]`},
		{`winch.bias = [["1 V", 5]]`, `1:14-26: winch.bias is a list of pairs such as ["1 V", "5 A"]`, `winch.bias = [["1 V", "5 A"]]`},
		{`winch.bias = [["1 A", "5 A"]]`, `1:16-21: winch.bias: "1 A" is a current, this wants a voltage (V)`, `winch.bias = [["1 V", "5 A"]]`},
		{`winch.bias = [["1 V", "5 V"]]`, `1:23-28: winch.bias: "5 V" is a voltage, this wants a current (A)`, `winch.bias = [["1 V", "5 A"]]`},
		{`winch.bias = [["2 V", "5 A"], ["1 V", "5 A"]]`, `1:32-37: winch.bias: the points stand in rising order, and 1 V follows 2 V`, `winch.bias = [["1 V", "5 A"], ["1 V", "6 A"]]`},
		{`winch.level = [["1 ohm", "supply -5 V"]]`, `1:26-39: winch.level: "-5" stands where an operator is expected; operators stand between spaces, "- 5"`, `winch.level = [["1 ohm", "supply - 5 V"]]`},
		// the file
		{"format = 2\nnam = x", `1:10-11: format 2 is newer than the newest known one, 1`, "format = 1"},
		{"# ferry\nformat = 99\n!", `2:10-12: format 99 is newer than the newest known one, 1`, "# ferry\nformat = 1"},
		{"format = 0", `1:10-11: format is a whole number from 1, as in format = 1`, "format = 1"},
		{`format = "1"`, `1:10-13: format is a whole number from 1, as in format = 1`, "format = 1"},
		{"format = 1\nformat = 1", `2:1-7: format is said twice [1:1 first here]`, "format = 1"},
		{"name = 'a'\nmode = drive", `2:8-9: not TOML: unexpected character U+0064 'd' at start of value`, "name = 'a'\nmode = 'drive'"},
		{"name = 'a'\nmode", `2:4-5: not TOML: expected '=' after key`, "name = 'a'"},
		{"name = 'a", `1:9-10: not TOML: unterminated literal string`, "name = 'a'"},
		{"[winch\nbrake = true", `1:7-1: not TOML: expected ']' to close table name`, "[winch]\nbrake = true"},
	} {
		doc, diags := load(c.text, &Table{Fields: ferry})
		if !slices.Equal(diags, []string{c.want}) {
			t.Errorf("%s\n got %s\nwant %s", c.text, strings.Join(diags, "\n     "), c.want)
		}
		if doc == nil {
			t.Errorf("%s: no document", c.text)
		}
		if _, diags := load(c.twin, &Table{Fields: ferry}); len(diags) > 0 {
			t.Errorf("the twin of %s: %q", c.text, diags)
		}
	}
}

func TestWhatStandsBeforeASyntaxErrorSurvives(t *testing.T) {
	doc, diags := load("name = 'a'\n[winch]\nbrake = true\nteeth = = 4\nzero = '1 V'", &Table{Fields: ferry})
	if len(diags) != 1 || doc.Get("name") == nil || doc.Get("winch", "brake") == nil || doc.Get("winch", "zero") != nil {
		t.Errorf("%q, %v", diags, doc)
	}
}

func TestOneErrorDoesNotHideTheNext(t *testing.T) {
	_, diags := load("nam = 'a'\n[anchors]\nweight = '5 V'\nropes = 7\n[winch]\nteeth = '4'\nzero = '1 V'", &Table{Fields: ferry})
	if len(diags) != 3 { // the unknown table counts once
		t.Errorf("%q", diags)
	}
	_, diags = load(strings.Repeat("x = 1\n", 5000), &Table{Fields: ferry})
	if len(diags) != maxDiagnostics+1 || !strings.HasSuffix(diags[maxDiagnostics], "too many errors; the rest is not shown") {
		t.Errorf("%d diagnostics", len(diags))
	}
}

func TestArraysOfTables(t *testing.T) {
	doc, diags := load(`owner = "Ada"
[[ferry]]
name = "north"
cable.drop = "1 V"
[ferry.winch]
teeth = 4
[[ferry.deck]]
load = "1 W"
[[ferry.deck]]
load = "2 W"
[[ferry]]
name = "south"
deck = [{ load = "3 W" }]
[ferry.winch]
teeth = 5
[[pass."Anna B"]]
until = "May"
`, fleet)
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	ferries := doc.Array("ferry")
	if len(ferries) != 2 || doc.Get("owner").Text != "Ada" {
		t.Fatalf("%d ferries", len(ferries))
	}
	for i, f := range ferries {
		if f.Get("winch", "teeth").Count != 4+i || len(f.Array("deck")) != 2-i {
			t.Errorf("ferry %d is wrong", i)
		}
	}
	if p := ferries[1].Array("deck")[0].Get("load"); p.Written.Nom != 3 || p.Field != &fleet.Arrays["ferry"].Arrays["deck"].Fields[0] {
		t.Errorf("%+v", p)
	}
	if passes := doc.Array("pass", "anna b"); len(passes) != 1 || passes[0].Get("until").Text != "May" {
		t.Error("the pass is missing")
	}
	if ferries[0].At.None() || (*Doc)(nil).Array("x") != nil || (*Doc)(nil).Get("x") != nil || (*Doc)(nil).Names() != nil {
		t.Error("places or nil documents")
	}
}

func TestArrayErrors(t *testing.T) {
	for _, c := range []struct{ text, want, twin string }{
		{"[ferry]\nname = 'a'", `1:2-7: there may be several of these: write [[ferry]]`, "[[ferry]]\nname = 'a'"},
		{"[[ferry]]\n[ferry.deck]", `2:2-12: there may be several of these: write [[ferry.deck]]`, "[[ferry]]\n[[ferry.deck]]"},
		{"[ferry.winch]\nteeth = 4", `1:2-13: [ferry.winch] stands before any [[ferry]]`, "[[ferry]]\n[ferry.winch]\nteeth = 4"},
		{"[[ferry.deck]]", `1:3-13: [ferry.deck] stands before any [[ferry]]`, "[[ferry]]\n[[ferry.deck]]"},
		{"[[fery]]", `1:3-7: unknown key fery; did you mean "ferry"?`, "[[ferry]]"},
		{"name = 'a'", `1:1-5: unknown key name; known here: owner, ferry, pass`, "owner = 'a'"},
		{"ferry = 'a'", `1:1-6: ferry is a table: write it in braces, or under [[ferry]]`, "ferry = { name = 'a' }"},
		{"ferry = [1]", `1:1-6: ferry is a table: write it in braces, or under [[ferry]]`, "ferry = [{ name = 'a' }]"},
		{"[[ferry]]\nname = 'a'\nname = 'b'", `3:1-5: name is said twice [2:1 first here]`, "[[ferry]]\nname = 'a'\n[[ferry]]\nname = 'a'"},
		{"[[ferry]]\n[ferry.winch]\n[ferry.winch]", `3:8-13: the table winch stands twice [2:8 first here]`, "[[ferry]]\n[ferry.winch]\n[[ferry]]\n[ferry.winch]"},
		{"[[ferry]]\nformat = 1", `2:1-7: unknown key format; known here: name, mode, crew, cable, winch, goal, ports, deck`, "format = 1\n[[ferry]]"},
	} {
		if _, diags := load(c.text, fleet); !slices.Equal(diags, []string{c.want}) {
			t.Errorf("%s\n got %s\nwant %s", c.text, strings.Join(diags, "\n     "), c.want)
		}
		if _, diags := load(c.twin, fleet); len(diags) > 0 {
			t.Errorf("the twin of %s: %q", c.text, diags)
		}
	}
}

func TestReadIntoNamesBothPlaces(t *testing.T) {
	set := source.NewSet()
	region := func(path, text string) source.Span {
		return source.Span{Pos: source.Pos{File: set.Add(path, []byte(text), source.Span{})}, Len: uint32(len(text))}
	}
	known := &Table{Fields: ferry}
	first := region("a.toml", "ports = { A = '1 V' }\nname = 'a'")
	doc, diags := ReadTable(set, first, "intent-field", known)
	if len(diags) > 0 {
		t.Fatal(lines(set, diags))
	}
	wider := doc.Clone()
	diags = ReadInto(wider, set, region("b.cir", "ports.B = '2 V'"), "intent-field", known)
	diags = append(diags, ReadInto(wider, set, region("b.cir", "name = 'b'"), "intent-field", known)...)
	if len(diags) != 1 || diags[0].Rule != "intent-field" || set.Place(diags[0].Related[0].At).Path != "a.toml" || set.Place(diags[0].At).Path != "b.cir" {
		t.Errorf("%q", lines(set, diags))
	}
	if wider.Get("ports", "b") == nil || doc.Get("ports", "b") != nil || wider.Get("name").Text != "a" {
		t.Error("a clone and its origin share what was read")
	}
}

func TestByteOrderMark(t *testing.T) {
	doc, diags := load("\ufeffname = 'a'", &Table{Fields: ferry})
	if len(diags) > 0 || doc.Get("name") == nil {
		t.Errorf("%q", diags)
	}
}

func TestALineThatEndsInACarriageReturn(t *testing.T) {
	doc, diags := load("name = 'a'\r", &Table{Fields: ferry})
	if len(diags) > 0 || doc.Get("name") == nil {
		t.Errorf("%q", diags)
	}
}

func TestRefusedIsNotMissing(t *testing.T) {
	doc, _ := load("ports.North = 5\nname = 'a'", &Table{Fields: ferry})
	if !doc.Refused("ports", "north") || doc.Refused("name") || doc.Refused("mode") || (*Doc)(nil).Refused("name") {
		t.Error("refused and missing are mixed up")
	}
}

func TestCloneKeepsArraysApart(t *testing.T) {
	set := source.NewSet()
	region := func(text string) source.Span {
		return source.Span{Pos: source.Pos{File: set.Add("a.toml", []byte(text), source.Span{})}, Len: uint32(len(text))}
	}
	doc, _ := ReadTable(set, region("[[ferry]]\n[[ferry]]\n[[ferry]]"), "r", fleet)
	one, two := doc.Clone(), doc.Clone()
	ReadInto(one, set, region("ferry = { name = 'one' }"), "r", fleet)
	ReadInto(two, set, region("ferry = { name = 'two' }"), "r", fleet)
	if len(doc.Array("ferry")) != 3 || one.Array("ferry")[3].Get("name").Text != "one" || two.Array("ferry")[3].Get("name").Text != "two" {
		t.Error("clones share an array")
	}
}

func TestLeads(t *testing.T) {
	for text, want := range map[string]string{`accept.x = { a = 1 }`: "accept", `"finds".a = "b"`: "finds", "[rails]": "rails", "": "", "= 1": "", "# a": "",
		`accept.x = { a = `: "accept", "accept = \x00": "accept", "acce pt": "acce", "é": ""} {
		if got := Leads([]byte(text)); got != want {
			t.Errorf("%q leads with %q", text, got)
		}
	}
}

func TestApart(t *testing.T) {
	for name, want := range map[string]string{"5V": "5 V", "-7V": "-7 V", "2.5mV": "2.5 mV", "supply-90": "supply - 90", "a+b": "a + b",
		"in+": "", "supply": "", "5X": "", "": "", "+": "", "net-": ""} {
		if got := Apart(name, quantity.Volt); got != want {
			t.Errorf("%q apart is %q, not %q", name, got, want)
		}
	}
}

func TestExamplesAreValid(t *testing.T) {
	for _, f := range ferry {
		key := strings.ReplaceAll(f.Key, "*", "North")
		if _, diags := load(key+" = "+f.Example(), &Table{Fields: ferry}); len(diags) > 0 {
			t.Errorf("%s: %q", f.Key, diags)
		}
		if f.Shape.String() == "" {
			t.Errorf("%s has a shape without a name", f.Key)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{"name = 'a'", "[[ferry]]\n[ferry.winch]\nbias = [[\"0 V\", \"1 A\"]]", "ports.\"+5V\" = '5 V'", "+5V = 1",
		"format = 2", "ferry = [{deck = [{}]}]", "a = {b = {c = {", "[a.b\n", "cable = { drop = 5 }", "\ufeff[", "x = \"\"\"\n", "\x00", "ports.x1.n2 = 1",
		"winch.level = [[\"1 ohm\", 'supply']]", "[\"\"]", "''.'' = 1", "pass.x = {until = 'a'}", "ferry.a.b = 1", "a=1\r\n\ra=2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, known := range []*Table{{Fields: ferry}, fleet} {
			set := source.NewSet()
			text := "* " + s + "!"
			id := set.Add("f", []byte(text), source.Span{})
			doc, diags := ReadTable(set, source.Span{Pos: source.Pos{File: id, Byte: 2}, Len: uint32(len(s))}, "r", known)
			inside := func(at source.Span) {
				if at.File != id || at.Byte < 2 || at.Byte+at.Len > uint32(len(s)+2) {
					t.Fatalf("%q: a place outside: %+v", s, at)
				}
			}
			for _, d := range diags {
				inside(d.At)
				if d.Message == "" || d.Rule != "r" {
					t.Errorf("%q: %+v", s, d)
				}
			}
			for e := range doc.Under() {
				inside(e.At)
				inside(e.ValueAt)
				if len(e.Path) != len(e.PathAt) || doc.Get(e.Path...) != e {
					t.Errorf("%q: %+v", s, e)
				}
			}
		}
	})
}

// Days and margins, and the tables of all arrays in the order of the file.
func TestAcceptanceShapes(t *testing.T) {
	log := &Table{Arrays: map[string]*Table{"stop.*": {Fields: []Field{{Key: "on", Shape: Date}, {Key: "short", Shape: Margins}}}}}
	doc, diags := load(`stop.north = [{ on = "2027-06-30" }, { short = "-0.2 V" }]
[[stop.South]]
short = ["-3 A", "unbounded"]
[[stop.north]]
on = "2028-02-29"
`, log)
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	var got []string
	for _, d := range doc.Tables("stop") {
		for e := range d.Under() {
			got = append(got, d.Path[1]+" "+strings.Join(e.Names, "; "))
			if e.Field.Key == "on" {
				got[len(got)-1] = d.Path[1] + " " + e.Day.Format("2 January 2006")
			}
		}
	}
	want := []string{"north 30 June 2027", "north -0.2 V", "South -3 A; unbounded", "north 29 February 2028"}
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	for text, want := range map[string]string{
		`on = "2027-02-29"`:          `on: "2027-02-29" is no day; write year, month and day, as in "2027-06-30"`,
		`on = 2027-06-30`:            `on is a date or time; this wants a day as text, such as "2027-06-30"`,
		`short = "-0.2"`:             `short: "-0.2" is no margin; write one number with its unit, such as "-0.2 V", or "unbounded"`,
		`short = ["-0.2 V", "soon"]`: `short: "soon" is no margin; write one number with its unit, such as "-0.2 V", or "unbounded"`,
		`short = -0.2`:               `short is a number without a unit; write it as text with its unit, such as "-0.2 V"`,
	} {
		if _, diags := load("[[stop.north]]\n"+text, log); len(diags) != 1 || !strings.HasSuffix(diags[0], want) {
			t.Errorf("%s: %v", text, diags)
		}
	}
}
