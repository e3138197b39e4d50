package parse

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
)

// read reads a text with a title line above it within limits; "x.lib" is a file, "deep K" one that includes "deep K-1".
func read(t testing.TB, text string, most Limits) []string {
	t.Helper()
	set := source.NewSet()
	id := set.Add("deck.cir", []byte("t\n"+text), source.Span{})
	_, diags := Read(set, id, Options{Limits: most, Include: func(path string, _ source.FileID) ([]byte, string, error) {
		var k int
		switch n, _ := fmt.Sscanf(path, "deep%d", &k); {
		case path == "long":
			return nil, "", &LimitError{FileBytes, 4096, "the file is larger than", ""}
		case n == 1 && k > 1:
			return fmt.Appendf(nil, ".include deep%d\n", k-1), path, nil
		case n == 1, path == "x.lib":
			return []byte("R1 a b 1\n"), path, nil
		}
		return nil, "", errors.New("no such file")
	}})
	return printed(set, diags)
}

// Each limit on reading holds at its value and not one above it, can be moved either way, and loses nothing else.
func TestLimitsOfReading(t *testing.T) {
	nested := func(n int) string { return strings.Repeat("(", n) + "1" + strings.Repeat(")", n) }
	for _, c := range []struct {
		name, text    string
		enough, short Limits
		want          string
	}{
		{"depth", "R1 a b {" + nested(10) + "}\n", Limits{ExpressionDepth: 10}, Limits{ExpressionDepth: 9},
			"deck.cir:2:19-2:20 netlist-limit: R1: an expression nests deeper than 9 (--limit expression-depth=N moves it)"},
		{"the standard depth, moved up", "R1 a b '" + nested(300) + "'\n", Limits{ExpressionDepth: 300}, Limits{},
			"deck.cir:2:210-2:211 netlist-limit: R1: an expression nests deeper than 200 (--limit expression-depth=N moves it)"},
		{"depth without braces", ".param p=" + nested(5) + " q=1\n", Limits{ExpressionDepth: 5}, Limits{ExpressionDepth: 4},
			"deck.cir:2:15-2:16 netlist-limit: .param: an expression nests deeper than 4 (--limit expression-depth=N moves it)"},
		{"parts", "V1 a b PWL({1+2} {1+2+3+4})\n", Limits{ExpressionParts: 7}, Limits{ExpressionParts: 6},
			"deck.cir:2:25-2:26 netlist-limit: V1: an expression has more than 6 parts (--limit expression-parts=N moves it)"},
		{"files", ".include x.lib\n.include x.lib\n.include x.lib\n", Limits{Files: 3}, Limits{Files: 2},
			`deck.cir:4:1-4:15 netlist-limit: "x.lib" and what follows is not read: there are more than 2 include cards (--limit files=N moves it)`},
		{"include depth", ".include deep3\n", Limits{IncludeDepth: 3}, Limits{IncludeDepth: 2},
			`deep2:1:1-1:15 netlist-limit: "deep1" is not read: includes nest deeper than 2 (--limit include-depth=N moves it)`},
		{"one file", "R1 a b 1\n", Limits{FileBytes: 11}, Limits{FileBytes: 10},
			"deck.cir:1:1-1:1 netlist-limit: the file is larger than 10 bytes (--limit file-bytes=N moves it)"},
		{"all files", ".include x.lib\n.include x.lib\n.include x.lib\n", Limits{TotalBytes: 47 + 3*9}, Limits{TotalBytes: 47 + 9},
			"deck.cir:3:1-3:15 netlist-limit: the netlist with all it includes is larger than 56 bytes (--limit total-bytes=N moves it)"},
		{"an included file", ".include long\n", Limits{}, Limits{},
			`deck.cir:2:1-2:14 netlist-limit: "long" cannot be included: the file is larger than 4 KiB (--limit file-bytes=N moves it)`},
	} {
		var about []string
		for _, d := range read(t, c.text, c.enough) {
			if strings.Contains(d, "netlist-limit") && c.enough != c.short {
				about = append(about, d)
			}
		}
		same(t, c.name+", enough", about, nil)
		about = nil
		for _, d := range read(t, c.text, c.short) {
			if !strings.Contains(d, "used twice") {
				about = append(about, d)
			}
		}
		same(t, c.name+", short by one", about, []string{c.want})
	}
}

