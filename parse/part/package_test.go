package part

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
)

// Packages and port names speak of the pins of the part.
func TestPackages(t *testing.T) {
	read := func(lines string) (*Record, string) {
		set, lib := source.NewSet(), &Library{}
		text := "[[part]]\nname = \"ferry-sense-5\"\nrole = \"sense-amplifier\"\npins = [\"in+\", \"in-\", \"out\", \"ground\", \"supply\"]\n" + lines
		var said []string
		for _, d := range lib.Read(set, set.Add("a.toml", []byte(text), source.Span{})) {
			said = append(said, d.Text())
		}
		return lib.Get("ferry-sense-5"), strings.Join(said, "; ")
	}
	r, said := read("packages.flat = [\"nc\", \"In+\", \"in-\", \"ground\", \"out\", \"ground\", \"supply\"]\npackages.\"tiny 5\" = [\"out\"]\npin-names = { \"in+\" = [\"INP\", \"VP\"] }\n")
	if said != "" || len(r.Packages()) != 2 || r.Packages()[1].Name != "tiny 5" || !slices.Equal(r.Packages()[0].Roles[:2], []string{"nc", "In+"}) {
		t.Errorf("%q, %+v", said, r.Packages())
	}
	if !slices.Equal(r.PinNames("IN+"), []string{"INP", "VP"}) || r.PinNames("out") != nil {
		t.Errorf("%q and %q", r.PinNames("IN+"), r.PinNames("out"))
	}
	for lines, want := range map[string]string{
		"packages.flat = [\"in+\", \"reference\"]\n": `unknown pin role "reference"`,
		"pin-names.\"inn+\" = [\"INP\"]\n":           `unknown pin role "inn+"`,
	} {
		if _, said := read(lines); !strings.Contains(said, want) {
			t.Errorf("%q: %q, want %q", lines, said, want)
		}
	}
}
