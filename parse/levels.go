package parse

import (
	"bytes"
	"slices"

	"github.com/shuntwright/shuntwright/parse/source"
)

// Levels are the cards of a file that open and close subcircuits.
type levels struct {
	file  source.FileID
	at    []uint32 // bytes of the cards
	later []int    // how many more cards close than open, from that card on
}

func levelsOf(file source.FileID, text []byte) *levels {
	l := &levels{file: file}
	var steps []int
	for at, line := range dotLines(text) {
		if end := bytes.IndexFunc(line, func(r rune) bool { return r < 128 && delimiter(byte(r)) }); end >= 0 {
			line = line[:end]
		}
		switch dotWords[string(bytes.ToLower(line))] {
		case tSubckt:
			l.at, steps = append(l.at, uint32(at)), append(steps, -1)
		case tEnds:
			l.at, steps = append(l.at, uint32(at)), append(steps, 1)
		}
	}
	l.later = make([]int, len(steps)+1)
	for k := len(steps) - 1; k >= 0; k-- {
		l.later[k] = l.later[k+1] + steps[k]
	}
	return l
}

// after is how many more cards close than open behind the card that holds a byte.
func (l *levels) after(at uint32) int {
	k, _ := slices.BinarySearch(l.at, at+1)
	return l.later[k]
}
