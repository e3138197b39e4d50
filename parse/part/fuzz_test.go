package part

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

// Whatever a record file says: every complaint has a place and a word, the same text means the same twice, and no key
// that is not known, and nothing that is no TOML, goes without a complaint.
func FuzzRead(f *testing.F) {
	text, err := os.ReadFile("../../examples/cable-ferry/parts/ferry.toml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(text))
	const head = "[[part]]\nname = \"barge\"\nrole = \"op-amp\"\npins = [\"in+\", \"in-\", \"out\"]\n"
	for _, s := range []string{ferryRecord, head + "gian = \"2 V/V\"\n", head + "[part.supply]\noperating = \"3 V .. 5 V\"\n[[part.code]]\nsuffix = \"-2\"\ngain = \"2 V/V\"\n",
		head + "[part.units]\nA = { out = 1, in+ = 2, in- = 3 }\n", head + "output = { low = [[\"1 kohm\", \"50 mV\"], [\"2 kohm\", \"ground\"]] }\n",
		head + head, "part = [{name = \"a\", role = \"clamp\", pins = []}]\n", "[part]\nname = 1\n", "[[part.code]]\nsuffix = 'a'\n", head + "match = [\"*\", \"??\"]\n[part.sub]\n",
		"format = 1\r\n" + head + "offset.at.supply = \"5 V\"\noffset.max = '1 uV'\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		start := time.Now()
		said, diags := fuzzed(t, text)
		if took := time.Since(start); took > 10*time.Second && len(text) < 10_000 {
			t.Fatalf("%d bytes take %v", len(text), took)
		}
		if again, more := fuzzed(t, text); !slices.Equal(again, said) || !slices.Equal(diags, more) {
			t.Fatalf("read twice: %q\n%q\nbecame %q\n%q", said, diags, again, more)
		}
		if len(diags) > 0 {
			return
		}
		var all map[string]any
		if err := toml.Unmarshal([]byte(strings.TrimPrefix(strings.TrimSuffix(text, "\r"), "\ufeff")), &all); err != nil {
			t.Fatalf("no TOML, and no complaint: %v", err)
		}
		delete(all, "format")
		meant := leaves(t, all, nil, file)
		slices.Sort(meant)
		slices.Sort(said)
		if !slices.Equal(meant, said) {
			t.Errorf("the file says\n%q\nread was\n%q", meant, said)
		}
	})
}

// leaves are the paths of all values in a table, those of arrays of tables by themselves; one that is no field is an
// error.
func leaves(t *testing.T, table map[string]any, above []string, known *field.Table) (paths []string) {
	for key, value := range table {
		path := append(above[:len(above):len(above)], key)
		if inner, ok := known.Arrays[strings.Join(path, ".")]; ok {
			list, ok := value.([]any)
			if !ok {
				t.Errorf("%q is no array of tables, and there is no complaint", path)
			}
			for _, one := range list {
				one, ok := one.(map[string]any)
				if !ok {
					t.Errorf("%q holds what is no table, and there is no complaint", path)
				}
				paths = append(paths, leaves(t, one, nil, inner)...)
			}
			continue
		}
		if inner, ok := value.(map[string]any); ok {
			paths = append(paths, leaves(t, inner, path, known)...)
			continue
		}
		if !slices.ContainsFunc(known.Fields, func(f field.Field) bool { return fits(strings.Split(f.Key, "."), path) }) {
			t.Errorf("%q is no field, and there is no complaint", path)
		}
		paths = append(paths, fmt.Sprintf("%q", path))
	}
	return paths
}

func fits(key, path []string) bool {
	return slices.EqualFunc(key, path, func(k, p string) bool { return k == "*" || k == p })
}

// fuzzed is all that a text says, key by key, and its complaints.
func fuzzed(t *testing.T, text string) (said, complaints []string) {
	t.Helper()
	set, l := source.NewSet(), &Library{}
	id := set.Add("f", []byte(text), source.Span{})
	diags := l.Read(set, id)
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
	for _, r := range l.Records() {
		if l.Get(r.Name()) != r {
			t.Fatalf("%q is not found", r.Name())
		}
		l.Match(r.Name())
		inside(r.At())
		for _, u := range r.Units() {
			inside(u.At)
			for role := range u.Pins {
				u.Pin(role)
			}
		}
		doc := r.base
		if r.code != nil {
			doc = r.code
		}
		for e := range doc.Under() {
			inside(e.At)
			inside(e.ValueAt)
			said = append(said, fmt.Sprintf("%q", e.Path))
			if r.Get(e.Key()) == nil && !strings.ContainsAny(e.Key(), `"'`) {
				t.Fatalf("%s is not found", e.Key())
			}
		}
	}
	return said, complaints
}
