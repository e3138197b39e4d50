package cli

import (
	"context"
	"fmt"
	"time"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/rules"
)

// grace is what the work on a netlist may take to notice that its time is up before it is left to itself.
const grace = 500 * time.Millisecond

// bounded loads a netlist and gives it its time. The work looks at the clock wherever it goes on for long; a part that
// does not is left behind with what it holds, so that the end is certain.
func (in inputs) bounded(path string, list []*rules.Rule, stage func(string)) loaded {
	if in.timeout == 0 {
		return in.load(context.Background(), path, list, stage)
	}
	ctx, cancel := context.WithTimeout(context.Background(), in.timeout)
	defer cancel()
	done := make(chan loaded, 1)
	go func() { done <- in.load(ctx, path, list, stage) }()
	select {
	case l := <-done:
		if ctx.Err() == nil {
			return l
		}
	case <-ctx.Done():
		select {
		case <-done:
		case <-time.After(grace):
		}
	}
	return loaded{unread: []report.Unread{{Path: shown(path),
		Message: fmt.Sprintf("not judged: stopped after %v (--timeout moves it)", in.timeout)}}}
}
