package cli_test

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/cmd/cli"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// A fence is a block of a page between lines of three backticks; its head is "LANGUAGE NAME".
var fence = regexp.MustCompile("(?ms)^```(\\w+) (\\S+)\n(.*?)^```$")

// excerpt is the first findings of an output and what stands behind the last one; three dots stand for the rest.
func excerpt(out string, findings int) string {
	body, end, ok := strings.Cut(out, "\n\n")
	lines := strings.SplitAfter(body, "\n")
	for i, l := range lines {
		if !strings.HasPrefix(l, " ") {
			findings--
		}
		if findings < 0 && ok {
			return strings.Join(lines[:i], "") + "...\n\n" + end
		}
	}
	return out
}

// TestReadme runs what README.md shows and compares what it prints; UPDATE=1 in the environment rewrites it.
func TestReadme(t *testing.T) {
	t.Chdir(filepath.Join("..", "..")) // paths are printed as a reader of the page sees them
	root, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	page := string(text)
	board := deck{}
	for _, f := range fence.FindAllStringSubmatch(page, -1) {
		if f[1] != "text" {
			board[f[2]] = f[3]
		}
	}
	prints := func(name string, args ...string) {
		var out, errs bytes.Buffer
		cli.Main(args, cli.Streams{Out: &out, Err: &errs}, builtin.All...)
		shown := regexp.MustCompile("(?ms)^```text " + name + "\n(.*?)^```$").FindStringSubmatchIndex(page)
		if shown == nil {
			t.Fatalf("README.md shows no output of %s", name)
		}
		got := out.String()
		if name == "ferry" {
			got = excerpt(got, 5)
		}
		if page[shown[2]:shown[3]] != got {
			page = page[:shown[2]] + got + page[shown[3]:]
		}
	}
	prints("ferry", "lint", "examples/cable-ferry/ferry-drive.cir")
	dir := board.save(t)
	t.Chdir(dir)
	prints("board", "lint", "board.cir")
	prints("bounds", "bounds", "board.cir", "LOAD", "V(INP,INM)")
	for path, text := range board { // the board beside its acceptance, and under the team's policy
		for _, folder := range []string{"living/", "team/"} {
			if path == "board.cir" || path == "board.intent.toml" || strings.HasPrefix(path, "parts/") {
				board[folder+path] = text
			}
		}
	}
	dir = board.save(t)
	t.Chdir(filepath.Join(dir, "living"))
	prints("living", "lint", "--as-of", "2027-06-30", "board.cir")
	t.Chdir(filepath.Join(dir, "team"))
	if code, out, errs := run(builtin.All, "config", "explain", "board.cir"); code != cli.ExitClean || !strings.Contains(out, "filter-bias-error") {
		t.Errorf("the policy does not stand: %s%s", out, errs)
	}
	t.Chdir(root)
	switch {
	case page == string(text):
	case os.Getenv("UPDATE") != "":
		if err := os.WriteFile("README.md", []byte(page), 0o644); err != nil {
			t.Fatal(err)
		}
	default:
		t.Error("README.md shows what is printed no more (UPDATE=1 rewrites it)")
	}
	for _, command := range []string{"go run ./cmd/shuntwright lint examples/cable-ferry/" + flawed, "go test ./..."} {
		if !strings.Contains(page, "\n    "+command+"\n") {
			t.Errorf("README.md does not show the command %q", command)
		}
	}
	var help bytes.Buffer
	for _, command := range []string{"lint", "bounds"} {
		cli.Main([]string{command, "--help"}, cli.Streams{Out: &help, Err: &help})
	}
	for _, flag := range regexp.MustCompile(`--[a-z-]+`).FindAllString(help.String(), -1) {
		if flag != "--help" && !strings.Contains(page, "`"+flag) {
			t.Errorf("README.md says nothing about %s", flag)
		}
	}
	for _, r := range builtin.All {
		if !strings.Contains(page, "\n| `"+r.ID+"` |") {
			t.Errorf("README.md says nothing about %s", r.ID)
		}
	}
}