// A card with an expression that is too deep stays on its nets, and the cards around it are read.
func TestTooDeepIsOneCard(t *testing.T) {
	n, diags := deck(t, "R0 a b 1\nR1 c d {"+strings.Repeat("-", 250)+"1}\nR2 a b 2\n")
	if len(diags) != 1 || !strings.Contains(diags[0], "netlist-limit") {
		t.Error(diags)
	}
	same(t, "cards", drawnAll(n), []string{"R R0 a b = 1", "? R1 c d", "R R2 a b = 2"})
}

// Whatever the limits, what is too deep for the stack is refused, and the deepest that may be asked for is read.
func TestDeepest(t *testing.T) {
	set := source.NewSet()
	for depth, want := range map[int]int{deepest: 0, deepest + 1: 1, 1_000_000: 1} {
		id := set.Add("deck.cir", []byte("t\nR1 a b {"+strings.Repeat("-", depth)+"1}\n"), source.Span{})
		n, diags := Read(set, id, Options{Limits: Limits{ExpressionDepth: deepest}})
		if len(diags) != want || len(n.Cards) != 1 {
			t.Errorf("depth %d: %v", depth, printed(set, diags))
		}
	}
}

func TestOrStandard(t *testing.T) {
	if got := (Limits{}).OrStandard(); got != StandardLimits {
		t.Errorf("%+v", got)
	}
	want := StandardLimits
	want.Elements = 7
	if got := (Limits{Elements: 7}).OrStandard(); got != want {
		t.Errorf("%+v", got)
	}
	for i, m := range AllLimits {
		l := StandardLimits
		m.Set(&l, i+1)
		if m.Value(l) != i+1 || m.Value(StandardLimits) <= 0 || m.Value(StandardLimits) > m.Most {
			t.Errorf("%s", m.Name)
		}
		for j, o := range AllLimits {
			if i != j && o.Value(l) != o.Value(StandardLimits) {
				t.Errorf("%s moves %s", m.Name, o.Name)
			}
		}
	}
}

// A late context lets so many questions pass before it is done.
type late struct {
	context.Context
	questions int
}

func (l *late) Err() error {
	if l.questions--; l.questions < 0 {
		return context.Canceled
	}
	return nil
}

// Reading ends with its context, says so, and leaves a netlist that holds together.
func TestReadingStops(t *testing.T) {
	text := "t\n.subckt amp p\nQ1 p p p m\n" + strings.Repeat("R1 p b 1\n", 200_000) + ".ends\n"
	for _, questions := range []int{0, 1, 2, 3, 4} {
		set := source.NewSet()
		id := set.Add("deck.cir", []byte(text), source.Span{})
		n, diags := Read(set, id, Options{Context: &late{context.Background(), questions}})
		same(t, "diagnostics", printed(set, diags), []string{"deck.cir:1:1-1:1 netlist-limit: the netlist was not read to its end: context canceled"})
		if most := questions * (2 * batchBytes / len("R1 p b 1\n")); len(n.Cards) > most {
			t.Errorf("%d cards were read, with %d questions", len(n.Cards), questions)
		}
		if n.Stopped() == nil || int(n.Subs[0].End) != len(n.Cards) {
			t.Errorf("%+v", n.Subs)
		}
	}
}

// Cards are bounded like the elements they become, and a choice in its branches.
func TestCardsAndBranches(t *testing.T) {
	lines := strings.Repeat("R1 p b 1\n", 4*batchBytes/len("R1 p b 1\n"))
	n, diags := readWith(t, "t\n"+lines, Options{Limits: Limits{Elements: 1000}})
	if last := diags[len(diags)-1]; len(n.Cards) > 2*batchBytes/len("R1 p b 1\n") || !strings.Contains(strings.Join(diags, "\n"), "there are more than 1000 cards (--limit elements=N moves it)") {
		t.Errorf("%d cards, %s", len(n.Cards), last)
	}
	n, diags = readWith(t, "t\n.if 0\n"+strings.Repeat(".elseif 0\nR1 p b 1\n", mostBranches+500)+".endif\n", Options{})
	if len(diags) != 1 || !strings.HasSuffix(diags[0], "netlist-limit: a choice has more than 1000 branches") {
		t.Errorf("%.200q", diags)
	}
	if last := n.Guards[n.CardGuard(CardID(len(n.Cards)-1))]; !last.Broken {
		t.Error("a branch beyond the limit is taken for one that is read")
	}
}

// The reader stops telling troubles at a number.
func TestReadersTroubles(t *testing.T) {
	_, diags := readWith(t, "t\n"+strings.Repeat("R1 a\n", source.MaxTroubles+100), Options{})
	if len(diags) != source.MaxTroubles+1 {
		t.Errorf("%d troubles", len(diags))
	}
}
