package volt

import "math"

// A program is a linear program over variables of which each lies between 0 and 1: the largest value of
// constant + gain·t for which limits[i] + slope[i]·t is at least 0 for every i. It is solved by the dual simplex method
// for bounded variables (C. E. Lemke, "The dual method of solving the linear programming problem", 1954; R. Vanderbei,
// "Linear Programming", on dictionaries): the corner that is best without the limits is dual feasible, and few limits
// mean few pivots.
type program struct {
	vars   int
	alpha  []float64 // the dictionary: of each row, its slope by column
	beta   []float64 // and its constant
	gain   []float64
	upper  []bool // of a column: its variable stands at its upper bound
	column []int  // of a column: the variable, below vars one of t, else vars + the limit whose slack it is
	row    []int  // of a row: the same
}

// solve returns the largest value and where it stands; ok is false where the limits leave nothing. t is the caller's.
func (p *program) solve(constant float64, gain []float64, limits []float64, slope [][]float64, t []float64) (best float64, ok bool) {
	n, k := len(gain), len(limits)
	p.vars = n
	p.alpha, p.beta = grown(p.alpha, n*k), grown(p.beta, k)
	p.gain = append(p.gain[:0], gain...)
	p.upper, p.column, p.row = p.upper[:0], p.column[:0], p.row[:0]
	size := scale(0, gain)
	for j := range n {
		p.upper = append(p.upper, gain[j] > 1e-13*size) // what gains nothing but by rounding stays
		p.column = append(p.column, j)
	}
	for i := range k {
		size := scale(limits[i], slope[i])
		p.beta[i] = limits[i] / size
		for j := range n {
			p.alpha[i*n+j] = slope[i][j] / size
		}
		p.row = append(p.row, n+i)
	}
	for range 8 * (n + k + 1) {
		i, down := p.violated(n)
		if i < 0 {
			p.read(n, t)
			best = constant
			for j := range n {
				best += gain[j] * t[j]
			}
			return best, true
		}
		j := p.entering(n, i, down)
		if j < 0 {
			return 0, false
		}
		p.pivot(n, i, j, down)
	}
	return 0, false
}

// scale is what a limit is divided by, lest a large one hides the others.
func scale(limit float64, slope []float64) float64 {
	size := math.Abs(limit)
	for _, v := range slope {
		size = max(size, math.Abs(v))
	}
	if size == 0 {
		return 1
	}
	return size
}

func grown(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n)
	}
	return s[:n]
}

// slacken is how far a variable may lie beyond its bounds.
const slacken = 1e-10

// valueOf is the value of the variable of a column: 0, or its upper bound of 1, which slacks do not have.
func (p *program) valueOf(j int) float64 {
	if p.upper[j] {
		return 1
	}
	return 0
}

// violated is the row whose variable lies farthest beyond its bounds, and whether it must come down.
func (p *program) violated(n int) (row int, down bool) {
	row = -1
	worst := slacken
	for i := range p.row {
		v := p.beta[i]
		for j := range n {
			if p.upper[j] {
				v += p.alpha[i*n+j]
			}
		}
		if -v > worst {
			worst, row, down = -v, i, false
		}
		if v-1 > worst && p.row[i] < p.vars {
			worst, row, down = v-1, i, true
		}
	}
	return row, down
}

// entering is the column that gives way at the least loss.
func (p *program) entering(n, i int, down bool) int {
	best, at := math.Inf(1), -1
	size := 0.0
	for j := range n {
		a := p.alpha[i*n+j]
		if down {
			a = -a
		}
		if p.upper[j] {
			a = -a
		}
		if a <= 1e-13 {
			continue
		}
		ratio := math.Abs(p.gain[j]) / a
		if ratio < best-1e-15 || ratio <= best+1e-15 && a > size {
			best, at, size = min(best, ratio), j, a
		}
	}
	return at
}

// pivot lets the variable of column j enter and that of row i leave to the bound it lies beyond.
func (p *program) pivot(n, i, j int, down bool) {
	a := p.alpha[i*n+j]
	for c := range n {
		if c != j {
			p.alpha[i*n+c] /= -a
		}
	}
	p.alpha[i*n+j] = 1 / a
	p.beta[i] /= -a
	for r := range p.row {
		if r == i {
			continue
		}
		f := p.alpha[r*n+j]
		if f == 0 {
			continue
		}
		for c := range n {
			if c == j {
				p.alpha[r*n+c] = f * p.alpha[i*n+c]
			} else {
				p.alpha[r*n+c] += f * p.alpha[i*n+c]
			}
		}
		p.beta[r] += f * p.beta[i]
	}
	f := p.gain[j]
	for c := range n {
		if c == j {
			p.gain[c] = f * p.alpha[i*n+c]
		} else {
			p.gain[c] += f * p.alpha[i*n+c]
		}
	}
	p.row[i], p.column[j] = p.column[j], p.row[i]
	p.upper[j] = down
}

// read writes the values of t.
func (p *program) read(n int, t []float64) {
	for j, v := range p.column {
		if v < p.vars {
			t[v] = p.valueOf(j)
		}
	}
	for i, v := range p.row {
		if v >= p.vars {
			continue
		}
		x := p.beta[i]
		for j := range n {
			if p.upper[j] {
				x += p.alpha[i*n+j]
			}
		}
		t[v] = min(max(x, 0), 1)
	}
}

// worth is what each limit costs the largest value that was found, for each unit of it: its dual.
func (p *program) worth(limits []float64, slope [][]float64) []float64 {
	out := make([]float64, len(limits))
	for j, v := range p.column {
		if v < p.vars {
			continue
		}
		i := v - p.vars
		out[i] = max(0, -p.gain[j]) / scale(limits[i], slope[i])
	}
	return out
}
