// Package quantity is the one representation of a number that the linter reasons with: what it may be, how well that
// is known, what it came from and what is missing.
package quantity

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/source"
)

// A Grade is the weakest evidence a number rests on.
type Grade uint8

const (
	Firm    Grade = iota // drawn, declared or guaranteed
	Assumed              // a stated default, or a nominal taken as exact: the verdict stands, the ledger lists it
	Soft                 // typical, characterised or from memory: never better than review
)

func (g Grade) String() string { return [...]string{"firm", "assumed", "soft"}[g] }

// A Need names one missing input the way a person would write it.
type Need struct {
	In  string      // "intent", "part record", "netlist"
	Key string      // `currents.RSH_A.range`, `ferry-sense-32 supply.operating`
	At  source.Span // where it would be written, if that place exists
}

func (n Need) String() string { return n.Key + " in the " + n.In }

// A Cause is one independent thing that may vary. Quantities that share a cause move together; causes are told apart
// by name, so a name carries the instance it belongs to.
type Cause struct {
	Name   string // "RF1", "rails.V5", "X_A gain"
	Unit   Unit
	Nom    float64
	Sound  Interval  // no allowed value lies outside
	Seen   Interval  // both ends are known to be allowed; empty when nobody has said
	States []float64 // a discrete cause (a switch) takes exactly these values; Sound and Seen are their hull
	Labels []string  // what the States are called: "MH off", "MH on"
	Grade  Grade
	Note   string // an assumption in words: "no tolerance declared: 1 kohm exactly seen, 5 % counted"
	At     source.Span
	Needs  []Need   // missing inputs: only a cause nobody has said has them
	Basis  []*Cause // for a cause that sums up others (a spread, a peak): what it rests on
}

// A Quantity is a cause or a function of causes. Sound proves a pass, Seen proves a failure; the gap between them is
// what is missing, assumed or loose.
type Quantity struct {
	Name  string
	Unit  Unit
	Nom   float64   // at the nominal of every cause; NaN when that is no state of the circuit
	Sound Interval  // no allowed state lies outside
	Seen  Interval  // each end attained by a witness; empty when nothing can be shown
	Grade Grade     // the weakest of the causes that matter
	Needs []Need    // missing inputs that matter
	Why   [2]string // for the low and for the high end, where nothing limits it: the reason
	Loose bool      // Sound is wider than enumeration would make it

	over     []*Cause
	weight   []float64 // influence of each cause over its Sound range; 0: it does not matter
	eval     func(at []float64) float64
	in       []Quantity // the arguments of eval's function, and of each the causes it is a function of
	uses     [][]int
	turns    [][]float64 // of each cause: where inside its range an argument turns back
	order    []int       // the causes that matter, the heaviest first, where there are very many
	search   Search
	partial  bool      // NaN is an answer: "this combination is no state of the circuit"
	low, top []float64 // the causes at the ends of Seen
	deep     []float64 // the causes at the low end of Sound
	high     []float64 // the causes at its high end
}

// Of is the quantity that is just this cause.
func (c *Cause) Of() Quantity {
	q := Quantity{Name: c.Name, Unit: c.Unit, over: []*Cause{c}, eval: func(at []float64) float64 { return at[0] }}
	q.settle()
	return q
}

// Exactly is a number that is not in doubt.
func Exactly(name string, u Unit, v float64) Quantity {
	return (&Cause{Name: name, Unit: u, Nom: v, Sound: Interval{v, v}, Seen: Interval{v, v}}).Of()
}

// Missing is a number nobody has said.
func Missing(u Unit, n Need) Quantity {
	reach := Everything
	if u.Dim == Ohm.Dim { // from a piece of wire to an open end
		reach.Lo = 0
	}
	return (&Cause{Name: n.Key, Unit: u, Nom: math.NaN(), Sound: reach, Seen: Nothing, Needs: []Need{n}}).Of()
}

// Known tells that nothing is missing that matters.
func (q Quantity) Known() bool { return len(q.Needs) == 0 }

// Unsaid tells that something that matters may be anything at all. What is missing but has few states (a direction) or
// bounds of its own does not count: there a pass can be shown for all of them.
func (q Quantity) Unsaid() bool {
	for _, i := range q.heaviest() {
		if c := q.over[i]; len(c.Needs) > 0 && c.States == nil && math.IsInf(c.Sound.Width(), 0) {
			return true
		}
	}
	return false
}

// Named gives the quantity the name it is printed under.
func (q Quantity) Named(name string) Quantity { q.Name = name; return q }

// Or stands a stated default in for a missing number; the result carries that it did.
func (q Quantity) Or(v float64, why string) Quantity {
	if q.Known() {
		return q
	}
	d := &Cause{Name: q.Name, Unit: q.Unit, Nom: v, Sound: Interval{v, v}, Seen: Interval{v, v}, Grade: Assumed, Note: why}
	return d.Of()
}

// Reason is why nothing limits an end; where that is said of one end only it serves for both, since a calculation may turn
// them around.
func (q Quantity) Reason(high bool) string {
	if high {
		return cmp.Or(q.Why[1], q.Why[0])
	}
	return cmp.Or(q.Why[0], q.Why[1])
}

// Times scales by a factor that is not in doubt.
func (q Quantity) Times(f float64) Quantity {
	return Calc(q.Name, q.Unit, func(x []float64) float64 { return f * x[0] }, q)
}

