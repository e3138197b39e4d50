package field

import (
	"bytes"
	"errors"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// syntax reports what the TOML parser could not read.
func (r *reader) syntax(err error) {
	var perr *unstable.ParserError
	if !errors.As(err, &perr) {
		return
	}
	at := r.parser.Range(perr.Highlight)
	if name := unquotedName(r.text, int(at.Offset)); name != "" {
		i := bytes.LastIndex(r.text[:min(len(r.text), int(at.Offset)+len(name))], []byte(name))
		if i >= 0 {
			at.Offset, at.Length = uint32(i), uint32(len(name))
		}
		r.fail(r.span(at), "the name %s has more than letters, digits, - and _: quote it, as in \"%s\"", clip(name),
			clip(name))
		return
	}
	r.fail(r.span(at), "not TOML: %s", strings.TrimSuffix(perr.Message, "."))
}

// unquotedName is the bare key around a place that would be a key if it were quoted; "" when there is none.
func unquotedName(text []byte, at int) string {
	if at >= len(text) {
		return ""
	}
	start := bytes.LastIndexAny(text[:at], "\n{,[.=\"'#") + 1
	if start > 0 && bytes.IndexByte([]byte("=\"'#"), text[start-1]) >= 0 {
		return ""
	}
	end := bytes.IndexAny(text[at:], "\n{,[.=\"'#]")
	if end < 0 || bytes.IndexByte([]byte("=.]"), text[at+end]) < 0 {
		return ""
	}
	name := strings.TrimSpace(string(text[start : at+end]))
	for i := range len(name) {
		if !isBare(name[i]) {
			return name
		}
	}
	return ""
}
