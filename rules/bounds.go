package rules

import (
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A Probe is something whose bound is asked for: a sum of net voltages, or the current of an element.
type Probe struct {
	Name    string // as it is printed: "BATT", "V(A,B)", "I(RSH)"
	Form    volt.Form
	Element *design.Element // where it is a current, which counts from the first to the second node
}

// A Bound is what a probe can read in each regime.
type Bound struct {
	Name  string
	Unit  quantity.Unit
	Reach [2]Reach // by design.Regime
}

// A Reach is a bound in one regime with all that explains it.
type Reach struct {
	quantity.Quantity
	Low, High End
	Assumed   []string // what the bound rests on without anybody having said it

	Residual, Condition float64 // of the equations at a witness, as volt.Solver.Quality tells them; 0 where none were solved
}

// An End is how one end of what is seen comes about.
type End struct {
	Shown    bool             // a state attains it: the rest is told of that state
	Reason   string           // why none does
	Wider    bool             // nothing declared rules out that it goes further
	Unproven string           // why no limit to that is proved, where none is
	States   []quantity.State // of all causes that matter
	Deciding []quantity.State // of those that decide this end, the heaviest first
	volt.Witness
}

// Same tells that survival has nothing to say that operation does not.
func (b Bound) Same() bool {
	o, s := b.Reach[design.Operating], b.Reach[design.Survival]
	for _, high := range []bool{false, true} {
		if seen, beyond := b.SameEnd(high); !seen || !beyond {
			return false
		}
	}
	return slices.Equal(o.Needs, s.Needs) && slices.Equal(o.Assumed, s.Assumed)
}

// SameEnd tells whether an end is the same in both regimes, what is seen and what may lie beyond, but for rounding.
func (b Bound) SameEnd(high bool) (seen, beyond bool) {
	o, s := b.Reach[design.Operating], b.Reach[design.Survival]
	size := 0.0
	for _, v := range []float64{o.Seen.Lo, o.Seen.Hi, s.Seen.Lo, s.Seen.Hi} {
		if known(v) {
			size = max(size, math.Abs(v))
		}
	}
	same := func(x, y float64) bool { return x == y || math.Abs(x-y) <= 1e-6*size }
	if high {
		return same(o.Seen.Hi, s.Seen.Hi), o.High.Wider == s.High.Wider && (!o.High.Wider || same(o.Sound.Hi, s.Sound.Hi))
	}
	return same(o.Seen.Lo, s.Seen.Lo), o.Low.Wider == s.Low.Wider && (!o.Low.Wider || same(o.Sound.Lo, s.Sound.Lo))
}

// Bound works out what the probe can read. The solver is that of the probe's design.
func (p Probe) Bound(d *design.Design, s *volt.Solver) Bound {
	b := Bound{Name: p.Name, Unit: quantity.Volt}
	if p.Element != nil {
		b.Unit = quantity.Amp
	}
	for _, r := range []design.Regime{design.Operating, design.Survival} {
		q := p.quantity(s, r)
		reach := Reach{Quantity: q, Assumed: notes(q), Low: p.end(s, r, q, false), High: p.end(s, r, q, true)}
		for _, t := range p.Form {
			if t.Net != 0 && !q.Seen.Empty() && s.Undriven(t.Net, r) {
				reach.Assumed = append(reach.Assumed, d.Circuit.NetName(t.Net)+": nothing drives it, which holds only while its connectors carry nothing")
			}
		}
		if p.Element == nil {
			reach.Residual, reach.Condition, _ = s.Quality(p.Form, r)
		}
		b.Reach[r] = reach
	}
	return b
}

func (p Probe) quantity(s *volt.Solver, r design.Regime) quantity.Quantity {
	if p.Element != nil {
		return s.Current(*p.Element, r)
	}
	return s.Bound(p.Form, r)
}

// Deck is the witness deck of one end, as volt.Solver.Deck writes it.
func (p Probe) Deck(s *volt.Solver, r design.Regime, high bool) ([]string, error) {
	if p.Element != nil {
		return s.CurrentDeck(*p.Element, r, p.quantity(s, r), high)
	}
	return s.Deck(p.Form, r, p.quantity(s, r), high)
}

func (p Probe) end(s *volt.Solver, r design.Regime, q quantity.Quantity, high bool) (e End) {
	v := q.Seen.Lo
	if high {
		v = q.Seen.Hi
	}
	e.Wider = gap(q, high) > 0
	if q.Loose && math.IsInf(gap(q, high), 1) {
		e.Unproven = q.Reason(high)
	}
	switch {
	case q.Seen.Empty() && len(q.Needs) > 0:
		e.Reason = "not declared"
		return e
	case q.Seen.Empty():
		e.Reason = "no state is known that attains it"
		return e
	case !known(v):
		e.Reason = volt.Reason(q, high)
		return e
	}
	e.Shown = true
	e.States, e.Deciding = q.Witness(high), q.Deciding(high)
	// Without a witness of the circuit (a declared current, node 0) the causes say all there is.
	if p.Element != nil {
		e.Witness, _ = s.CurrentWitness(*p.Element, r, q, high)
	} else {
		e.Witness, _ = s.Witness(p.Form, r, q, high)
	}
	return e
}

// gap is how far the low or the high end of what nothing rules out lies beyond what is seen; 0 where that is rounding. A
// cause without end is worked with as a large number, beside which little is left of the others' digits.
func gap(q quantity.Quantity, high bool) float64 {
	seen, far := q.Seen.Lo, q.Seen.Lo-q.Sound.Lo
	if high {
		seen, far = q.Seen.Hi, q.Sound.Hi-q.Seen.Hi
	}
	noise := 1e-9 * max(math.Abs(seen), 1e-9)
	if q.Boundless() {
		noise = max(noise, 1e-3)
	}
	if far > noise {
		return far
	}
	return 0
}

// notes are the assumptions that either end rests on: of those that only widen it, what does a hundredth of the widening,
// and what has no end only where there is none.
func notes(q quantity.Quantity) (out []string) {
	mirrored := quantity.Minus(q.Name, quantity.Exactly("0", q.Unit, 0), q)
	for _, q := range []quantity.Quantity{q, mirrored} {
		var endless []string
		least := math.Inf(1)
		switch far := gap(q, false); {
		case !known(far):
			least = 1e-3 * max(math.Abs(q.Seen.Lo), 1e-3)
		case far > 0:
			least = 1e-2 * far
		}
		if known(gap(q, false)) && q.Boundless() {
			for _, c := range q.Causes() {
				if !known(c.Sound.Width()) {
					endless = append(endless, c.Note)
				}
			}
		}
		for _, n := range q.Notes(least) {
			if !slices.Contains(out, n) && !slices.Contains(endless, n) {
				out = append(out, n)
			}
		}
	}
	return out
}

// Dangers words which nets among bounds can exceed 60 V DC.
func Dangers(probes []Probe, bounds []Bound) []string {
	var all []danger
	for i, p := range probes {
		if len(p.Form) != 1 {
			continue
		}
		reach := bounds[i].Reach[design.Operating].Seen.Union(bounds[i].Reach[design.Survival].Seen)
		if most := max(reach.Hi, -reach.Lo); !reach.Empty() && most > hazardous {
			all = append(all, danger{p.Name, most})
		}
	}
	return caution(all)
}

// NetProbe is the probe of a net.
func NetProbe(d *design.Design, n circuit.Net) Probe {
	return Probe{Name: d.Circuit.NetName(n), Form: volt.At(n)}
}

// DifferenceProbe is the probe of the voltage from b up to a.
func DifferenceProbe(d *design.Design, a, b circuit.Net) Probe {
	return Probe{Name: fmt.Sprintf("V(%s,%s)", d.Circuit.NetName(a), d.Circuit.NetName(b)), Form: volt.Across(a, b)}
}

// CurrentProbe is the probe of an element's current; ok is false for an element of which none is told.
func CurrentProbe(e design.Element) (p Probe, ok bool) {
	switch k := e.Kind(); {
	case k == 'R', k == 'L', k == 'V', e.Carries():
		return Probe{Name: "I(" + e.Path() + ")", Element: &e}, true
	}
	return p, false
}

// SenseProbes are the probes of all nets of sense blocks, ground aside: shunts and pins, each once.
func SenseProbes(d *design.Design) (out []Probe) {
	seen := map[circuit.Net]bool{0: true}
	add := func(n circuit.Net) {
		if !seen[n] {
			seen[n] = true
			out = append(out, NetProbe(d, n))
		}
	}
	for b := range sense.Blocks(d) {
		if d.Circuit.Cards.Stopped() != nil {
			return nil
		}
		if len(b.Shunt) > 0 {
			add(b.Plus.Shunt)
			add(b.Minus.Shunt)
		}
		for _, role := range b.Amp.Record().Pins() {
			if n, ok := b.Pin(role); ok {
				add(n)
			}
		}
	}
	return out
}
