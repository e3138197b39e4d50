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

// What judging really yields keeps to the published schema, with and without intent.
func TestJudgedJSONKeepsToItsSchema(t *testing.T) {
	testdata := filepath.Join("..", "..", "testdata")
	text, err := os.Open(filepath.Join(testdata, "schema", "lint.schema.json"))
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
	if err := c.AddResource("lint.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("lint.schema.json")
	if err != nil {
		t.Fatal(err)
	}

	bare := t.TempDir()
	if err := os.CopyFS(bare, os.DirFS(filepath.Join(testdata, "script", "winch"))); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(bare, "winch.intent.toml")); err != nil {
		t.Fatal(err)
	}
	for _, dir := range []string{filepath.Join(testdata, "script", "winch"), bare} {
		code, out, trouble := run(builtin.All, "lint", "--format", "json", filepath.Join(dir, "winch.cir"))
		if code != cli.ExitClean || trouble != "" {
			t.Fatalf("exit %d: %s", code, trouble)
		}
		result, err := jsonschema.UnmarshalJSON(strings.NewReader(out))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(result); err != nil {
			t.Errorf("%v\n%s", err, out)
		}
	}
}

// The same inputs give the same bytes.
func TestOutputIsSteady(t *testing.T) {
	deck := filepath.Join("..", "..", "testdata", "script", "winch", "winch.cir")
	for _, format := range []string{"text", "json", "sarif", "annotations"} {
		_, first, _ := run(builtin.All, "lint", "--margins", "--format", format, deck)
		for range 5 {
			if _, again, _ := run(builtin.All, "lint", "--margins", "--format", format, deck); again != first {
				t.Fatalf("%s differs:\n%s\n%s", format, first, again)
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
