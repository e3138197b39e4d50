package quantity

import (
	"fmt"
	"strings"
)

type tokenKind uint8

const (
	nameToken   tokenKind = iota
	numberToken           // a whole number token: "90", "-7", "1e3"
	signToken             // + - * / ( ) , ..
)

// A token of a formula. Operators stand between spaces, so that a name may hold them.
type token struct {
	kind   tokenKind
	text   string
	quoted bool
}

func (t token) is(sign string) bool { return t.kind == signToken && t.text == sign }

// maxTokens bounds the work that one formula can ask for.
const maxTokens = 400

// maxFormula bounds the text of a formula, in bytes.
const maxFormula = 4000

func tokens(s string) ([]token, error) {
	if len(s) > maxFormula {
		return nil, fmt.Errorf("%s is too long for a formula", quote(s))
	}
	s = strings.ReplaceAll(s, "\u2212", "-")
	var list []token
	for {
		s = strings.TrimLeft(s, " \t\r\n")
		if s == "" {
			return list, nil
		}
		if len(list) == maxTokens {
			return nil, fmt.Errorf("a formula has at most %d words", maxTokens)
		}
		t, length, err := nextToken(s)
		if err != nil {
			return nil, err
		}
		list, s = append(list, t), s[length:]
	}
}

func nextToken(s string) (t token, length int, err error) {
	switch c := s[0]; c {
	case '(', ')', ',':
		return token{kind: signToken, text: s[:1]}, 1, nil
	case '\'', '"':
		end := strings.IndexByte(s[1:], c)
		if end < 0 {
			return t, 0, fmt.Errorf("the quote before %s is never closed", quote(s[1:]))
		}
		if end == 0 {
			return t, 0, fmt.Errorf("a name between quotes is empty")
		}
		return token{kind: nameToken, text: s[1 : 1+end], quoted: true}, end + 2, nil
	}
	end := strings.IndexAny(s, " \t\r\n(),'\"")
	if end < 0 {
		end = len(s)
	}
	t = token{kind: nameToken, text: s[:end]}
	switch {
	case t.text == "+" || t.text == "-" || t.text == "*" || t.text == "/" || t.text == "..":
		t.kind = signToken
	case numberEnd(t.text) == len(t.text):
		t.kind = numberToken
	}
	return t, end, nil
}

// quoteName writes a name so that it is read back as that name.
func quoteName(name string) string {
	if name != "" && !strings.ContainsAny(name, " \t\r\n(),'\"\u2212") {
		if t, _, err := nextToken(name); err == nil && t.kind == nameToken && t.text == name {
			return name
		}
	}
	if strings.Contains(name, "'") {
		return `"` + name + `"`
	}
	return "'" + name + "'"
}
