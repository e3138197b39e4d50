package policy

import (
	"regexp"
	"strings"
)

// A pattern says which instance paths an acceptance is for. Letter case does not count in it, as in names.
type pattern struct {
	text string
	fits *regexp.Regexp
}

// readPattern reads a path in which * stands for any characters of one name and ** for any at all.
func readPattern(text string) pattern {
	if !strings.Contains(text, "*") {
		return pattern{text, nil}
	}
	var b strings.Builder
	b.WriteString("(?is)^")
	for i, part := range strings.Split(text, "**") {
		if i > 0 {
			b.WriteString(".*")
		}
		for k, word := range strings.Split(part, "*") {
			if k > 0 {
				b.WriteString("[^.]*")
			}
			b.WriteString(regexp.QuoteMeta(word))
		}
	}
	b.WriteByte('$')
	return pattern{text, regexp.MustCompile(b.String())}
}

func (p pattern) matches(instance string) bool {
	return strings.EqualFold(p.text, instance) || p.fits != nil && p.fits.MatchString(instance)
}

// wild tells that the pattern may fit more than one path.
func (p pattern) wild() bool { return p.fits != nil }
