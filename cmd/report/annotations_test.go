package report

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/rules"
)

func annotations(t testing.TB, run *Run) string {
	t.Helper()
	var b bytes.Buffer
	if err := Annotations(&b, run); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestAnnotations(t *testing.T) { golden(t, "ferry.annotations", annotations(t, ferry(t))) }

func TestAnnotationEscapes(t *testing.T) {
	run := ferry(t)
	rep := run.Netlists[0].Report
	rep.Cautions = nil
	rep.Results = []rules.Result{{
		Rule: "shunt-pair", Kind: rules.KindFail, Level: rules.Error, Block: "X,a:b%", Message: "50 % off, at a:b", At: rep.Results[1].At,
	}}
	want := "::error file=ferry.cir,line=4,col=1,endColumn=37,title=X%2Ca%3Ab%25 shunt-pair::50 %25 off, at a:b\n"
	if got := annotations(t, run); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

// One line for each finding and each caution, each one command of three, whatever the inputs say.
func TestAnnotationsCannotBeInjected(t *testing.T) {
	form := regexp.MustCompile(`^::(error|warning|notice) file=[^:,\r\n]*(,line=\d+(,col=\d+,endColumn=\d+|,endLine=\d+))?,title=[^:,\r\n]*::[^\r\n]*$`)
	rapid.Check(t, func(rt *rapid.T) {
		run := hostile(rt)
		want := len(run.Netlists[0].findings()) + len(run.Netlists[0].Report.Cautions)
		lines := strings.Split(strings.TrimSuffix(annotations(t, run), "\n"), "\n")
		if len(lines) != want {
			rt.Fatalf("%d lines for %d findings: %q", len(lines), want, lines)
		}
		for _, l := range lines {
			if !form.MatchString(l) {
				rt.Fatalf("not a command of ours: %q", l)
			}
		}
	})
}
