package rules_test

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

// several is the deck with so many amplifiers on its shunt.
func several(n int) string {
	var b strings.Builder
	b.WriteString(deck)
	for i := range n - 1 {
		fmt.Fprintf(&b, "XA%d BUS LOAD out%d 0 VM V5 barge-30\n", i, i)
	}
	return b.String()
}

// under binds the cards under a context.
func under(t *testing.T, ctx context.Context, cards string) *design.Design {
	t.Helper()
	set := source.NewSet()
	n, _ := parse.Read(set, set.Add("deck.cir", []byte("a deck\n"+cards+"\n.end\n"), source.Span{}), parse.Options{Context: ctx})
	lib := &part.Library{}
	lib.Read(set, set.Add("parts.toml", []byte(barge), source.Span{}))
	d, _ := design.Bind(set, n, lib, nil)
	return d
}

// A judgement that its context cut short holds no result, however far it came, and starts no further block.
func TestJudgeStops(t *testing.T) {
	const blocks = 40
	for _, from := range []int{0, 1, blocks} { // the block that is judged when time is up; with 0 it is up before
		ctx, cancel := context.WithCancel(context.Background())
		d := under(t, ctx, several(blocks))
		if from == 0 {
			cancel()
		}
		told := 0
		rule := &rules.Rule{ID: "probe", Level: rules.Error, Judge: func(p *rules.Bench) { p.Skip("fine") }}
		rep := rules.Judge(d, []*rules.Rule{rule}, rules.Progress(func(done, of int) {
			if told = done; done == from {
				cancel()
			}
		}))
		if rep.Stopped == nil || len(rep.Results)+len(rep.Cautions)+len(rep.Blocks) > 0 {
			t.Errorf("stopped at block %d: %v, %d results", from, rep.Stopped, len(rep.Results))
		}
		if most := from + runtime.GOMAXPROCS(0); from == 1 && told > most {
			t.Errorf("%d blocks were judged after time was up", told)
		}
		cancel()
		if got := rules.JudgeAt(d, []*rules.Rule{rule}, "XA"); got != nil {
			t.Errorf("one block is judged after time is up: %v", got)
		}
	}
	rep := rules.Judge(under(t, context.Background(), several(blocks)), nil)
	if rep.Stopped != nil || len(rep.Blocks) != blocks {
		t.Errorf("with time left: %v, %d blocks", rep.Stopped, len(rep.Blocks))
	}
}

// The search for a remedy ends with the context as well.
func TestRemediesStop(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	calls := 0
	rule := &rules.Rule{ID: "lower", Level: rules.Error, Judge: func(p *rules.Bench) {
		if calls++; calls == 3 {
			cancel()
		}
		e, r := ohms(p, "RA")
		p.AtMost(r, exactly(900), "900 ohm").Lower(e)
	}}
	if rep := rules.Judge(under(t, ctx, deck), []*rules.Rule{rule}); rep.Stopped == nil {
		t.Error("not stopped")
	}
	if calls > 4 {
		t.Errorf("the rule was judged %d times, time was up at the third", calls)
	}
}

func TestProgress(t *testing.T) {
	var told []string
	rules.Judge(load(t, several(3), barge), nil, rules.Progress(func(done, of int) { told = append(told, fmt.Sprint(done, "/", of)) }))
	if want := []string{"0/3", "1/3", "2/3", "3/3"}; !slices.Equal(told, want) {
		t.Errorf("%v, want %v", told, want)
	}
}
