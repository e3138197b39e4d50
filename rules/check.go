package rules

import (
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
)

// A Check is one quantity held against one or two limits. Its methods say what a failure means and what would cure it.
type Check struct {
	Quantity quantity.Quantity

	low, high *limit
	beside    *limit // the other end of the range, shown but judged by another rule
	level     Level
	band      float64 // also warn within this fraction of a limit's size
	rating    bool    // reaching the limit is already a failure
	fails     func(Measure) string
	shows     func(high bool) string
	path      func(high bool) string
	label     func(*quantity.Cause) string
	knobs     []knob
	stated    bool   // no quantity is held: kind says how it came out
	said      string // of a stated one
	on        *design.Element
	related   []source.Related
	told      []quantity.Need // what other rules miss because of this failure
	same      string          // the rule that finds the same defect on other blocks too
	advice    string
	base      map[string]float64 // pin voltages that drives start from

	measure Measure
	kind    Kind
	needs   []quantity.Need
	grade   quantity.Grade
	assumed []string
}

type limit struct {
	at     quantity.Quantity
	text   string
	margin quantity.Quantity
}

// Within holds a quantity inside an allowed range; text names the range.
func (p *Bench) Within(q, lo, hi quantity.Quantity, text string) *Check {
	return p.check(q, &limit{at: lo, text: text}, &limit{at: hi, text: text})
}

// AtMost holds a quantity at or below a limit; both may be uncertain and share causes.
func (p *Bench) AtMost(q, hi quantity.Quantity, text string) *Check {
	return p.check(q, nil, &limit{at: hi, text: text})
}

// AtLeast holds a quantity at or above a limit.
func (p *Bench) AtLeast(q, lo quantity.Quantity, text string) *Check {
	return p.check(q, &limit{at: lo, text: text}, nil)
}

// Carry puts a quantity among the result's that nothing is held against: a constant that firmware wants to know.
func (p *Bench) Carry(q quantity.Quantity) { p.check(q, nil, nil) }

func (p *Bench) check(q quantity.Quantity, low, high *limit) *Check {
	c := &Check{Quantity: q, low: low, high: high, level: p.rule.Level}
	if low != nil {
		low.margin = quantity.Minus("margin", q, low.at)
	}
	if high != nil {
		high.margin = quantity.Minus("margin", high.at, q)
	}
	p.checks = append(p.checks, c)
	return c
}

// Beside shows an upper limit that another rule judges.
func (c *Check) Beside(hi quantity.Quantity, text string) *Check {
	c.beside = &limit{at: hi, text: text}
	return c
}

// At sets the level of this check's failure.
func (c *Check) At(l Level) *Check { c.level = l; return c }

// Band also warns when a margin is thinner than this fraction of the limit it is nearest to.
func (c *Check) Band(fraction float64) *Check { c.band = fraction; return c }

// Rating makes reaching the limit a failure: a rating that ends life, not a range that ends a guarantee.
func (c *Check) Rating() *Check { c.rating = true; return c }

// Fails words a failure; the measure is settled when it is called.
func (c *Check) Fails(f func(Measure) string) *Check { c.fails = f; return c }

// Shows words how the deciding end comes about.
func (c *Check) Shows(f func(high bool) string) *Check { c.shows = f; return c }

// Path names the way that sets an end.
func (c *Check) Path(f func(high bool) string) *Check { c.path = f; return c }

// Labels words the origins of the quantity: what part of it a cause belongs to.
func (c *Check) Labels(f func(*quantity.Cause) string) *Check { c.label = f; return c }

// Lower names elements whose value, made smaller, would cure a failure; the value is found by judging again.
func (c *Check) Lower(e ...design.Element) *Check { return c.knob(knob{elements: e}) }

// Raise names elements whose value, made larger, would cure a failure.
func (c *Check) Raise(e ...design.Element) *Check { return c.knob(knob{elements: e, up: true}) }

