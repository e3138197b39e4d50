package cli

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"time"
	"unicode/utf8"
)

// The line is drawn after a second, over itself, when there is something new, and is taken away.
func TestProgressLine(t *testing.T) {
	var out bytes.Buffer
	start := time.Unix(1000, 0)
	p := &progress{w: &out, start: start}
	drawn := func(after time.Duration, want string) {
		t.Helper()
		out.Reset()
		p.tick(start.Add(after))
		if got := out.String(); got != want {
			t.Errorf("after %v: %q, want %q", after, got, want)
		}
	}
	drawn(2*time.Second, "")
	p.stage("winch.cir", "reading")
	drawn(999*time.Millisecond, "")
	drawn(time.Second, "\rwinch.cir: reading\x1b[K")
	drawn(2*time.Second, "")
	p.stage("winch.cir", "judging, 1 of 12 blocks done")
	drawn(2*time.Second, "\rwinch.cir: judging, 1 of 12 blocks done\x1b[K")
	out.Reset()
	p.clear()
	if got := out.String(); got != "\r\x1b[K" {
		t.Errorf("cleared by %q", got)
	}
	out.Reset()
	p.clear()
	if got := out.String(); got != "" {
		t.Errorf("a line that is not there is cleared by %q", got)
	}
	drawn(3*time.Second, "")
}

// However long and whatever it holds, the name of a netlist stays on one line and does nothing to the terminal.
func TestProgressIsPlainAndNarrow(t *testing.T) {
	var out bytes.Buffer
	p := &progress{w: &out}
	p.stage(strings.Repeat("\x1b[2J\r\n\u202e\u009b", 50)+".cir", "reading")
	p.tick(time.Now())
	line := strings.TrimSuffix(strings.TrimPrefix(out.String(), "\r"), "\x1b[K")
	if strings.ContainsAny(line, "\x1b\r\n\u202e\u009b") || utf8.RuneCountInString(line) > widest || !strings.HasSuffix(line, ".cir: reading") {
		t.Errorf("%q", out.String())
	}
}

// Without a terminal nothing is ever drawn.
func TestProgressWithoutTerminal(t *testing.T) {
	var out bytes.Buffer
	p, ticks := Streams{Err: &out}.progress()
	ticks.Stop()
	p.stage("winch.cir", "reading")
	p.tick(time.Now().Add(time.Hour))
	p.clear()
	if out.Len() > 0 {
		t.Errorf("%q", out.String())
	}
	p, ticks = Streams{Err: &out, ErrIsTerminal: true}.progress()
	ticks.Stop()
	p.stage("winch.cir", "reading")
	p.tick(time.Now().Add(time.Hour))
	if out.Len() == 0 {
		t.Error("nothing is drawn on a terminal")
	}
}

// Each stage of the work can be seen; when the work is over the line is gone, and work left behind draws no more.
func TestProgressDuring(t *testing.T) {
	var out bytes.Buffer
	p := &progress{w: &out}
	ticks := make(chan time.Time)
	var left func(path, what string)
	p.during(ticks, func(stage func(path, what string)) {
		left = stage
		for _, what := range []string{"reading", "expanding"} {
			stage("winch.cir", what)
			ticks <- time.Now() // taken only when the tick before was drawn
		}
		ticks <- time.Now()
	})
	want := "\rwinch.cir: reading\x1b[K\rwinch.cir: expanding\x1b[K\r\x1b[K"
	if got := out.String(); got != want {
		t.Errorf("%q, want %q", got, want)
	}
	left("winch.cir", "judging")
	p.tick(time.Now())
	if got := out.String(); got != want {
		t.Errorf("drawn behind the end: %q", got[len(want):])
	}
}

// The stages that loading goes through, in order.
func TestStages(t *testing.T) {
	var stages []string
	in := inputs{remedies: true}
	l := in.load(context.Background(), "../../testdata/script/winch/winch.cir", nil, func(what string) { stages = append(stages, what) })
	if l.netlist == nil {
		t.Fatalf("%+v", l)
	}
	if got, want := strings.Join(stages, "; "), "reading; expanding; judging, 0 of 1 blocks done; judging, 1 of 1 blocks done"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
