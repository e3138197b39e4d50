package volt

import (
	"encoding/binary"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A unit is a known value as a column of its own, with the same number.
type unit struct {
	of        int
	lo, width float64
}

// unfold is a right-hand side on which every known value that varies stands by itself. What the causes make of them
// together is for sideAt to say, wherever those that are shared stand.
func (m *mix) unfold(at, x []float64) (*side, bool) {
	all := m.plan.side(slices.Clone(at), x)
	if all.crowded {
		return nil, false
	}
	m.units, m.unit, m.sides = nil, map[int]int{}, map[string]*side{}
	causes := slices.Clone(m.right)
	for _, c := range m.shared {
		causes = append(causes, c.cause)
	}
	out := &side{base: slices.Clone(all.base)}
	for _, of := range m.knownOf(causes) {
		var mine []int
		for _, c := range causes {
			if m.follows(of, c) {
				mine = append(mine, c)
			}
		}
		if m.b.Count(mine) > mostCorners {
			return nil, false
		}
		reach := quantity.Nothing
		m.b.Visit(mine, at, func() bool {
			reach = reach.Union(quantity.Point(m.knownAt(of, at)))
			return true
		})
		if reach.Lo == reach.Hi {
			continue
		}
		k := len(out.columns)
		out.base[of] = reach.Lo
		out.columns = append(out.columns, column{bundle: k, moves: []move{{of, reach.Width()}}})
		out.bundles = append(out.bundles, bundle{first: k, columns: 1, straight: true})
		m.unit[of] = k
		m.units = append(m.units, unit{of, reach.Lo, reach.Width()})
	}
	out.measure()
	return out, true
}

// sideAt is the right-hand side where the shared causes have the values that they have in at.
func (m *mix) sideAt(at []float64) *side {
	key := make([]byte, 0, 8*len(m.shared))
	for _, c := range m.shared {
		key = binary.LittleEndian.AppendUint64(key, math.Float64bits(at[c.cause]))
	}
	s, ok := m.sides[string(key)]
	if !ok {
		at = slices.Clone(at)
		for _, c := range m.right {
			at[c] = m.b.Values[c][0]
		}
		s = m.plan.side(at, m.b.Arguments(at))
		m.sides[string(key)] = s
	}
	return s
}

// fold is what a row of units, base first, has for 1 and for each column of a right-hand side.
func (m *mix) fold(row []float64, s *side) []float64 {
	out := make([]float64, 1+len(s.columns))
	out[0] = row[0]
	for k, u := range m.units {
		out[0] += row[1+k] * (s.base[u.of] - u.lo) / u.width
	}
	for c, col := range s.columns {
		for _, mv := range col.moves {
			if k, ok := m.unit[mv.of]; ok {
				out[1+c] += row[1+k] * mv.by / m.units[k].width
			}
		}
	}
	return out
}
