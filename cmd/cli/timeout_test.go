package cli

import (
	"testing"
	"time"

	"github.com/shuntwright/shuntwright/rules"
)

// Work that never looks at the clock is left behind, and what it was to judge is not judged.
func TestTimeoutIsCertain(t *testing.T) {
	quit := make(chan struct{})
	defer close(quit)
	stuck := &rules.Rule{ID: "stuck", Level: rules.Error, Judge: func(p *rules.Bench) { <-quit }}
	in := inputs{allowance: allowance{timeout: time.Millisecond}}
	l := in.bounded("../../testdata/script/winch/winch.cir", []*rules.Rule{stuck}, func(string) {})
	if l.netlist != nil || len(l.unread) != 1 || l.unread[0].Message != "not judged: stopped after 1ms (--timeout moves it)" {
		t.Errorf("%+v", l)
	}
}
