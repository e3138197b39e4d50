package volt_test

import (
	"fmt"
	"math"
	"strings"
)

// A wild network is a list of elements whose values lie in ranges, solved here by modified node equations and Gaussian
// elimination with every combination of conducting diodes.
type wild struct {
	nodes    int
	elements []element
}

// An element's kind is its card's letter: R, V, I, E (a gain times V(c,d)), G, F and H (of is the index of the V whose
// current they follow), S (closed or open, its ohms from lo to hi), D (its drop from lo to hi, anode a). A V with a rail
// stands from a to ground and is declared, not drawn.
type element struct {
	kind       byte
	a, b, c, d int
	of         int
	nom        float64
	lo, hi     float64
	rail       bool
}

func wildNode(k int) string {
	if k == 0 {
		return "0"
	}
	return fmt.Sprint("n", k)
}

func (w wild) name(i int) string { return fmt.Sprintf("%c%d", w.elements[i].kind, i) }

// spread is an element whose value lies within a fraction of nom on either side.
func spread(e element, by float64) element {
	e.lo, e.hi = e.nom-math.Abs(e.nom)*by, e.nom+math.Abs(e.nom)*by
	return e
}

func (w wild) deck() string {
	var b strings.Builder
	b.WriteString(".model sw SW\n.model d D\nVC ctl 0 1\n")
	for i, e := range w.elements {
		n, p, q := w.name(i), wildNode(e.a), wildNode(e.b)
		percent := func() {
			t := 0.0
			if e.nom != 0 {
				t = (e.hi - e.nom) / math.Abs(e.nom) * 100
			}
			fmt.Fprintf(&b, "* shuntwright: elements.%s.tolerance = \"%.12g %%\"\n", n, t)
		}
		switch e.kind {
		case 'R', 'I':
			percent()
			fmt.Fprintf(&b, "%s %s %s %s\n", n, p, q, number(e.nom))
		case 'V':
			if e.rail {
				fmt.Fprintf(&b, "* shuntwright: rails.%s = \"%.12g V .. %.12g V\"\n", p, e.lo, e.hi)
				break
			}
			percent()
			fmt.Fprintf(&b, "%s %s %s %s\n", n, p, q, number(e.nom))
		case 'E', 'G':
			fmt.Fprintf(&b, "%s %s %s %s %s %s\n", n, p, q, wildNode(e.c), wildNode(e.d), number(e.nom))
		case 'F', 'H':
			fmt.Fprintf(&b, "%s %s %s %s %s\n", n, p, q, w.name(e.of), number(e.nom))
		case 'S':
			fmt.Fprintf(&b, "* shuntwright: elements.%s.on-resistance = \"%.12g ohm .. %.12g ohm\"\n%s %s %s ctl 0 sw\n", n, e.lo, e.hi, n, p, q)
		case 'D':
			fmt.Fprintf(&b, "* shuntwright: elements.%s.drop = \"%.12g V .. %.12g V\"\n%s %s %s d\n", n, e.lo, e.hi, n, p, q)
		}
	}
	return b.String()
}

// of are the elements of a kind.
func (w wild) of(kind byte) (out []int) {
	for i, e := range w.elements {
		if e.kind == kind {
			out = append(out, i)
		}
	}
	return out
}

// free are the elements whose value may vary.
func (w wild) free() (out []int) {
	for i, e := range w.elements {
		if e.lo < e.hi {
			out = append(out, i)
		}
	}
	return out
}

// at are the values with each free element at a place from 0 to 1 of its range.
func (w wild) at(place func(i int) float64) []float64 {
	x := make([]float64, len(w.elements))
	for i, e := range w.elements {
		x[i] = e.nom
		if e.lo < e.hi {
			p := place(i)
			x[i] = e.lo*(1-p) + e.hi*p
		} else if e.kind == 'D' || e.kind == 'S' || e.rail {
			x[i] = e.lo
		}
	}
	return x
}

// An outcome is one consistent answer.
type outcome struct {
	volts []float64 // of each node
	amps  []float64 // of each element, from a to b
	size  float64   // the largest voltage
}

// outcomes are the answers with these values, one for each consistent combination of diodes, the bits of closed saying which
// switches are.
func (w wild) outcomes(x []float64, closed int) (out []outcome) {
	diodes := w.of('D')
	for on := range 1 << len(diodes) {
		if o, ok := w.state(x, closed, diodes, on); ok {
			out = append(out, o)
		}
	}
	return out
}

