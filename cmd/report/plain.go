package report

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Plain makes a text that came from a stranger's file harmless on a terminal and in a build log: control bytes,
// invisible and direction-changing characters and broken UTF-8 are written out as escapes, and nothing in it reads as a
// command to the system that runs the build. A second pass changes nothing.
func Plain(s string) string {
	if harmless(s) {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&b, `\x%02x`, s[i])
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\r':
			b.WriteString(`\r`)
		case r == '\t':
			b.WriteString(`\t`)
		case unseen(r) && r < 0x100:
			fmt.Fprintf(&b, `\x%02x`, r)
		case unseen(r) && r < 0x10000:
			fmt.Fprintf(&b, `\u%04x`, r)
		case unseen(r):
			fmt.Fprintf(&b, `\U%08x`, r)
		default:
			b.WriteRune(r)
		}
		i += n
	}
	out := strings.ReplaceAll(b.String(), "##[", `#\x23[`)
	if lead := strings.TrimLeft(out, " "); strings.HasPrefix(lead, "::") {
		out = out[:len(out)-len(lead)] + `\x3a` + lead[1:]
	}
	return out
}

// plainPath is a path, or a name, at the start of a line, where one that is a colon would make a command with the next.
func plainPath(path string) string {
	path = Plain(path)
	if lead := strings.TrimLeft(path, " "); strings.HasPrefix(lead, ":") {
		return path[:len(path)-len(lead)] + `\x3a` + lead[1:]
	}
	return path
}

func harmless(s string) bool {
	for i := 0; i < len(s); i++ {
		if c := s[i]; c < ' ' || c > '~' {
			return false
		}
	}
	return !strings.Contains(s, "##[") && !strings.HasPrefix(strings.TrimLeft(s, " "), "::")
}

// unseen tells of a character that a reader cannot see or that moves what stands around it.
func unseen(r rune) bool {
	return unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Co, unicode.Zl, unicode.Zp) ||
		unicode.IsSpace(r) && r != ' '
}
