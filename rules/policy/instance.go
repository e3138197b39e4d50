package policy

import (
	"bytes"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

const (
	longest   = 200  // bytes of a word that stands for an instance
	mostLines = 1000 // of a card before the place of a trouble
)

// Instance is what a result is about, which with its rule is what it is accepted by: the path of its block; of a trouble
// with an input the name of the card or key that it stands in, wherever that is. It is "" for what is about a whole netlist.
func Instance(set *source.Set, r rules.Result) string {
	switch {
	case r.Block != "":
		return r.Block
	case r.At.None():
		return ""
	}
	text := set.File(r.At.File).Text
	at := lineStart(text, int(r.At.Byte))
	for back := 0; at > 0 && at < len(text) && back < mostLines && (text[at] == '+' || back > 0 && text[at] == '*'); back++ { // up to where the card begins
		at = lineStart(text, at-1)
	}
	switch comment := at < len(text) && text[at] == '*'; {
	case comment && at == 0: // the title, where what is about the whole netlist stands
		return ""
	case comment: // a comment card holds a line of its own
		at = int(r.At.Byte)
	}
	line := text[at:]
	word, rest := firstWord(line)
	if strings.HasPrefix(word, ".") {
		if name, _ := firstWord(rest); name != "" {
			return name
		}
	}
	return strings.TrimLeft(word, ".")
}

// lineStart is where the line of a place begins.
func lineStart(text []byte, at int) int { return bytes.LastIndexAny(text[:at], "\r\n") + 1 }

// firstWord is the first word of a line and what follows it in the line.
func firstWord(line []byte) (word string, rest []byte) {
	if end := bytes.IndexAny(line, "\r\n"); end >= 0 {
		line = line[:end]
	}
	const between = " \t=,;(){}[]\"'*"
	line = bytes.TrimLeft(line, between)
	end := bytes.IndexAny(line, between)
	if end < 0 {
		end = len(line)
	}
	return source.Clip(string(line[:end]), longest), line[end:]
}
