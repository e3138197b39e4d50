// Package volt bounds voltages: what a net, or a difference of nets, can reach in every state the intent allows.
//
// A bound is a quantity over causes (rails, source levels, resistances, declared currents, bias currents, diode drops)
// and switch states. Its function solves the island, the part of the circuit that the asked nets depend on, as a
// piecewise linear DC network: the switches stand as the state says, the diodes settle by themselves.
package volt

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A Term is a net with its weight.
type Term struct {
	Net    circuit.Net
	Weight float64
}

// A Form is what is bounded: a weighted sum of nets, in volts.
type Form []Term

// At is the voltage of a net against node 0.
func At(n circuit.Net) Form { return Form{{n, 1}} }

// Across is the voltage from b up to a.
func Across(a, b circuit.Net) Form { return Form{{a, 1}, {b, -1}} }

// lifted is the form without what it takes of node 0, which is at 0 V.
func (f Form) lifted() Form {
	return slices.DeleteFunc(slices.Clone(f), func(t Term) bool { return t.Net == 0 })
}

// A Solver answers for one design. It remembers what it solved and is for one goroutine.
type Solver struct {
	d        *design.Design
	islands  map[string]*island
	bounds   map[string]quantity.Quantity
	balances map[circuit.ID]circuit.Net
	kicks    map[occasion]quantity.Quantity
	fed      map[circuit.Net]bool
	branches map[occasion]branched
	nested   map[circuit.Net]bool // supplies that are being asked for

	declares, excludes bool                   // what intent says at all
	converters         map[circuit.Net]string // what reads nets and draws something there, by the name in intent
}

// New returns a solver for a design.
func New(d *design.Design) *Solver {
	s := &Solver{d: d, islands: map[string]*island{}, bounds: map[string]quantity.Quantity{}, balances: map[circuit.ID]circuit.Net{}, kicks: map[occasion]quantity.Quantity{},
		fed: map[circuit.Net]bool{}, branches: map[occasion]branched{}, nested: map[circuit.Net]bool{},
		declares: d.Intent.Says("currents")}
	for _, name := range d.Intent.Names("elements") {
		s.excludes = s.excludes || d.Intent.Says("elements", name, "exclusive-with")
	}
	s.converters = converters(d)
	return s
}

// Bound is what the form can reach in a regime, in volts. An end that nothing limits is infinite in Seen and carries
// the reason in Why; what nobody has said is missing, named.
func (s *Solver) Bound(f Form, r design.Regime) quantity.Quantity {
	name := s.name(f)
	if f = f.lifted(); len(f) == 0 {
		return quantity.Exactly(name, quantity.Volt, 0)
	}
	key := fmt.Sprint(r, f)
	q, ok := s.bounds[key]
	if !ok {
		q = s.bound(f, r)
		s.bounds[key] = q
	}
	return q.Named(name)
}

func (s *Solver) bound(f Form, r design.Regime) quantity.Quantity {
	name := s.name(f)
	is := s.island(f, r)
	asked := is.of(f)
	if len(is.unknowns) > 0 {
		return unsaid(name, quantity.Volt, is.unknowns)
	}
	return is.bound(name, quantity.Volt, asked)
}

// bound works out a reading of the island's answers. Where a node it asks for floats in some state, that is said: the
// bound then holds every place the node may stand at, and names what is missing.
func (is *island) bound(name string, u quantity.Unit, r reading) quantity.Quantity {
	if n, ok := is.starved(); ok {
		return unsaid(name, u, []quantity.Need{{In: "intent", Key: design.Key("rails", is.s.d.Circuit.NetName(n))}})
	}
	is.floated, is.floating, is.drifter, is.blame = false, "", "", ""
	is.meter()
	defer is.unmeter()
	f := func(x []float64) float64 { return is.read(r, x) }
	find := func(b *quantity.Box) quantity.Ends { return is.reach(r, b) }
	q := quantity.CalcBy(name, u, f, find, is.inputs...)
	if is.floated {
		level := &quantity.Cause{Name: "where " + is.floating + " stands while it floats", Sound: quantity.Interval{Lo: 0, Hi: 1},
			Seen: quantity.Point(0.5), Nom: 0.5, Needs: []quantity.Need{is.drifting()}}
		q = quantity.CalcBy(name, u, f, find, append(slices.Clip(is.inputs), level.Of())...)
	}
	if is.drifter != "" {
		is.floating = is.drifter
		if need := is.drifting(); !slices.Contains(q.Needs, need) {
			q.Needs = append(slices.Clip(q.Needs), need)
		}
	}
	is.enclose(&q, r)
	switch {
	case is.effort > mostEffort:
		return unsaid(name, u, []quantity.Need{is.tooLarge()})
	case q.Seen.Empty() && q.Known() && is.floating != "":
		return unsaid(name, u, []quantity.Need{is.drifting()})
	case q.Seen.Empty() && q.Known():
		detail := is.undecidable()
		if why := q.Reason(false); why != "" {
			detail = ": " + why
		}
		none := unsaid(name, u, []quantity.Need{{In: "netlist", Key: "a DC solution for " + name + detail}})
		none.Why = q.Why
		return none
	}
	for i, v := range [2]float64{q.Seen.Lo, q.Seen.Hi} {
		if math.IsInf(v, 0) {
			is.work.last, is.blame = nil, ""
			q.At(i == 1, nil)
			q.Why[i] = is.blame
		}
	}
	return q
}

