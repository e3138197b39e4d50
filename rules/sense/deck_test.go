package sense_test

import (
	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// need is what these helpers ask of a testing.T.
type need interface {
	Helper()
	Fatalf(format string, args ...any)
}

// bind binds a deck, without its title line, and part records; the deck's comment cards carry the intent.
func bind(deck, records string) (*design.Design, []source.Diagnostic) {
	set := source.NewSet()
	cards, diags := parse.Read(set, set.Add("deck.cir", []byte("a deck\n"+deck+"\n.end\n"), source.Span{}), parse.Options{})
	lib := &part.Library{}
	diags = append(diags, lib.Read(set, set.Add("parts.toml", []byte(records), source.Span{}))...)
	d, found := design.Bind(set, cards, lib, nil)
	return d, append(diags, found...)
}

// load is bind for a deck with which nothing may be wrong.
func load(t need, deck, records string) *design.Design {
	t.Helper()
	d, diags := bind(deck, records)
	for _, diag := range diags {
		t.Fatalf("%v: %s: %s\n%s", d.Src.Place(diag.At), diag.Rule, diag.Text(), deck)
	}
	return d
}

// block is the sense block of a name.
func block(t need, d *design.Design, name string) *sense.Block {
	t.Helper()
	for b := range sense.Blocks(d) {
		if b.Name() == name {
			return b
		}
	}
	t.Fatalf("no block %q", name)
	return nil
}
