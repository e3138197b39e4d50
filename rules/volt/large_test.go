package volt_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// grid is a square grid of 1 ohm resistors with a source at one corner and ground at the other, and zero-volt sources in
// the first links of it.
func grid(side, meters int) string {
	var b strings.Builder
	name := func(r, c int) string {
		if r == side-1 && c == side-1 {
			return "0"
		}
		return fmt.Sprint("n", r, "_", c)
	}
	fmt.Fprintf(&b, "V1 %s 0 10\n", name(0, 0))
	k := 0
	link := func(a, z string) {
		if k++; k <= meters {
			fmt.Fprintf(&b, "VM%d %s m%d 0\n", k, a, k)
			a = fmt.Sprint("m", k)
		}
		fmt.Fprintf(&b, "R%d %s %s 1\n", k, a, z)
	}
	for r := range side {
		for c := range side {
			if c+1 < side {
				link(name(r, c), name(r, c+1))
			}
			if r+1 < side {
				link(name(r, c), name(r+1, c))
			}
		}
	}
	return b.String()
}

func benchmarkGrid(b *testing.B, side, meters int) {
	text := grid(side, meters)
	for b.Loop() {
		d := load(b, text, "")
		q := volt.New(d).Bound(volt.At(net(b, d, fmt.Sprintf("n%d_%d", side/2, side/3))), design.Operating)
		if !q.Known() || q.Seen.Lo <= 0 || q.Seen.Hi >= 10 {
			b.Fatal(q.Seen, q.Needs)
		}
	}
}

func BenchmarkGrid300(b *testing.B)           { benchmarkGrid(b, 300, 0) }
func BenchmarkGrid316WithMeters(b *testing.B) { benchmarkGrid(b, 316, 10_000) }
