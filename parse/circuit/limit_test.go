package circuit

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

func rules(diags []string) string {
	seen := ""
	for _, d := range diags {
		if rule := strings.Fields(d)[1]; !strings.Contains(seen, rule) {
			seen += rule
		}
	}
	return seen
}

// doubling is a netlist of 2 to the depth instances.
func doubling(depth int) string {
	var b strings.Builder
	b.WriteString("R0 a 0 1\nX1 a s0\n")
	for i := range depth {
		fmt.Fprintf(&b, ".subckt s%d p\nX1 p s%d\nX2 p s%d\n.ends\n", i, i+1, i+1)
	}
	fmt.Fprintf(&b, ".subckt s%d p\n.ends\n", depth)
	return b.String()
}

// A small file that describes a circuit without end is refused at once.
func TestDoubling(t *testing.T) {
	start := time.Now()
	c, diags := deck(t, doubling(50))
	same(t, "diagnostics", diags, []string{"3:1-3:8 netlist-limit: X1 is not expanded: the flat circuit would have more than " +
		"20000000 elements (--limit elements=N moves it)"})
	same(t, "elements", drawn(c), []string{"R R0 a 0 = 1", "? X1 a"})
	if took := time.Since(start); took > 5*time.Second {
		t.Errorf("took %v", took)
	}
}

// Each limit on expansion holds at its value and not one above it, and can be moved either way.
func TestLimitsOfExpansion(t *testing.T) {
	var chain, leaning strings.Builder
	chain.WriteString("X1 a s0\n")
	leaning.WriteString("R1 a 0 {p0}\n")
	for i := range 100 {
		fmt.Fprintf(&chain, ".subckt s%d p\nX1 p s%d\n.ends\n", i, i+1)
		fmt.Fprintf(&leaning, ".param p%d=p%d\n", i, i+1)
	}
	chain.WriteString(".subckt s100 p\nR1 p 0 1\n.ends\n")
	leaning.WriteString(".param p100=1\n")
	for _, c := range []struct {
		name, text string
		enough     parse.Limits
		short      parse.Limits
		want       string
	}{
		{"depth", chain.String(), parse.Limits{HierarchyDepth: 101}, parse.Limits{HierarchyDepth: 100},
			"X1 is not expanded: subcircuits nest deeper than 100 (--limit hierarchy-depth=N moves it)"},
		{"the standard depth", chain.String(), parse.Limits{HierarchyDepth: 101}, parse.Limits{},
			"X1 is not expanded: subcircuits nest deeper than 60 (--limit hierarchy-depth=N moves it)"},
		{"path", chain.String(), parse.Limits{HierarchyDepth: 101, PathLength: 101*3 - 1}, parse.Limits{HierarchyDepth: 101, PathLength: 101*3 - 2},
			"an instance is not expanded: its path is longer than 301 characters (--limit path-length=N moves it)"},
		{"elements", strings.Repeat("R a b 1\n", 30), parse.Limits{Elements: 30}, parse.Limits{Elements: 29},
			"R and what follows is left out: the circuit has more than 29 elements (--limit elements=N moves it)"},
		{"pins", "X1 a wide\n.subckt wide p\n" + strings.Repeat("X p"+strings.Repeat(" p", 99)+" part\n", 3) + ".ends\n",
			parse.Limits{Elements: 10}, parse.Limits{Elements: 9},
			"X1 is not expanded: the flat circuit would have more pins than 9 elements may have, 32 each (--limit elements=N moves it)"},
		{"parameters", leaning.String(), parse.Limits{ParameterDepth: 100}, parse.Limits{ParameterDepth: 99},
			"p99 has no value: more than 99 parameters lean on each other in a row (--limit parameter-depth=N moves it)"},
	} {
		of := func(most parse.Limits) (found []string) {
			_, diags := limited(t, c.text, most)
			for _, d := range diags {
				if strings.Contains(d, " netlist-limit: ") {
					_, text, _ := strings.Cut(d, " netlist-limit: ")
					found = append(found, text)
				}
			}
			return found
		}
		same(t, c.name+", enough", of(c.enough), nil)
		same(t, c.name+", short by one", of(c.short), []string{c.want})
	}
}

