package quantity

import "math"

// An Interval is a closed range of numbers in one unit; Lo > Hi means empty. An end may be infinite. An interval with a
// NaN end contains nothing, is in nothing and is not Empty: it says that a computation failed.
type Interval struct{ Lo, Hi float64 }

var (
	// Everything is the interval that nothing limits.
	Everything = Interval{math.Inf(-1), math.Inf(1)}
	// Nothing is the empty interval.
	Nothing = Interval{math.Inf(1), math.Inf(-1)}
)

// Point is the interval that holds one number.
func Point(v float64) Interval { return Interval{v, v} }

// Empty tells that no number is inside.
func (i Interval) Empty() bool { return i.Lo > i.Hi }

// Contains tells that v is inside, the ends included.
func (i Interval) Contains(v float64) bool { return i.Lo <= v && v <= i.Hi }

// In tells that every number of i is inside o. The empty interval is in every other.
func (i Interval) In(o Interval) bool { return i.Empty() || o.Lo <= i.Lo && i.Hi <= o.Hi }

// Union is the smallest interval that holds both.
func (i Interval) Union(o Interval) Interval {
	switch {
	case i.Empty():
		return o
	case o.Empty():
		return i
	}
	return Interval{min(i.Lo, o.Lo), max(i.Hi, o.Hi)}
}

// Intersect is what both hold; Nothing when they do not meet.
func (i Interval) Intersect(o Interval) Interval {
	both := Interval{max(i.Lo, o.Lo), min(i.Hi, o.Hi)}
	if both.Empty() {
		return Nothing
	}
	return both
}

// Mirrored is the interval of the same numbers with the other sign.
func (i Interval) Mirrored() Interval { return Interval{-i.Hi, -i.Lo} }

// Width is the distance between the ends: 0 when empty, infinite when an end is.
func (i Interval) Width() float64 {
	if i.Empty() {
		return 0
	}
	return i.Hi - i.Lo
}
