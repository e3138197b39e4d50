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
	for i := 0; i < len(text); {
		end := i
		for end < len(text) && class[text[end]] != lineEnd {
			end++
		}
		line := bytes.TrimLeft(text[i:end], " \t\f\v")
		if len(line) > 0 && line[0] == '.' {
			word := line[:len(line)-len(bytes.TrimLeftFunc(line, func(r rune) bool { return r >= 128 || !delimiter(byte(r)) }))]
			switch dotWords[string(bytes.ToLower(word))] {
			case tSubckt:
				l.at, steps = append(l.at, uint32(i)), append(steps, -1)
			case tEnds:
				l.at, steps = append(l.at, uint32(i)), append(steps, 1)
			}
		}
		i = end + 1
	}
	l.later = make([]int, len(steps)+1)
	for k := len(steps) - 1; k >= 0; k-- {
		l.later[k] = l.later[k+1] + steps[k]
	}
	return l
}

// after is how many more cards close than open behind the card that holds a byte.
func (l *levels) after(at uint32) int {
	k, found := slices.BinarySearch(l.at, at+1)
	if !found && k < len(l.at) && l.at[k] == at {
		k++
	}
	return l.later[k]
}
