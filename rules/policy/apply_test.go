package policy

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

const forever = "because = \"known\"\nuntil = \"2099-01-01\"\n"

func TestAccept(t *testing.T) {
	pass := rules.Result{Rule: "winch-name", Block: "XC", Kind: rules.KindPass}
	open := rules.Result{Rule: "winch-name", Block: "XA", Kind: rules.KindOpen}
	for _, c := range []struct {
		name, acceptance string
		results          []rules.Result
		want             string
	}{
		{"by rule and path", "at = \"XA\"\n", []rules.Result{fails("winch-name", "XA", rules.Error), fails("winch-name", "XB", rules.Error), fails("winch-rope", "XA", rules.Error)},
			"XA winch-name accepted\nXB winch-name error\nXA winch-rope error"},
		{"several by a pattern", "at = \"X*\"\n", []rules.Result{fails("winch-name", "XA", rules.Error), fails("winch-name", "XB", rules.Error)},
			"XA winch-name accepted\nXB winch-name accepted"},
		{"a pattern over a pass", "at = \"X*\"\n", []rules.Result{fails("winch-name", "XA", rules.Error), fails("winch-name", "XB", rules.Error), pass},
			"XA winch-name accepted\nXB winch-name accepted\nXC winch-name pass\nof winch-name at X*: needlessly broad: it covers XC as well, where nothing is found; name XA, XB"},
		{"a pass", "at = \"XC\"\n", []rules.Result{pass}, "XC winch-name pass\nidle: of winch-name at XC: nothing is found on XC: take it out"},
		{"undecided", "at = \"XA\"\n", []rules.Result{open}, "XA winch-name accepted"},
		{"the margin", "at = \"XA\"\nmargin = \"-0.2 V\"\n", []rules.Result{fails("winch-name", "XA", rules.Error, "-0.2 V")}, "XA winch-name accepted"},
		{"what was found", "at = \"XA\"\nof = [\"rope\"]\n", []rules.Result{fails("winch-name", "XA", rules.Error, "-0.2 V")}, "XA winch-name accepted"},
		{"one more", "at = \"XA\"\nmargin = \"-0.2 V\"\nof = [\"rope\"]\n", []rules.Result{fails("winch-name", "XA", rules.Error, "-0.2 V", "-0.1 V")},
			"XA winch-name error: it was accepted without rope"},
		{"a statement", "at = \"XA\"\nof = [\"statement\"]\n", []rules.Result{{Rule: "winch-name", Block: "XA", Kind: rules.KindFail, Level: rules.Error, Stated: 2}},
			"XA winch-name error: more is found than was accepted"},
		{"a better margin", "at = \"XA\"\nmargin = \"-0.2 V\"\n", []rules.Result{fails("winch-name", "XA", rules.Error, "-0.199 V")}, "XA winch-name accepted"},
		{"a worse margin", "at = \"XA\"\nmargin = \"-0.2 V\"\n", []rules.Result{fails("winch-name", "XA", rules.Error, "-0.201 V")},
			"XA winch-name error: it was accepted at a margin of -0.2 V, and this is worse"},
		{"a worse second margin", "at = \"XA\"\nmargin = \"-0.2 V\"\n", []rules.Result{fails("winch-name", "XA", rules.Error, "-0.1 V", "-0.201 V")},
			"XA winch-name error: it was accepted at a margin of -0.2 V, and this is worse"},
		{"a margin of another unit", "at = \"XA\"\nmargin = \"-0.2 V\"\n", []rules.Result{fails("winch-name", "XA", rules.Error, "-0.1 V", "-1 A")},
			"XA winch-name error: it was accepted at a margin of -0.2 V, and rope has none of that unit"},
		{"margins of both units", "at = \"XA\"\nmargin = [\"-0.2 V\", \"-1 A\"]\n", []rules.Result{fails("winch-name", "XA", rules.Error, "-0.1 V", "-1 A")}, "XA winch-name accepted"},
		{"no bound any more", "at = \"XA\"\nmargin = \"-0.2 V\"\n", []rules.Result{fails("winch-name", "XA", rules.Error, "unbounded")},
			"XA winch-name error: it was accepted at a margin of -0.2 V, and rope has none of that unit"},
		{"no bound before", "at = \"XA\"\nmargin = \"unbounded\"\n", []rules.Result{fails("winch-name", "XA", rules.Error, "unbounded")}, "XA winch-name accepted"},
		{"undecided at a margin", "at = \"XA\"\nmargin = \"-0.2 V\"\n", []rules.Result{open},
			"XA winch-name undecided: it was accepted at a margin of -0.2 V, and there is none any more"},
		{"a heavier word", "at = \"XA\"\nfound = \"warning\"\n", []rules.Result{fails("winch-name", "XA", rules.Error)}, "XA winch-name error: it was accepted as warning"},
		{"a lighter word", "at = \"XA\"\nfound = \"warning\"\n", []rules.Result{fails("winch-name", "XA", rules.Note)}, "XA winch-name accepted"},
		{"undecided that fails", "at = \"XA\"\nfound = \"undecided\"\n", []rules.Result{fails("winch-name", "XA", rules.Note)}, "XA winch-name note: it was accepted as undecided"},
	} {
		set, list := accepting(t, "[[accept.winch-name]]\n"+c.acceptance+forever)
		results, idle := None(ferry).Apply(Case{Src: set, Results: c.results, Acceptances: list, Today: today})
		if got := said(results, idle); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.name, got, c.want)
		}
		if len(results) < len(c.results) || c.results[0].Accepted != nil {
			t.Errorf("%s: a result is lost, or was written to", c.name)
		}
	}
}