func TestPathLength(t *testing.T) {
	long := "X" + strings.Repeat("y", 1500)
	c, diags := deck(t, long+" a s0\n.subckt s0 p\n"+long+" p s1\n.ends\n.subckt s1 p\n"+long+" p s2\n.ends\n.subckt s2 p\nR1 p 0 1\n.ends\n")
	if len(diags) != 1 || rules(diags) != "netlist-limit:" {
		t.Error(diags)
	}
	if len(c.Elements) != 1 || c.Elements[0].Kind != '?' {
		t.Error("a path that is too long was expanded")
	}
}

func TestElementLimit(t *testing.T) {
	c, _ := limited(t, strings.Repeat("R1 a b 1\n", 30), parse.Limits{Elements: 10})
	if len(c.Elements) != 10 {
		t.Errorf("%d elements", len(c.Elements))
	}
}

func TestLongChainOfParameters(t *testing.T) {
	var b strings.Builder
	b.WriteString("R1 a 0 {p0}\n")
	for i := range 100_000 {
		fmt.Fprintf(&b, ".param p%d=p%d\n", i, i+1)
	}
	b.WriteString(".param p100000=1\n")
	_, diags := deck(t, b.String())
	if rules(diags) != "netlist-limit:" {
		t.Errorf("%d diagnostics, first %v", len(diags), diags[:min(3, len(diags))])
	}
}

// However far the limits are moved, parameters and expressions that nest together do not exhaust the stack.
func TestDeepestParameters(t *testing.T) {
	var b strings.Builder
	b.WriteString("R1 a 0 {p0}\n")
	for i := range 30 {
		fmt.Fprintf(&b, ".param p%d={%sp%d%s}\n", i, strings.Repeat("if(1,", 9000), i+1, strings.Repeat(",0)", 9000))
	}
	b.WriteString(".param p30=1\n")
	_, diags := limited(t, b.String(), parse.Limits{ExpressionDepth: 10_000, ParameterDepth: 100_000})
	if rules(diags) != "netlist-limit:" || !strings.Contains(diags[0], "nest deeper than 250000 together") {
		t.Errorf("%.300q", diags)
	}
}

// A late context lets so many questions pass before it is done.
type late struct {
	context.Context
	questions int
}

func (l *late) Err() error {
	if l.questions--; l.questions < 0 {
		return context.DeadlineExceeded
	}
	return nil
}

// An expansion within the limits that would take long ends with its context, and says that it is not whole.
func TestExpansionStops(t *testing.T) {
	set := source.NewSet()
	id := set.Add("deck.cir", []byte("a deck\n"+doubling(24)), source.Span{})
	n, diags := parse.Read(set, id, parse.Options{Context: &late{context.Background(), 10_000}, Limits: parse.Limits{Elements: 100_000_000}})
	if len(diags) > 0 {
		t.Fatal(diags)
	}
	c, diags := Elaborate(n, nil)
	if len(diags) != 1 || diags[0].Rule != ruleLimit || diags[0].Message != "the netlist was not expanded to its end: context deadline exceeded" {
		t.Errorf("%+v", diags)
	}
	if got := len(c.Elements) + len(c.insts); got > 10_002 {
		t.Errorf("%d elements and instances were laid down behind the end", got)
	}
	if n.Stopped() == nil {
		t.Error("the netlist does not say that it was stopped")
	}
}

// Subcircuits that call each other without end in a row are walked over without exhausting the stack.
func TestMostNested(t *testing.T) {
	var b strings.Builder
	b.WriteString("X1 a s0\n")
	for i := range mostNested + 1 {
		fmt.Fprintf(&b, ".subckt s%d p\nX1 p s%d\n.ends\n", i, i+1)
	}
	_, diags := deck(t, b.String())
	if len(diags) != 2 || !strings.Contains(diags[1], fmt.Sprintf("netlist-limit: X1 is not expanded: subcircuits nest deeper than %d,", mostNested)) {
		t.Error(diags)
	}
}