func (w wild) state(x []float64, closed int, diodes []int, on int) (o outcome, ok bool) {
	rows := map[int]int{}
	size := w.nodes
	conducts, shut := map[int]bool{}, map[int]bool{}
	for k, i := range diodes {
		conducts[i] = on>>k&1 == 1
	}
	for k, i := range w.of('S') {
		shut[i] = closed>>k&1 == 1
	}
	for i, e := range w.elements {
		if e.kind == 'V' || e.kind == 'E' || e.kind == 'H' || conducts[i] || shut[i] || e.kind == 'R' && math.Abs(x[i]) < 1 {
			rows[i] = size
			size++
		}
	}
	m := make([][]float64, size)
	for r := range m {
		m[r] = make([]float64, size+1)
	}
	add := func(r, c int, v float64) {
		if r > 0 && c > 0 {
			m[r-1][c-1] += v
		}
	}
	feed := func(r int, v float64) {
		if r > 0 {
			m[r-1][size] += v
		}
	}
	for i, e := range w.elements {
		row, has := rows[i]
		if has {
			row++
			add(e.a, row, 1)
			add(e.b, row, -1)
			add(row, e.a, 1)
			add(row, e.b, -1)
		}
		switch e.kind {
		case 'R', 'S':
			if has {
				add(row, row, -x[i])
			} else if e.kind == 'R' {
				g := 1 / x[i]
				add(e.a, e.a, g)
				add(e.b, e.b, g)
				add(e.a, e.b, -g)
				add(e.b, e.a, -g)
			}
		case 'V', 'D':
			if has {
				feed(row, x[i])
			}
		case 'I':
			feed(e.a, -x[i])
			feed(e.b, x[i])
		case 'E':
			add(row, e.c, -x[i])
			add(row, e.d, x[i])
		case 'G':
			add(e.a, e.c, x[i])
			add(e.a, e.d, -x[i])
			add(e.b, e.c, -x[i])
			add(e.b, e.d, x[i])
		case 'H':
			add(row, rows[e.of]+1, -x[i])
		case 'F':
			add(e.a, rows[e.of]+1, x[i])
			add(e.b, rows[e.of]+1, -x[i])
		}
	}
	s, ok := gauss(m)
	if !ok {
		return o, false
	}
	o = outcome{volts: make([]float64, w.nodes+1), amps: make([]float64, len(w.elements)), size: 1}
	for k := 1; k <= w.nodes; k++ {
		o.volts[k] = s[k-1]
		o.size = max(o.size, math.Abs(s[k-1]))
	}
	for i, e := range w.elements {
		v := o.volts[e.a] - o.volts[e.b]
		row, has := rows[i]
		switch {
		case has:
			o.amps[i] = s[row]
		case e.kind == 'R':
			o.amps[i] = v / x[i]
		case e.kind == 'I':
			o.amps[i] = x[i]
		case e.kind == 'G':
			o.amps[i] = x[i] * (o.volts[e.c] - o.volts[e.d])
		case e.kind == 'F':
			o.amps[i] = x[i] * s[rows[e.of]]
		}
		if e.kind == 'D' {
			if conducts[i] && o.amps[i] < -1e-11 || !conducts[i] && v > x[i]+1e-9*o.size {
				return o, false
			}
		}
	}
	return o, true
}

// gauss solves a square system with its right-hand side in the last column; rows are weighed by their largest entry.
func gauss(m [][]float64) ([]float64, bool) {
	n := len(m)
	for _, row := range m {
		most := 0.0
		for _, v := range row[:n] {
			most = max(most, math.Abs(v))
		}
		if most == 0 {
			return nil, false
		}
		for c := range row {
			row[c] /= most
		}
	}
	for c := range n {
		p := c
		for r := c + 1; r < n; r++ {
			if math.Abs(m[r][c]) > math.Abs(m[p][c]) {
				p = r
			}
		}
		if math.Abs(m[p][c]) < 1e-13 {
			return nil, false
		}
		m[c], m[p] = m[p], m[c]
		for r := c + 1; r < n; r++ {
			f := m[r][c] / m[c][c]
			if f == 0 {
				continue
			}
			for k := c; k <= n; k++ {
				m[r][k] -= f * m[c][k]
			}
		}
	}
	x := make([]float64, n)
	for c := n - 1; c >= 0; c-- {
		x[c] = m[c][n]
		for k := c + 1; k < n; k++ {
			x[c] -= m[c][k] * x[k]
		}
		x[c] /= m[c][c]
	}
	return x, true
}
