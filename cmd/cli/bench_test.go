package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules/builtin"
)

// BenchmarkLint judges netlists of plain cards with twenty blocks somewhere in them, as the command does.
func BenchmarkLint(b *testing.B) {
	for _, cards := range []int{10_000, 100_000, 1_000_000} {
		b.Run(fmt.Sprint(cards), func(b *testing.B) {
			dir := b.TempDir()
			records, err := os.ReadFile("../../examples/cable-ferry/parts/ferry.toml")
			if err != nil {
				b.Fatal(err)
			}
			path := filepath.Join(dir, "large.cir")
			if os.MkdirAll(filepath.Join(dir, "parts"), 0o755) != nil ||
				os.WriteFile(filepath.Join(dir, "parts", "ferry.toml"), records, 0o644) != nil ||
				os.WriteFile(path, large(cards), 0o644) != nil {
				b.Fatal("the netlist cannot be written")
			}
			b.ReportAllocs()
			for b.Loop() {
				if got := Main([]string{"lint", path}, Streams{Out: io.Discard, Err: io.Discard}, builtin.All...); got != ExitClean {
					b.Fatal("exit code", got)
				}
			}
		})
	}
}

// large is a netlist of plain cards with twenty high-side blocks on one rail.
func large(cards int) []byte {
	var b strings.Builder
	b.WriteString("a large netlist\n* shuntwright: rails.VTRAC = \"40 V .. 58 V\"\n* shuntwright: rails.V5 = \"5 V +- 2 %\"\n" +
		"* shuntwright: temperature = \"-25 degC .. 85 degC\"\n")
	nets := cards / 2
	for i := range cards {
		switch i % 5 {
		case 3:
			fmt.Fprintf(&b, "C%d n%d 0 %dn\n", i, i%nets, i%13+1)
		case 4:
			fmt.Fprintf(&b, "L%d n%d n%d %du\n", i, i%nets, (i+1)%nets, i%7+1)
		default:
			fmt.Fprintf(&b, "R%d n%d n%d %dk\n", i, i%nets, (i*7+1)%nets, i%97+1)
		}
		if i%(cards/20) == 17 {
			fmt.Fprintf(&b, "* shuntwright: currents.RSH%[1]d = { range = \"0 A .. 40 A\", from = \"VTRAC\", least = \"0.5 A\" }\n"+
				"RSH%[1]d VTRAC LOAD%[1]d 1m\nRLOAD%[1]d LOAD%[1]d 0 4\nXA%[1]d VTRAC LOAD%[1]d out%[1]d 0 0 0 V5 ferry-sense-32\n", i)
		}
	}
	b.WriteString(".end\n")
	return []byte(b.String())
}

// BenchmarkMany judges netlists of plain cards side by side; with -cpu 1,2,4 it shows what the cores give.
func BenchmarkMany(b *testing.B) {
	dir := b.TempDir()
	records, err := os.ReadFile("../../examples/cable-ferry/parts/ferry.toml")
	if err != nil {
		b.Fatal(err)
	}
	if os.MkdirAll(filepath.Join(dir, "parts"), 0o755) != nil || os.WriteFile(filepath.Join(dir, "parts", "ferry.toml"), records, 0o644) != nil {
		b.Fatal("the records cannot be written")
	}
	for i := range 16 {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("board%d.cir", i)), large(5_000), 0o644); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		if got := Main([]string{"lint", filepath.Join(dir, "*.cir")}, Streams{Out: io.Discard, Err: io.Discard}, builtin.All...); got != ExitClean {
			b.Fatal("exit code", got)
		}
	}
}

// BenchmarkExample judges the worked example, remedies included and left out.
func BenchmarkExample(b *testing.B) {
	for _, remedies := range []string{"true", "false"} {
		b.Run("remedies="+remedies, func(b *testing.B) {
			args := []string{"lint", "--remedies=" + remedies, "../../examples/cable-ferry/ferry-drive.cir"}
			for b.Loop() {
				if got := Main(args, Streams{Out: io.Discard, Err: io.Discard}, builtin.All...); got != ExitBreach {
					b.Fatal("exit code", got)
				}
			}
		})
	}
}
