package volt

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// between proves how far the reading goes between the ends of the causes that several coefficients share: a temperature,
// the common resistance of two legs. At one corner of all else the reading is a quotient of two polynomials in them, of
// known degrees. In the Bernstein form of both over the whole range the quotient of the coefficients is nowhere passed
// (G. Farin, "Curves and Surfaces for CAGD", ch. 13, on rational curves: they stay in the convex hull of their control
// points). Where that is more than was found, the range is halved a few times.
//
// It returns what is proved, and the combinations of the other causes in which that is more than was found.
func (s *search) between() (suspects []suspect, proven quantity.Interval) {
	all := func() (out []suspect, proven quantity.Interval) { // nothing is known
		return []suspect{{s.low.at, false}, {s.high.at, true}}, quantity.Everything
	}
	m := s.mixed()
	if m == nil {
		return all()
	}
	had := s.is.effort
	s.is.effort = 0 // it has a share of its own
	m.combinations(func(at []float64) bool {
		before := m.proven
		m.proven = quantity.Nothing
		m.combination(at)
		if m.proven.Lo < m.found.Lo-m.near {
			suspects = append(suspects, suspect{slices.Clone(at), false})
		}
		if m.proven.Hi > m.found.Hi+m.near {
			suspects = append(suspects, suspect{slices.Clone(at), true})
		}
		m.proven = m.proven.Union(before)
		return !m.failed
	})
	if m.failed = m.failed || s.is.effort > mostEffort; !s.is.stopped {
		s.is.effort = had
	}
	if m.failed {
		return all()
	}
	return suspects, m.proven
}

// A mix is the proof at hand: a plan in which a shared cause belongs to each coefficient that it moves.
type mix struct {
	*plan
	s      *search
	found  quantity.Interval
	near   float64 // what is no more than rounding beyond it
	proven quantity.Interval
	shared []sharedCause
	of     [][]int // of each param: which of the shared it follows
	below  [][]int // those of them in which not its entry is a polynomial, but the inverse of that
	alone  [][]int // of each param: its other causes
	failed bool    // too much work

	units []unit      // at the combination at hand: the known values that vary
	unit  map[int]int // of a known value: its unit
	sides map[string]*side
}

// A unit is a known value as a column of its own, with the same number.
type unit struct {
	of        int
	lo, width float64
}

// A sharedCause has the degree in it that the equations' determinant has.
type sharedCause struct {
	cause    int
	from, to float64
	degree   int
	moves    bool // what stands on the right-hand side
	nodes    []float64
	inverse  [][]float64 // from values at the nodes to Bernstein coefficients
}

// mostDegree is the highest degree that is looked at.
const mostDegree = 8

// mixed prepares the proof; nil where a coefficient is no polynomial in a shared cause, nor the inverse of one.
func (s *search) mixed() *mix {
	if s.dying || !s.all {
		return nil
	}
	p := *s.plan
	p.outer = slices.DeleteFunc(slices.Clone(p.outer), func(c int) bool { return slices.Contains(s.shared, c) })
	p.own = make([][]int, len(s.own))
	m := &mix{plan: &p, s: s, found: quantity.Interval{Lo: s.low.value, Hi: s.high.value}, proven: quantity.Nothing,
		of: make([][]int, len(s.own)), below: make([][]int, len(s.own)), alone: s.own}
	m.near = 1e-9 * max(1, math.Abs(m.found.Lo), math.Abs(m.found.Hi))
	params := s.is.work.params
	for k := range s.own {
		p.own[k] = slices.Clone(s.own[k])
	}
	at := p.inside()
	for i, c := range s.shared {
		one := p.share(c)
		for k, q := range params {
			if !slices.Contains(s.b.Uses[q.input], c) {
				continue
			}
			entry := func() float64 { return q.entry(s.b.Argument(q.input, at)) }
			d := one.degreeOf(at, entry)
			if d < 0 {
				if d = one.degreeOf(at, func() float64 { return 1 / entry() }); d < 0 {
					return nil
				}
				m.below[k] = append(m.below[k], i)
			}
			one.degree += d
			p.own[k], m.of[k] = append(p.own[k], c), append(m.of[k], i)
		}
		most := 0 // of what stands on the right-hand side
		for _, of := range p.knownOf([]int{c}) {
			d := one.degreeOf(at, func() float64 { return p.knownAt(of, at) })
			if d < 0 && !s.is.onlyScales(of) {
				return nil
			}
			most = max(most, d)
		}
		if one.moves = most > 0; one.moves {
			one.degree += most
		}
		if one.degree > mostDegree {
			return nil
		}
		one.prepare()
		m.shared = append(m.shared, one)
	}
	return m
}

// share is a cause that may be shared, its degree not yet known.
func (p *plan) share(c int) sharedCause {
	v := p.b.Values[c]
	return sharedCause{cause: c, from: v[0], to: v[len(v)-1]}
}

