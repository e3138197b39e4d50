package report

import (
	"bytes"
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"runtime"
	"strconv"
	"testing"

	"github.com/owenrumney/go-sarif/v3/pkg/report/v210/sarif"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/rules"
)

func sarifLines(t interface{ Fatal(...any) }, run *Run) []byte {
	var b bytes.Buffer
	if err := SARIF(&b, run); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// sarifStandard is the committee's schema. The module that carries it keeps it in a constant of its own, so it is read
// from that module's source.
func sarifStandard(t *testing.T) *jsonschema.Schema {
	t.Helper()
	file, _ := runtime.FuncForPC(reflect.ValueOf(sarif.NewReport).Pointer()).FileLine(reflect.ValueOf(sarif.NewReport).Pointer())
	tree, err := parser.ParseFile(token.NewFileSet(), filepath.Join(filepath.Dir(file), "schema.go"), nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	var text string
	ast.Inspect(tree, func(n ast.Node) bool {
		if v, ok := n.(*ast.ValueSpec); ok && v.Names[0].Name == "schema" {
			text, err = strconv.Unquote(v.Values[0].(*ast.BasicLit).Value)
		}
		return true
	})
	if err != nil || text == "" {
		t.Fatal("no schema in ", file, err)
	}
	return schema(t, sarifSchema, []byte(text))
}

func TestSARIF(t *testing.T) {
	text := sarifLines(t, ferry(t))
	valid(t, sarifStandard(t), text)
	golden(t, "ferry.sarif", string(text))
}

func TestSARIFKeepsToItsStandard(t *testing.T) {
	s := sarifStandard(t)
	valid(t, s, sarifLines(t, &Run{Version: "0.0.0"}))
	rapid.Check(t, func(t *rapid.T) { valid(t, s, sarifLines(t, hostile(t))) })
}

func decode(t *testing.T, run *Run) sarifRun {
	t.Helper()
	var log sarifLog
	if err := json.Unmarshal(sarifLines(t, run), &log); err != nil {
		t.Fatal(err)
	}
	return log.Runs[0]
}

// What the schema does not hold: kinds other than a failure have no level, every index names its rule, regions count
// from one.
func TestSARIFResults(t *testing.T) {
	run := ferry(t)
	out := decode(t, run)
	if len(out.Results) != len(run.Netlists[0].Report.Results) {
		t.Fatalf("%d results", len(out.Results))
	}
	prints := map[string]bool{}
	for i, r := range out.Results {
		if (r.Kind == "fail") == (r.Level == "none") {
			t.Errorf("%s: kind %s has level %s", r.RuleID, r.Kind, r.Level)
		}
		if id := out.Tool.Driver.Rules[r.RuleIndex].ID; id != r.RuleID {
			t.Errorf("result %d of %s points at %s", i, r.RuleID, id)
		}
		prints[r.PartialFingerprints[fingerprint]] = true
	}
	if len(prints) != len(out.Results) {
		t.Error("two results have one fingerprint")
	}
	if !out.Invocations[0].ExecutionSuccessful {
		t.Error("everything was read, and the run is not called successful")
	}
}

// A finding stays the same one when lines are inserted above it.
func TestFingerprintsDoNotMove(t *testing.T) {
	run := ferry(t)
	before := decode(t, run)
	for i := range run.Netlists[0].Report.Results {
		run.Netlists[0].Report.Results[i].At.Byte++
		run.Netlists[0].Report.Results[i].At.Len--
	}
	for i, r := range decode(t, run).Results {
		if !reflect.DeepEqual(r.PartialFingerprints, before.Results[i].PartialFingerprints) {
			t.Errorf("%s has another fingerprint", r.RuleID)
		}
	}
}

func TestSARIFTellsWhatWasNotRead(t *testing.T) {
	run := ferry(t)
	run.Unread = []Unread{{Path: "lost.cir", Message: "there is no such file"}}
	text := sarifLines(t, run)
	valid(t, sarifStandard(t), text)
	in := decode(t, run).Invocations[0]
	if in.ExecutionSuccessful || in.ToolExecutionNotifications[0].Message.Text != "there is no such file" {
		t.Errorf("%+v", in)
	}
}

func TestSARIFMessagesHoldNoLinkAndNoArgument(t *testing.T) {
	run := ferry(t)
	rep := run.Netlists[0].Report
	rep.Results = []rules.Result{{Rule: "netlist-card", Kind: rules.KindFail, Level: rules.Error, Message: "[look](http://b.example) {0}"}}
	if got, want := decode(t, run).Results[0].Message.Text, "[look] (http://b.example) {{0}}"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestArtifact(t *testing.T) {
	for _, c := range []struct{ path, uri string }{
		{"ferry.cir", "ferry.cir"},
		{"a b/ü%.cir", "a%20b/%C3%BC%25.cir"},
		{"../up.cir", "../up.cir"},
		{"c:x.cir", "./c:x.cir"},
		{"q?#.cir", "q%3F%23.cir"},
		{"/abs/x.cir", "file:///abs/x.cir"},
	} {
		if got := artifact(c.path).URI; got != c.uri {
			t.Errorf("%s: got %s, want %s", c.path, got, c.uri)
		}
	}
}
