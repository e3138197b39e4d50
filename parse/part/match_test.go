package part

import (
	"regexp"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
	"pgregory.net/rapid"
)

func TestMatch(t *testing.T) {
	library := ferryRecord + `
[[part]]
name = "ferry-other"
match = ["U?_FS32", "FERRY*", "FERRYSENSE3?", "TWIN*", "FERRY-SENSE-32"]
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "supply"]
[[part]]
name = "ferry-twin"
match = ["T*N"]
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "supply"]
[[part]]
name = "ferry-triplet"
match = ["*RIP", "T*N"]
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "supply"]
[[part]]
name = "ferry-plain"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "supply"]
`
	set, l := source.NewSet(), &Library{}
	if diags := l.Read(set, set.Add("parts/a.toml", []byte(library), source.Span{})); len(diags) > 0 {
		t.Fatal(diags[0].Text())
	}
	for _, c := range []struct{ subckt, want string }{
		{"Ferry-Sense-32", "ferry-sense-32"},     // the exact name wins over the same text as a pattern
		{"FERRY-SENSE-32-8", "ferry-sense-32-8"}, // name and suffix
		{"ferrysense32", "ferry-sense-32"},       // twelve letters against eleven and a ?
		{"FERRYSENSE32-8", "ferry-sense-32-8"},   // pattern and suffix
		{"FERRYSENSE33", "ferry-other"},
		{"U12_FS32", "ferry-sense-32"},
		{"u1_fs32", "ferry-other"}, // a ? says more than a *
		{"U12_FS32-8", "ferry-sense-32-8"},
		{"TWINE", "ferry-other"},
		{"TWIN", "ferry-other"}, // four letters against two
		{"GRIP", "ferry-triplet"},
		{"FERRYSENSE32-9", "ferry-other"},
		{"FERRY-PLAIN", "ferry-plain"},
		{"UFS32", ""},
		{"", ""},
		{"TEN", `parts/a.toml:32:1: "TEN" matches ferry-twin and ferry-triplet equally well [parts/a.toml:37:1 the patterns of ferry-triplet]`},
	} {
		r, d := l.Match(c.subckt)
		got := ""
		switch {
		case r != nil && d != nil:
			t.Errorf("%s: both a record and a diagnostic", c.subckt)
		case r != nil:
			got = r.Name()
		case d != nil:
			got = "parts/" + strings.ReplaceAll(line(set, *d), "[a.toml", "[parts/a.toml")
		}
		if got != c.want {
			t.Errorf("%s matches %q, not %q", c.subckt, got, c.want)
		}
	}
	if r, d := (*Library)(nil).Match("x"); r != nil || d != nil {
		t.Error("a nil library matches")
	}
}

// The same patterns as regular expressions are the second opinion.
func TestGlob(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pattern := rapid.StringMatching(`[ab*?]{0,7}`).Draw(t, "pattern")
		name := rapid.StringMatching(`[abc]{0,9}`).Draw(t, "name")
		expr := strings.NewReplacer("*", ".*", "?", ".").Replace(pattern)
		if want := regexp.MustCompile("^" + expr + "$").MatchString(name); glob(pattern, name) != want {
			t.Fatalf("%q matches %q: %v", pattern, name, !want)
		}
	})
}

// A name with a code that no record has begins like a part that has others.
func TestBeginning(t *testing.T) {
	set, l := source.NewSet(), &Library{}
	if diags := l.Read(set, set.Add("parts/a.toml", []byte(ferryRecord), source.Span{})); len(diags) > 0 {
		t.Fatal(diags[0].Text())
	}
	for subckt, want := range map[string]string{"FERRYSENSE32-9": "ferry-sense-32-8", "ferry-sense-32-9": "ferry-sense-32-8", "tug": ""} {
		var got []string
		for _, r := range l.Beginning(subckt) {
			got = append(got, r.Name())
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s begins like %q, want %q", subckt, got, want)
		}
	}
}
