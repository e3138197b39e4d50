package parse

import (
	"bytes"
	"strings"
)

// A segment is the part of one physical line that belongs to a card: without blanks around it, continuation mark and
// trailing comment. From and To are bytes of the file.
type segment struct{ From, To int }

// A logical line is one card before it is read: the segments of all its physical lines.
type logical []segment

// A liner cuts a text into logical lines.
type liner struct {
	text    []byte
	at      int
	comment func(from, to int) // called for each comment line with what follows its mark
}

// line returns the next physical line without its end, which is LF, CRLF or a lone CR.
func (l *liner) line() (from, to int, ok bool) {
	if l.at >= len(l.text) {
		return 0, 0, false
	}
	from = l.at
	k := bytes.IndexAny(l.text[from:], "\r\n")
	if k < 0 {
		l.at = len(l.text)
		return from, l.at, true
	}
	to = from + k
	l.at = to + 1
	if l.text[to] == '\r' && l.at < len(l.text) && l.text[l.at] == '\n' {
		l.at++
	}
	return from, to, true
}

// commentLine tells that a line that starts with a byte is a comment: by the reader of the published SPICE3f5 program
// source. Nothing that could be meant starts with one of them.
func commentLine(b byte) bool { return b == '*' || b == '#' || b == '$' }

// idle moves over empty lines and comments to the first byte of a card.
func (l *liner) idle() {
	for l.at < len(l.text) {
		i := l.at
		for i < len(l.text) && blank(l.text[i]) {
			i++
		}
		if i < len(l.text) && !commentLine(l.text[i]) && class[l.text[i]] != lineEnd {
			l.at = i
			return
		}
		if _, to, _ := l.line(); to > i {
			l.comment(i+1, to)
		}
	}
}

// next returns the next card. A comment or an empty line between a card and its "+" line does not part them. A line
// that ends with a backslash goes on in the next line, whatever that starts with.
func (l *liner) next() (card logical, ok bool) {
	var passed []segment // comment lines since the card's last line
	open := false        // the card's last line ends with a backslash
	for {
		before := l.at
		from, to, more := l.line()
		if !more {
			if len(card) > 0 {
				l.at = card.rewind(l.text, l.at)
			}
			return card, len(card) > 0
		}
		for from < to && blank(l.text[from]) {
			from++
		}
		switch {
		case from == to:
			continue
		case commentLine(l.text[from]):
			if len(card) == 0 {
				l.comment(from+1, to)
			} else {
				passed = append(passed, segment{from + 1, to})
			}
			continue
		case l.text[from] == '+' && len(card) > 0:
			from++
		case open:
		default:
			if seg := l.trim(from, to); seg.From == seg.To {
				continue // nothing but a trailing comment
			}
			if len(card) > 0 {
				// Complete. Comment lines passed on the way are read again, now as comments before the next card.
				l.at = card.rewind(l.text, before)
				return card, true
			}
		}
		for _, c := range passed {
			l.comment(c.From, c.To)
		}
		passed = nil
		var seg segment
		if seg, open = l.unfinished(l.trim(from, to), to); seg.From == seg.To && len(card) == 0 {
			open = false // nothing goes on
			continue
		}
		card = append(card, seg)
	}
}

// unfinished cuts a backslash off the end of a line that goes on in the next.
func (l *liner) unfinished(s segment, to int) (segment, bool) {
	for to > s.To && blank(l.text[to-1]) {
		to--
	}
	if s.To != to || s.To == s.From || l.text[s.To-1] != '\\' {
		return s, false
	}
	for s.To > s.From && (l.text[s.To-1] == '\\' || blank(l.text[s.To-1])) {
		s.To--
	}
	return l.trim(s.From, s.To), true // a mark of comment may be left at the end
}

// rewind finds where reading goes on behind the card: directly after its last physical line.
func (c logical) rewind(text []byte, limit int) int {
	at := c[len(c)-1].To
	for at < limit && text[at] != '\n' && text[at] != '\r' {
		at++
	}
	return at
}

// trim cuts blanks and a trailing comment off a line.
func (l *liner) trim(from, to int) segment {
	quoted := false
	start := true // of a token
scan:
	for i := from; i < to; i++ {
		b := l.text[i]
		switch {
		case b == '"':
			quoted = !quoted
		case quoted:
		case b == ';':
			to = i
			break scan
		case start && dollarComment(l.text[i:to]), start && b == '/' && i+1 < to && l.text[i+1] == '/':
			to = i
			break scan
		}
		start = blank(b)
	}
	for from < to && blank(l.text[from]) {
		from++
	}
	for from < to && blank(l.text[to-1]) {
		to--
	}
	return segment{from, to}
}

// dollarComment tells that a text starts with a comment rather than with a name such as $N_0042.
func dollarComment(s []byte) bool {
	return s[0] == '$' && (len(s) == 1 || blank(s[1]) || s[1] == ';')
}

func blank(b byte) bool { return b == ' ' || b == '\t' || b == '\f' || b == '\v' }

// pragma finds what follows the tool's name in a comment: "shuntwright: ..." with the colon cut off.
func pragma(text []byte, from, to int) (segment, bool) {
	const tag = "shuntwright"
	for from < to && blank(text[from]) {
		from++
	}
	if to-from < len(tag) || !strings.EqualFold(string(text[from:from+len(tag)]), tag) {
		return segment{}, false
	}
	from += len(tag)
	for from < to && blank(text[from]) {
		from++
	}
	if from == to || text[from] != ':' {
		return segment{}, false
	}
	from++
	for from < to && blank(text[from]) {
		from++
	}
	for from < to && blank(text[to-1]) {
		to--
	}
	return segment{from, to}, true
}
