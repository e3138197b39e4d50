package circuit

import (
	"fmt"
	"strings"
	"testing"
	"time"
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

// A small file that describes a circuit without end is refused at once.
func TestDoubling(t *testing.T) {
	var b strings.Builder
	b.WriteString("R0 a 0 1\nX1 a s0\n")
	for i := range 50 {
		fmt.Fprintf(&b, ".subckt s%d p\nX1 p s%d\nX2 p s%d\n.ends\n", i, i+1, i+1)
	}
	b.WriteString(".subckt s50 p\n.ends\n")
	start := time.Now()
	c, diags := deck(t, b.String())
	same(t, "diagnostics", diags, []string{"3:1-3:8 netlist-limit: X1 is not expanded: the flat circuit would have more than 20000000 elements"})
	same(t, "elements", drawn(c), []string{"R R0 a 0 = 1", "? X1 a"})
	if took := time.Since(start); took > 5*time.Second {
		t.Errorf("took %v", took)
	}
}

func TestDepth(t *testing.T) {
	var b strings.Builder
	b.WriteString("X1 a s0\n")
	for i := range 100 {
		fmt.Fprintf(&b, ".subckt s%d p\nX1 p s%d\n.ends\n", i, i+1)
	}
	b.WriteString(".subckt s100 p\n.ends\n")
	c, diags := deck(t, b.String())
	if len(diags) != 1 || !strings.Contains(diags[0], "netlist-limit: X1 is not expanded: subcircuits nest deeper than 60") {
		t.Error(diags)
	}
	if len(c.Elements) != 1 || c.Elements[0].Kind != '?' {
		t.Error(drawn(c))
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
	c, diags := limited(t, strings.Repeat("R1 a b 1\n", 30), limits{elements: 10, depth: 5, path: 100})
	if len(c.Elements) != 10 || !strings.Contains(strings.Join(diags, "\n"), "netlist-limit: the circuit has more than 10 elements: the rest is left out") {
		t.Errorf("%d elements, %v", len(c.Elements), diags)
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
