package rules

import (
	"fmt"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A knob is one thing a person could change to cure a failure.
type knob struct {
	elements []design.Element // their values, capped or raised alike
	pin      string           // a pin, driven by an ideal source
	key      string           // a range of the part's record
	up       bool
	text     string          // in the rule's words: what the changes would be to a person
	changes  []design.Change // tried as they are
	margin   float64         // of the check as it stands
}

// remedy finds, for the first knob that works, the value nearest to today's that stops the failure, and judges all
// rules of the block again with it. A remedy that breaks another rule is offered only where no knob does without.
func (j *judge) remedy(d *design.Design, at amplifier, i int, checks []*Check, before []Result) *Remedy {
	var second *Remedy
	for _, c := range checks {
		if c.kind != KindFail {
			continue
		}
		for _, k := range c.knobs {
			rem := j.turn(d, at, i, c, k)
			if rem == nil {
				continue
			}
			for n, after := range j.rules(d.With(rem.Changes...), at) {
				switch {
				case n == i:
					rem.Kind = after.Kind
				case after.Kind > max(before[n].Kind, KindPass): // a rule that has a subject now, and passes, is no worse
					rem.Breaks = append(rem.Breaks, after.Rule)
				case before[n].Kind == KindFail && after.Kind < KindFail:
					rem.Cures = append(rem.Cures, after.Rule)
				}
				if n != i && before[n].Kind > KindPass && after.Kind <= KindPass {
					rem.Settles = append(rem.Settles, after.Rule)
				}
			}
			if len(rem.Breaks) == 0 {
				return rem
			}
			if second == nil {
				second = rem
			}
		}
	}
	return second
}

// turn finds the value of one knob.
func (j *judge) turn(d *design.Design, at amplifier, i int, c *Check, k knob) *Remedy {
	k.margin = c.measure.Margin
	if c.stated {
		k.margin = math.NaN()
	}
	// A pass is looked for first; where something undeclared is left, a review is the best there is.
	for _, most := range []Kind{KindPass, KindReview} {
		trying := func(ch []design.Change) trial {
			if len(ch) == 0 || d.Circuit.Cards.Stopped() != nil {
				return trial{margin: math.NaN()}
			}
			r := j.one(d.With(ch...), at, i)
			return trial{r.Kind == KindPass || r.Kind == most, marginOf(r, c)}
		}
		good := func(ch []design.Change) bool { return trying(ch).good }
		var rem *Remedy
		switch {
		case len(k.changes) > 0:
			if good(k.changes) {
				rem = &Remedy{Text: k.text, Changes: k.changes}
			}
		case len(k.elements) > 0:
			rem = turnValues(k, trying)
		case k.pin != "":
			rem = turnPin(c, k, at, trying)
		default:
			rem = turnField(d, at, c, k, good)
		}
		if rem != nil {
			return rem
		}
	}
	return nil
}

// marginOf is the margin that the quantity of a check has in a result; NaN where it has none there.
func marginOf(r Result, c *Check) float64 {
	for _, m := range r.Measures {
		if m.Name == c.measure.Name && m.Unit == c.measure.Unit && m.LimitText == c.measure.LimitText && m.AtHigh == c.measure.AtHigh {
			return m.Margin
		}
	}
	return math.NaN()
}

func turnValues(k knob, try func([]design.Change) trial) *Remedy {
	bad, ok := 0.0, 1e-9
	if k.up {
		bad, ok = math.Inf(1), 1e9
	}
	var names []string
	unit := quantity.Ohm
	for _, e := range k.elements {
		if k.up {
			bad = min(bad, e.Written())
		} else {
			bad = max(bad, e.Written())
		}
		names = append(names, e.Path())
	}
	if !(bad > 0) || math.IsInf(bad, 0) {
		return nil
	}
	with := func(v float64) (ch []design.Change) {
		for _, e := range k.elements {
			if x := significant(v, k.up); x < e.Written() != k.up && x != e.Written() {
				ch = append(ch, design.Change{Op: design.Set, Target: e.Path(), Value: x, Unit: unit})
			}
		}
		return ch
	}
	seen := map[float64]trial{} // by the value to three digits, which is what a card would say
	at := func(v float64) trial {
		key := significant(v, k.up)
		t, known := seen[key]
		if !known {
			t = try(with(v))
			seen[key] = t
		}
		return t
	}
	far := at(ok)
	if !far.good {
		return nil
	}
	// Errors grow with a resistance that should be smaller, and with the conductance of one that should be larger.
	turned := func(v float64) float64 {
		if k.up {
			return 1 / v
		}
		return v
	}
	ok = turned(edge(turned(bad), turned(ok), trial{margin: k.margin}, far, func(x float64) trial { return at(turned(x)) },
		func(a, b float64) float64 { return math.Sqrt(a * b) }, func(a, b float64) bool {
			return significant(turned(a), k.up) == significant(turned(b), k.up) || math.Abs(math.Log(a/b)) < 2e-4
		}))
	if !at(ok).good {
		return nil
	}
	word, each := "at most", ""
	if k.up {
		word = "at least"
	}
	if len(names) > 1 {
		each = " each"
	}
	value := quantity.Show(significant(ok, k.up), unit)
	if ok < 1e-6 {
		return nil // only a piece of wire would do
	}
	return &Remedy{Text: fmt.Sprintf("%s %s %s%s", strings.Join(names, ", "), word, value, each), Changes: with(ok)}
}

func turnPin(c *Check, k knob, at amplifier, try func([]design.Change) trial) *Remedy {
	with := func(v float64) []design.Change {
		return []design.Change{{Op: design.Hold, Target: at.path, Pin: k.pin, Value: v}}
	}
	// The failure's own size says how far to look: the margin, and twice and four times it.
	step := math.Abs(c.measure.Margin)
	if !known(step) || step == 0 {
		return nil
	}
	sign := 1.0
	if !k.up {
		sign = -1
	}
	base := c.at(k.pin)
	bad, ok := base, math.NaN()
	atBad, atOk := trial{margin: k.margin}, trial{}
	for _, f := range []float64{1.02, 1.2, 2, 4} {
		v := base + sign*step*f
		if t := try(with(v)); t.good {
			ok, atOk = v, t
			break
		} else {
			bad, atBad = v, t
		}
	}
	if math.IsNaN(ok) {
		return nil
	}
	ok = edge(bad, ok, atBad, atOk, func(v float64) trial { return try(with(v)) }, func(a, b float64) float64 { return (a + b) / 2 },
		func(a, b float64) bool { return math.Abs(a-b) < 2e-4 })
	v := math.Ceil(ok*1e3-1e-6) / 1e3
	word := "at least"
	if !k.up {
		v, word = math.Floor(ok*1e3+1e-6)/1e3, "at most"
	}
	if !try(with(v)).good {
		return nil
	}
	what := "reference"
	if !strings.HasPrefix(k.pin, "ref") {
		what = k.pin
	}
	return &Remedy{Text: fmt.Sprintf("%s %s %s", what, word, quantity.ScaleFor(quantity.Volt, v).Text(v, quantity.Near)), Changes: with(v)}
}

// at is the pin voltage that a drive starts from: what the check was told of it, else 0 V.
func (c *Check) at(pin string) float64 {
	if v, ok := c.base[pin]; ok && known(v) {
		return v
	}
	return 0
}

// turnField asks for a part whose range holds what was reached, on the side that failed.
func turnField(d *design.Design, at amplifier, c *Check, k knob, good func([]design.Change) bool) *Remedy {
	en := d.Element(at.id).Entry(k.key)
	m := c.measure
	if en == nil || en.Limits.Lo == nil || en.Limits.Hi == nil || !known(m.Min) || !known(m.Max) {
		return nil
	}
	lo, hi := en.Limits.Lo.String(), en.Limits.Hi.String()
	far := func(v, sign float64) string { // outwards to three digits, a rating one step further
		s := math.Pow(10, math.Floor(math.Log10(max(math.Abs(v), 1e-3)))-2)
		n := math.Ceil(sign*v/s - 1e-9)
		if c.band > 0 {
			n = math.Ceil(sign*v/s*(1+math.Copysign(c.band, sign*v))/(1-c.band*c.band) - 1e-9)
		}
		if c.rating {
			n++
		}
		return quantity.Show(sign*n*s, en.Field.Unit)
	}
	what := ""
	if m.LimitMin > m.Min || !m.AtHigh {
		lo = far(m.Min, -1)
		what = "down to " + lo
	}
	if m.LimitMax < m.Max || m.AtHigh {
		hi = far(m.Max, 1)
		if what != "" {
			what += " and "
		}
		what += "up to " + hi
	}
	ch := []design.Change{{Op: design.Field, Target: at.path, Key: k.key, Text: lo + " .. " + hi}}
	if !good(ch) {
		return nil
	}
	return &Remedy{Text: fmt.Sprintf("a part whose %s reaches %s", k.key, what), Changes: ch}
}

// significant keeps three digits, towards the safe side.
func significant(v float64, up bool) float64 {
	s := math.Pow(10, math.Floor(math.Log10(v))-2)
	if up {
		return math.Ceil(v/s-1e-9) * s
	}
	return math.Floor(v/s+1e-9) * s
}
