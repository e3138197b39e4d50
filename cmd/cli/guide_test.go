package cli_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/cmd/cli"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// section is the part of a page under a heading.
func section(t *testing.T, page, heading string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", page))
	if err != nil {
		t.Fatal(err)
	}
	_, rest, ok := strings.Cut(string(text), "\n## "+heading+"\n")
	if !ok {
		t.Fatalf("%s has no %q", page, heading)
	}
	part, _, _ := strings.Cut(rest, "\n## ")
	return part
}

var step = regexp.MustCompile("(?m)^    shuntwright (.*)$|^```\\w+ (\\S+)\n((?:[^`].*\n|\n)*)```$")

// follow does literally what a page says in an empty folder: runs its commands, saves its files.
func follow(t *testing.T, text string) (commands int, last string) {
	t.Helper()
	t.Chdir(t.TempDir())
	for _, m := range step.FindAllStringSubmatch(text, -1) {
		if m[2] != "" {
			if _, err := os.Stat(m[2]); err != nil {
				t.Errorf("%s: the page changes a file that nobody wrote", m[2])
			}
			if err := os.WriteFile(m[2], []byte(m[3]), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		commands++
		code, out, errs := run(builtin.All, strings.Fields(m[1])...)
		if code != cli.ExitClean || errs != "" {
			t.Errorf("%s: exit %d\n%s%s", m[1], code, out, errs)
		}
		last += out
	}
	return commands, last
}

// Following the pages literally makes a house rule that works.
func TestPagesTeachHouseRules(t *testing.T) {
	guide, readme := section(t, "DEVELOPERS.md", "A house rule in ten minutes"), section(t, "README.md", "Rules of your house")
	for text, want := range map[string][]string{
		guide: {"house/cool-shunt holds: 3 decks, reached: fail, open, pass", "XA house/cool-shunt: the shunt makes 363.6 mW, the house allows 250.0 mW"},
		// 5 mohm less 1 % of tolerance is 4.95 mohm
		readme: {"house/shunt-max holds: 3 decks", "XA house/shunt-max: the shunt reaches 10.10 mohm", "RSH at most 4.95 mohm    judged again: passes"},
	} {
		here, err := os.Getwd()
		if err != nil {
			t.Fatal(err)
		}
		n, out := follow(t, text)
		t.Chdir(here)
		for _, w := range want {
			if n != 4 || !strings.Contains(out, w) {
				t.Errorf("%d commands, no %q in\n%s", n, w, out)
			}
		}
	}
}
