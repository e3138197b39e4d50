package volt

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/rules/volt/internal/sparse"
)

// work is the room that solving one island takes, and its last answer. Unknowns are the node voltages, then the
// currents of: resistors that are switches or wires, sources, balances, controlled sources, diodes.
type work struct {
	size      int
	rowOf     []int // of a resistor: its current's unknown, -1 when it stands as a conductance
	sourceRow int
	balRow    int
	ctrlRow   int
	diodeRow  int
	clipRow   int
	matrix    *sparse.Matrix
	lu        *sparse.LU
	singular  *sparse.Singular // why the last matrix without an answer had none
	shares    []share
	x         []float64
	least     float64   // what a conducting diode has at least, in ohm: 0 where it closes no ring
	last      []float64 // the inputs of the last answer
	on        []bool    // diodes, and two for each output
	group     groups    // by voltage
	parts     groups    // by current, free ends apart
	rings     groups    // by branches without resistance
	sum       []int     // of a node that floats: the row in which the balance of its part stands; -1 of any other
	pick      []int     // of a part: that row
	free      []bool    // of a node: an implied source stands there
	answer    []float64
	floats    []bool          // nodes that nothing ties down in the last answer
	moved     map[int]float64 // how far groups that nothing ties down are moved, to see what follows them
	role      []role          // of each input
	times     []int           // of each input: in how many places of the matrix it stands
	params    []param
	hints     []hint
	level     int // the input that says where floating nodes stand, after all others
}

func (is *island) prepare() {
	is.merge()
	w := &work{size: len(is.names)}
	w.rowOf = make([]int, len(is.resistors))
	for i, r := range is.resistors {
		w.rowOf[i] = -1
		if r.ohms < 0 || r.state >= 0 || is.coils[i] {
			w.rowOf[i] = w.size
			w.size++
		}
	}
	w.sourceRow = w.size
	w.size += len(is.sources)
	w.balRow = w.size
	w.size += len(is.balanced)
	w.ctrlRow = w.size
	w.size += len(is.controls)
	w.diodeRow = w.size
	w.size += len(is.diodes)
	w.clipRow = w.size
	w.size += len(is.clips)
	w.matrix = sparse.New(w.size)
	w.x, w.answer = make([]float64, w.size), make([]float64, w.size)
	w.on = make([]bool, len(is.diodes)+2*len(is.clips))
	w.group, w.parts, w.rings = make(groups, len(is.names)+1), make(groups, len(is.names)+1), make(groups, len(is.names)+1)
	w.sum, w.pick = make([]int, len(is.names)), make([]int, len(is.names)+1)
	w.free = make([]bool, len(is.names))
	for _, b := range is.balanced {
		if b.free >= 0 {
			w.free[b.free] = true
		}
	}
	w.floats = make([]bool, len(is.names))
	w.moved = map[int]float64{}
	w.level = len(is.inputs)
	is.work = w
	is.roles()
}

// A hint is a combination of inputs in which the states of the diodes are known.
type hint struct {
	x  []float64
	on []bool
}

// mostHints is how many are kept: the ends of a few bounds.
const mostHints = 64

// hint says in which states the diodes settle at some inputs; nil: nobody knows.
func (w *work) hint(x []float64, on []bool) {
	if on == nil {
		return
	}
	w.hints = slices.DeleteFunc(w.hints, func(h hint) bool { return slices.Equal(h.x, x) && slices.Equal(h.on, on) })
	if len(w.hints) >= mostHints {
		w.hints = w.hints[1:]
	}
	w.hints = append(w.hints, hint{x, on})
	w.last = nil
}

// hinted sets the diodes as the last hint says.
func (w *work) hinted(x []float64) bool {
	for _, h := range slices.Backward(w.hints) {
		if slices.Equal(h.x, x) {
			copy(w.on, h.on)
			return true
		}
	}
	return false
}

// solve returns the unknowns at these inputs. A node that floats is NaN, one that nothing limits is infinite; so is
// everything in a state that is excluded, NaN.
func (is *island) solve(x []float64) []float64 {
	w := is.work
	if w.last != nil && slices.Equal(w.last, x) {
		return w.answer
	}
	w.last = append(w.last[:0], x...)
	clear(w.on)
	if is.excluded(x) || is.dead(x) {
		return is.answerAll(math.NaN())
	}
	w.hinted(x)
	w.least = least
	// Flip the diode that contradicts its state most, until none does. A passive network has one answer; the limit is
	// there for networks with gain, which may have none.
	settled := false
	for range 8*len(w.on) + 8 {
		if !is.assemble(x) {
			break
		}
		k := is.contradiction(x)
		if k < 0 {
			settled = true
			break
		}
		is.flip(w.on, k)
	}
	if !settled && !is.search(x) {
		return is.answerAll(math.NaN())
	}
	is.polish(x)
	if is.shorted(x) {
		return is.answerAll(math.NaN())
	}
	copy(w.answer, w.x)
	is.judgeGroups(x)
	return w.answer
}

// excluded tells a combination in which two switches are on of which only one may be.
func (is *island) excluded(x []float64) bool {
	return slices.ContainsFunc(is.exclusive, func(pair [2]int) bool { return x[pair[0]] == 1 && x[pair[1]] == 1 })
}

// contradiction is the diode that contradicts its state most: one that is off and has more than its drop, else one
// that is on and carries current backwards; -1 when there is none.
func (is *island) contradiction(x []float64) int {
	w := is.work
	worst, at := 0.0, -1
	for k, d := range is.diodes {
		a, c := is.at(d.anode, x), is.at(d.cathode, x)
		if v := a - c - is.value(d.drop, x, 0); !w.on[k] && v > 1e-9*max(1, math.Abs(a), math.Abs(c)) && v > worst {
			worst, at = v, k
		}
	}
	if _, k := is.clipped(x, worst); k >= 0 {
		at = k
	}
	if at >= 0 {
		return at
	}
	for k := range is.diodes {
		if i := -w.x[w.diodeRow+k]; w.on[k] && i > 1e-12 && i > worst {
			worst, at = i, k
		}
	}
	return at
}

// flip changes the state of a diode, or of an output, which does not stop at both ends.
func (is *island) flip(on []bool, k int) {
	on[k] = !on[k]
	if d := k - len(is.diodes); d >= 0 && on[k] {
		on[len(is.diodes)+(d^1)] = false
	}
}

// both tells that an output would stop at both ends.
func (is *island) both(on []bool) bool {
	for i := range is.clips {
		if on[is.lowOf(i)] && on[is.lowOf(i)+1] {
			return true
		}
	}
	return false
}

// search tries every diode state: the last resort where flipping went in circles.
func (is *island) search(x []float64) bool {
	w := is.work
	if len(w.on) > 10 || is.metered && is.effort > mostEffort {
		return false
	}
	for bits := range 1 << len(w.on) {
		for k := range w.on {
			w.on[k] = bits>>k&1 == 1
		}
		if is.both(w.on) {
			continue
		}
		if !is.assemble(x) {
			continue
		}
		if is.contradiction(x) < 0 {
			return true
		}
	}
	return false
}

func (is *island) answerAll(v float64) []float64 {
	for i := range is.work.answer {
		is.work.answer[i] = v
	}
	clear(is.work.floats)
	return is.work.answer
}

// at is a node's voltage in the last solution.
func (is *island) at(node int, x []float64) float64 {
	if node < 0 {
		return x[^node]
	}
	return is.work.x[node]
}

func (is *island) value(input int, x []float64, other float64) float64 {
	if input < 0 {
		return other
	}
	return x[input]
}