// degreeOf is the degree of a function of causes as a polynomial in this one: 0 to 2, or -1 where it is none of these.
func (c *sharedCause) degreeOf(at []float64, f func() float64) int {
	was := at[c.cause]
	defer func() { at[c.cause] = was }()
	var y [6]float64
	size := 0.0
	for i := range y {
		at[c.cause] = c.from + (c.to-c.from)*(float64(i)+0.5)/float64(len(y)) // not at an end, where 0 ohm is a little more
		y[i] = f()
		size = max(size, math.Abs(y[i]))
	}
	for d := range 3 { // differences of a polynomial of degree d vanish from d+1 on
		zero := true
		for i := range len(y) - 1 - d {
			y[i] = y[i+1] - y[i]
			zero = zero && math.Abs(y[i]) <= 1e-12*size
		}
		if zero {
			return d
		}
	}
	return -1
}

// prepare picks the nodes, and works out how coefficients follow from values there.
func (c *sharedCause) prepare() {
	n := c.degree
	c.nodes = make([]float64, n+1)
	a := make([][]float64, n+1)
	for i := range a {
		t := (1 - math.Cos(math.Pi*float64(i)/float64(max(n, 1)))) / 2
		c.nodes[i] = c.from + t*(c.to-c.from)
		a[i] = make([]float64, 2*n+2)
		for j := range n + 1 {
			a[i][j] = binomial(n, j) * math.Pow(t, float64(j)) * math.Pow(1-t, float64(n-j))
		}
		a[i][n+1+i] = 1
	}
	for k := range a { // by Gauss and Jordan; the matrix is well-conditioned at these degrees
		p := k
		for i := k; i < len(a); i++ {
			if math.Abs(a[i][k]) > math.Abs(a[p][k]) {
				p = i
			}
		}
		a[k], a[p] = a[p], a[k]
		f := a[k][k]
		for j := range a[k] {
			a[k][j] /= f
		}
		for i := range a {
			if g := a[i][k]; i != k && g != 0 {
				for j := range a[i] {
					a[i][j] -= g * a[k][j]
				}
			}
		}
	}
	for i := range a {
		c.inverse = append(c.inverse, a[i][n+1:])
	}
}

func binomial(n, k int) float64 {
	out := 1.0
	for i := range k {
		out = out * float64(n-i) / float64(i+1)
	}
	return math.Round(out)
}

// combination looks at one combination of the outer causes, as a search does.
func (m *mix) combination(at []float64) {
	is, w := m.is, m.is.work
	sub := &search{plan: m.plan, most: m.s.most}
	x := m.b.Arguments(at)
	clear(w.on)
	if is.excluded(x) || is.dead(x) {
		return
	}
	spans, _ := sub.spans(slices.Clone(at), x)
	side, ok := m.unfold(slices.Clone(at), x)
	if !ok {
		m.failed = true
		return
	}
	for _, on := range sub.states(x) {
		copy(w.on, on)
		is.joinGroups(x)
		floats, fate := sub.fate(x, side)
		if fate != tied {
			continue
		}
		pc := m.piece(x, spans, side, floats)
		if pc == nil {
			m.failed = m.failed || is.metered && is.effort > mostEffort
			continue
		}
		m.blend(pc, slices.Clone(at))
		if m.failed {
			return
		}
	}
}

// unfold is a right-hand side on which every known value that varies stands by itself. What the causes make of them
// together is for sideAt to say, wherever those that are shared stand.
func (m *mix) unfold(at, x []float64) (*side, bool) {
	all := m.plan.side(slices.Clone(at), x)
	if all.crowded {
		return nil, false
	}
	m.units, m.unit, m.sides = nil, map[int]int{}, map[string]*side{}
	n := len(m.is.inputs)
	causes := slices.Clone(m.right)
	for _, c := range m.shared {
		causes = append(causes, c.cause)
	}
	out := &side{base: slices.Clone(all.base)}
	for _, of := range m.knownOf(causes) {
		var mine []int
		for _, c := range causes {
			if of < n && slices.Contains(m.b.Uses[of], c) || of >= n && m.scales(of-n, c) {
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
	return out, true
}

// scales tells that a cause moves the current or the resistance of a balance.
func (m *mix) scales(balance, c int) bool {
	b := m.is.balanced[balance]
	return slices.Contains(m.b.Uses[b.amps], c) || slices.Contains(m.b.Uses[b.ohms], c)
}

// sideAt is the right-hand side where the shared causes have the values that they have in at.
func (m *mix) sideAt(at []float64) *side {
	key := make([]byte, 0, 8*len(m.shared))
	for _, c := range m.shared {
		u := math.Float64bits(at[c.cause])
		for k := range 8 {
			key = append(key, byte(u>>(8*k)))
		}
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
