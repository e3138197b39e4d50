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

// within gives work on a netlist its time; late is what comes of it where that is not enough. The work looks at the clock
// wherever it goes on for long; a part that does not is left behind with what it holds, so that the end is certain.
func within[T any](limit time.Duration, late T, work func(ctx context.Context) T) T {
	if limit == 0 {
		return work(context.Background())
	}
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	done := make(chan T, 1)
	go func() { done <- work(ctx) }()
	select {
	case t := <-done:
		if ctx.Err() == nil {
			return t
		}
	case <-ctx.Done():
		select {
		case <-done:
		case <-time.After(grace):
		}
	}
	return late
}

// bounded loads a netlist within its time.
func (in inputs) bounded(path string, list []*rules.Rule, stage func(string)) loaded {
	return within(in.timeout, loaded{unread: []report.Unread{in.late(path)}}, func(ctx context.Context) loaded {
		return in.load(ctx, path, list, stage)
	})
}

func (in inputs) late(path string) report.Unread {
	return report.Unread{Path: shown(path), Message: fmt.Sprintf("not judged: stopped after %v (--timeout moves it)", in.timeout)}
}
