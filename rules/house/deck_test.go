package house_test

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/house"
)

// The test binary is its own child, as the program is.
func TestMain(m *testing.M) {
	if len(os.Args) == 2 && os.Args[1] == house.Word {
		os.Exit(house.Child(os.Stdin, os.Stdout))
	}
	if len(os.Args) == 3 && os.Args[1] == "child" {
		strange(os.Args[2])
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// strange is a child that does not do what is asked of it.
func strange(kind string) {
	switch kind {
	case "unconfined":
		os.Exit(house.Serve(os.Stdin, os.Stdout))
	case "flood":
		for {
			if _, err := os.Stdout.WriteString("[[[[[[[[[[[[[[[[[[[[[[[[[[[[[["); err != nil {
				return
			}
		}
	case "malformed":
		os.Stdout.WriteString("winch\n")
	case "wrong":
		os.Stdout.WriteString(`{"Judged":[]}` + "\n")
	case "silent":
		time.Sleep(time.Minute)
	case "environment":
		fmt.Fprintf(os.Stdout, `{"Loaded":{"Fault":{"Message":"%d variables"}}}`+"\n", len(os.Environ()))
	}
	if kind != "gone" {
		time.Sleep(time.Minute)
	}
}

// An invented part; the numbers are like no catalogue's.
const barge = `
[[part]]
name = "barge-30"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "30 V/V +- 0.4 %"
direction = "bidirectional"
supply = { operating = "2.8 V .. 5.6 V", survival = "-0.3 V .. 6.6 V", current = "1.3 mA" }
common-mode = { operating = "-4 V .. 60 V", survival = "-14 V .. 75 V" }
input = { model = "differential", resistance = "4.4 kohm +- 17 %" }
bias = { max = "21 uA", mismatch = "0.6 uA" }
output = { low = "50 mV", high = "supply - 80 mV" }
offset = { max = "90 uV" }
reference = { model = "high-impedance" }
`

// A winch: 1 mohm carrying 20 A, filter resistors of 10 ohm, a divider for the reference, a supply resistor.
const winch = `* shuntwright: rails.BUS = "30 V .. 40 V"
* shuntwright: rails.V5 = "5 V +- 2 %"
* shuntwright: currents.RSH = { range = "-20 A .. 20 A", from = "BUS" }
* shuntwright: tolerances.resistors = "1 %"
RSH BUS LOAD 1m
RL LOAD 0 4
RFP BUS INP 10
RFM LOAD INM 10
RA V5 VM 1k
RB VM 0 1k
RS V5 VS 22
XA INP INM out 0 VM VS barge-30
`

// bind binds cards without a title, with what is wrong with them.
func bind(cards string) (*design.Design, []source.Diagnostic) {
	set := source.NewSet()
	n, diags := parse.Read(set, set.Add("deck.cir", []byte("a deck\n"+cards+"\n.end\n"), source.Span{}), parse.Options{})
	lib := &part.Library{}
	diags = append(diags, lib.Read(set, set.Add("parts.toml", []byte(barge), source.Span{}))...)
	d, found := design.Bind(set, n, lib, nil)
	return d, append(diags, found...)
}

func load(t testing.TB, cards string) *design.Design {
	t.Helper()
	d, diags := bind(cards)
	for _, diag := range diags {
		t.Fatalf("%v: %s: %s", d.Src.Place(diag.At), diag.Rule, diag.Text())
	}
	return d
}

// rule is a file with one rule whose function has this body.
func rule(name, body string) string {
	return "def judge(block, say):\n    " + strings.ReplaceAll(strings.TrimSpace(body), "\n", "\n    ") + `
house_rule(api = 1, id = "house/` + name + `", title = "a probe", level = "error", page = "a page", judge = judge)
`
}

func open(t testing.TB, texts ...string) *house.Set {
	t.Helper()
	var files []house.File
	for i, text := range texts {
		files = append(files, house.File{Path: "house/" + string(rune('a'+i)) + ".star", Text: []byte(text)})
	}
	s := house.Open(files)
	t.Cleanup(s.Close)
	return s
}

// judged are the results of house rules on a deck.
func judged(t testing.TB, cards string, texts ...string) (*rules.Report, []rules.Result) {
	t.Helper()
	s := open(t, texts...)
	rep := rules.Judge(load(t, cards), s.List())
	s.Settle(rep)
	return rep, rep.Results
}

// one is the only result of one rule with this body.
func one(t testing.TB, body string) rules.Result {
	t.Helper()
	_, list := judged(t, winch, rule("probe", body))
	if len(list) == 2 && list[0].Rule == "house-rule" {
		return list[0]
	}
	if len(list) != 1 {
		t.Fatalf("%d results: %+v", len(list), list)
	}
	return list[0]
}
