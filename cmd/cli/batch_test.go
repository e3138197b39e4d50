package cli_test

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules/builtin"
)

// Many netlists that share a policy, records and acceptances give the same bytes on one core and on several, in the
// order in which they were named.
func TestManyAreSteady(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.Join("..", "..", "testdata", "script", "winch"))); err != nil {
		t.Fatal(err)
	}
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	deck, err := os.ReadFile(filepath.Join(dir, "winch.cir"))
	if err != nil {
		t.Fatal(err)
	}
	args := []string{"lint", "--as-of", "2027-01-01", "--remedies=false"}
	var order []string
	for i := range 12 {
		name := fmt.Sprintf("board%02d", (i*7)%12)
		write(name+".cir", string(deck))
		write(name+".intent.toml", fmt.Sprintf("temperature = \"-10 degC .. 60 degC\"\n[rails]\nBUS = \"44 V .. 55 V\"\nVLOG = \"2.%d V +- 3 %%\"\n"+
			"[currents]\nRSH = { range = \"0 A .. 12 A\", from = \"BUS\", least = \"0.6 A\" }\n[elements]\nRSH = { power = \"2 W\" }\n", 5+i%4))
		args = append(args, filepath.Join(dir, name+".cir"))
		order = append(order, name)
	}
	write("shuntwright.toml", "unknown = 1\n[levels]\nsupply-range = \"warning\"\n")
	write("accepted.toml", "[[accept.supply-range]]\nat = \"XA\"\nnetlist = \"board0*.cir\"\nbecause = \"the bench supply only\"\nuntil = \"2027-06-30\"\n"+
		"[[accept.reference-bias]]\nat = \"XQ\"\nbecause = \"gone\"\nuntil = \"2027-06-30\"\n")

	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	_, want, trouble := run(builtin.All, args...)
	runtime.GOMAXPROCS(8)
	for range 4 {
		if _, got, more := run(builtin.All, args...); got != want || more != trouble {
			t.Fatalf("on several cores:\n%s%s\nwant\n%s%s", got, more, want, trouble)
		}
	}
	at := 0
	for _, name := range order {
		next := strings.Index(want[at:], name+".cir:")
		if next < 0 {
			t.Fatalf("%s is not printed in its place:\n%s", name, want)
		}
		at += next
	}
	for _, once := range []string{"policy-field", "of reference-bias at XQ"} {
		if n := strings.Count(want, once); n != 1 {
			t.Errorf("%s is said %d times", once, n)
		}
	}
	if !strings.HasSuffix(want, ", 10 accepted\n") {
		t.Errorf("ten boards have an acceptance:\n%s", want)
	}
}
