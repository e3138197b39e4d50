package circuit

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// small makes a text from a line for each number.
func small(n int, line func(i int) string) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(line(i) + "\n")
	}
	return b.String()
}

// What a small file can ask for without end is refused where it would go on, and said. The twin just inside is silent.
func TestSmallFilesWithoutEnd(t *testing.T) {
	akin := func(n int) string {
		return ".model m0 d\nD1 a 0 m" + fmt.Sprint(n) + "\n" +
			small(n, func(i int) string { return fmt.Sprintf(".model m%d ako:m%d", i+1, i) })
	}
	laden := func(n int) string { // 100 instances of n parameters each
		return ".subckt s a\n" + small(n, func(i int) string { return fmt.Sprintf(".param p%d=1", i) }) + "R1 a 0 1\n.ends\n" +
			small(100, func(i int) string { return fmt.Sprintf("X%d a s", i) })
	}
	calls := func(deep, n int) string { // 2^deep steps each
		return ".func f0(x) {x}\n" + small(deep, func(i int) string { return fmt.Sprintf(".func f%d(x) {f%d(x)+f%d(x)}", i+1, i, i) }) +
			small(n, func(i int) string { return fmt.Sprintf("R%d a 0 {f%d(1)}", i, deep) })
	}
	for _, c := range []struct{ name, inside, beyond, diag string }{
		{"kinds of kinds of models", akin(100), akin(130), "is a kind of a kind of a kind ...: more than 100 in a row"},
		{"parameters of instances", laden(20), laden(40), "the flat circuit would have more than 15000 elements (--limit elements=N moves it)"},
		{"calls of functions", calls(15, 3), calls(19, 1), "take more than 1000000 steps or 50000000 in the whole netlist"},
		{"calls of functions in all", calls(15, 3), calls(16, 250), "take more than 1000000 steps or 50000000 in the whole netlist"},
		{"functions that call themselves", ".func f(x) {x>0 ? f(x-1) : 1}\nR1 a 0 {f(90)}\n", ".func f(x) {f(x)}\nR1 a 0 {f(1)}\n", "functions call each other deeper than 100"},
	} {
		most := parse.Limits{Elements: 15_000}
		if _, diags := limited(t, c.inside, most); len(diags) > 0 {
			t.Errorf("%s: %s", c.name, diags[0])
		}
		if _, diags := limited(t, c.beyond, most); !strings.Contains(strings.Join(diags, "\n"), c.diag) {
			t.Errorf("%s: %.200q, want %s", c.name, diags, c.diag)
		}
	}
}

// What is said of a netlist is bounded too: in number, in length, and in the search for what was meant.
func TestTroublesAreBounded(t *testing.T) {
	_, diags := deck(t, small(6000, func(i int) string { return fmt.Sprintf("R%d a 0 {unknown%d}", i, i) }))
	if len(diags) != source.MaxTroubles+1 || !strings.HasSuffix(diags[source.MaxTroubles], "more than 5000 troubles: the rest is not listed") {
		t.Errorf("%d troubles, the last: %s", len(diags), diags[len(diags)-1])
	}
	_, diags = deck(t, "R1 a 0 {"+strings.Repeat("1+", 5000)+"1/0}\nR2 a 0 {"+strings.Repeat("a", 5000)+"}\n")
	for _, d := range diags {
		if len(d) > 1100 {
			t.Errorf("a message of %d bytes", len(d))
		}
	}
	if len(diags) != 2 {
		t.Errorf("%d diagnostics", len(diags))
	}
	_, diags = deck(t, ".subckt s0 a\nX1 a s0\n"+strings.Repeat("X2 a s0\n", 300)+".ends\n")
	circles := 0
	for _, d := range diags {
		if strings.Contains(d, "contains itself") {
			circles++
		}
	}
	if circles != 100 {
		t.Errorf("%d circles are told", circles)
	}
}

// Instances are found by path however long their names are, and whatever dots the names hold.
func TestPathsWithDots(t *testing.T) {
	c, diags := deck(t, "X.1 a s\nX a t\n.subckt s p\nR.1 p n 1\nR2 n 0 1\n.ends\n.subckt t p\nX.1 p s\n.ends\n")
	same(t, "diagnostics", diags, nil)
	for path, want := range map[string]bool{"X.1.R.1": true, "x.x.1.r2": true, "X.1.R3": false, "X.2.R2": false, "X..R2": false} {
		if id, ok := c.Find(path); ok != want || ok && !strings.EqualFold(c.Path(id), path) {
			t.Errorf("%s is found: %v", path, ok)
		}
	}
	if _, ok := c.FindNet("X.X.1.n"); !ok {
		t.Error("a net is not found")
	}
}
