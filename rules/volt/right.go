package volt

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A column is a direction in which the right-hand side may be moved: by t from 0 to 1 times what it does to known
// values. Columns of one bundle add up to 1 at the most.
type column struct {
	bundle int
	moves  []move
	to     []float64 // the values that the bundle's causes have at 1
	rest   float64   // how much farther it would go, for a 1, if a current that it leaves flowing were none
}

type move struct {
	of int // a known value: an input, or the product of a balance
	by float64
}

// A bundle is a set of causes of the right-hand side that act together, and the columns that it has.
type bundle struct {
	causes   []int
	from     []float64 // their values where all columns are 0
	first    int       // of its columns
	columns  int
	straight bool // what lies between two ends is what the causes make of it: else only the corners are attained
}

// A side is the right-hand side at one combination of the outer causes: its known values where all columns are 0, and
// its columns.
type side struct {
	base    []float64
	bundles []bundle
	columns []column
	crowded bool    // more corners than are looked at
	scale   float64 // the largest known value there is, at least 1, in volts or amperes
}

// measure works out the scale.
func (s *side) measure() {
	s.scale = 1
	add := func(v float64) {
		if !quantity.Endless(v) {
			s.scale = max(s.scale, math.Abs(v))
		}
	}
	for _, v := range s.base {
		add(v)
	}
	for _, c := range s.columns {
		for _, m := range c.moves {
			add(s.base[m.of] + m.by)
		}
	}
}

// over is the range of a row over the right-hand side: of its value where all columns are 0, then of its columns.
func (s *side) over(row []float64) (lo, hi float64) {
	lo, hi = row[0], row[0]
	for i := range s.bundles {
		b := &s.bundles[i]
		down, up := 0.0, 0.0
		for _, v := range row[1+b.first : 1+b.first+b.columns] {
			down, up = min(down, v), max(up, v)
		}
		lo, hi = lo+down, hi+up
	}
	return lo, hi
}

// corner are the columns that stand at 1 where what they add to a row is largest. One that adds nothing but rounding
// stays.
func (s *side) corner(columns []float64) (out []int) {
	size := 0.0
	for _, v := range columns {
		size = max(size, math.Abs(v))
	}
	for i := range s.bundles {
		b := &s.bundles[i]
		best, at := 1e-13*size, -1
		for c := b.first; c < b.first+b.columns; c++ {
			if v := columns[c]; v > best {
				best, at = v, c
			}
		}
		if at >= 0 {
			out = append(out, at)
		}
	}
	return out
}

// together are the slopes, with limits of 1, that keep the columns of each bundle at 1 at the most.
func (s *side) together() (slopes [][]float64) {
	for i := range s.bundles {
		if b := &s.bundles[i]; b.columns > 1 {
			slope := make([]float64, len(s.columns))
			for c := range b.columns {
				slope[b.first+c] = -1
			}
			slopes = append(slopes, slope)
		}
	}
	return slopes
}

// alike tells that two right-hand sides have the same bundles.
func (s *side) alike(o *side) bool {
	return !s.crowded && len(s.columns) == len(o.columns) && slices.EqualFunc(s.bundles, o.bundles, func(a, b bundle) bool {
		return a.first == b.first && a.columns == b.columns && slices.Equal(a.causes, b.causes)
	})
}

// mostCorners is how many corners one bundle of causes may have.
const mostCorners = 256

// side bundles the causes of the right-hand side: those that only add up stand by themselves, those that multiply each
// other (a level between two rails, a current times a resistance) are one bundle, of which every corner is a column.
func (p *plan) side(at []float64, x []float64) *side {
	is := p.is
	n := len(is.inputs)
	s := &side{base: make([]float64, n+len(is.balanced))}
	copy(s.base, x[:n])
	for i := range is.balanced {
		s.base[n+i] = is.known(n+i, x)
	}
	for _, group := range p.groups() {
		b := bundle{causes: group, first: len(s.columns), straight: true}
		for _, c := range group {
			b.from = append(b.from, at[c])
		}
		if len(group) > 1 && p.addsUp(group, at, s.base) {
			for i, c := range group {
				one := bundle{causes: []int{c}, from: b.from[i : i+1], first: len(s.columns), straight: true}
				p.ends(s, &one, at)
				s.bundles = append(s.bundles, one)
			}
			continue
		}
		p.ends(s, &b, at)
		s.bundles = append(s.bundles, b)
	}
	s.measure()
	return s
}

