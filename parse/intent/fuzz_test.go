package intent

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/pelletier/go-toml/v2"

	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/source"
)

// Whatever an intent file says: every complaint has a place and a word, the same text means the same twice, and no key
// that is not known, and nothing that is no TOML, goes without a complaint.
func FuzzRead(f *testing.F) {
	for _, name := range []string{"ferry-drive", "ferry-drive-clean"} {
		text, err := os.ReadFile("../../examples/cable-ferry/" + name + ".intent.toml")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	for _, s := range []string{ferryIntent, "rails.V5 = \"5 V\"\nrials.V5 = \"5 V\"", "[rails.\"+5V\"]\noperating = '5 V'\nwidth = 1",
		"format = 1\n[states.a.rails]\nB = \"0 V\"\n", "[rails]\nA = { follows = \"B\", within = \"1 V\" }\nB = { follows = 'A', within = '1 V' }",
		"calibration.X.offset = true\ncalibration.X.offset.supply = \"5 V\"", "finds.gain = \"x\"", "accept = {}", "rails.A = \"1 V\"\nrails.a = \"2 V\"", "[rails]\n[rails]\n",
		"rails.x1.n2 = \"5 V\"", "temperature = 1979-05-27", "elements.R1 = { tolerance = \"1 %\", }"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		start := time.Now()
		said, diags := fuzzed(t, text)
		if took := time.Since(start); took > 10*time.Second && len(text) < 10_000 {
			t.Fatalf("%d bytes take %v", len(text), took)
		}
		if again, more := fuzzed(t, text); again != said || !slices.Equal(diags, more) {
			t.Fatalf("read twice: %s\n%q\nbecame %s\n%q", said, diags, again, more)
		}
		if len(diags) > 0 {
			return
		}
		var all map[string]any
		if err := toml.Unmarshal([]byte(strings.TrimPrefix(strings.TrimSuffix(text, "\r"), "\ufeff")), &all); err != nil {
			t.Fatalf("no TOML, and no complaint: %v", err)
		}
		delete(all, "format")
		for _, path := range leaves(all, nil) {
			if !slices.ContainsFunc(Fields, func(f field.Field) bool { return fits(strings.Split(f.Key, "."), path) }) {
				t.Errorf("%q is no field, and there is no complaint", path)
			} else if !strings.Contains(said, fmt.Sprintf("%q=", path)) {
				t.Errorf("%q is lost: %s", path, said)
			}
		}
	})
}

// leaves are the paths of all values in a table.
func leaves(table map[string]any, above []string) (paths [][]string) {
	for key, value := range table {
		path := append(above[:len(above):len(above)], key)
		if inner, ok := value.(map[string]any); ok {
			paths = append(paths, leaves(inner, path)...)
		} else {
			paths = append(paths, path)
		}
	}
	return paths
}

func fits(key, path []string) bool {
	return slices.EqualFunc(key, path, func(k, p string) bool { return k == "*" || k == p })
}

// fuzzed is all that a text says, and its complaints.
func fuzzed(t *testing.T, text string) (said string, complaints []string) {
	t.Helper()
	set := source.NewSet()
	id := set.Add("f", []byte(text), source.Span{})
	i, diags := Read(set, id)
	inside := func(at source.Span) {
		t.Helper()
		if at.File != id || int(at.Byte)+int(at.Len) > len(text) {
			t.Fatalf("a place outside: %+v", at)
		}
	}
	for _, d := range diags {
		inside(d.At)
		if d.Message == "" || d.Rule != rule {
			t.Fatalf("a complaint without a word: %+v", d)
		}
		for _, r := range d.Related {
			inside(r.At)
		}
		complaints = append(complaints, fmt.Sprint(d))
	}
	for e := range i.Under() {
		inside(e.At)
		inside(e.ValueAt)
		said += fmt.Sprintf("%q=%q ", e.Path, e.Text)
	}
	for _, r := range i.References() {
		inside(r.At)
	}
	i.Expectations()
	return said, complaints
}
