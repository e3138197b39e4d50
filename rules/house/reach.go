package house

import (
	"fmt"
	"math"
	"slices"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// mostOrigins is how many places a quantity is told to come from.
const mostOrigins = 6

// told is a quantity as numbers: no allowed state lies outside of them.
func told(d *design.Design, q quantity.Quantity) *reach {
	r := &reach{Needs: q.Needs, Typical: q.Grade == quantity.Soft}
	end := func(v float64) *float64 {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil
		}
		return &v
	}
	if !q.Sound.Empty() {
		r.Low, r.High = end(q.Sound.Lo), end(q.Sound.Hi)
	}
	r.Nominal = end(q.Nom)
	for _, c := range q.Causes() {
		if c.At.None() || len(r.From) == mostOrigins {
			continue
		}
		p := d.Src.Place(c.At)
		if t := fmt.Sprintf("%s:%d %s", p.Path, p.Line, c.Name); !slices.Contains(r.From, t) {
			r.From = append(r.From, t)
		}
	}
	return r
}
