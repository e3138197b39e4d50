package policy

import (
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
)

// An acceptance in a file is for the netlists that its glob fits; a glob that nobody can read, or that would take for
// ever, fits none.
func TestNetlists(t *testing.T) {
	for glob, want := range map[string]string{
		"":                      "a.cir b/a.cir b/c/d.cir",
		`netlist = "a.cir"`:     "a.cir",
		`netlist = "**/*.cir"`:  "a.cir b/a.cir b/c/d.cir",
		`netlist = "b/*"`:       "b/a.cir",
		`netlist = "{a,b}.cir"`: "a.cir",
		`netlist = "[a"`:        `: netlist: "[a" is no glob: a bracket or a brace is not closed`,
		`netlist = "` + strings.Repeat("{a,a}", 9) + `"`: ": netlist: a glob has at most 8 pairs of braces",
	} {
		set := source.NewSet()
		list, diags := ReadFile(set, set.Add("accepted.toml", []byte("[[accept.winch-name]]\nat = \"XA\"\n"+glob), source.Span{}), false)
		var fits []string
		for _, n := range []string{"a.cir", "b/a.cir", "b/c/d.cir"} {
			if list[0].For(n) {
				fits = append(fits, n)
			}
		}
		got := strings.Join(fits, " ")
		for _, d := range diags {
			got += ": " + d.Message
		}
		if got != want {
			t.Errorf("%s: %s", glob, got)
		}
	}
}

// A card of acceptances is one line of the same TOML; others are not looked at.
func TestReadCards(t *testing.T) {
	set := source.NewSet()
	var pragmas []source.Span
	for _, card := range []string{`rails.A = "1 V"`, `accept.winch-name = { at = "XA", because = "known" }`,
		`accept.winch-name = [{ at = "XB" }, { at = "XC", netlist = "a.cir" }]`, `accept."house/rope" = { at = "XD"`} {
		id := set.Add("winch.cir", []byte(card), source.Span{})
		pragmas = append(pragmas, source.Span{Pos: source.Pos{File: id}, Len: uint32(len(card))})
	}
	list, diags := ReadCards(set, pragmas)
	var got []string
	for _, a := range list {
		got = append(got, a.Rule+" at "+a.Pattern)
	}
	if want := []string{"winch-name at XA", "winch-name at XB", "winch-name at XC"}; !slices.Equal(got, want) || !list[0].InSource {
		t.Errorf("%q", got)
	}
	if len(diags) != 2 || !strings.HasPrefix(diags[0].Message, "unknown key netlist") || !strings.HasPrefix(diags[1].Message, "not TOML") {
		t.Errorf("%v", diags)
	}
}
