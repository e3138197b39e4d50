package cli_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/shuntwright/shuntwright/cmd/cli"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// A file of 100 MB among the house rules is one error that names it, at once; the others are judged.
func TestLargeHouseRule(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.Join("..", "..", "testdata", "script", "winch"))); err != nil {
		t.Fatal(err)
	}
	house := filepath.Join(dir, "house")
	for name, text := range map[string]string{"large.star": "", "good.star": `house_rule(api = 1, id = "house/good", title = "t", level = "note", page = "p", judge = lambda block, say: say.breach("a winch"))`} {
		if err := os.MkdirAll(house, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(house, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Truncate(filepath.Join(house, "large.star"), 100_000_000); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{nil, {"--house", house}} {
		began := time.Now()
		code, out, errs := run(builtin.All, append([]string{"lint", filepath.Join(dir, "winch.cir")}, args...)...)
		if code != cli.ExitBreach || errs != "" || strings.Count(out, "large.star: the file is larger than 1 MiB") != 1 || !strings.Contains(out, "XA house/good: a winch") {
			t.Errorf("exit %d\n%s%s", code, out, errs)
		}
		if took := time.Since(began); took > 2*time.Second {
			t.Errorf("it took %v", took)
		}
	}
}

// The rules to copy from hold on their decks, and README.md lists them.
func TestExampleHouseRules(t *testing.T) {
	folder := filepath.Join("..", "..", "examples", "house")
	code, out, errs := run(builtin.All, "rules", "test", folder)
	if code != cli.ExitClean || errs != "" {
		t.Errorf("exit %d\n%s%s", code, out, errs)
	}
	page, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(folder, "*.star"))
	if err != nil || len(files) < 6 {
		t.Fatalf("%d rules, %v", len(files), err)
	}
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".star")
		if !strings.Contains(out, "house/"+name+" holds: ") || !strings.Contains(string(page), "\n| `house/"+name+"` |") {
			t.Errorf("house/%s is not run, or README.md says nothing about it", name)
		}
		text, err := os.ReadFile(strings.TrimSuffix(f, ".star") + ".md")
		if err != nil || !strings.HasPrefix(string(text), "# house/"+name+"\n\n**What breaks.** ") {
			t.Errorf("the page of house/%s begins %.60q, %v", name, text, err)
		}
	}
	// On the worked design they say something of every block and never fail themselves.
	_, out, _ = run(nil, "lint", "--format", "json", "--remedies=false", "--house", folder, filepath.Join("..", "..", "examples", "cable-ferry", clean))
	var doc struct {
		Netlists []struct{ Blocks []struct{ Name string } }
	}
	if err := json.Unmarshal([]byte(out), &doc); err != nil || len(doc.Netlists) != 1 || len(doc.Netlists[0].Blocks) < 6 {
		t.Fatalf("%v, %+v", err, doc)
	}
	if n, blocks := strings.Count(out, `"rule": "house/`), len(doc.Netlists[0].Blocks); n != 6*blocks || strings.Contains(out, `"house-rule"`) {
		t.Errorf("%d results of %d blocks:\n%s", n, blocks, out)
	}
}