// The end is over when its day is over in UTC, wherever today is counted.
func TestLastDay(t *testing.T) {
	set, list := accepting(t, "[[accept.winch-name]]\nat = \"XA\"\nbecause = \"known\"\nuntil = \"2027-01-01\"\n")
	finding := []rules.Result{fails("winch-name", "XA", rules.Error)}
	results, _ := None(ferry).Apply(Case{Src: set, Results: finding, Acceptances: list, Today: today})
	if results[0].Finding() {
		t.Error("a second before midnight it is over")
	}
	results, _ = None(ferry).Apply(Case{Src: set, Results: finding, Acceptances: list, Today: today.Add(1e9)})
	if !results[0].Finding() || len(results) != 2 || results[1].Level != rules.Warning {
		t.Error("at midnight it is not over")
	}
}

// A trouble with an input is known by the name of its card or key, wherever that stands.
func TestInstance(t *testing.T) {
	set := source.NewSet()
	id := set.Add("winch.cir", []byte("* winch\nRSH  A B 2m\nXB A B\n+ C\n* between\n+ tail=1\n.include \"lost.inc\"\r\n.model  DX D(is=1f)\n[rails]\n"+
		"\"+5_V\" = { operating = \"5 V\" }\n[[part]]\n* shuntwright: goals.XA.error = \"2 %\"\n.end"), source.Span{})
	at := func(text string) source.Span {
		return source.Span{Pos: source.Pos{File: id, Byte: uint32(strings.Index(string(set.File(id).Text), text))}, Len: uint32(len(text))}
	}
	for text, want := range map[string]string{"* winch": "netlist", "RSH  A B 2m": "RSH", "2m": "RSH", "XB A B": "XB", "+ C": "XB", "tail": "XB",
		"lost": "lost.inc", "is=1f": "DX", "[[part]]": "part", `"5 V"`: "+5_V", "goals.XA": "goals.XA.error", ".end": "end"} {
		if got := Instance(set, rules.Result{At: at(text)}); got != want {
			t.Errorf("%s is %q", text, got)
		}
	}
	file := set.Add("winch.intent.toml", []byte("temperature = \"1\"\n[rails.VBUS]\noperating = \"x\"\n[[part]]\nname = \"y\"\n"), source.Span{})
	for text, want := range map[string]string{"temperature": "temperature", "operating": "rails.VBUS.operating", "name": "part.name"} {
		at := source.Span{Pos: source.Pos{File: file, Byte: uint32(strings.Index(string(set.File(file).Text), text))}, Len: uint32(len(text))}
		if got := Instance(set, rules.Result{At: at}); got != want {
			t.Errorf("%s in a file is %q", text, got)
		}
	}
	if got := Instance(set, rules.Result{Rule: "house-rule", Message: "house/cool: it took too long", At: at("2m")}); got != "house/cool" {
		t.Errorf("a trouble with a house rule is %q", got)
	}
	if got := Instance(set, rules.Result{Block: "XA.XS", At: at("2m")}); got != "XA.XS" {
		t.Errorf("a block is %q", got)
	}
	if got := Instance(set, rules.Result{}); got != "netlist" {
		t.Errorf("no place is %q", got)
	}
}

