package report

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

func TestPlain(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"XA reference-bias", "XA reference-bias"},
		{"5 V ± 2 %, 10 Ω", "5 V ± 2 %, 10 Ω"},
		{"\x1b[31mX", `\x1b[31mX`},
		{"a\nb\r\tc", `a\nb\r\tc`},
		{"\u009b2J", `\x9b2J`},
		{"\u202eevil\u2069", `\u202eevil\u2069`},
		{"zero\u200bwidth", `zero\u200bwidth`},
		{"\U000e0041tag", `\U000e0041tag`},
		{"broken \xff\xfe", `broken \xff\xfe`},
		{"no\u00a0break", `no\xa0break`},
		{"::error::x", `\x3a:error::x`},
		{"  ::error::x", `  \x3a:error::x`},
		{"a ##[group]", `a #\x23[group]`},
		{"a::b", "a::b"},
	} {
		if got := Plain(c.in); got != c.want {
			t.Errorf("Plain(%q) = %q, want %q", c.in, got, c.want)
		}
	}
}

// nasty draws texts as an attacker would write them.
func nasty() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.String(),
		rapid.Custom(func(t *rapid.T) string { return string(rapid.SliceOfN(rapid.Byte(), 0, 12).Draw(t, "bytes")) }),
		rapid.Custom(func(t *rapid.T) string {
			return strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{
				"\n", "\r", "\x1b[2J", "\x1b]0;t\a", "::", "error", "##[", "#", "%", "%0A", ":", ",", "\u202e", "\u2028", "\u009b", "x", "{0}",
				"[a](http://b.example)", "</script>", `"`, `\`, " ", "title=", "\x7f", "\x00",
			}), 0, 8).Draw(t, "pieces"), "")
		}),
	)
}

// hostile is a run in which every text is an attacker's.
func hostile(t *rapid.T) *Run {
	s := func() string { return nasty().Draw(t, "text") }
	set := source.NewSet()
	path := s()
	id := set.Add(path, []byte("* deck\nR1 a b 1\n+ 2\n"), source.Span{})
	other := set.Add(s(), []byte("x\ny\n"), source.Span{})
	at := source.Span{Pos: source.Pos{File: id, Byte: 7}, Len: rapid.SampledFrom([]uint32{8, 12}).Draw(t, "len")}
	away := source.Span{Pos: source.Pos{File: other, Byte: 2}, Len: 1}
	end := rapid.OneOf(rapid.Float64Range(-10, 10), rapid.Just(nan), rapid.Just(inf), rapid.Just(-inf))
	m := may(held(end.Draw(t, "min"), end.Draw(t, "max"), end.Draw(t, "low"), end.Draw(t, "high")), -11, 11)
	m.Name, m.Arithmetic, m.LimitText, m.Reason, m.Witness = s(), s(), s(), s(), []string{s(), s()}
	m.From, m.LimitFrom = []rules.From{{At: away, Text: s()}, {Text: s()}}, []rules.From{{At: at, Text: s()}}
	m.Margin, m.AtHigh = end.Draw(t, "margin"), rapid.Bool().Draw(t, "high")
	m.Unit = rapid.SampledFrom([]quantity.Unit{quantity.Volt, quantity.Ratio, quantity.Ohm}).Draw(t, "unit")
	r := rules.Result{
		Rule: "shunt-pair", Block: s(), Message: s(), At: at, Calls: []source.Span{away}, Measures: []rules.Measure{m, m},
		Kind:  rapid.SampledFrom([]rules.Kind{rules.KindPass, rules.KindReview, rules.KindOpen}).Draw(t, "kind"),
		Needs: []quantity.Need{{In: s(), Key: s(), At: away}}, Assumed: []string{s()},
		Related: []source.Related{{At: away, Message: s()}, {Message: s()}},
		Remedy:  &rules.Remedy{Text: s(), Breaks: []string{s()}, Changes: []design.Change{{Target: s()}}},
	}
	fail := r
	fail.Kind, fail.Level = rules.KindFail, rapid.SampledFrom([]rules.Level{rules.Note, rules.Warning, rules.Error}).Draw(t, "level")
	taken := fail
	taken.Accepted = &rules.Acceptance{Rule: "shunt-pair", Pattern: "x" + s(), Because: "x" + s(), Owner: s(), Margins: []string{s()}, At: away,
		InSource: rapid.Bool().Draw(t, "in source")}
	input := rules.Result{Rule: s(), Kind: rules.KindFail, Level: rules.Error, Message: s()}
	return &Run{
		Version: "0.0.0",
		Netlists: []Netlist{{Path: path, Intent: s(), Report: &rules.Report{
			Design:  &design.Design{Src: set},
			Results: []rules.Result{r, r, fail, taken, input}, Cautions: []string{s()},
			Blocks: []rules.BlockInfo{{Name: s(), Kind: s(), Part: s(), At: at, Shunt: []string{s()}, Pins: map[string]string{s(): s()}}},
		}}},
		Unread: []Unread{{Path: s(), Message: s()}, {s(), 1, 2, s()}},
	}
}

// Whatever the inputs say, no output holds a byte that a terminal acts on, and no line of text is a command to the
// system that runs the build.
func TestNothingReachesTheTerminalRaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		run := hostile(t)
		for name, write := range map[string]func(b *bytes.Buffer) error{
			"text":        func(b *bytes.Buffer) error { return Text(b, run, TextOptions{Margins: true}) },
			"json":        func(b *bytes.Buffer) error { return JSON(b, run) },
			"sarif":       func(b *bytes.Buffer) error { return SARIF(b, run) },
			"annotations": func(b *bytes.Buffer) error { return Annotations(b, run) },
		} {
			var b bytes.Buffer
			if err := write(&b); err != nil {
				t.Fatal(err)
			}
			if !utf8.Valid(b.Bytes()) {
				t.Fatalf("%s is not UTF-8", name)
			}
			for line := range strings.Lines(b.String()) {
				if i := strings.IndexFunc(strings.TrimSuffix(line, "\n"), unseen); i >= 0 {
					t.Fatalf("%s: %q", name, line)
				}
				if name == "text" && (strings.HasPrefix(strings.TrimLeft(line, " "), "::") || strings.Contains(line, "##[")) {
					t.Fatalf("%s holds a command: %q", name, line)
				}
			}
		}
	})
}

// A name that blanks and a colon lead makes no command with the colon behind it.
func TestPlainPath(t *testing.T) {
	for path, want := range map[string]string{"a:b": "a:b", ":": `\x3a`, " :": ` \x3a`, "  :x": `  \x3ax`, "": "", " a": " a"} {
		if got := plainPath(path); got != want {
			t.Errorf("%q becomes %q", path, got)
		}
	}
}
