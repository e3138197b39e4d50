package volt

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A Witness is what conducts in a state that attains an end of a bound.
type Witness struct {
	Path   []string // net and branch in turn, from the net that was asked for to one that something holds
	Base   []string // the same from the second net of a difference
	Diodes []Diode  // of the island, in the order in which they were met
	Stops  []Stop   // the outputs that do not follow their inputs
}

// A Stop is an output that stands at its lower or upper level.
type Stop struct {
	Of   string // the amplifier, with its unit
	High bool
}

// A Diode is one way through a diode or transistor: "D1", "D1 in breakdown", "body diode of MH".
type Diode struct {
	Name     string
	Conducts bool
}

// Witness is what conducts where a bound of this solver, q, has its low or its high end. An end that no state attains, or
// that nothing limits, has none.
func (s *Solver) Witness(f Form, r design.Regime, q quantity.Quantity, high bool) (Witness, error) {
	p, err := s.form(f, r)
	if err != nil {
		return Witness{}, err
	}
	return p.witness(q, high)
}

// CurrentWitness is Witness for the current of an element.
func (s *Solver) CurrentWitness(e design.Element, r design.Regime, q quantity.Quantity, high bool) (Witness, error) {
	p, err := s.current(e, r)
	if err != nil {
		return Witness{}, err
	}
	return p.witness(q, high)
}

// Deck is a netlist of resistors and sources alone whose DC solution is an end of a bound of this solver, one card a line:
// for anyone with a simulator. It fails where no state attains that end.
func (s *Solver) Deck(f Form, r design.Regime, q quantity.Quantity, high bool) ([]string, error) {
	p, err := s.form(f, r)
	if err != nil {
		return nil, err
	}
	return p.deck(q, r, high)
}

// CurrentDeck is Deck for the current of an element.
func (s *Solver) CurrentDeck(e design.Element, r design.Regime, q quantity.Quantity, high bool) ([]string, error) {
	p, err := s.current(e, r)
	if err != nil {
		return nil, err
	}
	return p.deck(q, r, high)
}

// form is the probe of a form.
func (s *Solver) form(f Form, r design.Regime) (probe, error) {
	if f = f.lifted(); len(f) == 0 {
		return probe{}, errors.New("node 0 is at 0 V by definition")
	}
	is := s.island(f, r)
	asked := is.of(f)
	return probe{is: is, reading: asked, start: asked[0].at}, nil
}

// current is the probe of an element's current.
func (s *Solver) current(e design.Element, r design.Regime) (probe, error) {
	if _, ok := s.declaredCurrent(e, r); ok {
		return probe{}, errors.New("the current is declared: nothing is solved for it")
	}
	p, needs := s.branch(e, r)
	if len(needs) > 0 {
		return p, fmt.Errorf("missing: %v", needs[0])
	}
	return p, nil
}

// Reason is why nothing limits an end of a bound.
func Reason(q quantity.Quantity, high bool) string {
	return cmp.Or(q.Reason(high), "nothing limits it")
}

// solved puts the island into the state at an end of a bound and returns its inputs there.
func (p probe) solved(q quantity.Quantity, high bool) (x []float64, err error) {
	end := q.Seen.Lo
	if high {
		end = q.Seen.Hi
	}
	switch {
	case q.Seen.Empty() && len(q.Needs) > 0:
		return nil, fmt.Errorf("missing: %v", q.Needs[0])
	case q.Seen.Empty():
		return nil, errors.New("no state is known that attains it")
	case math.IsInf(end, 0):
		return nil, errors.New(Reason(q, high))
	}
	x, ok := q.Corner(high, p.is.inputs)
	if !ok {
		return nil, errors.New("no state is known that attains it")
	}
	meets := func() (v float64, ok bool) {
		v = p.is.read(p.reading, x)
		return v, math.Abs(v-end) <= 1e-9*max(1, math.Abs(end))
	}
	v, ok := meets()
	for _, h := range slices.Clone(p.is.work.hints) { // both ends may stand at the same values, in two states
		if !ok && slices.Equal(h.x, x[:len(h.x)]) {
			p.is.work.hint(h.x, h.on)
			v, ok = meets()
		}
	}
	if !ok {
		return nil, fmt.Errorf("the state that is known for it gives %v and not %v", v, end)
	}
	return x, nil
}

func (p probe) witness(q quantity.Quantity, high bool) (w Witness, err error) {
	if _, err = p.solved(q, high); err != nil {
		return w, err
	}
	w.Path = p.way(p.start)
	if v := p.volts(); len(v) > 1 {
		w.Base = p.way(v[1].at)
	}
	for k, d := range p.is.diodes {
		if d.weak {
			continue
		}
		if i := slices.IndexFunc(w.Diodes, func(o Diode) bool { return o.Name == d.what }); i >= 0 {
			w.Diodes[i].Conducts = w.Diodes[i].Conducts || p.is.work.on[k]
			continue
		}
		w.Diodes = append(w.Diodes, Diode{d.what, p.is.work.on[k]})
	}
	for i, c := range p.is.clips {
		low := p.is.lowOf(i)
		if high := p.is.work.on[low+1]; c.out >= 0 && (high || p.is.work.on[low]) {
			w.Stops = append(w.Stops, Stop{c.what, high})
		}
	}
	return w, nil
}

// way is the path from a node to what holds it.
func (p probe) way(from int) []string {
	if from < 0 {
		return []string{p.is.heldName(from)}
	}
	return p.is.path(from)
}

// deck writes the netlist.
func (p probe) deck(q quantity.Quantity, r design.Regime, high bool) ([]string, error) {
	x, err := p.solved(q, high)
	if err != nil {
		return nil, err
	}
	d := newDeck(p.is, x)
	asked := []int{p.start}
	for _, t := range p.volts() {
		asked = append(asked, t.at)
	}
	d.draw(asked)
	end, value := "low", q.Seen.Lo
	if high {
		end, value = "high", q.Seen.Hi
	}
	symbol := "V"
	if p.asked != "" {
		symbol = "A"
	}
	head := []string{
		fmt.Sprintf("witness deck: %s, %s end, %s", q.Name, end, r),
		"* One state that attains this end: a plain DC network, every switch and diode as it stands there.",
		fmt.Sprintf("* value: %s = %s %s", p.formula(d), figure(value), symbol),
		"* It is evidence for review and no safety certificate. Real circuits at these levels can be hazardous:",
		"* follow local codes and have a qualified person review work on them.",
	}
	return slices.Concat(head, d.maps, d.lines, []string{".op", ".end"}), nil
}

// formula is how the deck's solution gives what was asked for.
func (p probe) formula(d *deck) string {
	switch t := p.volts(); {
	case p.asked != "":
		return "i(" + d.named[p.asked] + ")"
	case len(t) == 1 && t[0].times == 1:
		return "v(" + d.node(t[0].at) + ")"
	case len(t) == 2 && t[0].times == 1 && t[1].times == -1:
		return "v(" + d.node(t[0].at) + "," + d.node(t[1].at) + ")"
	}
	var sum []string
	for _, t := range p.volts() {
		sum = append(sum, figure(t.times)+"*v("+d.node(t.at)+")")
	}
	return strings.Join(sum, " + ")
}
