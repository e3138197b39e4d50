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
// Where that is too much work, or the degrees are too high, each coefficient counts as if it moved alone.
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
	defer func() {
		if !s.is.stopped {
			s.is.effort = had
		}
	}()
	for _, m.coarse = range []bool{m.coarse, true} {
		suspects, m.failed, m.proven = nil, false, quantity.Nothing
		s.is.effort = 0 // it has a share of its own
		suspects = m.look()
		if m.failed = m.failed || s.is.effort > mostEffort; !m.failed {
			return suspects, m.proven
		}
	}
	return all()
}

// look goes through the combinations of the outer causes.
func (m *mix) look() (suspects []suspect) {
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
	return suspects
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
	coarse bool    // each coefficient moves alone

	units []unit      // at the combination at hand: the known values that vary
	unit  map[int]int // of a known value: its unit
	sides map[string]*side
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
		m.coarse = m.coarse || one.degree > mostDegree || !one.prepare()
		m.shared = append(m.shared, one)
	}
	return m
}

// combination looks at one combination of the outer causes, as a search does.
func (m *mix) combination(at []float64) {
	is, w := m.is, m.is.work
	sub := &search{plan: m.plan, most: m.s.most}
	defer m.part(at)()
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
		pc := m.piece(at, x, spans, side, floats)
		if pc == nil {
			m.failed = m.failed || is.metered && is.effort > mostEffort
			continue
		}
		if m.coarse {
			m.loosely(pc)
		} else {
			m.blend(pc, slices.Clone(at))
		}
		if m.failed {
			return
		}
	}
}

// loosely adds to the bound what the reading may be in one piece if every coefficient moved alone.
func (m *mix) loosely(pc *piece) {
	if _, met := pc.meets(); met == nowhere {
		return
	}
	n := len(pc.params)
	row := pc.with(1, nil)
	first, ok := row.middle()
	if !ok {
		m.proven = quantity.Everything
		return
	}
	for _, sign := range [2]float64{-1, 1} {
		c := row.farthest(first, m.s.most, sign)
		m.failed = m.failed || !m.is.spend(c.steps*n*n*n)
		m.proven = m.proven.Union(quantity.Point(sign * c.outer))
	}
}
