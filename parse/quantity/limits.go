package quantity

import (
	"fmt"
	"slices"
)

// Limits is a permitted range whose ends may be relative to names: "2.7 V .. 18 V", "ground .. supply".
type Limits struct{ Lo, Hi *Formula }

// ReadLimits reads "a .. b", each end a formula that measures what is wanted. The first end may leave its unit to the
// second where both are numbers. Ends without names must not run backwards.
func ReadLimits(s string, want Unit) (Limits, error) {
	list, err := tokens(s)
	if err != nil {
		return Limits{}, err
	}
	middle := -1
	for i, t := range list {
		if !t.is("..") {
			continue
		}
		if middle >= 0 {
			return Limits{}, fmt.Errorf("a range has two ends with \" .. \" between them")
		}
		middle = i
	}
	if middle < 0 {
		return Limits{}, fmt.Errorf("%s is no range; this wants two ends, such as %s", quote(s),
			quote("1 "+want.Example()+" .. 5 "+want.Example()))
	}
	first, second := list[:middle:middle], list[middle+1:]
	if len(first) == 1 && first[0].kind == numberToken && len(second) == 2 && second[0].kind == numberToken {
		first = append(first, second[1])
	}
	var l Limits
	if l.Lo, err = formulaOf(first, want); err != nil {
		return Limits{}, err
	}
	if l.Hi, err = formulaOf(second, want); err != nil {
		return Limits{}, err
	}
	lo, known := l.Lo.Constant()
	if hi, too := l.Hi.Constant(); known && too && lo > hi {
		return Limits{}, backwards(l.Lo.String(), l.Hi.String())
	}
	return l, nil
}

// Names are the names of both ends.
func (l Limits) Names() []string {
	names := l.Lo.Names()
	for _, n := range l.Hi.Names() {
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	return names
}

// Eval is the range when each name stands for the number that get gives for it; empty where the ends cross.
func (l Limits) Eval(get func(name string) float64) Interval {
	return Interval{l.Lo.Eval(get), l.Hi.Eval(get)}
}

// Constant is the range of limits that name nothing; false when they name something.
func (l Limits) Constant() (Interval, bool) {
	lo, a := l.Lo.Constant()
	hi, b := l.Hi.Constant()
	return Interval{lo, hi}, a && b
}

// String writes the limits so that they read back as the same ones; empty for limits nobody gave.
func (l Limits) String() string {
	if l.Lo == nil || l.Hi == nil {
		return ""
	}
	return l.Lo.String() + " .. " + l.Hi.String()
}
