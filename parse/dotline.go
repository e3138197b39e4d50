package parse

import (
	"bytes"
	"iter"
)

// blanks are what stands between words.
const blanks = " \t\f\v"

// dotLines goes over the lines of a text that start with a dot, without the blanks before it, with the byte that each
// starts at.
func dotLines(text []byte) iter.Seq2[int, []byte] {
	return func(yield func(int, []byte) bool) {
		l := &liner{text: text}
		for {
			from, to, ok := l.line()
			if !ok {
				return
			}
			if line := bytes.TrimLeft(text[from:to], blanks); len(line) > 0 && line[0] == '.' && !yield(from, line) {
				return
			}
		}
	}
}
