package report

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

func jsonText(t interface{ Fatal(...any) }, run *Run) []byte {
	var b bytes.Buffer
	if err := JSON(&b, run); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// schema compiles a JSON Schema, formats included.
func schema(t *testing.T, url string, text []byte) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource(url, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(url)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func lintSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "schema", "lint.schema.json"))
	if err != nil {
		t.Fatal(err)
	}
	return schema(t, "https://shuntwright.example/lint.schema.json", text)
}

func valid(t interface{ Fatalf(string, ...any) }, s *jsonschema.Schema, text []byte) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatalf("not JSON: %v\n%s", err, text)
	}
	if err := s.Validate(doc); err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
}

func TestJSON(t *testing.T) {
	text := jsonText(t, ferry(t))
	valid(t, lintSchema(t), text)
	golden(t, "ferry.json", string(text))
}

func TestJSONKeepsToItsSchema(t *testing.T) {
	s := lintSchema(t)
	valid(t, s, jsonText(t, &Run{}))
	rapid.Check(t, func(t *rapid.T) { valid(t, s, jsonText(t, hostile(t))) })
}

// A schema that lets everything pass would prove nothing.
func TestSchemaRefuses(t *testing.T) {
	s := lintSchema(t)
	for name, spoil := range map[string]func(result, quantity map[string]any){
		"a level on a pass":          func(r, _ map[string]any) { r["kind"] = "pass"; r["level"] = "error" },
		"a failure without a level":  func(r, _ map[string]any) { delete(r, "level") },
		"a kind nobody knows":        func(r, _ map[string]any) { r["kind"] = "maybe" },
		"no location":                func(r, _ map[string]any) { delete(r, "location") },
		"two instances":              func(r, _ map[string]any) { r["instances"] = []any{"XA", "XB"} },
		"a null end without reason":  func(_, q map[string]any) { q["min"] = nil },
		"a number written as a text": func(_, q map[string]any) { q["max"] = "3.3" },
	} {
		var doc map[string]any
		if err := json.Unmarshal(jsonText(t, ferry(t)), &doc); err != nil {
			t.Fatal(err)
		}
		result := doc["netlists"].([]any)[0].(map[string]any)["results"].([]any)[1].(map[string]any)
		spoil(result, result["quantities"].([]any)[0].(map[string]any))
		if s.Validate(doc) == nil {
			t.Errorf("%s is let pass", name)
		}
	}
}

// grown is a run with what --margins and --ledger add, a variant, and a result that comes of another.
func grown(t *testing.T) *Run {
	run := ferry(t)
	run.Ledger = true
	n := &run.Netlists[0]
	n.Variants = []string{"drawn", "lite"}
	n.Report.Growth = []rules.Growth{
		{Block: "XA", What: "supply", Up: true, Key: "rails.VLOG", Unit: quantity.Volt, From: 3.366, At: 14, Rule: "supply-range", Level: rules.Error, Text: "supply voltage reaches 14.01 V"},
		{Block: "XA", What: "current", Key: "currents.RSH_A.range", Unit: quantity.Amp, From: -20, At: -80},
	}
	follower := &n.Report.Results[len(n.Report.Results)-1]
	follower.Follows, follower.Variant = "reference-bias", "lite"
	return run
}

func TestJSONOfWhatIsAskedFor(t *testing.T) {
	text := jsonText(t, grown(t))
	valid(t, lintSchema(t), text)
	for _, want := range []string{`"follow": 1`, `"follows": "reference-bias"`, `"rule": null`, `"settles": 1`, `"in": "intent"`} {
		if !strings.Contains(string(text), want) {
			t.Errorf("no %s in\n%s", want, text)
		}
	}
}

// The schema lets keys be added, so only one that is closed by force tells that it names all there are.
func TestSchemaNamesEveryKey(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join("..", "..", "testdata", "schema", "lint.schema.json"))
	if err != nil {
		t.Fatal(err)
	}
	var doc any
	if err := json.Unmarshal(raw, &doc); err != nil {
		t.Fatal(err)
	}
	var shut func(v any)
	shut = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			_, typed := v["type"] // not the conditions
			_, open := v["additionalProperties"]
			if _, ok := v["properties"]; ok && typed && !open {
				v["additionalProperties"] = false
			}
			for _, w := range v {
				shut(w)
			}
		case []any:
			for _, w := range v {
				shut(w)
			}
		}
	}
	shut(doc)
	closed, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	s := schema(t, "https://shuntwright.example/closed.schema.json", bytes.ReplaceAll(closed, []byte("https://shuntwright.example/lint.schema.json"), []byte("https://shuntwright.example/closed.schema.json")))
	valid(t, s, jsonText(t, grown(t)))
	rapid.Check(t, func(t *rapid.T) { valid(t, s, jsonText(t, hostile(t))) })
}

func TestEndsThatAreNotNumbers(t *testing.T) {
	run := ferry(t)
	rep := run.Netlists[0].Report
	free := held(1, inf, nan, 4)
	free.Reason, free.Margin = "nothing limits the node", -inf
	rep.Results = []rules.Result{{Rule: "input-undershoot", Kind: rules.KindReview, Block: "XA", Measures: []rules.Measure{
		free, may(held(nan, nan, 0, 4), -inf, inf), {Unit: quantity.Ratio, Min: 0.1 + 0.2, Max: math.Copysign(0, -1), LimitMin: nan, LimitMax: 1, Margin: 1},
	}}}
	var doc struct {
		Netlists []struct {
			Results []struct {
				Level      *string
				Quantities []struct {
					Min, Max, Margin, SoundMin, SoundMax *float64
					Reason, Unit                         string
				}
			}
		}
	}
	text := jsonText(t, run)
	valid(t, lintSchema(t), text)
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	r := doc.Netlists[0].Results[0]
	if r.Level != nil {
		t.Error("a review has a level")
	}
	if q := r.Quantities[0]; q.Max != nil || q.Margin != nil || q.Reason != "nothing limits the node" || *q.Min != 1 {
		t.Errorf("unbounded: %+v", q)
	}
	if q := r.Quantities[1]; q.Min != nil || q.Max != nil || q.Reason != "not declared" || q.SoundMax != nil {
		t.Errorf("not declared: %+v", q)
	}
	if q := r.Quantities[2]; q.Unit != "1" || *q.Min != 0.3 || math.Signbit(*q.Max) {
		t.Errorf("a ratio: %+v", q)
	}
}