// Causes lists what the quantity rests on, the heaviest first; causes without influence are left out.
func (q Quantity) Causes() []*Cause {
	var out []*Cause
	for _, i := range q.heaviest() {
		if c := q.over[i]; c.Basis == nil {
			out = append(out, c)
		} else {
			out = append(out, c.Basis...)
		}
	}
	return out
}

// A quantity of so many causes is crowded: what each of them does to an end is told by its weight and not by trying, and
// only the heaviest are named.
const (
	crowd    = 256
	named    = 64
	fewNotes = 12
)

func (q Quantity) crowded() bool { return len(q.over) > crowd }

// Notes are the assumptions that the low end stands on: of causes that move it by at least least, or that are no range.
func (q Quantity) Notes(least float64) (out []string) {
	add := func(c *Cause) {
		if c.Note != "" && !slices.Contains(out, c.Note) {
			out = append(out, c.Note)
		}
	}
	local := q.effects(q.deep, false)
	idx := q.heaviest()
	slices.SortStableFunc(idx, func(a, b int) int { return cmp.Compare(local[b], local[a]) })
	small, many := 0.0, 0 // what each does little, and many of them together more
	for k, i := range idx {
		if q.crowded() && k >= fewNotes && len(out) >= fewNotes {
			return append(out, fmt.Sprintf("%d more that may rest on assumptions", len(idx)-k))
		}
		c := q.over[i]
		if c.Sound != c.Seen && local[i] < least {
			if small += local[i]; c.Note != "" {
				many++
			}
			continue
		}
		add(c)
		for _, b := range c.Basis {
			add(b)
		}
	}
	if q.crowded() && small >= least && many > 0 {
		out = append(out, fmt.Sprintf("%d more with an assumption of their own, each of little weight", many))
	}
	return out
}

// effects is how far each cause alone can move the value from a corner, over its Seen or its Sound values. A state that
// makes the corner none of the circuit moves it without limit.
func (q Quantity) effects(from []float64, seen bool) []float64 {
	out := make([]float64, len(q.over))
	if from == nil || q.crowded() {
		copy(out, q.weight)
		return out
	}
	at := slices.Clone(from)
	base := q.eval(at)
	for i := range q.over {
		if !q.matters(i) {
			continue
		}
		for _, v := range q.candidates(i, seen) {
			at[i] = v
			d := math.Abs(q.eval(at) - base)
			if math.IsNaN(d) && v != from[i] {
				d = math.Inf(1)
			}
			out[i] = max(out[i], d)
		}
		at[i] = from[i]
	}
	return out
}

func (q Quantity) heaviest() []int {
	if q.order != nil {
		return slices.Clone(q.order)
	}
	var idx []int
	for i := range q.over {
		if q.matters(i) {
			idx = append(idx, i)
		}
	}
	q.byWeight(idx)
	return idx
}

// byWeight puts the heaviest causes first; of those that move an end without limit, the ones that have none themselves.
func (q Quantity) byWeight(idx []int) {
	endless := func(i int) int {
		if math.IsInf(q.over[i].Sound.Width(), 0) {
			return 1
		}
		return 0
	}
	slices.SortFunc(idx, func(a, b int) int {
		return cmp.Or(cmp.Compare(q.weight[b], q.weight[a]), endless(b)-endless(a), a-b)
	})
}

// Boundless tells that the quantity rests on something whose range has no end.
func (q Quantity) Boundless() bool {
	for i, c := range q.over {
		if math.IsInf(c.Sound.Width(), 0) && q.matters(i) {
			return true
		}
	}
	return false
}

// matters: a point cause cannot be tested by varying it, so it is taken to matter.
func (q Quantity) matters(i int) bool { return q.weight[i] > 0 || len(q.candidates(i, false)) == 1 }

// A State is one cause at one value.
type State struct {
	*Cause
	Value  float64
	Effect float64 // how far the cause alone can move this end; 0: here it does not matter
}

// Label is the state in words, "MH on", or "" for a continuous cause.
func (s State) Label() string {
	for i, v := range s.States {
		if v == s.Value && i < len(s.Labels) {
			return s.Labels[i]
		}
	}
	return ""
}

// Witness is the state of the causes that matter at the low or the high end of Seen (of very many, of the heaviest): first those that decide this end,
// the heaviest first.
func (q Quantity) Witness(high bool) []State {
	at := q.low
	if high {
		at = q.top
	}
	if at == nil {
		return nil
	}
	local := q.effects(at, true)
	idx := q.heaviest()
	slices.SortStableFunc(idx, func(a, b int) int { return cmp.Compare(local[b], local[a]) })
	var out []State
	if q.crowded() {
		idx = idx[:min(named, len(idx))]
	}
	for _, i := range idx {
		out = append(out, State{q.over[i], at[i], local[i]})
	}
	return out
}

// At evaluates the quantity with some causes, by name, set to values and the others at a witness of the low or the
// high end: a way to re-check a bound.
func (q Quantity) At(high bool, set map[string]float64) float64 {
	at := slices.Clone(q.low)
	if high {
		at = slices.Clone(q.top)
	}
	for i, c := range q.over {
		if v, ok := set[c.Name]; ok && at != nil {
			at[i] = v
		}
	}
	if at == nil {
		return math.NaN()
	}
	return q.eval(at)
}
