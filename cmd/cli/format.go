package cli

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/shuntwright/shuntwright/cmd/report"
)

// formatNames are the output formats, the default first.
var formatNames = []string{"text", "json", "sarif", "annotations"}

// writer is how a format is written; text takes options, and only on the output of the program.
func writer(format string, opt report.TextOptions) (func(io.Writer, *report.Run) error, error) {
	switch format {
	case "text":
		return func(w io.Writer, run *report.Run) error { return report.Text(w, run, opt) }, nil
	case "json":
		return report.JSON, nil
	case "sarif":
		return report.SARIF, nil
	case "annotations":
		return report.Annotations, nil
	}
	return nil, unknown("format", format, formatNames)
}

// An outFile is one --out FORMAT:FILE.
type outFile struct {
	path  string
	write func(io.Writer, *report.Run) error
}

// outFiles reads the values of --out. An output never takes the place of an input.
func outFiles(values, inputs []string, opt report.TextOptions) (out []outFile, err error) {
	opt.Color = false
	for _, v := range values {
		format, path, ok := strings.Cut(v, ":")
		if !ok || path == "" {
			return nil, fmt.Errorf("--out %s: write FORMAT:FILE, as in --out sarif:lint.sarif", v)
		}
		write, err := writer(format, opt)
		if err != nil {
			return nil, err
		}
		for _, o := range out {
			if o.path == path {
				return nil, fmt.Errorf("--out names %s twice", path)
			}
		}
		if err := spares("--out "+v, path, inputs); err != nil {
			return nil, err
		}
		out = append(out, outFile{path, write})
	}
	return out, nil
}

// spares refuses an output, as it was named, that would take the place of an input.
func spares(named, path string, inputs []string) error {
	for _, in := range inputs {
		if same(path, in) {
			return fmt.Errorf("%s would overwrite the input %s", named, in)
		}
	}
	return nil
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

func same(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}

func (o outFile) save(run *report.Run) error {
	var b bytes.Buffer
	if err := o.write(&b, run); err != nil {
		return err
	}
	return save(o.path, b.Bytes())
}

// save writes an output, not through a link.
func save(path string, text []byte) error {
	if info, err := os.Lstat(path); err == nil && info.Mode()&os.ModeSymlink != 0 {
		return fmt.Errorf("%s: cannot be written: this is a link; name the file itself", path)
	}
	if err := os.WriteFile(path, text, 0o644); err != nil {
		return fmt.Errorf("%s: cannot be written: %w", path, bare(err))
	}
	return nil
}

// colored decides about colour on the program's output.
func (s Streams) colored(when string) (bool, error) {
	switch when {
	case "always":
		return true, nil
	case "never":
		return false, nil
	case "auto":
		return s.OutIsTerminal && !s.NoColor, nil
	}
	return false, unknown("way to use --color", when, []string{"auto", "always", "never"})
}
