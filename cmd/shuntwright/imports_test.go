package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const module = "github.com/shuntwright/shuntwright/"

// below lists, for each package, those that it may import besides what they may import themselves.
var below = map[string][]string{
	"parse/source":               nil,
	"parse/quantity":             {"parse/source"},
	"parse/field":                {"parse/quantity"},
	"parse":                      {"parse/source"},
	"parse/circuit":              {"parse"},
	"parse/part":                 {"parse/field", "parse/circuit"},
	"parse/envelope":             {"parse/quantity"},
	"parse/intent":               {"parse/field", "parse/circuit", "parse/envelope"},
	"parse/design":               {"parse/part", "parse/intent"},
	"rules/volt":                 {"parse/design", "rules/volt/internal/sparse"},
	"rules/volt/internal/sparse": nil,
	"rules/sense":                {"rules/volt"},
	"rules/budget":               {"rules/sense"},
	"rules":                      {"rules/budget"},
	"rules/builtin":              {"rules"},
	"rules/house":                {"rules"},
	"rules/policy":               {"rules"},
	"cmd/report":                 {"rules/builtin", "rules/house", "rules/policy"},
	"cmd/editor":                 {"rules/builtin", "rules/house", "rules/policy"},
	"cmd/cli":                    {"cmd/report", "cmd/editor"},
	"cmd/shuntwright":            {"cmd/cli"},
}

// reach is everything that a package may import.
func reach(of string) []string {
	var all []string
	for _, p := range below[of] {
		all = append(all, p)
		all = append(all, reach(p)...)
	}
	return all
}

// sources are the files of Go in the tree by the path of their package; tests are left out, they may look around.
func sources(t *testing.T) map[string][]string {
	t.Helper()
	root := filepath.Join("..", "..")
	if _, err := os.Stat(filepath.Join(root, "go.mod")); err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if base := d.Name(); d.IsDir() && (base == "testdata" || base != ".." && strings.HasPrefix(base, ".") || base == "vendor") {
			return filepath.SkipDir
		}
		if _, err := os.Stat(filepath.Join(name, "go.mod")); d.IsDir() && name != root && err == nil {
			return filepath.SkipDir // an example that is a module of its own
		}
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, name)
		if err != nil {
			return err
		}
		dir := path.Dir(filepath.ToSlash(rel))
		out[dir] = append(out[dir], name)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestImportsRunOneWay(t *testing.T) {
	found := sources(t)
	if len(found) < 10 {
		t.Fatalf("only %d packages are found", len(found))
	}
	for dir, files := range found {
		if _, ok := below[dir]; !ok {
			t.Errorf("%s has no place in the order of imports", dir)
			continue
		}
		allowed := reach(dir)
		for _, name := range files {
			f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
			if err != nil {
				t.Fatal(err)
			}
			for _, i := range f.Imports {
				to, ours := strings.CutPrefix(strings.Trim(i.Path.Value, `"`), module)
				if ours && !slices.Contains(allowed, to) {
					t.Errorf("%s imports %s, which does not stand below it", filepath.ToSlash(name), to)
				}
				if strings.HasPrefix(to, "go.starlark.net/") && dir != "rules/house" {
					t.Errorf("%s imports the scripting library, which rules/house alone knows", filepath.ToSlash(name))
				}
				if ours && strings.HasSuffix(to, "/internal/sparse") && dir != "rules/volt" {
					t.Errorf("%s imports the matrices of rules/volt", filepath.ToSlash(name))
				}
			}
		}
	}
}

// A name that says nothing about what is inside gathers everything.
func TestPackagesSayWhatTheyHold(t *testing.T) {
	for dir, files := range sources(t) {
		f, err := parser.ParseFile(token.NewFileSet(), files[0], nil, parser.PackageClauseOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{"util", "utils", "common", "helper", "helpers", "misc", "shared", "base"} {
			if f.Name.Name == name || path.Base(dir) == name {
				t.Errorf("%s is package %s", dir, f.Name.Name)
			}
		}
		for _, file := range files {
			if base := strings.TrimSuffix(filepath.Base(file), ".go"); base == "util" || base == "utils" || base == "helpers" || base == "common" || base == "misc" {
				t.Errorf("%s: a file of that name", file)
			}
		}
	}
}

// Code lives in cmd, parse and rules.
func TestCodeLivesInThreeFolders(t *testing.T) {
	for dir := range sources(t) {
		if top, _, _ := strings.Cut(dir, "/"); top != "cmd" && top != "parse" && top != "rules" {
			t.Errorf("there is code in %s", dir)
		}
	}
}

// The contributor's guide lists every package.
func TestGuideListsPackages(t *testing.T) {
	page, err := os.ReadFile(filepath.Join("..", "..", "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	for dir := range sources(t) {
		if !strings.Contains(string(page), "\n| `"+dir+"` |") {
			t.Errorf("DEVELOPERS.md does not list the package %s", dir)
		}
	}
}
