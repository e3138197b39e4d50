package main

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/printer"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// promised are the packages that a build with rules of its own may lean on.
var promised = []string{"cmd/cli", "parse/design", "parse/quantity", "parse/source", "rules", "rules/builtin", "rules/sense"}

// The golden list of exported names holds the promise: a name that goes, or means something else, shows as a difference in
// testdata/api.txt. UPDATE=1 in the environment rewrites it.
func TestExportedNames(t *testing.T) {
	var lines []string
	found := sources(t)
	for _, dir := range promised {
		for _, name := range found[dir] {
			set := token.NewFileSet()
			f, err := parser.ParseFile(set, name, nil, parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			ast.FileExports(f)
			for _, d := range f.Decls {
				for _, line := range exported(set, d) {
					lines = append(lines, dir+": "+line)
				}
			}
		}
	}
	slices.Sort(lines)
	got := strings.Join(slices.Compact(lines), "\n") + "\n"
	golden := filepath.Join("..", "..", "testdata", "api.txt")
	want, err := os.ReadFile(golden)
	switch {
	case err == nil && string(want) == got:
	case os.Getenv("UPDATE") != "":
		if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	default:
		before := strings.Split(string(want), "\n")
		for _, l := range strings.Split(got, "\n") {
			if !slices.Contains(before, l) {
				t.Errorf("not promised yet: %s", l)
			}
		}
		for _, l := range before {
			if !slices.Contains(lines, l) && l != "" {
				t.Errorf("promised and gone: %s", l)
			}
		}
		t.Error("the exported names are not those of testdata/api.txt (UPDATE=1 rewrites it)")
	}
}

// exported is a declaration in lines: functions with their types, the exported fields of a structure one by one.
func exported(set *token.FileSet, d ast.Decl) (lines []string) {
	text := func(n any) string {
		var b bytes.Buffer
		if err := printer.Fprint(&b, set, n); err != nil {
			return err.Error()
		}
		return strings.Join(strings.Fields(b.String()), " ")
	}
	switch d := d.(type) {
	case *ast.FuncDecl:
		if d.Recv != nil && !ast.IsExported(strings.TrimLeft(text(d.Recv.List[0].Type), "*")) {
			return nil
		}
		d.Doc, d.Body = nil, nil
		lines = append(lines, text(d))
	case *ast.GenDecl:
		for _, s := range d.Specs {
			switch s := s.(type) {
			case *ast.TypeSpec:
				st, ok := s.Type.(*ast.StructType)
				if !ok {
					lines = append(lines, "type "+s.Name.Name+" "+text(s.Type))
					continue
				}
				lines = append(lines, "type "+s.Name.Name+" struct")
				for _, f := range st.Fields.List {
					if len(f.Names) == 0 {
						lines = append(lines, "type "+s.Name.Name+" struct, "+text(f.Type))
					}
					for _, n := range f.Names {
						lines = append(lines, "type "+s.Name.Name+" struct, "+n.Name+" "+text(f.Type))
					}
				}
			case *ast.ValueSpec:
				for _, n := range s.Names {
					line := d.Tok.String() + " " + n.Name
					if s.Type != nil {
						line += " " + text(s.Type)
					}
					lines = append(lines, line)
				}
			}
		}
	}
	return lines
}
