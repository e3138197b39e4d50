package source

import (
	"iter"
	"strings"
)

// Nearest is the known name closest to one that was mistyped, or "" when none is close: at most a third of its letters,
// and never more than three, may differ. Case does not count.
func Nearest(name string, known iter.Seq[string]) (best string) {
	return nearest(name, known, nil)
}

// longest is how long a name may be for which a near one is looked for.
const longest = 64

// Hints bounds the search for near names over many troubles: a netlist of thousands of unknown names among thousands of
// known ones would take as long as all pairs of them.
type Hints struct{ Left int }

// Nearest is the function of that name while comparisons are left, then "".
func (h *Hints) Nearest(name string, known iter.Seq[string]) string {
	if h.Left <= 0 {
		return ""
	}
	return nearest(name, known, h)
}

func nearest(name string, known iter.Seq[string], h *Hints) (best string) {
	if len(name) > longest {
		return ""
	}
	name = strings.ToLower(name)
	least := min(3, max(1, len(name)/3)) + 1
	for k := range known {
		if h != nil {
			if h.Left--; h.Left < 0 {
				return ""
			}
		}
		if len(k) > 4*longest || len(k)-len(name) > 4*3 || len(name)-len(k) > 4*3 { // a letter has at most four bytes
			continue
		}
		if d := distance(name, strings.ToLower(k)); d < least || d == least && best != "" && k < best {
			least, best = d, k
		}
	}
	return best
}

// distance counts the single-letter edits and swaps of neighbours between two words.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	prev2, prev, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := range x {
		row[0] = i + 1
		for j := range y {
			cost := 1
			if x[i] == y[j] {
				cost = 0
			}
			row[j+1] = min(prev[j]+cost, prev[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				row[j+1] = min(row[j+1], prev2[j-1]+1)
			}
		}
		prev2, prev, row = prev, row, prev2
	}
	return prev[len(y)]
}
