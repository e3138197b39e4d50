package volt

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/rules/volt/internal/sparse"
)

// A sharedCause has the degree in it that the equations' determinant has.
type sharedCause struct {
	cause    int
	from, to float64
	degree   int
	moves    bool // what stands on the right-hand side
	nodes    []float64
	inverse  [][]float64 // from values at the nodes to Bernstein coefficients
}

// share is a cause that may be shared, its degree not yet known.
func (p *plan) share(c int) sharedCause {
	v := p.b.Values[c]
	return sharedCause{cause: c, from: v[0], to: v[len(v)-1]}
}

// degreeOf is the degree of a function of causes as a polynomial in this one: 0 to 2, or -1 where it is none of these.
func (c *sharedCause) degreeOf(at []float64, f func() float64) int {
	was := at[c.cause]
	defer func() { at[c.cause] = was }()
	var y [6]float64
	size := 0.0
	for i := range y {
		at[c.cause] = c.from + (c.to-c.from)*(float64(i)+0.5)/float64(len(y)) // not at an end, where 0 ohm is a little more
		y[i] = f()
		size = max(size, math.Abs(y[i]))
	}
	for d := range 3 { // differences of a polynomial of degree d vanish from d+1 on
		zero := true
		for i := range len(y) - 1 - d {
			y[i] = y[i+1] - y[i]
			zero = zero && math.Abs(y[i]) <= 1e-12*size
		}
		if zero {
			return d
		}
	}
	return -1
}

// prepare picks the nodes, those of Chebyshev, and works out how coefficients follow from values there.
func (c *sharedCause) prepare() bool {
	n := c.degree
	c.nodes = make([]float64, n+1)
	basis := sparse.New(n + 1)
	for i := range c.nodes {
		t := (1 - math.Cos(math.Pi*float64(i)/float64(max(n, 1)))) / 2
		c.nodes[i] = c.from + t*(c.to-c.from)
		for j := range c.nodes {
			basis.Add(i, j, binomial(n, j)*math.Pow(t, float64(j))*math.Pow(1-t, float64(n-j)))
		}
	}
	lu, err := sparse.Factor(basis)
	if err != nil {
		return false // two nodes are one: there is no range
	}
	c.inverse = make([][]float64, n+1)
	for i := range c.inverse {
		c.inverse[i] = make([]float64, n+1)
	}
	column := make([]float64, n+1)
	for i := range c.nodes {
		clear(column)
		column[i] = 1
		lu.Solve(column, column)
		for j, v := range column {
			c.inverse[j][i] = v
		}
	}
	return true
}

func binomial(n, k int) float64 {
	out := 1.0
	for i := range k {
		out = out * float64(n-i) / float64(i+1)
	}
	return math.Round(out)
}

// A form is the denominator and the numerators of a row, for 1 and each column, as Bernstein coefficients over a box of
// what is shared. The first of dims runs fastest.
type form struct {
	side  *side
	dims  []int
	width int
	den   []float64
	num   []float64
}

// each applies f to every line of coefficients along one dimension.
func (f *form) each(d int, g func(line []float64)) {
	along(f.dims, d, 1, f.den, g)
	along(f.dims, d, f.width, f.num, g)
}

// along applies f to each line of coefficients along one dimension.
func along(dims []int, d, width int, values []float64, f func(line []float64)) {
	step := width
	for _, n := range dims[:d] {
		step *= n
	}
	n := dims[d]
	line := make([]float64, n)
	for block := 0; block < len(values); block += step * n {
		for i := range step {
			for j := range n {
				line[j] = values[block+i+j*step]
			}
			f(line)
			for j := range n {
				values[block+i+j*step] = line[j]
			}
		}
	}
}

func (f *form) transform(d int, by [][]float64) {
	out := make([]float64, f.dims[d])
	f.each(d, func(line []float64) {
		for i := range out {
			out[i] = 0
			for j, v := range line {
				out[i] += by[i][j] * v
			}
		}
		copy(line, out)
	})
}

// half is the form over the first or the second half of one dimension (P. de Casteljau's subdivision).
func (f *form) half(d int, second bool) form {
	g := form{side: f.side, dims: f.dims, width: f.width, den: slices.Clone(f.den), num: slices.Clone(f.num)}
	g.each(d, func(line []float64) {
		if second {
			slices.Reverse(line)
		}
		for k := 1; k < len(line); k++ {
			for i := len(line) - 1; i >= k; i-- {
				line[i] = (line[i] + line[i-1]) / 2
			}
		}
		if second {
			slices.Reverse(line)
		}
	})
	return g
}

// quotient is what the row does not exceed over a form's box and over the right-hand side; infinite where the
// denominator may change its sign.
func (f *form) quotient() float64 {
	most := math.Inf(-1)
	for i, den := range f.den {
		if den <= 0 {
			return math.Inf(1)
		}
		_, hi := f.side.over(f.num[i*f.width : (i+1)*f.width])
		most = max(most, hi/den)
	}
	return most
}
