package sense

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
)

// A Solution is what each node of a network makes of its sources, by superposition: the ports in volts, then for each op
// amp its offset (in- above in+) in volts and the currents into in+ and in- in amperes.
type Solution struct {
	w     *Network
	x     [][]float64
	loop  int // the column of an opened loop; -1
	width int
}

// Solve works out the network at these resistances, in ohm; false where it has no single solution. Nullors are the
// ideal op amp of H. J. Carlin, "Singular Network Elements", IEEE Transactions on Circuit Theory, 1964: no current and no voltage at the inputs, anything at the
// output.
func (w *Network) Solve(ohms []float64) (*Solution, bool) { return w.solve(ohms, -1) }

// solve with the output of one op amp driven by a source of its own instead of by its inputs.
func (w *Network) solve(ohms []float64, open int) (*Solution, bool) {
	ports, amps := len(w.Ports), len(w.Stages)
	size := w.nodes + len(w.linear)
	channel := make([]int, amps)
	for i, s := range w.Stages {
		if channel[i] = -1; s.Through != nil {
			channel[i] = size
			size++
		}
	}
	width := ports + 3*amps + 1
	m := make([][]float64, size)
	cells := make([]float64, size*(size+width))
	for i := range m {
		m[i] = cells[i*(size+width) : (i+1)*(size+width)]
	}
	volt := func(row int, n circuit.Net, times float64) { // times the voltage of a net, on the left
		switch k, _ := w.at(n); {
		case k >= 0:
			m[row][k] += times
		default:
			m[row][size+^k] -= times
		}
	}
	// Kirchhoff's current law at each node that nothing drives
	drivenBy := make([]int, w.nodes)
	for i := range drivenBy {
		drivenBy[i] = -1
	}
	for i, s := range w.Stages {
		if k, ok := w.at(s.Out); s.Through == nil && ok {
			drivenBy[k] = i
		}
	}
	into := func(n circuit.Net, f func(row int)) {
		if k, _ := w.at(n); k >= 0 && drivenBy[k] < 0 {
			f(k)
		}
	}
	for i, e := range w.Resistors {
		a, b := e.Pin(0), e.Pin(1)
		g := 1 / ohms[i]
		for range 2 {
			into(a, func(row int) { volt(row, a, g); volt(row, b, -g) })
			a, b = b, a
		}
	}
	for i, e := range w.linear {
		col := w.nodes + i
		into(e.Pin(0), func(row int) { m[row][col]++ })
		into(e.Pin(1), func(row int) { m[row][col]-- })
		volt(col, e.Pin(0), 1)
		volt(col, e.Pin(1), -1)
		for _, t := range e.Linear().Volts {
			volt(col, t.Pos, -t.Gain)
			volt(col, t.Neg, t.Gain)
		}
	}
	loop := size + width - 1
	for i, s := range w.Stages {
		into(s.Plus, func(row int) { m[row][size+ports+3*i+1]-- })
		into(s.Minus, func(row int) { m[row][size+ports+3*i+2]-- })
		row := channel[i]
		if s.Through != nil { // from the drain through the channel to the source
			into(s.drain, func(r int) { m[r][channel[i]]++ })
			into(s.source, func(r int) { m[r][channel[i]]-- })
		} else if k, ok := w.at(s.Out); ok {
			row = k
		} else {
			if i != open {
				return nil, false // nothing comes back
			}
			continue
		}
		if i == open {
			m[row][row], m[row][loop] = 1, 1
			continue
		}
		volt(row, s.Minus, 1)
		volt(row, s.Plus, -1)
		m[row][size+ports+3*i]++
	}
	if !eliminate(m, size) {
		return nil, false
	}
	s := &Solution{w: w, width: width, loop: ports + 3*amps}
	for i := range w.nodes {
		s.x = append(s.x, m[i][size:])
	}
	return s, true
}

