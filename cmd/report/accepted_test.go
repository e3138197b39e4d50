package report

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/shuntwright/shuntwright/rules"
)

// accepted is the ferry's run with two findings accepted, one in a file and one in a card, and one acceptance without an
// end.
func accepted(t *testing.T) *Run {
	run := ferry(t)
	rep := run.Netlists[0].Report
	file := span(t, rep.Design.Src, 2, `name = "ferry-32"`) // any place in another file
	rep.Results[1].Accepted = &rules.Acceptance{Rule: "reference-bias", Pattern: "X*", Because: "one way is enough", Owner: "drive team",
		Until: time.Date(2027, 6, 30, 0, 0, 0, 0, time.UTC), Margins: []string{"-0.195 V"}, At: file}
	rep.Results[5].Accepted = &rules.Acceptance{Rule: "output-headroom", Pattern: "XL.X1", Because: "not fitted", At: rep.Results[0].At, InSource: true}
	return run
}

// What is accepted stays in the formats for programs with all that it was, and is counted apart.
func TestAccepted(t *testing.T) {
	before, run := ferry(t).Summary(), accepted(t)
	after := run.Summary()
	if after.Accepted != 2 || after.Fail.Error != before.Fail.Error-1 || after.Open != before.Open-1 || after.Fail.Warning != before.Fail.Warning {
		t.Errorf("%s after %s", after, before)
	}
	if !strings.HasSuffix(after.String(), ", 2 accepted") {
		t.Errorf("%s", after)
	}

	text := jsonText(t, run)
	valid(t, lintSchema(t), text)
	var out jsonRun
	if err := json.Unmarshal(text, &out); err != nil {
		t.Fatal(err)
	}
	r := out.Netlists[0].Results[1]
	if a := r.Accepted; r.Kind != "fail" || r.Level != "error" || a == nil || a.Until != "2027-06-30" || a.Owner != "drive team" || a.Margin[0] != "-0.195 V" ||
		a.At != "X*" || a.Because != "one way is enough" || a.Location.Path != "parts/ferry.toml" {
		t.Errorf("%+v %+v", r, r.Accepted)
	}
	if a := out.Netlists[0].Results[5].Accepted; a == nil || a.Until != "" || len(a.Margin) != 0 {
		t.Errorf("%+v", a)
	}

	log := sarifLines(t, run)
	valid(t, sarifStandard(t), log)
	results := decode(t, run).Results
	for i, r := range results {
		want := ""
		switch i {
		case 1:
			want = "external accepted one way is enough parts/ferry.toml"
		case 5:
			want = "inSource accepted not fitted ferry.cir"
		}
		got := ""
		if r.Suppressions == nil {
			t.Errorf("%s %d has no suppressions, others have", r.RuleID, i)
			continue
		}
		for _, s := range *r.Suppressions {
			got = s.Kind + " " + s.Status + " " + s.Justification + " " + s.Location.PhysicalLocation.ArtifactLocation.URI
		}
		if got != want {
			t.Errorf("%s %d: %q, want %q", r.RuleID, i, got, want)
		}
	}
	for _, r := range decode(t, ferry(t)).Results {
		if r.Suppressions != nil {
			t.Errorf("%s has suppressions, and nothing is accepted", r.RuleID)
		}
	}

	var words, notes bytes.Buffer
	if Text(&words, run, TextOptions{}) != nil || Annotations(&notes, run) != nil {
		t.Fatal("not written")
	}
	for _, out := range []string{words.String(), notes.String()} {
		if strings.Contains(out, "XA reference-bias") || strings.Contains(out, "XL.X1") && strings.Contains(out, "output-headroom: XL") {
			t.Errorf("what is accepted is printed:\n%s", out)
		}
	}
}
