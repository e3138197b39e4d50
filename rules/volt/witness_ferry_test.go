package volt_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/intent"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// worked is a version of the worked design with its intent and records.
func worked(t *testing.T, name string) *design.Design {
	t.Helper()
	dir := filepath.Join("..", "..", "examples", "cable-ferry")
	read := func(name string) []byte {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	set := source.NewSet()
	cards, diags := parse.Read(set, set.Add(name, read(name+".cir"), source.Span{}), parse.Options{
		Include: func(path string, _ source.FileID) ([]byte, string, error) { return read(path), path, nil }})
	lib := &part.Library{}
	diags = append(diags, lib.Read(set, set.Add("parts", read(filepath.Join("parts", "ferry.toml")), source.Span{}))...)
	in, found := intent.Read(set, set.Add("intent", read(name+".intent.toml"), source.Span{}))
	d, more := design.Bind(set, cards, lib, in)
	for _, diag := range append(append(diags, found...), more...) {
		t.Fatalf("%v: %s", d.Src.Place(diag.At), diag.Text())
	}
	return d
}

// Every end of every net and of every current of the worked design is what its witness deck says.
func TestWitnessDecksOfTheFerry(t *testing.T) {
	d := worked(t, "ferry-drive")
	s := volt.New(d)
	ends := 0
	for _, r := range []design.Regime{design.Operating, design.Survival} {
		for n := range d.Circuit.AllNets() {
			if n != 0 && !witnessed(t, s, volt.At(n), r).Seen.Empty() {
				ends++
			}
		}
		for e := range d.Elements() {
			switch e.Kind() {
			case 'R', 'L', 'V':
				q := s.Current(e, r)
				if _, declared := e.Current(r); !declared {
					reproduces(t, q, func(high bool) ([]string, error) { return s.CurrentDeck(e, r, q, high) })
				}
				if !q.Seen.Empty() {
					ends++
				}
			}
		}
	}
	if ends < 200 {
		t.Errorf("only %d bounds are known", ends)
	}
}
