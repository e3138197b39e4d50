package cli_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/cmd/cli"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// stranger draws a text as whoever means harm would write it.
func stranger(t *rapid.T, what string) string {
	return rapid.OneOf(
		rapid.Custom(func(t *rapid.T) string { return string(rapid.SliceOfN(rapid.Byte(), 0, 10).Draw(t, "bytes")) }),
		rapid.Custom(func(t *rapid.T) string {
			return strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{
				"\x1b[2J", "\x1b]0;t\a", "\a", "\r", "\n", "\t", "::", "::error::x", "##[group]", "%0A", "%", "\u009b31m", "\x9b", "\u202e", "\u2066",
				"\u200b", "\u2028", "\ufeff", "\xff", "\x00", "\x7f", `"`, "'", `\`, "<script>", "&amp;", "]( ", "{0}", "a", "1k", ":", ",", "é", "𝛀",
			}), 1, 5).Draw(t, "pieces"), "")
		}),
	).Draw(t, what)
}

// hostileDeck is a netlist with its intent and a record in which every name is a stranger's. Some of it is sound, so that
// there is a block to judge.
func hostileDeck(t *rapid.T) (netlist, intent, record string) {
	s := func() string { return stranger(t, "text") }
	word := func() string { // one word of a card, as far as the language lets it be one
		return strings.NewReplacer("\n", "", "\r", "", " ", "", "\t", "", "\x00", "").Replace(s())
	}
	lines := []string{
		s(), "VBUS BUS 0 48", "VLOG VLOG 0 3.3", "RSH BUS LOAD 5m", "RL LOAD 0 4",
		"XA" + word() + " BUS LOAD OUT" + word() + " 0 VLOG WINCH20",
		"R" + word() + " " + word() + ` "` + word() + `" ` + word(), "X" + word() + " " + word() + " " + word(),
		word() + " " + word(), "." + word() + " " + word(), ".include " + s(), `.include "` + word() + `"`, ".param " + word() + "={" + s() + "}",
		".model " + word() + " " + word() + "(" + s() + ")", "D1 a b " + word(), ".subckt " + word() + " " + word(), "R1 a b {" + word() + "}",
		".ends " + word(), "* shuntwright: " + s(), "* shuntwright: currents." + word() + ` = { range = "0 A .. 1 A", from = "` + word() + `" }`, s(),
	}
	netlist = strings.ReplaceAll(strings.Join(lines, "\n"), "\x00", "") // with one it is binary, and refused whole
	intent = "[rails]\nBUS = \"44 V .. 55 V\"\n" + word() + " = \"" + word() + "\"\n'" + word() + "' = '" + word() + "'\n" + s() + "\n"
	record = "[[part]]\nname = \"" + word() + "\"\nmatch = ['" + word() + "']\nrole = '" + word() + "'\n" + word() + " = '" + word() + "'\n"
	return netlist, intent, record
}

// hostilePolicy is a policy and a file of acceptances of which most is sound, so that what a stranger says in them gets to
// be printed.
func hostilePolicy(t *rapid.T) (policy, accepted string) {
	s := func() string { // as a text of TOML
		text, err := json.Marshal(stranger(t, "text") + rapid.SampledFrom([]string{"", "x"}).Draw(t, "end"))
		if err != nil {
			t.Fatal(err)
		}
		return strings.ReplaceAll(string(text), "\x7f", `\u007f`)
	}
	policy = "fail-on = \"open\"\n[off]\nreference-bias = " + s() + "\n[levels]\n" + s() + " = \"note\"\n[acceptances]\nnever = [" + s() + "]\n" + s() + " = " + s() + "\n"
	for _, rule := range []string{`supply-range`, `common-mode-operating`, `part-unknown`, `netlist-card`, s()} {
		accepted += "[[accept." + rule + "]]\nat = " + rapid.SampledFrom([]string{`"**"`, s()}).Draw(t, "at") + "\nbecause = " + s() + "\nowner = " + s() +
			"\nuntil = \"2099-01-01\"\nnetlist = " + rapid.SampledFrom([]string{`"**"`, s()}).Draw(t, "netlist") + "\nmargin = " + rapid.SampledFrom([]string{`"-9 V"`, s()}).Draw(t, "margin") + "\n"
	}
	return policy, accepted
}

// command is one line of annotations: the properties hold neither of the bytes that part them, and "%" only escapes.
var command = regexp.MustCompile(`^::(error|warning|notice) file=[^,:]*(,[A-Za-z]+=[^,:]*)*::([^%]|%25|%0A|%0D)*$`)

// acted tells of a character that a terminal acts on or that hides or moves text.
func acted(r rune) bool {
	return r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == '\u2028' || r == '\u2029')
}

// Whatever a stranger's files are called and say, nothing of it reaches a terminal, a build log or a reader of the
// output as anything but text.
func TestStrangersFilesAreOnlyText(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.Mkdir("parts", 0o755); err != nil {
		t.Fatal(err)
	}
	sound, err := os.ReadFile(filepath.Join(scriptDir, "winch", "parts", "winch.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("parts/winch.toml", sound, 0o644); err != nil {
		t.Fatal(err)
	}
	write := func(t *rapid.T, name, text string) (ok bool) {
		return os.WriteFile(name, []byte(text), 0o644) == nil
	}
	rapid.Check(t, func(t *rapid.T) {
		netlist, intent, record := hostileDeck(t)
		seldom := func(what string) bool { return rapid.IntRange(0, 4).Draw(t, what) == 0 } // nothing is judged with such an input
		name := strings.NewReplacer("/", "", "\x00", "").Replace(stranger(t, "name"))
		bad := "parts/" + name + ".toml"
		if !write(t, name+".cir", netlist) || !write(t, name+".intent.toml", intent) {
			t.Skip("the system takes no such name")
		}
		defer os.Remove(name + ".cir")
		defer os.Remove(name + ".intent.toml")
		if seldom("records") && write(t, bad, record) {
			defer os.Remove(bad)
		}
		if !seldom("intent") {
			os.Remove(name + ".intent.toml")
		}
		policy, accepted := hostilePolicy(t)
		for file, text := range map[string]string{"shuntwright.toml": policy, "accepted.toml": accepted} {
			if os.Remove(file); seldom(file) && !write(t, file, text) {
				t.Fatal("not written")
			}
		}
		args := []string{"lint", "--margins", "--remedies=false"}
		for _, f := range []string{"json", "sarif", "annotations"} {
			args = append(args, "--out", f+":out."+f)
		}
		if seldom("lost records") {
			args = append(args, "--parts", stranger(t, "lost parts"))
		}
		var out, errs bytes.Buffer
		cli.Main(append(args, "--", name+".cir", stranger(t, "lost")), cli.Streams{Out: &out, Err: &errs}, builtin.All...)

		printed := map[string]string{"text": out.String(), "stderr": errs.String()}
		for _, f := range []string{"json", "sarif", "annotations"} {
			text, err := os.ReadFile("out." + f)
			if err != nil {
				t.Fatalf("%v: %s", err, errs.String())
			}
			printed[f] = string(text)
		}
		asked := []string{"LOAD", stranger(t, "what"), "V(" + stranger(t, "net") + ",BUS)", "I(" + stranger(t, "element") + ")"}
		for what, args := range map[string][]string{"bounds": asked, "all bounds": nil, "bounds of one": asked[:1]} {
			args = append([]string{"--", name + ".cir"}, args...)
			if what == "bounds of one" {
				args = append([]string{"--witness-deck", "out.cir"}, args...)
			}
			for _, format := range []string{"text", "json"} {
				var out, errs bytes.Buffer
				cli.Main(append([]string{"bounds", "--format", format}, args...), cli.Streams{Out: &out, Err: &errs}, builtin.All...)
				printed[what+" "+format], printed[what+" stderr"] = out.String(), errs.String()
			}
		}
		for what, args := range map[string][]string{"config": {"config", "explain", "--", name + ".cir"},
			"baseline": {"baseline", "write", "--until", "2099-01-01", "--owner", "x" + stranger(t, "owner"), "--file", "base.toml", "--", name + ".cir"}} {
			var out, errs bytes.Buffer
			cli.Main(args, cli.Streams{Out: &out, Err: &errs}, builtin.All...)
			printed[what], printed[what+" stderr"] = out.String(), errs.String()
		}
		if text, err := os.ReadFile("base.toml"); err == nil {
			var v any
			if err := toml.Unmarshal(text, &v); err != nil {
				t.Fatalf("the baseline is no TOML: %v\n%s", err, text)
			}
			os.Remove("base.toml")
		}
		if text, err := os.ReadFile("out.cir"); err == nil {
			printed["witness deck"] = string(text)
			os.Remove("out.cir")
		}
		for name, text := range printed {
			if !utf8.ValidString(text) {
				t.Fatalf("%s is not UTF-8", name)
			}
			if i := strings.IndexFunc(text, acted); i >= 0 {
				t.Fatalf("%s: %q", name, text[max(0, i-80):min(len(text), i+20)])
			}
			for line := range strings.Lines(text) {
				line = strings.TrimSuffix(line, "\n")
				if started := strings.HasPrefix(strings.TrimLeft(line, " "), "::"); started != (name == "annotations") || started && !command.MatchString(line) {
					t.Fatalf("%s: %q", name, line)
				}
				if strings.Contains(line, "##[") && (name == "text" || name == "stderr") {
					t.Fatalf("%s: %q", name, line)
				}
			}
		}
		for _, f := range []string{"json", "sarif", "bounds json", "all bounds json"} {
			if printed[f] == "" && strings.Contains(f, "bounds") {
				continue // the netlist could not be read
			}
			var v any
			if err := json.Unmarshal([]byte(printed[f]), &v); err != nil {
				t.Fatalf("%s: %v", f, err)
			}
			uris(v, func(uri string) {
				if u, err := url.Parse(uri); err != nil || strings.IndexFunc(uri, func(r rune) bool { return r <= ' ' || r > '~' }) >= 0 {
					t.Fatalf("%s: %q is no URI: %v %v", f, uri, u, err)
				}
			})
		}
	})
}

// uris visits what stands under "uri".
func uris(v any, visit func(string)) {
	switch v := v.(type) {
	case []any:
		for _, x := range v {
			uris(x, visit)
		}
	case map[string]any:
		for k, x := range v {
			if uri, ok := x.(string); ok && k == "uri" {
				visit(uri)
			}
			uris(x, visit)
		}
	}
}

var scriptDir = func() string {
	dir, err := filepath.Abs(filepath.Join("..", "..", "testdata", "script"))
	if err != nil {
		panic(fmt.Sprint("no working folder: ", err))
	}
	return dir
}()