// eliminate solves by Gauss with the largest pivot of each column, rows scaled to their largest coefficient.
func eliminate(m [][]float64, size int) bool {
	for _, r := range m {
		most := 0.0
		for _, v := range r[:size] {
			most = max(most, math.Abs(v))
		}
		if !(most > 0) || math.IsInf(most, 0) {
			return false
		}
		for j := range r {
			r[j] /= most
		}
	}
	for c := range size {
		best := c
		for i := c + 1; i < size; i++ {
			if math.Abs(m[i][c]) > math.Abs(m[best][c]) {
				best = i
			}
		}
		if math.Abs(m[best][c]) < 1e-13 {
			return false
		}
		m[c], m[best] = m[best], m[c]
		for i := range m {
			if f := m[i][c] / m[c][c]; i != c && f != 0 {
				for j := c; j < len(m[i]); j++ {
					m[i][j] -= f * m[c][j]
				}
			}
		}
	}
	for c := range size {
		f := m[c][c]
		for j := size; j < len(m[c]); j++ {
			m[c][j] /= f
		}
	}
	return true
}

// column is how a net follows one of the sources.
func (s *Solution) column(n circuit.Net, col int) float64 {
	switch k, ok := s.w.at(n); {
	case !ok:
		return math.NaN()
	case k >= 0:
		return s.x[k][col]
	case ^k == col:
		return 1
	}
	return 0
}

// Of is how a net follows a port, in V/V.
func (s *Solution) Of(n circuit.Net, port int) float64 { return s.column(n, port) }

// Offset is how a net follows the offset of an op amp, in V/V: its noise gain.
func (s *Solution) Offset(n circuit.Net, stage int) float64 {
	return s.column(n, len(s.w.Ports)+3*stage)
}

// Bias is how a net follows the currents into in+ and in- of an op amp, in V/A.
func (s *Solution) Bias(n circuit.Net, stage int) (plus, minus float64) {
	return s.column(n, len(s.w.Ports)+3*stage+1), s.column(n, len(s.w.Ports)+3*stage+2)
}

// Feedback is how far in- rises above in+ for each volt that the output of an op amp rises (each ampere, where a transistor
// is in the loop), all other op amps working: positive where the feedback is negative, as it must be.
func (w *Network) Feedback(ohms []float64, stage int) float64 {
	s, ok := w.solve(ohms, stage)
	if !ok {
		return math.NaN()
	}
	t := w.Stages[stage]
	return s.column(t.Minus, s.loop) - s.column(t.Plus, s.loop)
}

// Open is what a net sees with all op amps without supply, their outputs let go: the voltage that the ports make there,
// and the resistance behind it, in ohm, which is 0 for a port.
func (w *Network) Open(n circuit.Net, ohms, volts []float64) (open, facing float64) {
	at, ok := w.at(n)
	switch {
	case !ok:
		return math.NaN(), math.NaN()
	case at < 0:
		return volts[^at], 0
	}
	size := w.nodes + len(w.linear)
	m := make([][]float64, size)
	for i := range m {
		m[i] = make([]float64, size+2)
	}
	follow := func(row int, n circuit.Net, times float64) {
		if k, _ := w.at(n); k >= 0 {
			m[row][k] += times
		} else {
			m[row][size] -= times * volts[^k]
		}
	}
	touched := make([]bool, w.nodes)
	for i, e := range w.Resistors {
		a, b := e.Pin(0), e.Pin(1)
		for range 2 {
			if k, _ := w.at(a); k >= 0 {
				touched[k] = true
				follow(k, a, 1/ohms[i])
				follow(k, b, -1/ohms[i])
			}
			a, b = b, a
		}
	}
	for i, e := range w.linear {
		row := w.nodes + i
		for j, sign := range []float64{1, -1} {
			if k, _ := w.at(e.Pin(j)); k >= 0 {
				touched[k] = true
				m[k][row] += sign
			}
			follow(row, e.Pin(j), sign)
		}
		for _, t := range e.Linear().Volts {
			follow(row, t.Pos, -t.Gain)
			follow(row, t.Neg, t.Gain)
		}
	}
	for k, t := range touched {
		if !t {
			m[k][k] = 1 // nothing reaches it
		}
	}
	m[at][size+1] = 1
	if !eliminate(m, size) {
		return math.NaN(), math.NaN()
	}
	return m[at][size], m[at][size+1]
}
