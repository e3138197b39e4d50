package volt

import (
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A blending takes one piece to all corners of what is not shared, and at each to all nodes of what is.
type blending struct {
	*mix
	pc     *piece
	at     []float64
	starts []float64 // of each param of the piece: its entry where the piece has it
	free   []int     // the params that follow nothing shared
	follow []int     // those that do
	rows   []int
	tied   []int // of each shared cause: the column of the right-hand side that goes straight along with it; -1: none
}

func (m *mix) blend(pc *piece, at []float64) {
	b := &blending{mix: m, pc: pc, at: at}
	for i, k := range pc.params {
		b.starts = append(b.starts, pc.span[i].from)
		if len(m.of[k]) > 0 {
			b.follow = append(b.follow, i)
		} else {
			b.free = append(b.free, i)
		}
	}
	b.rows = append(b.rows, pc.reading())
	for i := range pc.of {
		b.rows = append(b.rows, pc.reading()+1+i)
	}
	for _, c := range m.shared {
		col := -1
		for _, bundle := range pc.side.bundles {
			if bundle.straight && len(bundle.causes) == 1 && bundle.causes[0] == c.cause {
				col = bundle.first
			}
		}
		b.tied = append(b.tied, col)
	}
	b.corners(0, slices.Clone(pc.m))
}

// corners takes the params that are not shared to their ends, one after the other.
func (b *blending) corners(i int, m []float64) {
	if b.failed || b.pole {
		return
	}
	if i == len(b.free) {
		b.owners(0, m)
		return
	}
	b.corners(i+1, m)
	k := b.free[i]
	next := slices.Clone(m)
	if _, ok := b.shift(next, k, b.pc.span[k].to-b.pc.span[k].from); !ok {
		b.pole = true
		return
	}
	b.corners(i+1, next)
}

// owners takes the causes that one shared coefficient has for itself to their corners.
func (b *blending) owners(i int, m []float64) {
	if i < len(b.follow) {
		b.mix.b.Visit(b.alone[b.pc.params[b.follow[i]]], b.at, func() bool {
			b.owners(i+1, m)
			return !b.failed && !b.pole
		})
		return
	}
	b.failed = b.failed || !b.is.spend(b.nodes()*len(b.follow)*len(b.rows)*b.pc.cols)
	b.leaf(m)
}

// shift moves a param of a matrix, and tells by what the determinant grows.
func (b *blending) shift(m []float64, k int, delta float64) (grows float64, ok bool) {
	pc := b.pc
	row := slices.Clone(m[k*pc.cols : (k+1)*pc.cols])
	d := 1 + delta*row[k]
	if d <= 1e-12*max(1, math.Abs(delta*row[k])) {
		return d, false
	}
	for r := range pc.rows {
		to := m[r*pc.cols : (r+1)*pc.cols]
		if g := delta / d * to[k]; g != 0 {
			for c, v := range row {
				to[c] -= g * v
			}
		}
	}
	return d, true
}

// leaf bounds the reading at one corner of all that is not shared.
func (b *blending) leaf(from []float64) {
	pc := b.pc
	n := len(pc.params)
	width := pc.cols - n // of a row: 1, then the columns
	nodes := b.nodes()
	f := form{width: width, den: make([]float64, nodes)}
	f.num = make([][]float64, len(b.rows))
	for r := range f.num {
		f.num[r] = make([]float64, nodes*width)
	}
	for _, c := range b.shared {
		f.dims = append(f.dims, c.degree+1)
	}
	m := make([]float64, len(from))
	for node := range nodes {
		rest := node
		for _, c := range b.shared {
			b.at[c.cause] = c.nodes[rest%len(c.nodes)]
			rest /= len(c.nodes)
		}
		copy(m, from)
		den := 1.0
		for _, i := range b.follow {
			q := b.is.work.params[pc.params[i]]
			d, ok := b.shift(m, i, q.entry(b.mix.b.Argument(q.input, b.at))-b.starts[i])
			if !ok {
				b.pole = true
				return
			}
			den *= d * b.divisor(pc.params[i])
		}
		f.den[node] = den
		for r, row := range b.rows {
			num := f.num[r][node*width : (node+1)*width]
			for c := range num {
				num[c] = den * m[row*pc.cols+n+c]
			}
			for i, col := range b.tied {
				if c := b.shared[i]; col >= 0 {
					num[0] += num[1+col] * (b.at[c.cause] - c.from) / (c.to - c.from)
					num[1+col] = 0
				}
			}
		}
	}
	for d, c := range b.shared {
		f.transform(d, c.inverse)
	}
	b.take(f, 0)
}

// divisor is what makes a polynomial of a param's entry, up to a factor that does not follow what is shared.
func (b *blending) divisor(k int) float64 {
	q := b.is.work.params[k]
	at := slices.Clone(b.at)
	out := 1.0
	for _, i := range b.below[k] {
		for _, c := range b.shared {
			at[c.cause] = c.from
		}
		c := b.shared[i].cause
		at[c] = b.at[c]
		out /= q.entry(b.mix.b.Argument(q.input, at))
	}
	return math.Abs(out)
}

// A form is the denominator and the numerators of the rows of a leaf, as Bernstein coefficients over a box of what is
// shared. The first of dims runs fastest.
type form struct {
	dims  []int
	width int
	den   []float64
	num   [][]float64
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

func (f *form) each(d int, g func(line []float64)) {
	along(f.dims, d, 1, f.den, g)
	for _, num := range f.num {
		along(f.dims, d, f.width, num, g)
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
	g := form{dims: f.dims, width: f.width, den: slices.Clone(f.den)}
	for _, n := range f.num {
		g.num = append(g.num, slices.Clone(n))
	}
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

// mostHalved is how often a range is halved in all.
const mostHalved = 12

// take adds what a row's quotient may be to the bound, where no condition rules the leaf out.
func (b *blending) take(f form, depth int) {
	if b.failed {
		return
	}
	lo, hi, ok := b.quotient(&f, 0)
	if ok {
		for r := range f.num[1:] {
			_, most, ok := b.quotient(&f, 1+r)
			if slack := 1e-9*b.scale(&f, 1+r) + 1e-11; ok && most < -slack {
				return
			}
		}
	}
	size := max(1, math.Abs(b.known.Lo), math.Abs(b.known.Hi))
	least := 1e-9 * size
	lo, hi = lo-1e-13*size, hi+1e-13*size // rounding
	if ok && lo >= b.known.Lo-least && hi <= b.known.Hi+least {
		b.outer2 = b.outer2.Union(quantity.Interval{Lo: lo, Hi: hi})
		return
	}
	if depth >= mostHalved || !b.is.spend(len(f.den)*len(b.rows)*f.width*8) {
		if !ok {
			lo, hi = math.Inf(-1), math.Inf(1)
		}
		b.outer2 = b.outer2.Union(quantity.Interval{Lo: lo, Hi: hi})
		return
	}
	d := depth % len(f.dims)
	b.take(f.half(d, false), depth+1)
	b.take(f.half(d, true), depth+1)
}

// quotient is the range that a row does not leave over a form's box and over the right-hand side; ok is false where the
// denominator may change its sign.
func (b *blending) quotient(f *form, r int) (lo, hi float64, ok bool) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i, den := range f.den {
		if den <= 0 {
			return lo, hi, false
		}
		at := f.num[r][i*f.width : (i+1)*f.width]
		low, high := at[0], at[0]
		for k := range b.pc.side.bundles {
			bundle := &b.pc.side.bundles[k]
			down, up := 0.0, 0.0
			for _, v := range at[1+bundle.first : 1+bundle.first+bundle.columns] {
				down, up = min(down, v), max(up, v)
			}
			low, high = low+down, high+up
		}
		lo, hi = min(lo, low/den), max(hi, high/den)
	}
	return lo, hi, true
}

// scale is the largest share of a row.
func (b *blending) scale(f *form, r int) (size float64) {
	for i, den := range f.den {
		for _, v := range f.num[r][i*f.width : (i+1)*f.width] {
			size = max(size, math.Abs(v/den))
		}
	}
	return size
}
