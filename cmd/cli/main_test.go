package cli_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"github.com/shuntwright/shuntwright/cmd/cli"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

// run is the command line without a process around it.
func run(rs []*rules.Rule, args ...string) (code int, out, err string) {
	var o, e bytes.Buffer
	code = cli.Main(args, cli.Streams{In: strings.NewReader(""), Out: &o, Err: &e}, rs...)
	return code, o.String(), e.String()
}

// published compiles a schema that is published with the tool.
func published(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	text, err := os.Open(filepath.Join("..", "..", "testdata", "schema", name))
	if err != nil {
		t.Fatal(err)
	}
	defer text.Close()
	doc, err := jsonschema.UnmarshalJSON(text)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource(name, doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile(name)
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

// What is really worked out keeps to the published schemas, with and without intent.
func TestJSONKeepsToItsSchema(t *testing.T) {
	testdata := filepath.Join("..", "..", "testdata")
	schemas := map[string]*jsonschema.Schema{"lint": published(t, "lint.schema.json"), "bounds": published(t, "bounds.schema.json")}

	bare := t.TempDir()
	if err := os.CopyFS(bare, os.DirFS(filepath.Join(testdata, "script", "winch"))); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(bare, "winch.intent.toml")); err != nil {
		t.Fatal(err)
	}
	decks := []string{filepath.Join(testdata, "script", "winch", "winch.cir"), filepath.Join(bare, "winch.cir"),
		filepath.Join("..", "..", "examples", "cable-ferry", "ferry-drive.cir")}
	for _, deck := range decks {
		for command, schema := range schemas {
			args := []string{command, "--format", "json", deck}
			if command == "lint" {
				args = append(args, "--fail-on", "never", "--remedies=false")
			}
			code, out, trouble := run(builtin.All, args...)
			if code != cli.ExitClean {
				t.Fatalf("%s exits %d: %s", command, code, trouble)
			}
			result, err := jsonschema.UnmarshalJSON(strings.NewReader(out))
			if err != nil {
				t.Fatal(err)
			}
			if err := schema.Validate(result); err != nil {
				t.Errorf("%s: %v\n%s", command, err, out)
			}
		}
	}
}

// The same inputs give the same bytes.
func TestOutputIsSteady(t *testing.T) {
	deck := filepath.Join("..", "..", "testdata", "script", "winch", "winch.cir")
	for _, args := range [][]string{{"lint", "--margins"}, {"lint", "--format", "json"}, {"lint", "--format", "sarif"},
		{"lint", "--format", "annotations"}, {"bounds"}, {"bounds", "--format", "json"}} {
		_, first, _ := run(builtin.All, append(args, deck)...)
		for range 5 {
			if _, again, _ := run(builtin.All, append(args, deck)...); again != first {
				t.Fatalf("%s differs:\n%s\n%s", args, first, again)
			}
		}
	}
}

// A build with a rule of its own judges and lists it beside the others.
func TestMainTakesRules(t *testing.T) {
	own := &rules.Rule{ID: "winch-name", Title: "winches have names", Level: rules.Note, Judge: func(p *rules.Bench) { p.Skip("it has one") }}
	code, out, _ := run(append([]*rules.Rule{own}, builtin.All...), "rules")
	if code != cli.ExitClean || !strings.Contains(out, "winch-name") || !strings.Contains(out, "supply-range") {
		t.Errorf("exit %d:\n%s", code, out)
	}
	_, out, _ = run([]*rules.Rule{own}, "lint", "--format", "json", filepath.Join("..", "..", "testdata", "script", "winch", "winch.cir"))
	if !strings.Contains(out, `"rule": "winch-name"`) || !strings.Contains(out, `"kind": "notApplicable"`) {
		t.Errorf("the rule is not judged:\n%s", out)
	}
}
