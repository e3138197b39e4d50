package cli

import (
	"io"
	"os"
	"time"

	"github.com/mattn/go-isatty"
)

// Streams are what the command line reads from and writes to.
type Streams struct {
	In            io.Reader
	Out, Err      io.Writer
	OutIsTerminal bool
	ErrIsTerminal bool // then progress is shown there
	NoColor       bool // the surroundings ask for none
}

// Standard is the streams of the process.
func Standard() Streams {
	return Streams{
		In: os.Stdin, Out: os.Stdout, Err: os.Stderr,
		OutIsTerminal: terminal(os.Stdout),
		ErrIsTerminal: terminal(os.Stderr),
		NoColor:       os.Getenv("NO_COLOR") != "",
	}
}

// terminal tells of a terminal that can do more than print.
func terminal(f *os.File) bool { return isatty.IsTerminal(f.Fd()) && os.Getenv("TERM") != "dumb" }

// progress is the line that says what is being done, and the ticks at which it is drawn.
func (s Streams) progress() (*progress, *time.Ticker) {
	p := &progress{start: time.Now()}
	if s.ErrIsTerminal {
		p.w = s.Err
	}
	return p, time.NewTicker(redrawn)
}
