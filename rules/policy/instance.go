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

// Whole is what stands for a whole netlist.
const Whole = "netlist"

// Instance is what a result is about, which with its rule is what it is accepted by: the path of its block; of a trouble
// with an input the name of the card, or the whole key, that it stands in, wherever that is; of one with a house rule that
// rule, or its file. What is about a whole netlist is Whole.
func Instance(set *source.Set, r rules.Result) string {
	switch {
	case r.Block != "":
		return r.Block
	case r.Rule == "house-rule": // its message begins with the rule or the file
		name, _, _ := strings.Cut(r.Message, ": ")
		return source.Clip(name, longest)
	case r.At.None():
		return Whole
	}
	text := set.File(r.At.File).Text
	at := lineStart(text, int(r.At.Byte))
	for back := 0; at > 0 && at < len(text) && back < mostLines && (text[at] == '+' || back > 0 && text[at] == '*'); back++ { // up to where the card begins
		at = lineStart(text, at-1)
	}
	switch comment := at < len(text) && text[at] == '*'; {
	case r.At.Len == 0 && r.At.Byte == 0, comment && at == 0: // the title, where what is about the whole netlist stands
		return Whole
	case comment: // a comment card holds a line of its own
		at = int(r.At.Byte)
	}
	line := text[at:]
	word, rest := firstWord(line)
	if strings.HasSuffix(strings.ToLower(set.File(r.At.File).Path), ".toml") {
		return underHeader(text[:at], word)
	}
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

// underHeader is a key of a TOML file with the header that it stands under.
func underHeader(before []byte, key string) string {
	for i := len(before); i > 0; {
		start := lineStart(before, i-1)
		if before[start] == '[' {
			header, _ := firstWord(before[start:])
			return source.Clip(header+"."+key, longest)
		}
		i = start
	}
	return key
}
