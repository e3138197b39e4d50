package parse

import (
	"bufio"
	"strings"
	"unicode/utf8"
)

// maxColumn is where printed cards are folded.
const maxColumn = 120

// A printedWord is one word of a printed card, in pieces between which a line that would become too long may be broken.
type printedWord []string

func (w printedWord) width() (n int) {
	for _, s := range w {
		n += utf8.RuneCountInString(s)
	}
	return n
}

// enclose puts something directly before and behind a word.
func (w printedWord) enclose(before, behind string) printedWord {
	if len(w) == 0 {
		return printedWord{before + behind}
	}
	out := append(printedWord{}, w...)
	out[0] = before + out[0]
	out[len(out)-1] += behind
	return out
}

// writeCard writes a card and folds it with "+" lines. A word is broken only where it is too long for a line.
func writeCard(out *bufio.Writer, card []printedWord) {
	column, line := 0, ""
	fold := func() {
		out.WriteString(closedLine(line) + "\n")
		column, line = 2, "+ "
	}
	for i, w := range card {
		next := w.width()
		long := next > maxColumn-2
		if long {
			next = utf8.RuneCountInString(w[0])
		}
		switch {
		case i == 0:
		case column+1+next <= maxColumn:
			line += " "
			column++
		default:
			fold()
		}
		for _, s := range w {
			n := utf8.RuneCountInString(s)
			if long && column > 2 && column+n > maxColumn {
				fold()
				s = bareWord(s)[0]
			}
			line += s
			column += n
		}
	}
	out.WriteString(closedLine(line) + "\n")
}

// closedLine is a line that does not go on in the next one, even if its last word ends with a backslash.
func closedLine(s string) string {
	if strings.HasSuffix(s, `\`) {
		return s + " ;"
	}
	return s
}
