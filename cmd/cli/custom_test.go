package cli_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A build with compiled rules of its own, made outside of our tree, has the full command line: its rules, ours, and the process
// for house rules.
func TestCustomBuild(t *testing.T) {
	root, err := filepath.Abs(filepath.Join("..", ".."))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for to, from := range map[string]string{"build": filepath.Join(root, "examples", "custom-build"), "winch": filepath.Join(root, "testdata", "script", "winch")} {
		if err := os.CopyFS(filepath.Join(dir, to), os.DirFS(from)); err != nil {
			t.Fatal(err)
		}
	}
	build := filepath.Join(dir, "build")
	sums, err := os.ReadFile(filepath.Join(root, "go.sum"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(build, "go.sum"), sums, 0o644); err != nil {
		t.Fatal(err)
	}
	do := func(dir, name string, args ...string) (string, error) {
		c := exec.Command(name, args...)
		c.Dir = dir
		c.Env = append(os.Environ(), "GOFLAGS=-mod=mod -buildvcs=false", "GOWORK=off", "GOPROXY=off")
		out, err := c.CombinedOutput()
		return string(out), err
	}
	if out, err := do(build, "go", "mod", "edit", "-replace", "github.com/shuntwright/shuntwright="+root); err != nil {
		t.Fatal(err, out)
	}
	program := filepath.Join(dir, "winchlint")
	if out, err := do(build, "go", "build", "-o", program, "."); err != nil {
		t.Fatal(err, out)
	}
	rule := filepath.Join(dir, "winch", "house", "probe.star")
	if err := os.MkdirAll(filepath.Dir(rule), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(rule, []byte(`house_rule(api = 1, id = "house/probe", title = "t", level = "note", page = "p", judge = lambda block, say: say.breach("a winch"))`), 0o644); err != nil {
		t.Fatal(err)
	}
	// 12 A through 5 mohm make 60 mV
	out, err := do(filepath.Join(dir, "winch"), program, "lint", "--margins", "winch.cir")
	for _, want := range []string{"XA winch-drop: outside its limit", "winch.cir:6:1: note: XA house/probe: a winch", "XA supply-range"} {
		if err != nil || !strings.Contains(out, want) {
			t.Errorf("%v: no %q in\n%s", err, want, out)
		}
	}
}
