package circuit

import (
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"time"
)

func TestWarmValues(t *testing.T) {
	c, diags := deck(t, `.param rx={1k*(1+0.004*(temper-27))} ry={rx+rx} cold=3
R1 a 0 {rx}
R2 a 0 ry m=2
R3 a 0 {10+TEMP}
R4 a 0 {cold}
X1 a cell r={rx/2}
X2 a held
.subckt cell p r=1
R1 p 0 {r+local}
.param local={temper}
.ends
.subckt held p
.param temp=50
R1 p 0 {temp}
.ends
R5 a 0 {temper > 60 ? a : 1}
.param a={temper > 60 ? b : 1} b={temper > 60 ? a : 1}
R6 a 0 {1/(temper-80)}
`)
	same(t, "diagnostics", diags, nil)
	for _, w := range []struct {
		path    string
		warm    bool
		nominal float64
		at80    float64
	}{
		{"R1", true, 1000, 1212}, {"R2", true, 1000, 1212}, {"R3", true, 37, 90}, {"R4", false, 3, 3},
		{"X1.R1", true, 527, 686}, {"X2.R1", false, 50, 50}, {"R5", true, 1, math.NaN()}, {"R6", true, -1. / 53, math.NaN()},
	} {
		id := must(t, c, w.path)
		near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-9 || math.IsNaN(a) && math.IsNaN(b) }
		if c.Warm(id) != w.warm || !near(c.Elements[id].Value, w.nominal) || !near(c.ValueAt(id, 80), w.at80) || !near(c.ValueAt(id, 27), w.nominal) {
			t.Errorf("%s: %v, %v, at 80 degC %v, back %v", w.path, c.Warm(id), c.Elements[id].Value, c.ValueAt(id, 80), c.ValueAt(id, 27))
		}
	}
	var wait sync.WaitGroup
	for k := range 4 {
		wait.Go(func() {
			for range 50 {
				if v := c.ValueAt(1, float64(27+k)); math.Abs(v-1000*(1+0.004*float64(k))) > 1e-9 {
					t.Errorf("R2 at %d degC: %v", 27+k, v)
				}
			}
		})
	}
	wait.Wait()
}

// Parameters that double each other are computed once for a temperature.
func TestWarmDoubling(t *testing.T) {
	text := ".param p0={temper}\n"
	for i := range 60 {
		text += fmt.Sprintf(".param p%d={(p%d+p%d)/2}\n", i+1, i, i)
	}
	start := time.Now()
	c, _ := deck(t, text+"R1 a 0 {p60}\n")
	if v := c.ValueAt(0, 90); v != 90 || time.Since(start) > 5*time.Second {
		t.Errorf("%v after %v", v, time.Since(start))
	}
}

// Where only a steady value is understood, one that follows the temperature is unknown and not its nominal.
func TestWarmIsNoConstant(t *testing.T) {
	const why = ` depends on temperature, which is understood in the value of an R only`
	for _, w := range []struct{ cards, diag string }{
		{"V1 a 0 {temper}", `2:9-2:15 netlist-expression: "temper"` + why},
		{"I1 a 0 {k}\n.param k={temper*1m}", `2:9-2:10 netlist-expression: "k"` + why},
		{"V1 a 0 SIN(0 {temper} 1k)", `2:15-2:21 netlist-expression: "temper"` + why},
		{"C1 a 0 {temper*1p}", `2:9-2:18 netlist-expression: "temper*1p"` + why},
		{"E1 a 0 b 0 {temper}", `2:13-2:19 netlist-expression: "temper"` + why},
		{"R1 a 0 rm L={temper*1u} W=1u\n.model rm r rsh=1", `2:1-2:29 netlist-card: R1 has no value: its model rm does not give one|2:14-2:23 netlist-expression: "temper*1u"` + why},
		{"R1 a 0 rm L=1u W=1u\n.model rm r rsh={temper}", `2:1-2:20 netlist-card: R1 has no value: its model rm does not give one|3:18-3:24 netlist-expression: "temper"` + why},
	} {
		c, diags := deck(t, w.cards+"\n")
		same(t, w.cards, diags, strings.Split(w.diag, "|"))
		if v := c.Elements[0].Value; !math.IsNaN(v) {
			t.Errorf("%s: %v", w.cards, v)
		}
		if s := c.Source(0); s != nil && s.Known {
			t.Errorf("%s: %+v", w.cards, s)
		}
	}
	c, diags := deck(t, "B1 a 0 I={k}\n.param k={temper*1m}\nR1 a 0 1k tol={temper/1k} tc={temper}\n")
	if !c.Behavioural(0) || c.Source(0) != nil {
		t.Error("B1 is a constant")
	}
	for _, name := range []string{"tol", "tc"} {
		if v, given := c.Given(1, name); !given || !math.IsNaN(v) {
			t.Errorf("%s = %v", name, v)
		}
	}
	if len(diags) != 2 {
		t.Errorf("%q", diags)
	}
}
