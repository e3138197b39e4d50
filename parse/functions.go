package parse

import (
	"math"
	"slices"
	"strconv"
)

// A function of the expression language. of returns a value, or why there is none.
type function struct {
	least, most int // arguments; most 0: any number
	of          func(x []float64) (v float64, why string)
}

func (f function) arity() string {
	switch {
	case f.most == 0:
		return "at least " + strconv.Itoa(f.least) + " values"
	case f.least == 1 && f.most == 1:
		return "1 value"
	}
	return strconv.Itoa(f.least) + " values"
}

// plain is a function that always has a value.
func plain(f func(float64) float64) function {
	return function{1, 1, func(x []float64) (float64, string) { return f(x[0]), "" }}
}

// within is a function of a value that must lie in a range.
func within(f func(float64) float64, ok func(float64) bool, why string) function {
	return function{1, 1, func(x []float64) (float64, string) {
		if !ok(x[0]) {
			return 0, why
		}
		return f(x[0]), ""
	}}
}

func positive(x float64) bool    { return x > 0 }
func notNegative(x float64) bool { return x >= 0 }
func unit(x float64) bool        { return -1 <= x && x <= 1 }

const (
	rootWhy = "takes the root of a negative number"
	logWhy  = "takes the logarithm of a number that is not positive"
	arcWhy  = "takes the inverse of a number outside -1 .. 1"
)

var functions = map[string]function{
	"abs": plain(math.Abs), "exp": plain(math.Exp), "floor": plain(math.Floor), "ceil": plain(math.Ceil),
	"int": plain(math.Trunc), "sin": plain(math.Sin), "cos": plain(math.Cos), "tan": plain(math.Tan),
	"atan": plain(math.Atan), "sinh": plain(math.Sinh), "cosh": plain(math.Cosh), "tanh": plain(math.Tanh),
	"sqrt": within(math.Sqrt, notNegative, rootWhy),
	"ln":   within(math.Log, positive, logWhy), "log": within(math.Log, positive, logWhy),
	"log10": within(math.Log10, positive, logWhy),
	"asin":  within(math.Asin, unit, arcWhy), "acos": within(math.Acos, unit, arcWhy),
	"sgn": plain(func(x float64) float64 {
		switch {
		case x > 0:
			return 1
		case x < 0:
			return -1
		}
		return 0
	}),
	"atan2": {2, 2, func(x []float64) (float64, string) { return math.Atan2(x[0], x[1]), "" }},
	"min":   {1, 0, func(x []float64) (float64, string) { return slices.Min(x), "" }},
	"max":   {1, 0, func(x []float64) (float64, string) { return slices.Max(x), "" }},
	"pow":   {2, 2, func(x []float64) (float64, string) { return power(x[0], x[1]) }},
	"pwr": {2, 2, func(x []float64) (float64, string) {
		if x[0] < 0 {
			// Some dialects keep the sign and some drop it: a linter must not choose.
			return 0, "raises a negative number, which dialects read in two ways"
		}
		return power(x[0], x[1])
	}},
	"limit": {3, 3, func(x []float64) (float64, string) {
		return max(min(x[1], x[2]), min(x[0], max(x[1], x[2]))), ""
	}},
	"table": {3, 0, interpolate},
	"if":    {3, 3, nil}, // chosen before its arguments are computed
}

// interpolate is of x, x1, y1, x2, y2, ...: straight lines between the points, the first and the last value held beyond them.
func interpolate(x []float64) (float64, string) {
	points := x[1:]
	if len(points)%2 == 1 {
		return 0, "has a point without a value"
	}
	for i := 2; i < len(points); i += 2 {
		if points[i] < points[i-2] {
			return 0, "has points that do not rise"
		}
	}
	for i := 0; i < len(points); i += 2 {
		if x[0] > points[i] {
			continue
		}
		if i == 0 {
			break
		}
		x0, y0, x1, y1 := points[i-2], points[i-1], points[i], points[i+1]
		return y0 + (y1-y0)*(x[0]-x0)/(x1-x0), ""
	}
	if x[0] > points[0] {
		return points[len(points)-1], ""
	}
	return points[1], ""
}

func power(a, b float64) (float64, string) {
	switch v := math.Pow(a, b); {
	case a == 0 && b < 0:
		return 0, "divides by zero"
	case math.IsNaN(v):
		return 0, "raises a negative number to a power that is not whole"
	default:
		return v, ""
	}
}
