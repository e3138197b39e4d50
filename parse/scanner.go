package parse

import (
	"strings"

	"github.com/alecthomas/participle/v2/lexer"
)

// A scanner cuts one card into tokens whose offsets are bytes of the file.
type scanner struct {
	text   []byte
	card   logical
	seg    int
	at     int
	head   lexer.TokenType // the card's first token
	tokens []lexer.Token

	nest         int  // open parentheses
	plain        int  // open parentheses that are mere separators
	keyed, comma bool // a "name=" was seen; a comma waits to be told from a mere separator
}

// scan cuts a card into tokens, the last of which is the end of the card.
func scan(text []byte, card logical) []lexer.Token {
	s := &scanner{text: text, card: card}
	if len(card) > 0 {
		s.at = card[0].From
		s.tokens = make([]lexer.Token, 0, 8)
		s.first()
	}
	end := 0
	if len(card) > 0 {
		end = card[len(card)-1].To
	}
	return append(s.tokens, lexer.EOFToken(lexer.Position{Offset: end}))
}

// skip moves to the next byte that is not blank; ok is false at the end of the card.
func (s *scanner) skip() (b byte, ok bool) {
	for s.seg < len(s.card) {
		for s.at < s.card[s.seg].To {
			if b = s.text[s.at]; !blank(b) {
				return b, true
			}
			s.at++
		}
		if s.seg++; s.seg < len(s.card) {
			s.at = s.card[s.seg].From
		}
	}
	return 0, false
}

// to is where the present segment ends.
func (s *scanner) to() int { return s.card[s.seg].To }

func (s *scanner) emit(t lexer.TokenType, from, to int) {
	if s.comma && t != tKey {
		s.comma = false
		s.emit(tComma, from, from)
		s.tokens[len(s.tokens)-1].Value = ","
	}
	s.comma = false
	s.tokens = append(s.tokens, lexer.Token{Type: t, Value: string(s.text[from:to]), Pos: lexer.Position{Offset: from}})
}

// run moves over bytes until one of the given marks a boundary.
func (s *scanner) run(stop func(b byte) bool) (from, to int) {
	from = s.at
	for s.at < s.to() && !stop(s.text[s.at]) {
		s.at++
	}
	return from, s.at
}

// delimiter tells where a name ends.
func delimiter(b byte) bool {
	switch b {
	case ' ', '\t', '\f', '\v', ',', '=', '(', ')', '{', '}', '\'', '"':
		return true
	}
	return false
}

func (s *scanner) first() {
	b, ok := s.skip()
	if !ok {
		return
	}
	from, to := s.run(delimiter)
	word := strings.ToLower(string(s.text[from:to]))
	switch {
	case b == '.':
		s.head = tOther
		if t, ok := dotWords[word]; ok {
			s.head = t
		}
	case b == '+':
		s.head, s.at = tOrphan, from+1
		to = s.at
	case from == to:
		s.at++ // a delimiter where a name should stand
		s.head, to = tStray, s.at
	default:
		s.head = tStray
		if t, ok := letters[lower(b)]; ok {
			s.head = t
		}
	}
	s.emit(s.head, from, to)
	switch s.head {
	case tOther, tEnd:
		// What it says concerns nobody here.
	case tInclude:
		s.path()
	case tLib:
		s.library()
	case tParam, tIf, tElseif:
		s.expression(0)
	case tFunc:
		s.function()
	default:
		s.words()
	}
}

// path takes the rest of an include card as one path, with or without quotes.
func (s *scanner) path() {
	b, ok := s.skip()
	if !ok {
		return
	}
	from := s.at
	if b == '"' || b == '\'' {
		for i := from + 1; i < s.to(); i++ {
			if s.text[i] == b {
				s.emit(tPath, from+1, i)
				s.at = i + 1
				s.words()
				return
			}
		}
		s.emit(tBad, from, s.to())
		s.at = s.to()
		return
	}
	s.emit(tPath, from, s.to())
	s.at = s.to()
	s.words()
}

// library takes the first word of a .lib card as a path, with or without quotes.
func (s *scanner) library() {
	b, ok := s.skip()
	if !ok || b == '"' || b == '\'' {
		s.path()
		return
	}
	from, to := s.run(blank)
	s.emit(tPath, from, to)
	s.words()
}

// words cuts what follows the first token of a card.
func (s *scanner) words() {
	for {
		b, ok := s.skip()
		if !ok {
			return
		}
		switch b {
		case '=':
			s.emit(tEq, s.at, s.at+1)
			s.at++
		case ',':
			s.comma = s.keyed
			s.at++
		case '(', ')':
			// Elsewhere a parenthesis is a separator like a blank.
			if s.head == tModel || (s.head == tV || s.head == tI) && s.grouping(b) {
				s.emit(s.parenthesis(b), s.at, s.at+1)
			}
			s.at++
		case '{', '\'':
			s.emit(tOpen, s.at, s.at+1)
			s.at++
			s.expression(closer(b))
		case '}':
			s.emit(tBad, s.at, s.at+1)
			s.at++
		case '"':
			s.quoted()
		default:
			from, to := s.run(delimiter)
			if s.head == tX || s.head == tSubckt {
				to = s.afterParams(from, to)
			}
			switch t := s.kind(from, to); t {
			case tNone:
			case tFormula:
				s.emit(t, from, to)
				if b, ok := s.skip(); ok && b == '=' {
					s.emit(tEq, s.at, s.at+1)
					s.at++
				}
				s.expression(0)
			case tLaw:
				s.emit(t, from, to)
				s.tail()
			case tAko:
				s.kindOf(from, to)
			default:
				s.keyed = s.keyed || t == tKey
				s.emit(t, from, to)
			}
		}
	}
}