// meter starts to count the work of a search, which is cut short where it grows too large; what was cut short is not
// remembered.
func (is *island) meter() { is.metered, is.effort = true, 0 }

func (is *island) unmeter() {
	is.metered = false
	if is.effort > mostEffort {
		is.work.last = nil
	}
}

// drifting asks for what would tie a floating node down.
func (is *island) drifting() quantity.Need {
	return quantity.Need{In: "intent (or what holds " + is.floating + " in every state, in the netlist)", Key: design.Key("rails", is.floating)}
}

func (s *Solver) name(f Form) string {
	switch {
	case len(f) == 1 && f[0].Weight == 1:
		return "voltage of " + s.d.Circuit.NetName(f[0].Net)
	case len(f) == 2 && f[0].Weight == 1 && f[1].Weight == -1:
		return fmt.Sprintf("voltage from %s to %s", s.d.Circuit.NetName(f[1].Net), s.d.Circuit.NetName(f[0].Net))
	}
	return "voltage"
}

func (s *Solver) island(f Form, r design.Regime) *island {
	var nets []circuit.Net
	for _, t := range f {
		if !slices.Contains(nets, t.Net) {
			nets = append(nets, t.Net)
		}
	}
	slices.Sort(nets)
	key := fmt.Sprint(r, nets)
	if is, ok := s.islands[key]; ok {
		return is
	}
	is := s.build(nets, r, false)
	if needs := is.unknowns; (len(needs) > 0 || is.unpowered) && len(is.clips) > 0 { // where its law is not known an output still stays in its swing
		is = s.buildWith(nets, r, func(is *island) { is.anywhere, is.unsaid = true, needs })
	}
	s.islands[key] = is
	return is
}

// Trace is the path that sets an end of a bound: from the first net of the form through what conducts at the witness
// to a net that something holds.
func (s *Solver) Trace(f Form, r design.Regime, q quantity.Quantity, high bool) string {
	if f = f.lifted(); len(f) == 0 {
		return ""
	}
	is := s.island(f, r)
	if at := is.place(f[0].Net); at >= 0 {
		if _, err := (probe{is: is, reading: is.of(f), start: at}).solved(q, high); err != nil && !math.IsInf(q.At(high, nil), 0) {
			return ""
		}
		return strings.Join(is.path(at), " - ")
	}
	return s.d.Circuit.NetName(f[0].Net)
}

func unsaid(name string, u quantity.Unit, needs []quantity.Need) quantity.Quantity {
	return (&quantity.Cause{Name: name, Unit: u, Nom: math.NaN(), Sound: quantity.Everything, Seen: quantity.Nothing, Needs: needs}).Of()
}

// Summing is the voltage, against the ground net, of the node inside an amplifier where its reference pins meet.
func (s *Solver) Summing(e design.Element, unit string, ground circuit.Net, r design.Regime) quantity.Quantity {
	nets := append(references(e, unit), ground)
	is := s.buildWith(nets, r, func(is *island) { is.reference(e, unit) })
	at, ok := is.amps[e.Path()+":"+unit+" sum"]
	name := "summing node of " + e.Path()
	if len(is.unknowns) > 0 {
		return unsaid(name, quantity.Volt, is.unknowns)
	}
	if !ok || at < 0 {
		return unsaid(name, quantity.Volt, []quantity.Need{e.PartNeed("reference.model")})
	}
	g := is.place(ground)
	return is.bound(name, quantity.Volt, reading{{at: at, times: 1}, {at: g, times: -1}})
}
