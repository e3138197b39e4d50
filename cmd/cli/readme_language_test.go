package cli

import (
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/source"
)

// aroundExamples is what the examples of the README's table of the language stand among.
const aroundExamples = `around the examples
RA a 0 1
RB b 0 1
RC c 0 1
RD d 0 1
VM a b
LA a 0 1u
LB b 0 1u
LC c 0 1u
X9 a b cell
.param k=1
.model rm r rsh=10 defw=1u
.model cm c cj=1m
.model dm d
.model sm sw
.model wm csw
.model nm nmos
.model qm npn
.model jm njf
.model zm nmf
.model om ltra
.model um urc
.subckt cell p q params: g=1
R1 p n2 {g}
R2 n2 q {g}
.ends cell
`

// Every example of the table is what its row says: read, unknown, refused or passed over.
func TestReadmeLanguage(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, table, _ := strings.Cut(string(readme), "| what | for example | is |\n")
	table, _, _ = strings.Cut(table, "\n\n")
	code := regexp.MustCompile("`([^`]+)`")
	rows := 0
	for _, row := range strings.Split(table, "\n")[1:] {
		// A "|" in an example is written as in any table.
		cells := strings.Split(strings.ReplaceAll(row, `\|`, "\x00"), "|")
		if len(cells) != 5 {
			t.Fatalf("no row of three: %s", row)
		}
		rows++
		for _, m := range code.FindAllStringSubmatch(cells[2], -1) {
			card := strings.ReplaceAll(m[1], "\x00", "|")
			got := exampleRead(card)
			want, _, _ := strings.Cut(strings.TrimSpace(cells[3]), ":")
			want, _, _ = strings.Cut(want, ";")
			want, _, _ = strings.Cut(want, ",")
			if got != want {
				t.Errorf("%s is %s, the README says %s", card, got, want)
			}
		}
	}
	if rows < 15 {
		t.Errorf("the table has %d rows", rows)
	}
}

func exampleRead(card string) string {
	closing := map[string]string{".subckt": ".ends", ".macro": ".eom", ".if": ".endif", ".control": ".endc", ".data": ".enddata"}
	word, _, _ := strings.Cut(card, " ")
	text := aroundExamples + card + "\n" + closing[word] + "\n"
	set := source.NewSet()
	n, diags := parse.Read(set, set.Add("deck.cir", []byte(text), source.Span{}), parse.Options{
		Include: func(path string, _ source.FileID) ([]byte, string, error) {
			return []byte(".lib tt\n.endl\n"), path, nil
		}})
	c, found := circuit.Elaborate(n, func(string) bool { return false })
	if diags = append(diags, found...); len(diags) > 0 {
		return "refused"
	}
	if len(n.Ignored) > 0 {
		return "passed over"
	}
	last := circuit.ID(len(c.Elements) - 1)
	e := c.Elements[last]
	switch {
	case !strings.EqualFold(c.Path(last), word):
	case e.Kind == '?' || c.Behavioural(last) || strings.IndexByte("OU", e.Kind) >= 0:
		return "unknown"
	case strings.IndexByte("RCL", e.Kind) >= 0 && math.IsNaN(e.Value):
		return "unknown"
	}
	return "read"
}
