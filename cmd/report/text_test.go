package report

import (
	"bytes"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
)

func text(t testing.TB, run *Run, opt TextOptions) string {
	t.Helper()
	var b bytes.Buffer
	if err := Text(&b, run, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestText(t *testing.T) {
	golden(t, "ferry.txt", text(t, ferry(t), TextOptions{}))
	golden(t, "ferry-margins.txt", text(t, ferry(t), TextOptions{Margins: true}))
}

// Colour repeats what the words say: taken away, the same text is left.
func TestColourAddsNothing(t *testing.T) {
	for _, margins := range []bool{false, true} {
		plain := text(t, ferry(t), TextOptions{Margins: margins})
		coloured := text(t, ferry(t), TextOptions{Color: true, Margins: margins})
		if coloured == plain {
			t.Error("nothing is coloured")
		}
		for {
			before, rest, found := strings.Cut(coloured, "\x1b[")
			if !found {
				break
			}
			_, rest, _ = strings.Cut(rest, "m")
			coloured = before + rest
		}
		if coloured != plain {
			t.Errorf("without its colours the text reads\n%s", coloured)
		}
	}
}

func TestSummary(t *testing.T) {
	for _, c := range []struct {
		s    Summary
		want string
	}{
		{Summary{}, "0 fail, 0 review, 0 undecided, 0 pass"},
		{Summary{Pass: 9}, "0 fail, 0 review, 0 undecided, 9 pass"},
		{Summary{Fail: Failures{2, 1, 0}, Review: 1, Open: 2, Pass: 40, Accepted: 1}, "3 fail (2 error, 1 warning), 1 review, 2 undecided, 40 pass, 1 accepted"},
		{Summary{Fail: Failures{0, 0, 1}}, "1 fail (1 note), 0 review, 0 undecided, 0 pass"},
	} {
		if got := c.s.String(); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestCleanRunStillCounts(t *testing.T) {
	run := ferry(t)
	rep := run.Netlists[0].Report
	rep.Results, rep.Cautions = rep.Results[2:3], nil
	if got, want := text(t, run, TextOptions{}), "0 fail, 0 review, 0 undecided, 1 pass\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestNoCautionWhereNothingWasJudged(t *testing.T) {
	run := ferry(t)
	run.Netlists[0].Report.Blocks = nil
	if got := text(t, run, TextOptions{}); strings.Contains(got, "caution") {
		t.Error("a netlist without a block has a caution")
	}
}

// Each rounds to the side on which the design looks worse.
func TestFiguresRoundToTheSafeSide(t *testing.T) {
	low := held(0.05541, 2, 0.05514, 3)
	low.Margin = 0.00027
	high := held(0, 2.99941, nan, 2.99991)
	high.Margin, high.AtHigh = 0.0005, true
	for _, c := range []struct {
		m                    rules.Measure
		reach, bound, margin string
	}{
		{low, " 0.055 V", " 0.056 V", " 0.000 V"},
		{high, " 3.000 V", " 2.999 V", " 0.000 V"},
	} {
		reach, bound, margin := figures(c.m, scale(c.m))
		if reach != c.reach || bound != c.bound || margin != c.margin {
			t.Errorf("got %q %q %q, want %q %q %q", reach, bound, margin, c.reach, c.bound, c.margin)
		}
	}
}

func TestResultsOfOneCardAreGrouped(t *testing.T) {
	run := ferry(t)
	var got []string
	for _, g := range run.Netlists[0].findings() {
		got = append(got, g.worst.Block+" "+g.worst.Rule+" "+strings.Join(g.instances, "+"))
	}
	want := " netlist-title |XA reference-bias |XR.X1 output-floor XL.X1+XR.X1|XL.X1 output-headroom XL.X1+XR.X1|XL.X1 shunt-power XL.X1|XA filter-gain-error "
	if strings.Join(got, "|") != want {
		t.Errorf("got  %q\nwant %q", strings.Join(got, "|"), want)
	}
}

// Two units of one package stand on one card and are different findings.
func TestUnitsAreNotGrouped(t *testing.T) {
	run := ferry(t)
	rep := run.Netlists[0].Report
	a := rep.Results[3]
	b := a
	a.Block, b.Block = "XL.X1:a", "XL.X1:b"
	rep.Results = []rules.Result{a, b}
	if n := len(run.Netlists[0].findings()); n != 2 {
		t.Errorf("%d findings, want 2", n)
	}
}
