package cli

import (
	"fmt"
	"io"
	"sync"
	"time"

	"github.com/shuntwright/shuntwright/cmd/report"
)

const (
	patience = time.Second            // how long nothing is said of progress
	redrawn  = 200 * time.Millisecond // how often it is looked at
	widest   = 78                     // columns, so that no terminal breaks the line
)

// A progress is the line on a terminal that says what is being done, for whoever waits longer than a second. It is
// drawn over itself, and cleared before anything else is printed.
type progress struct {
	w     io.Writer // nil: there is no terminal, and nothing is ever drawn
	start time.Time

	mu    sync.Mutex
	text  string
	drawn string
}

// stage says what is done from now on with a netlist.
func (p *progress) stage(path, what string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.text = path + ": " + what
}

// tick draws the line where there is something new to say.
func (p *progress) tick(now time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.w == nil || p.text == "" || p.text == p.drawn || now.Sub(p.start) < patience {
		return
	}
	line := []rune(report.Plain(p.text))
	if len(line) > widest {
		line = append([]rune("..."), line[len(line)-widest+3:]...)
	}
	fmt.Fprintf(p.w, "\r%s\x1b[K", string(line))
	p.drawn = p.text
}

// clear takes the line away.
func (p *progress) clear() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.drawn != "" {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
	p.text, p.drawn = "", ""
}

// during runs work on netlists and draws the line at each tick until the work is done. Work that goes on in the
// background after that draws nothing any more.
func (p *progress) during(ticks <-chan time.Time, work func(stage func(path, what string))) {
	var over bool
	var mu sync.Mutex
	quit, gone := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(gone)
		for {
			select {
			case now := <-ticks:
				p.tick(now)
			case <-quit:
				return
			}
		}
	}()
	work(func(path, what string) {
		mu.Lock()
		defer mu.Unlock()
		if !over {
			p.stage(path, what)
		}
	})
	close(quit)
	<-gone
	mu.Lock()
	over = true
	mu.Unlock()
	p.clear()
}
