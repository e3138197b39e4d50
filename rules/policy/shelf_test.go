package policy

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/rules"
)

// What a stranger may write is bounded, and what is beyond the bound accepts nothing and says so.
func TestManyAcceptances(t *testing.T) {
	for _, c := range []struct {
		at   string
		most int
		want string
	}{{"X%d", mostAcceptances, "there are more than 20000 acceptances: it accepts nothing"}, {"X%d*", mostStarred, "there are more than 1000 acceptances with a star: it accepts nothing"}} {
		var text strings.Builder
		var findings []rules.Result
		for i := range c.most + 1 {
			fmt.Fprintf(&text, "[[accept.winch-name]]\nat = \"%s\"\n%s", fmt.Sprintf(c.at, i), forever)
		}
		findings = append(findings, fails("winch-name", "X0", rules.Error), fails("winch-name", fmt.Sprintf("X%d", c.most), rules.Error))
		set, list := accepting(t, text.String())
		results, _ := None(ferry).Apply(Case{Src: set, Results: findings, Acceptances: list, Today: today})
		if results[0].Finding() || !results[1].Finding() && c.at == "X%d" {
			t.Errorf("%s: the first is no finding, the last is one: %v, %v", c.at, results[0].Finding(), results[1].Finding())
		}
		if last := said(results, nil); !strings.Contains(last, c.want) {
			t.Errorf("%s: %s", c.at, last[:min(len(last), 500)])
		}
	}
}

// BenchmarkBaseline applies a baseline of five thousand findings.
func BenchmarkBaseline(b *testing.B) {
	var findings []rules.Result
	for i := range 5000 {
		findings = append(findings, fails("winch-name", fmt.Sprintf("XP%d.XS", i), rules.Error, "-0.281 V"))
	}
	text, _, _ := None(ferry).Record(nil, findings, Baseline{"winch.cir", "known", "team", today})
	set, list := accepting(b, text)
	for b.Loop() {
		if results, idle := None(ferry).Apply(Case{Src: set, Results: findings, Acceptances: list, Today: today}); len(idle) > 0 || results[4999].Accepted == nil {
			b.Fatal("not accepted")
		}
	}
}
