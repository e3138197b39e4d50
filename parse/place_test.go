package parse

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
)

func at(n *Netlist, s source.Span) string {
	p := n.Src.Place(s)
	return fmt.Sprintf("%s:%d:%d-%d:%d", p.Path, p.Line, p.Column, p.EndLine, p.EndCol)
}

func TestPlacesAcrossContinuations(t *testing.T) {
	n, diags := whole(t, "\ufefftitle\r\n"+
		"  R1 a b ; why\r\n"+
		"* between\r\n"+
		"\r\n"+
		"  +   {1 + \r\n"+
		"+ k} tc1=1m  $ x\r\n"+
		"* after\r\n"+
		"Vµ a 0\r\n"+
		".include inner.lib\r\n"+
		"R3 a b 1 }", "inner.lib", "R2 a b 2\n R2b a\n+ b 3 ; end\n")
	same(t, "diagnostics", diags, []string{`deck.cir:10:10-10:11 netlist-card: R3: "}" closes nothing`})
	for id, want := range []struct{ card, value string }{
		{"deck.cir:2:3-6:12", "deck.cir:5:7-6:5"},
		{"deck.cir:8:1-8:7", ""},
		{"inner.lib:1:1-1:9", "inner.lib:1:8-1:9"},
		{"inner.lib:2:2-3:6", "inner.lib:3:5-3:6"},
		{"deck.cir:10:1-10:11", ""},
	} {
		if got := at(n, n.Cards[id].At); got != want.card {
			t.Errorf("%s stands at %s, want %s", n.CardName(CardID(id)), got, want.card)
		}
		if v, ok := n.CardValue(CardID(id)); ok != (want.value != "") || ok && at(n, v.At) != want.value {
			t.Errorf("value of %s stands at %s, want %s", n.CardName(CardID(id)), at(n, v.At), want.value)
		}
	}
	if p := n.CardExtra(0).Params[0]; at(n, p.At) != "deck.cir:6:10-6:12" {
		t.Errorf("tc1 stands at %s", at(n, p.At))
	}
	if e := n.CardExtra(0).Value.Args[1]; n.Src.Text(source.Span{Pos: source.Pos{File: n.File, Byte: e.From}, Len: e.To - e.From}) != "k" {
		t.Error("k is misplaced")
	}
}

func TestIncludes(t *testing.T) {
	n, diags := deck(t, `.subckt amp p
.include body.lib
.ends
.inc 'no such.lib'
R9 a b 1
.include round.lib
R8 a b 1
`, "body.lib", "R1 p 0 1\n.end\nR2 p 0 1\n", "round.lib", "R3 a b 1\n.include back.lib\n", "back.lib", "* x\n.include round.lib\nR4 a b 1\n")
	same(t, "diagnostics", diags, []string{
		`deck.cir:5:1-5:19 netlist-include: "no such.lib" cannot be included: no such file`,
		`back.lib:2:1-2:19 netlist-include: "round.lib" includes itself: round.lib -> back.lib -> round.lib`,
	})
	same(t, "cards", drawnAll(n), []string{"R R1 p 0 = 1", "R R9 a b = 1", "R R3 a b = 1", "R R4 a b = 1", "R R8 a b = 1"})
	if n.Cards[0].Scope != 1 || n.Cards[1].Scope != 0 {
		t.Error("an included body stands in the wrong scope")
	}

	set := source.NewSet()
	id := set.Add("deck.cir", []byte("t\n.include x\n"), source.Span{})
	_, d := Read(set, id, Options{})
	same(t, "no includes", printed(set, d), []string{`deck.cir:2:1-2:11 netlist-include: "x" is not read: includes are not allowed here`})
}

func TestIncludesEnd(t *testing.T) {
	set := source.NewSet()
	id := set.Add("0", []byte("t\n.include 1\n.include 1\n"), source.Span{})
	_, diags := Read(set, id, Options{Include: func(_ string, from source.FileID) ([]byte, string, error) {
		deeper := fmt.Sprint(set.File(from).Path, "1")
		return []byte(".include x\n.include x\n"), deeper, nil
	}})
	hit := map[string]int{}
	for _, d := range diags {
		if d.Rule != "netlist-limit" {
			t.Errorf("%s: %s", d.Rule, d.Message)
		}
		_, name, _ := strings.Cut(d.Message, "--limit ")
		hit[name]++
	}
	if hit["files=N moves it)"] != 1 || hit["include-depth=N moves it)"] == 0 || len(hit) != 2 {
		t.Errorf("files that include deeper files without end: %v", hit)
	}
}