// maxNest is how deep parentheses outside of expressions may nest; the points of a PWL need two.
const maxNest = 8

func (s *scanner) parenthesis(b byte) lexer.TokenType {
	if b == ')' {
		s.nest--
		return tRight
	}
	if s.nest++; s.nest > maxNest {
		return tBad
	}
	return tLeft
}

// grouping tells that a parenthesis of a source stands around the values of a function: behind its word, within it, or
// around the next point of a PWL.
func (s *scanner) grouping(b byte) bool {
	last := &s.tokens[len(s.tokens)-1]
	switch {
	case s.nest > 0 || s.plain > 0 && b == ')':
		if s.plain > 0 && b == ')' {
			s.plain--
			return false
		}
		return true
	case b == ')':
		return len(s.tokens) > 3 // closes nothing
	case last.Type == tWave || last.Type == tRight:
		return true
	case last.Type == tWord && len(s.tokens) > 3 && !isNumber(last.Value):
		return true // of a function that nobody knows
	}
	s.plain++
	return false
}

// quoted reads a name in double quotes; it may hold blanks but no line end.
func (s *scanner) quoted() {
	for i := s.at + 1; i < s.to(); i++ {
		if s.text[i] == '"' {
			s.emit(tString, s.at+1, i)
			s.at = i + 1
			return
		}
	}
	s.emit(tBad, s.at, s.to())
	s.at = s.to()
}

// tail takes the rest of the card as it stands.
func (s *scanner) tail() {
	for {
		if _, ok := s.skip(); !ok {
			return
		}
		from, to := s.run(blank)
		s.emit(tTail, from, to)
	}
}

// kind tells what a word is at its place on its card.
func (s *scanner) kind(from, to int) lexer.TokenType {
	if from == to {
		return tNone
	}
	place, word := len(s.tokens), strings.ToLower(string(s.text[from:to]))
	switch s.head {
	case tV, tI:
		if place < 3 {
			break
		}
		switch {
		case word == "dc":
			return tDc
		case word == "ac":
			return tAc
		case word == "distof1", word == "distof2":
			return tDistof
		case waves[word] != "" && !s.equals():
			return tWave
		}
	case tE, tG, tF, tH:
		if place != 3 {
			break
		}
		if word == "value" || word == "vol" && s.equals() || word == "cur" && s.equals() {
			return tFormula
		}
		switch {
		case kinds[word]:
			return tNone // says again what the letter says
		case word == "poly":
			return tPoly
		case word == "table" && s.opens():
			return tTable
		case laws[word]:
			return tLaw
		}
	case tB:
		if place == 3 && (word == "v" || word == "i") && s.equals() {
			return tFormula
		}
	case tX, tSubckt:
		if rest, ok := parameterWord(word); ok && rest == "" && place > 1 {
			return tParams
		}
	case tModel:
		if place == 2 && strings.HasPrefix(word, "ako:") {
			return tAko
		}
	}
	if s.equals() {
		return tKey
	}
	if at := flagFrom[s.head]; at > 0 && place >= at && (word == "on" || word == "off") && s.tokens[place-1].Type != tEq {
		return tFlag
	}
	return tWord
}

// parameterWord tells that a word begins with "params:"; rest is what follows without a blank.
func parameterWord(word string) (rest string, ok bool) {
	for _, p := range []string{"params:", "param:"} {
		if len(word) >= len(p) && strings.EqualFold(word[:len(p)], p) {
			return word[len(p):], true
		}
	}
	return "", false
}

// afterParams cuts "params:" from what follows it without a blank, and joins "params" with a ":" that stands apart.
func (s *scanner) afterParams(from, to int) int {
	word := string(s.text[from:to])
	if rest, ok := parameterWord(word); ok && rest != "" && len(s.tokens) > 1 {
		s.at = to - len(rest)
		return s.at
	}
	if !strings.EqualFold(word, "params") && !strings.EqualFold(word, "param") || len(s.tokens) < 2 {
		return to
	}
	ahead := *s
	if b, ok := ahead.skip(); ok && b == ':' && ahead.seg == s.seg {
		s.at = ahead.at + 1
		s.emit(tParams, from, s.at)
		return from
	}
	return to
}

// kindOf takes the model's name behind "ako:", with or without a blank between.
func (s *scanner) kindOf(from, to int) {
	if from += len("ako:"); from == to {
		if _, ok := s.skip(); ok {
			from, to = s.run(delimiter)
		}
	}
	t := tAko
	if from == to {
		t = tBad
	}
	s.emit(t, from, to)
}

// opens tells that an expression in braces or quotes comes next, behind "=" or not.
func (s *scanner) opens() bool {
	ahead := *s
	b, ok := ahead.skip()
	if ok && b == '=' {
		ahead.at++
		b, ok = ahead.skip()
	}
	return ok && (b == '{' || b == '\'')
}

// equals tells that "=" comes next.
func (s *scanner) equals() bool {
	ahead := *s
	b, ok := ahead.skip()
	return ok && b == '=' && (ahead.at+1 >= ahead.to() || s.text[ahead.at+1] != '=')
}