// A failure takes the level that the policy wants; a lighter one keeps it where that is less.
func TestLevels(t *testing.T) {
	p := decision(t, "[levels]\nwinch-name = \"warning\"\nwinch-rope = \"error\"\nintent-disagreement = \"warning\"\nnetlist-title = \"note\"")
	for _, c := range []struct {
		rule     string
		is, want rules.Level
	}{
		{"intent-disagreement", rules.Error, rules.Error}, {"intent-disagreement", rules.Warning, rules.Warning}, {"netlist-title", rules.Error, rules.Note},
		{"winch-name", rules.Error, rules.Warning}, {"winch-name", rules.Warning, rules.Warning}, {"winch-name", rules.Note, rules.Note},
		{"winch-rope", rules.Warning, rules.Error}, {"winch-rope", rules.Note, rules.Note}, {"number-notation", rules.Warning, rules.Warning},
	} {
		results, _ := p.Apply(Case{Src: source.NewSet(), Results: []rules.Result{fails(c.rule, "XA", c.is, "-1 V")}})
		if got := results[0]; got.Level != c.want || got.Measures[0].Level != c.want {
			t.Errorf("%s %s: %s, its measure %s", c.rule, c.is, got.Level, got.Measures[0].Level)
		}
	}
}

// A project keeps to its rule set: what came later is not judged, and a result says so.
func TestRuleSet(t *testing.T) {
	for text, want := range map[string]string{
		"":               "winch-name winch-rope",
		"rule-set = 1\n": "winch-name; winch-rope notApplicable off: of rule set 2; this project keeps to 1",
		"rule-set = 2\n": "winch-name winch-rope",
		"rule-set = 2\n[off]\nwinch-name = \"no winch has one\"": "winch-rope; winch-name notApplicable off: no winch has one",
	} {
		list, left := decision(t, text).Judged()
		var got []string
		for _, r := range list {
			got = append(got, r.ID)
		}
		line := strings.Join(got, " ")
		for _, r := range left {
			line += "; " + r.Rule + " " + r.Kind.String() + " " + r.Message
		}
		if line != want {
			t.Errorf("%q: %s", text, line)
		}
	}
}

// A margin that a rule may have is read again as it was written, and never as a better one.
func TestUnits(t *testing.T) {
	for _, u := range []quantity.Unit{quantity.Ratio, quantity.Volt, quantity.Amp, quantity.Ohm, quantity.Second, quantity.Hertz, quantity.Watt,
		quantity.Joule, quantity.VoltPerAmp, quantity.VoltPerVolt, quantity.VoltPerSecond, quantity.PerKelvin} {
		for _, m := range []float64{-0.281, -4.21e-6, -1234.5678, -0.99999, 0.0123, 3} {
			if small := m > -1e-3 && m < 1e-3; small && (u == quantity.Kelvin || u == quantity.VoltPerVolt) {
				continue // they take no prefix, and so few digits
			}
			r := rules.Result{Rule: "winch-name", Block: "XA", Kind: rules.KindFail, Level: rules.Error, Measures: []rules.Measure{{Unit: u, Margin: m, Kind: rules.KindFail}}}
			written, _, _ := None(ferry).Record(source.NewSet(), []rules.Result{r}, Baseline{"winch.cir", "known", "team", today})
			set, list := accepting(t, written)
			results, idle := None(ferry).Apply(Case{Src: set, Results: []rules.Result{r}, Acceptances: list, Today: today})
			if results[0].Accepted == nil || len(idle) > 0 || len(results) > 1 {
				t.Errorf("%g %s: not accepted as it was recorded:\n%s%s", m, u, written, said(results, idle))
			}
			r.Measures[0].Margin -= 0.02 * max(m, -m)
			results, _ = None(ferry).Apply(Case{Src: set, Results: []rules.Result{r}, Acceptances: list, Today: today})
			if results[0].Accepted != nil {
				t.Errorf("%g %s: accepted though it is worse:\n%s", r.Measures[0].Margin, u, written)
			}
		}
	}
}
