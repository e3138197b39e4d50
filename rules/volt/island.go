package volt

import (
	"slices"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// An island is the part of the circuit that some nets depend on: outwards until nets that something holds. Nodes are
// counted from 0; a held net is ^k, where input k is its voltage.
type island struct {
	s        *Solver
	regime   design.Regime
	steady   bool                    // inductors are pieces of wire only: the pass that derives their currents
	signal   map[circuit.Net]float64 // the nets a small signal drives, in volts; every other source is at rest
	tracked  bool                    // resistances only drift with temperature
	anywhere bool                    // outputs of amplifiers stand anywhere in their swing
	unsaid   []quantity.Need         // why they do

	unpowered bool // the supply of an amplifier may be too low for its output to follow its law
	own       bool // declared currents do not count: what the netlist itself drives
	sure      bool // where a switch or diode has a say, nothing is known
	dry       bool // capacitors do not count

	index  map[circuit.Net]int
	names  []string // of the nodes
	todo   []circuit.Net
	held   map[circuit.Net]int
	seen   map[circuit.ID]bool
	inputs []quantity.Quantity
	amps   map[string]int // node inside an amplifier, by instance and name

	resistors []resistor
	coils     map[int]bool // the resistors that are inductors, whose current is asked for
	ties      map[int]int  // the resistors that stand for a load at rest: of which balance
	sources   []branch     // voltage sources between nodes, and wires
	currents  []injection
	balanced  []balance
	controls  []controlled
	diodes    []diode
	clips     []clip
	exclusive [][2]int // switch state inputs of which only one may be on

	rails  *design.Design       // where held nets are looked up: without the voltage sources that are asked for
	asked  map[circuit.ID]bool  // voltage sources whose current a controlled source follows
	meters map[circuit.ID]meter // where the current of a voltage source is an unknown
	exact  map[int]bool         // of the sources, those among them
	again  bool                 // a source was asked for that had been taken for a rail

	capIDs  []circuit.ID // the capacitors that the walk came by
	caps    []capacity   // the same, where a coil may ring with them
	ringers []ringer
	swing   int                       // input: which way a coil rings; -1: none does
	first   map[int]quantity.Interval // where a node stands before its path opens; Nothing where nobody knows

	fed      []circuit.Net   // the supply nets of consumers
	unknowns []quantity.Need // what nobody said that decides everything here
	floating string          // a node that nothing ties down, when an answer floats
	floated  bool            // a node that was asked for floats in some state
	drifter  string          // a node that was asked for and may float farther than the answers show
	blame    string          // why the last infinite answer is
	work     *work
	metered  bool // a bound is being worked out, and effort counts
	effort   int
	stopped  bool // the time is up
}

// A resistor conducts when its switch, if any, is on. A steady inductor, a 0 ohm link and a closed ideal switch are
// resistors of least ohms.
type resistor struct {
	a, b  int
	ohms  int // input; -1: least
	state int // input: conducts at 1; -1: always
	what  string
}

// A branch holds a voltage from b up to a, in volts.
type branch struct {
	a, b  int
	volts int // input
	what  string
}

// An injection drives a current into a node, in amperes.
type injection struct {
	into  int
	amps  int // input
	sign  float64
	idle  int // input: drives at 0; -1: always
	drive drive
	ring  bool // it comes back within the part that drives it
	what  string
}

// A balance is a declared current: it leaves from and arrives at to through ohms; what the circuit at the free end
// does not take or give, the implied source there does.
type balance struct {
	from, to, free int
	ohms, amps     int
	drive          drive
	coil           string // the inductor that drives on
	what           string
}

// A diode conducts from anode to cathode once drop is reached.
type diode struct {
	anode, cathode int
	drop           int // input; -1: 0 V
	ohms           int // input; -1: least
	what           string
	weak           bool // a consumer that cannot pull its supply below its ground: it holds nothing
}

// least stands for 0 ohm, in ohm: small against every sense resistor, large enough for the arithmetic.
const least = 1e-9

func (s *Solver) build(nets []circuit.Net, r design.Regime, steady bool) *island {
	return s.buildWith(nets, r, func(is *island) { is.steady = steady })
}

// buildWith builds an island around nets; first may add to it before the walk.
func (s *Solver) buildWith(nets []circuit.Net, r design.Regime, first func(*island), signal ...map[circuit.Net]float64) *island {
	asked := map[circuit.ID]bool{}
	for {
		if is := s.walk(nets, r, first, asked, signal...); !is.again {
			is.judgeMeters()
			is.judgeSources()
			is.exclude()
			is.prepare()
			if is.swings(); len(is.work.role) != len(is.inputs) {
				is.prepare()
			}
			return is
		}
	}
}

// walk goes from nets outwards to what something holds. The currents of the voltage sources in asked are wanted; those
// that are found to be wanted join them.
func (s *Solver) walk(nets []circuit.Net, r design.Regime, first func(*island), asked map[circuit.ID]bool, signal ...map[circuit.Net]float64) *island {
	is := &island{s: s, regime: r, index: map[circuit.Net]int{}, held: map[circuit.Net]int{},
		seen: map[circuit.ID]bool{}, amps: map[string]int{}, coils: map[int]bool{}, ties: map[int]int{}, rails: asksFor(s.d, asked), asked: asked, meters: map[circuit.ID]meter{},
		exact: map[int]bool{}, swing: -1, first: map[int]quantity.Interval{}}
	for _, s := range signal {
		is.signal = s
	}
	first(is)
	for _, n := range nets {
		is.place(n)
	}
	for len(is.todo) > 0 && !(is.own && len(is.unknowns) > 0) {
		if len(is.names) > largest {
			is.unknown(is.tooLarge())
			break
		}
		n := is.todo[0]
		is.todo = is.todo[1:]
		if is.signal == nil && !is.own && is.balancing(n) {
			continue
		}
		for e := range s.d.On(n) {
			if !is.still(e) {
				is.visit(e, n)
			}
		}
		is.converter(n)
	}
	return is
}

// largest is how many nodes an island may have.
const largest = 1 << 20

// tooLarge asks for the rail that would cut an island that costs too much: its net with the most elements.
func (is *island) tooLarge() quantity.Need {
	best, most := circuit.Net(0), -1
	for n := range is.index {
		if k := len(is.s.d.Circuit.On(n)); k > most || k == most && n < best {
			best, most = n, k
		}
	}
	name := is.s.d.Circuit.NetName(best)
	return quantity.Need{In: "intent", Key: design.Key("rails", name)}
}

// place is the node of a net, which joins the island when it is new.
func (is *island) place(n circuit.Net) int {
	if k, ok := is.held[n]; ok {
		return ^k
	}
	if i, ok := is.index[n]; ok {
		return i
	}
	q, ok := is.rails.Rail(n, is.regime)
	if !ok && is.free() {
		q, ok = is.drivenOutput(n)
	}
	if is.signal != nil {
		v, driven := is.signal[n]
		if ok = ok || driven; ok {
			q = quantity.Exactly(is.s.d.Circuit.NetName(n), quantity.Volt, v)
		}
	}
	if ok {
		is.held[n] = is.input(q)
		return ^is.held[n]
	}
	is.index[n] = is.node(is.s.d.Circuit.NetName(n))
	is.todo = append(is.todo, n)
	return is.index[n]
}

func (is *island) node(name string) int {
	is.names = append(is.names, name)
	return len(is.names) - 1
}

func (is *island) input(q quantity.Quantity) int {
	if len(is.inputs) == cap(is.inputs) && len(is.inputs) >= 1<<10 { // all at once, they are large
		is.inputs = slices.Grow(is.inputs, len(is.s.d.Circuit.Elements))
	}
	is.inputs = append(is.inputs, q)
	return len(is.inputs) - 1
}

// state is a switch state input shared by all that the switch does.
func (is *island) state(e design.Element, off, on string) int {
	path := e.Path()
	c := &quantity.Cause{Name: "state of " + path, Sound: quantity.Interval{Lo: 0, Hi: 1}, Seen: quantity.Interval{Lo: 0, Hi: 1},
		States: []float64{1, 0}, Labels: []string{path + " " + on, path + " " + off}, Nom: 1, At: e.Card()}
	return is.input(c.Of())
}

// unknown records that something on the island drives nobody knows what: then nothing on it is known.
func (is *island) unknown(n quantity.Need) {
	if !slices.Contains(is.unknowns, n) {
		is.unknowns = append(is.unknowns, n)
	}
}

// exclude finds the pairs of switches that intent calls exclusive.
func (is *island) exclude() {
	if !is.s.excludes {
		return
	}
	at := map[string]int{}
	for i, q := range is.inputs {
		for _, c := range q.Causes() {
			if c.States != nil {
				at[c.Name] = i
			}
		}
	}
	for id := range is.seen {
		e := is.s.d.Element(id)
		en := is.s.d.Intent.Get("elements", e.Path(), "exclusive-with")
		if en == nil {
			continue
		}
		for _, other := range en.Names {
			o, ok := is.s.d.Find(other)
			if !ok {
				continue
			}
			a, okA := at["state of "+e.Path()]
			b, okB := at["state of "+o.Path()]
			if okA && okB && !slices.Contains(is.exclusive, [2]int{b, a}) {
				is.exclusive = append(is.exclusive, [2]int{a, b})
			}
		}
	}
	slices.SortFunc(is.exclusive, func(x, y [2]int) int { return (x[0]-y[0])*1000 + x[1] - y[1] })
}

// voltage is the voltage of a node at these inputs.
func (is *island) voltage(at int, x []float64) float64 {
	if at < 0 {
		return x[^at]
	}
	return is.solve(x)[at]
}
