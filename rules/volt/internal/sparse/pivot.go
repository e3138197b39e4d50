package sparse

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Singular is the error of a matrix that has no inverse, or none after changes of its entries by a few units in the last place,
// which nobody could tell from the rounding when conductances were added up. Elimination leaves no pivot for a Column, nor one
// in a Row; they are numbered as in the Matrix.
//
// A matrix that ought to be singular may yet slip through after unlucky rounding: its Condition is then above 1e13.
type Singular struct{ Row, Column int }

func (s *Singular) Error() string {
	return fmt.Sprintf("the matrix is singular: row %d and column %d are left without a pivot", s.Row, s.Column)
}

// singular names a column and one of the rows left over: that of the same number, or else the first.
func singular(column int, rows []int32) *Singular {
	s := &Singular{Row: math.MaxInt, Column: column}
	for _, r := range rows {
		if int(r) == column {
			s.Row = column
			break
		}
		s.Row = min(s.Row, int(r))
	}
	return s
}

// A doubt is a pivot, by its place, that is so many times smaller than what stands above it in U.
type doubt struct {
	place int
	ratio float64
}

type doubts []doubt

// take looks at one pivot, and returns false when numbers are not finite.
func (d *doubts) take(place int, pivot, above float64) bool {
	if pivot < suspect*above {
		*d = append(*d, doubt{place, pivot / above})
	}
	return pivot+above <= math.MaxFloat64
}

// suspect is far above what rounding leaves of a sum, and rarely reached by pivots that are sound.
const suspect = 1e-6

// worst are the few smallest, the smallest first.
func (d doubts) worst() []doubt {
	slices.SortFunc(d, func(a, b doubt) int { return cmp.Compare(a.ratio, b.ratio) })
	return d[:min(len(d), 16)]
}

// units is how many units in the last place an entry may be off: one for its rounding when it was added up, the others for what
// elimination adds. Sums of random rows that ought to be zero come out below 1 mostly, and hardly ever above 4.
const units = 8

// doubt looks whether small pivots are more than rounding errors.
//
// A pivot is a sum of w_i a_ij v_j over all entries, with combinations w of rows and v of columns that leave nothing else. Where
// it is smaller than what a change of each entry by a few units in the last place makes of it, other entries that nobody
// could tell from these have the pivot 0, and whatever follows from it is made up.
func (f *LU) doubt() error {
	list, err := f.way.doubtful()
	if err != nil {
		return err
	}
	w, v := f.rest, f.trial
	first := f.a.n
	for _, d := range list {
		if d.place > first {
			continue
		}
		f.way.null(d.place, w, v)
		var pivot, all float64
		for c, vc := range v {
			if vc == 0 {
				continue
			}
			for p := f.a.start[c]; p < f.a.start[c+1]; p++ {
				t := w[f.a.row[p]] * f.a.value[p] * vc
				pivot += t
				all += math.Abs(t)
			}
		}
		if math.Abs(pivot) <= units*epsilon*all {
			first = d.place
		}
	}
	if first < f.a.n {
		return f.way.without(&f.a, first)
	}
	return nil
}
