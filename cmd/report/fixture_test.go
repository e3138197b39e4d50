package report

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

const (
	deck = `* two winches on one bus
VBUS VBUS 0 48
RSH_A PHASE_A PA 5m
XA PHASE_A PA OUT_A 0 0 VLOG FERRY32
XL LEFT A winch
XR RIGHT B winch
.subckt winch P OUT
RSH P N 2m
X1 P N OUT 0 VMID
+ VLOG FERRY32
.ends
`
	record = `[[part]]
name = "ferry-32"
gain = "32 V/V +- 0.2 %"
output = { low = "55 mV", high = "supply - 90 mV" }
supply = { operating = "3.1 V .. 14 V" }
`
	promise = `[rails]
VLOG = "3.3 V +- 2 %"
[currents]
RSH_A = { range = "-20 A .. 20 A" }
`
)

// span is where a text first stands in a file of the set.
func span(t testing.TB, set *source.Set, file source.FileID, text string) source.Span {
	t.Helper()
	at := bytes.Index(set.File(file).Text, []byte(text))
	if at < 0 {
		t.Fatalf("%q is not in %s", text, set.File(file).Path)
	}
	return source.Span{Pos: source.Pos{File: file, Byte: uint32(at)}, Len: uint32(len(text))}
}

// ferry is a run that holds every kind of result.
func ferry(t testing.TB) *Run {
	set := source.NewSet()
	net := set.Add("ferry.cir", []byte(deck), source.Span{})
	part := set.Add("parts/ferry.toml", []byte(record), source.Span{})
	intent := set.Add("ferry.intent.toml", []byte(promise), source.Span{})
	in := func(text string) source.Span { return span(t, set, net, text) }
	xa := in("XA PHASE_A PA OUT_A 0 0 VLOG FERRY32")
	x1 := in("X1 P N OUT 0 VMID\n+ VLOG FERRY32")
	current := rules.From{At: span(t, set, intent, `RSH_A = { range = "-20 A .. 20 A" }`), Text: "current"}
	supply := rules.From{At: span(t, set, intent, `VLOG = "3.3 V +- 2 %"`), Text: "supply"}

	reach := rules.Measure{
		Name: "output voltage", Unit: quantity.Volt, Min: -0.13996, Max: 1.7, SoundMin: -0.13996, SoundMax: 1.7,
		LimitMin: 0.055, LimitMax: 3.144, Margin: -0.19496,
		Arithmetic: "0.5 V - 31.9 mV/A x 20 A - 2.3 mV", LimitText: "output.low",
		From:      []rules.From{{At: in("VBUS VBUS 0 48"), Text: "zero"}, {At: in("RSH_A PHASE_A PA 5m"), Text: "scale"}, {At: xa, Text: "scale"}, current},
		LimitFrom: []rules.From{{At: span(t, set, part, `low = "55 mV"`), Text: "output.low"}},
		Witness:   []string{"RSH_A 20 A from PA", "VLOG 3.234 V"},
		Kind:      rules.KindFail, Level: rules.Error,
	}
	high := held(3.234, 3.366, 3.1, 14)
	high.Name, high.Margin, high.LimitText, high.From = "supply voltage", 0.134, "supply.operating", []rules.From{supply}
	winch := func(block string, call string, low float64) rules.Result {
		m := may(held(low, 2.4, 0.055, 3.144), low-0.1, 2.5)
		m.Name, m.Margin, m.Kind, m.Arithmetic = "output voltage", low-0.1-0.055, rules.KindReview, "1.65 V - 64 mV/A x 25 A"
		return rules.Result{
			Rule: "output-floor", Kind: rules.KindReview, Block: block, Message: "comes within 0.1 V of the floor if the shunt is 5 % off",
			At: x1, Calls: []source.Span{in(call)}, Measures: []rules.Measure{m}, Grade: quantity.Assumed,
			Assumed: []string{"RSH has no tolerance: 5 % counted"},
		}
	}
	open := func(rule, winch string) rules.Result {
		return rules.Result{Rule: rule, Kind: rules.KindOpen, Block: winch + ".X1", Message: "the current is not declared", At: x1,
			Calls: []source.Span{in(map[string]string{"XL": "XL LEFT A winch", "XR": "XR RIGHT B winch"}[winch])},
			Needs: []quantity.Need{{In: "intent", Key: `currents."` + winch + `.RSH".range`}}}
	}
	results := []rules.Result{
		{Rule: "netlist-title", Kind: rules.KindFail, Level: rules.Warning, Message: "the title looks like a card", At: in("* two winches on one bus")},
		{
			Rule: "reference-bias", Kind: rules.KindFail, Level: rules.Error, Block: "XA", At: xa,
			Message: "stops reading below -13.8 A, -20 A is intended", Measures: []rules.Measure{reach},
			Remedy: &rules.Remedy{Text: "reference at least 0.696 V"},
		},
		{Rule: "supply-range", Kind: rules.KindPass, Block: "XA", At: xa, Message: "within the operating range", Measures: []rules.Measure{high}},
		winch("XL.X1", "XL LEFT A winch", 0.11), winch("XR.X1", "XR RIGHT B winch", 0.09),
		open("output-headroom", "XL"), open("output-headroom", "XR"), open("shunt-power", "XL"),
		{Rule: "kelvin-terminals", Kind: rules.KindNotApplicable, Block: "XA", At: xa, Message: "the shunt has two terminals"},
		{Rule: "filter-gain-error", Kind: rules.KindFail, Level: rules.Note, Block: "XA", At: xa, Message: "the filter takes 0.3 % of the gain",
			Remedy:  &rules.Remedy{Text: "RF1, RF2 at most 14.3 ohm each", Breaks: []string{"clamp-current"}},
			Related: []source.Related{{At: in("VBUS VBUS 0 48"), Message: "fed from here"}}},
	}
	return &Run{
		Version: "0.0.0",
		Rules: []*rules.Rule{
			{ID: "output-floor", Title: "Output cannot come down to the reading", Level: rules.Error, Page: "# output-floor\n"},
			{ID: "reference-bias", Title: "Two-way current, one-way chain", Level: rules.Error},
		},
		Netlists: []Netlist{{Path: "ferry.cir", Intent: "ferry.intent.toml", Report: &rules.Report{
			Design:   &design.Design{Src: set},
			Blocks:   []rules.BlockInfo{{Name: "XA", Kind: "sense-amplifier", Part: "ferry-32", At: xa, Shunt: []string{"RSH_A"}, Pins: map[string]string{"in+": "PHASE_A", "in-": "PA"}}},
			Results:  results,
			Cautions: []string{"VBUS can reach 76 V: hazardous; have a qualified person review the work"},
		}}},
	}
}

// golden compares with a file under testdata/report; UPDATE=1 in the environment rewrites it.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("..", "..", "testdata", "report", name)
	if os.Getenv("UPDATE") != "" {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if g, w := strings.Split(got, "\n"), strings.Split(string(want), "\n"); got != string(want) {
		for i := range max(len(g), len(w)) {
			if i >= len(g) || i >= len(w) || g[i] != w[i] {
				t.Fatalf("%s, line %d, differs (UPDATE=1 rewrites it); got:\n%s", path, i+1, got)
			}
		}
	}
}
