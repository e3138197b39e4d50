package policy

import (
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

func in(variant string, r rules.Result) rules.Result {
	r.Variant = variant
	return r
}

func TestAcceptVariants(t *testing.T) {
	drawing := fails("winch-name", "XA", rules.Error, "-0.2 V")
	lite := in("lite", fails("winch-name", "XA", rules.Error, "-0.3 V"))
	pass := in("full", rules.Result{Rule: "winch-name", Block: "XA", Kind: rules.KindPass})
	spared := rules.Result{Rule: "winch-name", Block: "XA", Kind: rules.KindNotApplicable}
	for _, c := range []struct {
		name, acceptance string
		partly           bool
		results          []rules.Result
		want             string
	}{
		{"for all", "at = \"XA\"\n", false, []rules.Result{drawing, lite, pass}, "XA winch-name accepted\nXA winch-name accepted\nXA winch-name pass"},
		{"for all, worse in one", "at = \"XA\"\nmargin = \"-0.2 V\"\n", false, []rules.Result{drawing, lite},
			"XA winch-name accepted\nXA winch-name error: it was accepted at a margin of -0.2 V, and this is worse"},
		{"by a pattern, where one variant passes", "at = \"X*\"\n", false, []rules.Result{drawing, lite, pass},
			"XA winch-name accepted\nXA winch-name accepted\nXA winch-name pass"},
		{"for one", "at = \"XA\"\nvariant = \"Lite\"\n", false, []rules.Result{drawing, lite}, "XA winch-name error\nXA winch-name accepted"},
		{"for one that differs in nothing", "at = \"XA\"\nvariant = \"full\"\n", false, []rules.Result{drawing},
			"XA winch-name error\nidle: of winch-name at XA in variant full: nothing is found there in variant full that is not found in the drawing as well"},
		{"for one that differs in nothing, where the rule does not apply", "at = \"XA\"\nvariant = \"full\"\n", false, []rules.Result{spared},
			"XA winch-name notApplicable\nidle: of winch-name at XA in variant full: nothing is found there in variant full that is not found in the drawing as well"},
		{"for one that is not judged", "at = \"XA\"\nvariant = \"full\"\n", true, []rules.Result{drawing}, "XA winch-name error"},
	} {
		set, list := accepting(t, "[[accept.winch-name]]\n"+c.acceptance+forever)
		results, idle := None(ferry).Apply(Case{Src: set, Results: c.results, Acceptances: list, Today: today, Partly: c.partly})
		if got := said(results, idle); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.name, got, c.want)
		}
	}
}

// A baseline names the variant of a finding, and accepts it then.
func TestRecordVariants(t *testing.T) {
	findings := []rules.Result{fails("winch-name", "XA", rules.Error, "-0.2 V"), in("lite", fails("winch-name", "XA", rules.Error, "-0.3 V"))}
	text, written, left := None(ferry).Record(source.NewSet(), findings, Baseline{Netlist: "winch.cir", Because: "so", Owner: "us", Until: today})
	if written != 2 || left != 0 || strings.Count(text, "[[accept.winch-name]]") != 2 || strings.Count(text, `variant = "lite"`) != 1 {
		t.Fatalf("%d written, %d left:\n%s", written, left, text)
	}
	set, list := accepting(t, text)
	results, idle := None(ferry).Apply(Case{Src: set, Results: findings, Acceptances: list, Today: today})
	if got, want := said(results, idle), "XA winch-name accepted\nXA winch-name accepted"; got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
}
