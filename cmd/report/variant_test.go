package report

import (
	"bytes"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
)

// A result of an assembly variant names it in every form, and is another one than that of the drawing.
func TestVariantsAreNamed(t *testing.T) {
	run := ferry(t)
	rep := run.Netlists[0].Report
	a := rep.Results[3]
	b, c := a, a
	b.Variant = "lite"
	c.Block, c.Calls, c.Variant = "", nil, "lite"
	rep.Results = []rules.Result{a, b, c}
	if n := len(run.Netlists[0].findings()); n != 3 {
		t.Errorf("%d findings, want 3", n)
	}
	prints := map[string]bool{}
	for i, r := range decode(t, run).Results {
		prints[r.PartialFingerprints[fingerprint]] = true
		if got, want := r.Properties.Variant, []string{"", "lite", "lite"}[i]; got != want {
			t.Errorf("variant %q, want %q", got, want)
		}
	}
	if len(prints) != 3 {
		t.Error("results share a fingerprint")
	}
	valid(t, sarifStandard(t), sarifLines(t, run))
	var notes, out bytes.Buffer
	if err := Annotations(&notes, run); err != nil {
		t.Fatal(err)
	}
	if err := JSON(&out, run); err != nil {
		t.Fatal(err)
	}
	for name, printed := range map[string]string{"text": text(t, run, TextOptions{}), "margins": text(t, run, TextOptions{Margins: true}), "annotations": notes.String()} {
		for _, want := range []string{" " + a.Block + " " + a.Rule, " " + a.Block + " (lite) " + a.Rule, " (lite) " + a.Rule} {
			if !strings.Contains(strings.ReplaceAll(printed, "title=", " "), want) {
				t.Errorf("the %s does not say %q", name, want)
			}
		}
	}
	if n := strings.Count(out.String(), `"variant": "lite"`); n != 2 {
		t.Errorf("JSON names the variant %d times, want 2", n)
	}
}