// Drive names a pin that an ideal source at another voltage would cure.
func (c *Check) Drive(pin string, from float64, up bool) *Check {
	if c.base == nil {
		c.base = map[string]float64{}
	}
	c.base[pin] = from
	return c.knob(knob{pin: pin, up: up})
}

// Widen names a field of the record that a part with a wider range would cure.
func (c *Check) Widen(key string) *Check { return c.knob(knob{key: key}) }

// Try names changes that would cure a failure as they are, such as two pins swapped; text is what they are to a person.
func (c *Check) Try(text string, changes ...design.Change) *Check {
	return c.knob(knob{text: text, changes: changes})
}

func (c *Check) knob(k knob) *Check {
	if len(k.elements) > 0 || k.pin != "" || k.key != "" || len(k.changes) > 0 {
		c.knobs = append(c.knobs, k)
	}
	return c
}

// noticeable is the part of a margin that an assumption must be able to move to be listed.
const noticeable = 1e-3

// settle turns margins into a verdict: Seen proves failures, Sound proves passes, the gap is open where something is
// missing, else review.
func (c *Check) settle() {
	if c.stated {
		c.measure = Measure{Kind: c.kind, Level: c.level, Margin: math.NaN()}
		return
	}
	q := c.Quantity
	m := Measure{Name: q.Name, Unit: q.Unit, Min: math.NaN(), Max: math.NaN(), SoundMin: q.Sound.Lo, SoundMax: q.Sound.Hi,
		LimitMin: math.NaN(), LimitMax: math.NaN(), Margin: math.NaN(), Loose: q.Loose}
	if !q.Seen.Empty() {
		m.Min, m.Max = q.Seen.Lo, q.Seen.Hi
	}
	c.kind, m.Level = KindPass, c.level
	worst, decided := math.Inf(1), KindPass
	for _, side := range []struct {
		l    *limit
		high bool
	}{{c.low, false}, {c.high, true}} {
		if side.l == nil {
			continue
		}
		l := side.l.at
		end := l.Seen.Lo
		if !side.high {
			end = l.Seen.Hi
		}
		if l.Seen.Empty() {
			end = math.NaN()
		}
		if side.high {
			m.LimitMax = end
		} else {
			m.LimitMin = end
		}
		k, level := c.verdict(side.l.margin, end)
		if k == KindFail && (c.kind < KindFail || level > m.Level) {
			m.Level = level
		}
		margin := side.l.margin.Seen.Lo
		switch {
		case side.l.margin.Seen.Empty():
			margin = math.NaN()
		case k == KindPass && len(side.l.margin.Needs) > 0: // proved for anything that nobody said: that is the margin
			margin = side.l.margin.Sound.Lo
		}
		if k > c.kind || k == c.kind && (margin < worst || math.IsNaN(m.Margin)) {
			m.AtHigh, m.Margin, m.LimitText = side.high, margin, side.l.text
			m.LimitFrom = origins(side.l.at, !side.high, nil)
			worst = margin
		}
		c.kind = max(c.kind, k)
		c.grade = max(c.grade, side.l.margin.Grade)
		for _, n := range side.l.margin.Needs {
			if !slices.Contains(c.needs, n) {
				c.needs = append(c.needs, n)
			}
		}
		if k > decided { // assumptions of a side that holds do not explain one that does not
			c.assumed, decided = nil, k
		}
		if k == decided {
			for _, note := range side.l.margin.Notes(noticeable * math.Abs(margin)) {
				if !slices.Contains(c.assumed, note) {
					c.assumed = append(c.assumed, note)
				}
			}
		}
	}
	if c.beside != nil && !c.beside.at.Seen.Empty() {
		m.LimitMax = c.beside.at.Seen.Lo
	}
	c.together(&m)
	m.Kind = c.kind
	m.Reason = q.Reason(m.AtHigh)
	m.From = origins(q, m.AtHigh, c.label)
	m.Witness = witness(q, m.AtHigh)
	c.measure = m
	if c.path != nil {
		if t := c.path(m.AtHigh); t != "" {
			c.measure.Witness = append([]string{t}, m.Witness...)
		}
	}
	if c.shows != nil && known(m.Min) && known(m.Max) {
		c.measure.Arithmetic = c.shows(m.AtHigh)
	}
}

