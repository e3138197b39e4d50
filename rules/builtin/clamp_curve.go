package builtin

import (
	"math"

	"github.com/shuntwright/shuntwright/parse/field"
)

// A clampCurve is what a clamp adds to its breakdown voltage by current: points from (0 A, 0 V), straight between them and flat
// beyond the last, which is all that the record tells.
type clampCurve struct {
	points [][2]float64 // A, V
	rated  float64      // A, of the last point; infinite where the record gives one level for every current
}

// curve is read from the record; ok is false where it tells no level.
func (c clamp) curve() (k clampCurve, ok bool) {
	level, breakdown := c.Entry("clamp.level"), c.Entry("clamp.breakdown")
	if level == nil || breakdown == nil {
		return k, false
	}
	most := breakdown.Written.Range.Hi
	k.points = [][2]float64{{0, 0}}
	if len(level.Points) == 0 {
		k.points = append(k.points, [2]float64{0, max(0, level.Written.Range.Hi-most)})
		k.rated = math.Inf(1)
		return k, true
	}
	for _, pt := range level.Points {
		k.rated = pt[0].Range.Lo * c.Copies()
		k.points = append(k.points, [2]float64{k.rated, max(0, pt[1].Range.Hi-most)})
	}
	return k, true
}

// rise is the voltage above the breakdown at a current.
func (k clampCurve) rise(amps float64) float64 {
	for i := 1; i < len(k.points); i++ {
		a, b := k.points[i-1], k.points[i]
		if amps <= b[0] && b[0] > a[0] {
			return a[1] + (b[1]-a[1])*(amps-a[0])/(b[0]-a[0])
		}
	}
	return k.points[len(k.points)-1][1]
}

// load is the current that a source of volts behind ohms drives through a clamp of a breakdown voltage, of whose rise a
// share is there: V = Vbr + share * rise(I) + R * I. What no resistance limits is infinite.
func (k clampCurve) load(volts, ohms, breakdown, share float64) (amps float64) {
	over := volts - breakdown
	if !(over > 0) {
		return 0
	}
	left := func(i float64) float64 { return over - share*k.rise(i) - ohms*i }
	hi := over / ohms
	if math.IsInf(hi, 1) {
		if hi = k.rated; math.IsInf(hi, 1) || left(hi) > 0 {
			return math.Inf(1)
		}
	}
	lo := 0.0
	for range 200 {
		if m := (lo + hi) / 2; m == lo || m == hi {
			break
		} else if left(m) > 0 {
			lo = m
		} else {
			hi = m
		}
	}
	return hi
}

// onCurve reads a field given by points, straight in the scale asked for between them; ok is false beyond its ends. One
// value holds everywhere.
func onCurve(e *field.Entry, x float64, scale curveScale) (y float64, ok bool) {
	if e == nil {
		return 0, false
	}
	if len(e.Points) == 0 {
		return e.Written.Range.Hi, true
	}
	for i, b := range e.Points {
		switch {
		case x == b[0].Nom:
			return b[1].Range.Hi, true
		case x < b[0].Nom && i == 0:
			return 0, false
		case x < b[0].Nom:
			a := e.Points[i-1]
			part := (scale.x(x) - scale.x(a[0].Nom)) / (scale.x(b[0].Nom) - scale.x(a[0].Nom))
			lo, hi := a[1].Range.Hi, b[1].Range.Hi
			if !(lo > 0 && hi > 0) { // no logarithm
				return lo + (hi-lo)*part, true
			}
			return lo * math.Pow(hi/lo, part), true
		}
	}
	return 0, false
}

// A curveScale is how the x of a curve is drawn; its y is logarithmic.
type curveScale struct{ x func(float64) float64 }

var (
	byTemperature = curveScale{func(x float64) float64 { return x }}
	byTime        = curveScale{math.Log}
)