// ends adds the columns of a bundle: one for each corner but the first.
func (p *plan) ends(s *side, b *bundle, at []float64) {
	known := p.knownOf(b.causes)
	if p.b.Count(b.causes) > mostCorners {
		s.crowded = true
		return
	}
	first := true
	p.b.Visit(b.causes, at, func() bool {
		if first { // at has the first values
			first = false
			return true
		}
		col := column{bundle: len(s.bundles)}
		for _, of := range known {
			if d := p.knownAt(of, at) - s.base[of]; d != 0 {
				col.moves = append(col.moves, move{of, d})
			}
		}
		for _, c := range b.causes {
			col.to = append(col.to, at[c])
		}
		p.rest(&col, b.causes, known, at)
		s.columns = append(s.columns, col)
		return true
	})
	for i, c := range b.causes {
		at[c] = b.from[i]
	}
	b.columns = len(s.columns) - b.first
	b.straight = b.columns == 1 && p.isStraight(b, s, at)
}

// rest works out how much farther a column would go if a current that it only just leaves flowing were none.
func (p *plan) rest(col *column, causes, known []int, at []float64) {
	for _, c := range causes {
		if part := p.b.Values[c]; p.parts[c] == nil || len(part) < 2 || at[c] != part[1] || !p.fades(c, part) {
			continue
		}
		was := at[c]
		for _, of := range known {
			at[c] = was
			v := p.knownAt(of, at)
			at[c] = 0
			for _, m := range col.moves {
				if m.of == of {
					col.rest = max(col.rest, math.Abs((p.knownAt(of, at)-v)/m.by))
				}
			}
		}
		at[c] = was
	}
}

// isStraight tells that half way between its two ends a bundle's known values are half way.
func (p *plan) isStraight(b *bundle, s *side, at []float64) bool {
	c, col := b.causes[0], s.columns[b.first]
	if p.b.Causes[c].States != nil {
		return false
	}
	at[c] = (b.from[0] + col.to[0]) / 2
	defer func() { at[c] = b.from[0] }()
	for _, m := range col.moves {
		mid := p.knownAt(m.of, at) - s.base[m.of]
		if math.Abs(mid-m.by/2) > 1e-12*math.Abs(m.by)+1e-12*math.Abs(s.base[m.of]) {
			return false
		}
	}
	return true
}

// addsUp tells that the known values move by the sum of what each cause alone moves them.
func (p *plan) addsUp(group []int, at, base []float64) bool {
	known := p.knownOf(group)
	sum := append([]float64(nil), base...)
	for _, c := range group {
		from := at[c]
		at[c] = p.b.Values[c][len(p.b.Values[c])-1]
		for _, of := range known {
			sum[of] += p.knownAt(of, at) - base[of]
		}
		at[c] = from
	}
	from := make([]float64, len(group))
	for i, c := range group {
		from[i] = at[c]
		at[c] = p.b.Values[c][len(p.b.Values[c])-1]
	}
	straight := true
	for _, of := range known {
		v := p.knownAt(of, at)
		if math.Abs(v-sum[of]) > 1e-12*max(math.Abs(v), math.Abs(base[of])) {
			straight = false
		}
	}
	for i, c := range group {
		at[c] = from[i]
	}
	return straight
}

// knownAt is a known value where the causes have these values.
func (p *plan) knownAt(of int, at []float64) float64 {
	if n := len(p.is.inputs); of >= n {
		b := p.is.balanced[of-n]
		return p.b.Argument(b.amps, at) * p.b.Argument(b.ohms, at)
	}
	return p.b.Argument(of, at)
}

// knownOf are the known values that some causes move.
func (p *plan) knownOf(causes []int) (out []int) {
	n := len(p.is.inputs)
	moved := make([]bool, n)
	for i := range n {
		for _, c := range p.b.Uses[i] {
			for _, o := range causes {
				moved[i] = moved[i] || o == c
			}
		}
		if moved[i] && p.is.work.role[i] == known {
			out = append(out, i)
		}
	}
	for i, b := range p.is.balanced {
		if moved[b.amps] || moved[b.ohms] {
			out = append(out, n+i)
		}
	}
	return out
}

// groups are the causes of the right-hand side, those that meet in a known value together.
func (p *plan) groups() (out [][]int) {
	n := len(p.is.inputs)
	at := map[int]int{} // of a cause: its group
	g := make(groups, len(p.right))
	g.reset()
	for k, c := range p.right {
		at[c] = k
	}
	join := func(inputs ...int) {
		first := -1
		for _, i := range inputs {
			for _, c := range p.b.Uses[i] {
				if k, ok := at[c]; ok {
					if first >= 0 {
						g[g.find(k)] = g.find(first)
					}
					first = k
				}
			}
		}
	}
	for i := range n {
		join(i)
	}
	for _, b := range p.is.balanced {
		join(b.amps, b.ohms)
	}
	of := map[int]int{}
	for k, c := range p.right {
		root := g.find(k)
		if _, ok := of[root]; !ok {
			of[root] = len(out)
			out = append(out, nil)
		}
		out[of[root]] = append(out[of[root]], c)
	}
	return out
}
