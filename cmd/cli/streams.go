package cli

import (
	"io"
	"os"

	"github.com/mattn/go-isatty"
)

// Streams are what the command line reads from and writes to.
type Streams struct {
	In            io.Reader
	Out, Err      io.Writer
	OutIsTerminal bool
	NoColor       bool // the surroundings ask for none
}

// Standard is the streams of the process.
func Standard() Streams {
	return Streams{
		In: os.Stdin, Out: os.Stdout, Err: os.Stderr,
		OutIsTerminal: isatty.IsTerminal(os.Stdout.Fd()) && os.Getenv("TERM") != "dumb",
		NoColor:       os.Getenv("NO_COLOR") != "",
	}
}
