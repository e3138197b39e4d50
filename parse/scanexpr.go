package parse

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"
)

func closer(open byte) byte {
	if open == '{' {
		return '}'
	}
	return open
}

// expression cuts an expression up to its closing mark; 0 stands for the end of the card, and then a name before "="
// starts the next parameter.
func (s *scanner) expression(end byte) {
	open := []byte{end}
	for {
		b, ok := s.skip()
		if !ok {
			return
		}
		top := open[len(open)-1]
		switch {
		case b == top:
			s.emit(tClose, s.at, s.at+1)
			s.at++
			if open = open[:len(open)-1]; len(open) == 0 {
				return
			}
		case b == '{' || b == '\'' && top == 0:
			s.emit(tOpen, s.at, s.at+1)
			s.at++
			open = append(open, closer(b))
		case b == '"':
			s.quoted()
		case digit(b) || b == '.':
			s.number()
		case identByte(b):
			from, to := s.run(func(b byte) bool { return !identByte(b) && !digit(b) && b != '.' })
			switch {
			case len(open) == 1 && end == 0 && s.equals():
				s.emit(tKey, from, to)
			case len(open) == 1 && end == 0 && s.head == tParam && s.formals(false):
				s.emit(tKey, from, to)
				s.formals(true)
			default:
				s.emit(tIdent, from, to)
				if w := lower(s.text[from]); to-from == 1 && (w == 'v' || w == 'i') {
					s.probe()
				}
			}
		case b == ',' && end == 0 && len(open) == 1 && s.defines():
			s.at++ // parts two definitions
		default:
			s.operator(b)
		}
	}
}

// defines tells that behind a comma comes a name and "=".
func (s *scanner) defines() bool {
	ahead := *s
	ahead.at++
	if b, ok := ahead.skip(); !ok || !identByte(b) {
		return false
	}
	ahead.run(func(b byte) bool { return !identByte(b) && !digit(b) && b != '.' })
	return ahead.equals() || s.head == tParam && ahead.formals(false)
}

// function cuts a .func card: name(x,y), and behind it an expression with or without "=".
func (s *scanner) function() {
	if _, ok := s.skip(); !ok {
		return
	}
	from, to := s.run(delimiter)
	s.emit(tKey, from, to)
	s.formals(true)
	if b, ok := s.skip(); ok && b == '=' {
		s.emit(tEq, s.at, s.at+1)
		s.at++
	}
	s.expression(0)
}

// formals reads the names in parentheses behind the name of a function. take is false to ask only whether they are
// there with a "=" behind them.
func (s *scanner) formals(take bool) bool {
	ahead := s
	if !take {
		copied := *s
		ahead = &copied
	}
	emit := func(t lexer.TokenType, from, to int) {
		if take {
			s.emit(t, from, to)
		}
	}
	b, ok := ahead.skip()
	if !ok || b != '(' {
		return false
	}
	for opened := false; ; {
		switch {
		case b == '(' && opened:
			return false
		case b == '(' || b == ',' || b == ')':
			opened = true
			emit(map[byte]lexer.TokenType{'(': tLeft, ',': tComma, ')': tRight}[b], ahead.at, ahead.at+1)
			if ahead.at++; b == ')' {
				return take || ahead.equals()
			}
		case identByte(b):
			from, to := ahead.run(func(b byte) bool { return !identByte(b) && !digit(b) && b != '.' })
			emit(tIdent, from, to)
		default:
			return false
		}
		if b, ok = ahead.skip(); !ok {
			return false
		}
	}
}

// probe reads the names in v(a,b) and i(V1) as names: they may hold what is an operator elsewhere.
func (s *scanner) probe() {
	if b, ok := s.skip(); !ok || b != '(' {
		return
	}
	s.emit(tOp, s.at, s.at+1)
	s.at++
	for {
		b, ok := s.skip()
		switch {
		case !ok:
			return
		case b == ',' || b == ')':
			s.emit(tOp, s.at, s.at+1)
			if s.at++; b == ')' {
				return
			}
		case b == '"':
			s.quoted()
		case delimiter(b):
			return
		default:
			from, to := s.run(delimiter)
			s.emit(tWord, from, to)
		}
	}
}

// number reads a number of an expression: there a sign behind E belongs to it only when a digit follows.
func (s *scanner) number() {
	from, to := s.run(func(b byte) bool { return !digit(b) && b != '.' })
	if s.at+2 < s.to()+0 && (lower(s.text[s.at]) == 'e' || lower(s.text[s.at]) == 'd') &&
		(s.text[s.at+1] == '+' || s.text[s.at+1] == '-') && digit(s.text[s.at+2]) {
		s.at += 2
	}
	_, to = s.run(func(b byte) bool { return !identByte(b) && !digit(b) })
	s.emit(tNumber, from, to)
}

func identByte(b byte) bool {
	return 'a' <= lower(b) && lower(b) <= 'z' || b == '_' || b == '$' || b == '#' || b == '@' || b >= utf8.RuneSelf
}

var twoByte = []string{"**", "<=", ">=", "==", "!=", "<>", "&&", "||"}

func (s *scanner) operator(b byte) {
	rest := s.text[s.at:s.to()]
	n := 1
	for _, op := range twoByte {
		if strings.HasPrefix(string(rest[:min(2, len(rest))]), op) {
			n = 2
		}
	}
	t := tBad
	switch {
	case n == 2 || strings.IndexByte("+-*/^<>!?:(),", b) >= 0:
		t = tOp
	case b == '=':
		t = tEq
	}
	s.emit(t, s.at, s.at+n)
	s.at += n
}

// identifier tells that a word could be the name of a parameter.
func identifier(s string) bool {
	for i, r := range s {
		if !unicode.IsLetter(r) && r != '_' && (i == 0 || !unicode.IsDigit(r) && strings.IndexRune(".$#@:", r) < 0) {
			return false
		}
	}
	return s != ""
}
