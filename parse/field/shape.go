package field

import (
	"cmp"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A Shape is what a value looks like and what it means.
type Shape uint8

// The shapes. All quantities are texts with their unit.
const (
	Text    Shape = iota // a name, a path, a sentence
	Word                 // one of the words of the field
	Names                // a list of texts
	Value                // an uncertain number: "5 kohm +- 20 %", "36 V .. 58 V"
	Allowed              // a permitted range, its ends maybe relative to names: "2.7 V .. 18 V", "ground .. supply"
	AtMost               // a largest magnitude that is a fact: "3 mA"; or the range it stays in
	AtLeast              // a smallest value that is guaranteed
	Typical              // a value that is not guaranteed
	Level                // a formula over names: "supply - 90 mV"; with an XUnit also a list of [x, formula]
	Points               // a list of [x, y], both quantities with their signs, or one quantity that holds everywhere
	Goal                 // a largest value that is required
	Flag                 // true or false
	Count                // a whole number from 0
	Fault                // a quantity and how long it lasts: "90 A for 20 us"
	Date                 // a day: "2027-06-30"
	Margins              // a distance from a limit, of any unit and with its sign, or a list of them, one for each unit: "-0.2 V"
)

// String is the name of the shape in lower case.
func (s Shape) String() string {
	return [...]string{"text", "word", "names", "value", "allowed", "at most", "at least", "typical", "level", "points",
		"goal", "flag", "count", "fault", "date", "margins"}[s]
}

// Example is a value of the field as it would stand in a file, quotes included.
func (f *Field) Example() string {
	u := f.Unit.Example()
	name := cmp.Or(f.Says, "name")
	if f.Says != "" && f.quantities() {
		if f.Says[0] == '[' {
			return f.Says
		}
		return `"` + f.Says + `"`
	}
	switch f.Shape {
	case Text:
		return `"` + name + `"`
	case Word:
		return `"` + f.Words[0] + `"`
	case Names:
		return `["` + name + `"]`
	case Allowed:
		return `"1 ` + u + ` .. 5 ` + u + `"`
	case Flag:
		return "true"
	case Count:
		return "4"
	case Fault:
		return `"5 ` + u + ` for 20 us"`
	case Date:
		return `"2027-06-30"`
	case Margins:
		return `"-0.2 V"`
	case Value, AtMost, AtLeast, Typical, Level, Points, Goal:
	}
	return `"5 ` + u + `"`
}

// quantities tells that the value is a text with a unit.
func (f *Field) quantities() bool {
	return f.Shape >= Value && f.Shape < Date && f.Shape != Flag && f.Shape != Count
}

// points tells that the value may be a list of pairs.
func (f *Field) points() bool {
	return f.Shape == Points || f.Shape == Level && f.XUnit != quantity.Ratio
}

// Units are the units of the value, as in "V" or "A by V" for points; "" where it has none.
func (f *Field) Units() string {
	if !f.quantities() {
		return ""
	}
	u := f.Unit.Example()
	if f.points() {
		u += " by " + f.XUnit.Example()
	}
	return u
}
