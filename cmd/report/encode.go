package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// encode writes a value as JSON in which every character that a terminal might act on is an escape.
func encode(w io.Writer, v any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		return err
	}
	_, err := w.Write(escaped(b.Bytes()))
	return err
}

// escaped replaces characters nobody can see. They stand only inside strings: line ends and indents are the encoder's.
func escaped(text []byte) []byte {
	out := make([]byte, 0, len(text))
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRune(text[i:])
		switch {
		case bytes.HasPrefix(text[i:], []byte("##[")): // a command to who reads the log of a build
			out = append(out, `\u0023`...)
		case r == '\n' || !unseen(r):
			out = append(out, text[i:i+n]...)
		case r < 0x10000:
			out = fmt.Appendf(out, `\u%04x`, r)
		default:
			a, b := utf16.EncodeRune(r)
			out = fmt.Appendf(out, `\u%04x\u%04x`, a, b)
		}
		i += n
	}
	return out
}

// A number is a figure in SI units, or null where there is none. Twelve digits are kept: the rest is noise that differs
// between machines.
type number float64

func (n number) MarshalJSON() ([]byte, error) {
	v := float64(n)
	if !finite(v) {
		return []byte("null"), nil
	}
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 12, 64), 64)
	if err != nil || short == 0 {
		short = math.Abs(short) // no minus zero
	}
	return json.Marshal(short)
}

func (n number) known() *number {
	if !finite(float64(n)) {
		return nil
	}
	return &n
}
