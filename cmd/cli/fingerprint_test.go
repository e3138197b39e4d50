package cli_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules/builtin"
)

// prints are the fingerprints of all results on a deck, sorted.
func (d deck) prints(t *testing.T, netlist string) (prints []string) {
	t.Helper()
	_, out, trouble := run(builtin.All, "lint", "--format", "sarif", "--remedies=false", filepath.Join(d.save(t), netlist))
	var log struct {
		Runs []struct {
			Results []struct {
				RuleID              string
				PartialFingerprints map[string]string
			}
		}
	}
	if err := json.Unmarshal([]byte(out), &log); err != nil {
		t.Fatalf("%v: %s", err, trouble)
	}
	for _, r := range log.Runs[0].Results {
		for name, print := range r.PartialFingerprints {
			prints = append(prints, r.RuleID+" "+name+" "+print)
		}
	}
	slices.Sort(prints)
	return prints
}

// A result is the same one when lines have moved, files have other names and cards another order.
func TestFingerprintsSurvive(t *testing.T) {
	t.Parallel()
	d := example(t)
	d[flawed] = strings.Replace(d[flawed], ".end\n", "RODD BUS 0 4K7\nRODD2 BUS 0 4K7\n.end\n", 1) // with troubles beside the findings
	if !strings.Contains(d[flawed], "RODD") {
		t.Fatal("the netlist has no end")
	}
	before := d.prints(t, flawed)
	if !slices.ContainsFunc(before, func(s string) bool { return strings.HasPrefix(s, "number-notation ") }) {
		t.Fatal("there is no trouble")
	}

	moved := maps.Clone(d)
	moved[flawed] = strings.Replace(d[flawed], "\n", "\n* a remark\n\n* another\n", 1)
	moved["phase-sense.inc"] = "* a remark\n" + d["phase-sense.inc"]

	renamed := deck{}
	for path, text := range d {
		for _, name := range []string{"ferry-drive", "phase-sense", "parts/ferry"} {
			path = strings.Replace(path, name+".", name+"-2.", 1)
		}
		renamed[path] = strings.ReplaceAll(text, "phase-sense.inc", "phase-sense-2.inc")
	}

	ordered := maps.Clone(d)
	lines := strings.SplitAfter(d[flawed], "\n")
	var first, last []string
	for i, l := range lines[1:] {
		// cards of one line outside of subcircuits, which this netlist has none of
		if strings.HasPrefix(l, "R") && !strings.HasPrefix(lines[i+2], "+") {
			last = append([]string{l}, last...)
		} else {
			first = append(first, l)
		}
	}
	if len(last) < 10 {
		t.Fatalf("%d cards move", len(last))
	}
	ordered[flawed] = lines[0] + strings.Join(last, "") + strings.Join(first, "")

	for name, after := range map[string][]string{"moved lines": moved.prints(t, flawed), "renamed files": renamed.prints(t, "ferry-drive-2.cir"),
		"reordered cards": ordered.prints(t, flawed)} {
		if !slices.Equal(after, before) {
			t.Errorf("%s change fingerprints:\n%s\nwere\n%s", name, strings.Join(after, "\n"), strings.Join(before, "\n"))
		}
	}
}

// The worked design comes under the gate with a baseline, and a new error is found all the same.
func TestBaselineOfExample(t *testing.T) {
	t.Parallel()
	dir := example(t).save(t)
	netlist := filepath.Join(dir, flawed)
	code, out, trouble := run(builtin.All, "baseline", "write", "--owner", "drive team", "--until", "2027-06-30", "--as-of", "2027-01-01", netlist)
	wrote := regexp.MustCompile(`: (\d+) findings accepted until 2027-06-30; owner drive team\n`).FindStringSubmatch(out)
	if code != 0 || wrote == nil {
		t.Fatalf("exit %d: %s%s", code, out, trouble)
	}
	if n, _ := strconv.Atoi(wrote[1]); n < len(errorsPlanted) {
		t.Errorf("%d findings accepted, %d are planted", n, len(errorsPlanted))
	}
	code, out, trouble = run(builtin.All, "lint", strict, "--as-of", "2027-01-01", netlist)
	if code != 0 || !strings.Contains(out, "\n0 fail, 0 review, 0 undecided, ") || !strings.Contains(out, " pass, "+wrote[1]+" accepted\n") {
		t.Errorf("exit %d: %s%s", code, out, trouble)
	}
	heavy := 0
	for _, p := range errorsPlanted {
		if p.level == "error" {
			heavy++
		}
	}
	if code, out, _ := run(builtin.All, "lint", "--as-of", "2027-07-01", netlist); code != 1 || !strings.Contains(out, fmt.Sprintf(" fail (%d error, ", heavy)) {
		t.Errorf("after the end: exit %d: %s", code, out)
	}
}