// together shows the limit of the deciding end as it stands in the state of the worst margin, where that state is also the one
// of the reached end: what one rail moves both ways is no distance.
func (c *Check) together(m *Measure) {
	side, reach, shown := c.low, m.Min, &m.LimitMin
	if m.AtHigh {
		side, reach, shown = c.high, m.Max, &m.LimitMax
	}
	if side == nil || c.beside != nil || !known(reach) || !known(*shown) || !(side.at.Seen.Width() > 0) {
		return
	}
	x, ok := side.margin.Corner(false, []quantity.Quantity{c.Quantity, side.at})
	if ok && math.Abs(x[0]-reach) <= 1e-6*math.Abs(reach) {
		*shown = x[1]
	}
}

// verdict judges one margin.
func (c *Check) verdict(m quantity.Quantity, end float64) (Kind, Level) {
	eps := 1e-9 * max(math.Abs(end), math.Abs(m.Seen.Lo), 1e-6)
	if !known(eps) {
		eps = 1e-15
	}
	least := -eps // at the limit is still inside
	if c.rating {
		least = eps
	}
	switch band := c.band * math.Abs(end); {
	case m.Sound.Empty() || math.IsNaN(m.Sound.Lo) || m.Sound == quantity.Everything && m.Seen.Empty(): // no state was found
		return KindOpen, 0
	case !m.Seen.Empty() && m.Seen.Lo < least:
		return KindFail, c.level
	case c.band > 0 && !m.Seen.Empty() && m.Seen.Lo < band-eps:
		return KindFail, min(c.level, Warning)
	case m.Unsaid(): // nothing missing reads as a pass
		return KindOpen, 0
	case m.Sound.Lo < least || c.band > 0 && m.Sound.Lo < band-eps && known(band):
		if len(m.Needs) > 0 {
			return KindOpen, 0
		}
		return KindReview, 0
	case m.Grade == quantity.Soft:
		return KindReview, 0
	}
	return KindPass, 0
}

// origins are the places that an end comes from, what decides it first.
func origins(q quantity.Quantity, high bool, label func(*quantity.Cause) string) (out []From) {
	add := func(c *quantity.Cause) {
		f := From{c.At, c.Name}
		if label != nil {
			f.Text = label(c)
		}
		if !c.At.None() && len(out) < most && !slices.ContainsFunc(out, func(o From) bool { return o.At == f.At }) {
			out = append(out, f)
		}
	}
	states := q.Witness(high)
	for _, s := range states {
		if s.Effect <= least(q, high) && s.Sound.Lo != s.Sound.Hi {
			continue
		}
		add(s.Cause)
		for _, b := range s.Basis {
			add(b)
		}
	}
	if states == nil {
		for _, c := range q.Causes() {
			add(c)
		}
	}
	return out
}

// least is how far a cause must move an end to be worth a word there: a ten-thousandth of it.
func least(q quantity.Quantity, high bool) float64 {
	end := q.Seen.Lo
	if high {
		end = q.Seen.Hi
	}
	if !known(end) {
		return 0
	}
	return 1e-4 * math.Abs(end)
}

// most is how many origins and states are listed with a measure.
const most = 6

// witness is the state of the causes that decide an end.
func witness(q quantity.Quantity, high bool) (out []string) {
	for _, s := range q.Witness(high) {
		switch t := s.Label(); {
		case len(out) == most || s.Effect <= least(q, high):
		case t != "":
			out = append(out, t)
		case s.Sound.Lo != s.Sound.Hi && s.Basis == nil && len(s.Needs) == 0:
			out = append(out, fmt.Sprintf("%s %s", s.Name, quantity.Show(s.Value, s.Unit)))
		}
	}
	return out
}
