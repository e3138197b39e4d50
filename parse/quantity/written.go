package quantity

import (
	"fmt"
	"math"
	"strings"
)

// A Form is how much a written quantity says about its own uncertainty.
type Form uint8

// The forms of a written quantity.
const (
	Bare       Form = iota // "5 V": whoever reads it decides what it leaves open
	Exact                  // "5 V exact": no uncertainty
	Toleranced             // "5 V +- 2 %", "5 V +2 % -5 %"
	Ranged                 // "36 V .. 58 V"
)

// String is the form in a word.
func (f Form) String() string { return [...]string{"bare", "exact", "toleranced", "ranged"}[f] }

// Written is a quantity as a person wrote it, in the unit that was wanted. Range always holds Nom; the two are one
// number for Bare and Exact, and Nom is the middle of a range.
type Written struct {
	Nom   float64
	Range Interval
	Form  Form
	Text  string // as it stands in the file
}

// maxText bounds the text of one quantity, in bytes.
const maxText = 400

// ReadWritten reads the text of one quantity: "5 V", "5 V +- 2 %", "5 V ± 50 mV", "5 V +2 % -5 %", "36 V .. 58 V",
// "5 V exact". The unit must measure what is wanted; a percentage in a tolerance is one of the nominal. The first end
// of a range may leave its unit to the second. Nothing that is not a finite number of the wanted unit is accepted, and
// a range does not run backwards.
func ReadWritten(s string, want Unit) (Written, error) {
	w := Written{Text: s}
	text, err := plain(s)
	if err != nil {
		return Written{}, err
	}
	if text == "" {
		return Written{}, fmt.Errorf("nothing is written; this wants %s, such as %s", describe(want),
			quote("5 "+want.Example()))
	}
	if first, second, ok := strings.Cut(text, ".."); ok {
		w.Form = Ranged
		w.Nom, w.Range, err = readRange(first, second, want)
		return w, err
	}
	if head, ok := strings.CutSuffix(text, " exact"); ok {
		w.Form, text = Exact, strings.TrimSpace(head)
	}
	lit, rest, err := readLiteral(text, want)
	if err != nil {
		return Written{}, err
	}
	nom, _, err := lit.in(want)
	if err != nil {
		return Written{}, err
	}
	w.Nom, w.Range = nom, Point(nom)
	if rest == "" {
		return w, nil
	}
	if w.Form == Exact {
		return Written{}, fmt.Errorf("%s says both a tolerance and exact", quote(s))
	}
	w.Form = Toleranced
	if w.Range, err = readTolerance(nom, rest, want); err != nil {
		return Written{}, err
	}
	if math.IsInf(w.Range.Lo, 0) || math.IsInf(w.Range.Hi, 0) {
		return Written{}, fmt.Errorf("%s is out of range", quote(s))
	}
	return w, nil
}

// plain trims a text and replaces typographic signs by those of the keyboard.
func plain(s string) (string, error) {
	if len(s) > maxText {
		return "", fmt.Errorf("%s is too long for a quantity", quote(s))
	}
	return strings.TrimSpace(strings.NewReplacer("\u2212", "-", "±", "+-", "+/-", "+-").Replace(s)), nil
}

// readLiteral reads a number and its unit off the front of s. The unit ends at a space or a sign.
func readLiteral(s string, want Unit) (lit literal, rest string, err error) {
	n := numberEnd(s)
	if n == 0 {
		return lit, "", notANumber(s, want)
	}
	lit.number = s[:n]
	tail := s[n:]
	if len(tail) > 1 && tail[0] == ',' {
		return lit, "", fmt.Errorf("%s: a decimal point is written \".\", and thousands are not marked", quote(s))
	}
	unit := strings.TrimLeft(tail, " \t")
	if end := strings.IndexAny(unit, " \t+-"); end >= 0 {
		unit, rest = unit[:end], strings.TrimSpace(unit[end:])
	}
	lit.unit = unit
	return lit, rest, nil
}

func notANumber(s string, want Unit) error {
	return fmt.Errorf("%s is not a number with a unit; this wants %s, such as %s", quote(s), describe(want),
		quote("5 "+want.Example()))
}

func readRange(first, second string, want Unit) (nom float64, r Interval, err error) {
	first, second = strings.TrimSpace(first), strings.TrimSpace(second)
	if strings.HasPrefix(second, ".") || strings.Contains(second, "..") {
		return 0, Nothing, fmt.Errorf("a range has two ends with \" .. \" between them")
	}
	ends := [2]literal{}
	for i, s := range []string{first, second} {
		lit, rest, err := readLiteral(s, want)
		if err != nil {
			return 0, Nothing, err
		}
		if rest != "" {
			return 0, Nothing, fmt.Errorf("%s: the end of a range is one number with a unit", quote(s))
		}
		ends[i] = lit
	}
	if ends[0].unit == "" {
		ends[0].unit = ends[1].unit
	}
	if r.Lo, _, err = ends[0].in(want); err != nil {
		return 0, Nothing, err
	}
	if r.Hi, _, err = ends[1].in(want); err != nil {
		return 0, Nothing, err
	}
	if r.Empty() {
		return 0, Nothing, backwards(ends[0].text(), ends[1].text())
	}
	return r.Lo/2 + r.Hi/2, r, nil
}

func backwards(first, second string) error {
	return fmt.Errorf("the range runs backwards; write %s", quote(second+" .. "+first))
}

// readTolerance reads what follows a nominal: "+- 2 %", "+2 % -5 %", "-5 % +2 %".
func readTolerance(nom float64, s string, want Unit) (Interval, error) {
	whole := s
	if after, ok := strings.CutPrefix(s, "+-"); ok {
		d, rest, err := readDeviation(nom, after, want)
		if err != nil {
			return Nothing, err
		}
		if rest != "" {
			return Nothing, fmt.Errorf("%s stands after the tolerance", quote(rest))
		}
		return Interval{nom - d, nom + d}, nil
	}
	var side [2]float64
	var said [2]bool
	for range 2 {
		if s == "" {
			return Nothing, fmt.Errorf("%s says one side; write both, such as \"+2 %% -0 %%\"", quote(whole))
		}
		i := strings.IndexByte("+-", s[0])
		if i < 0 {
			return Nothing, fmt.Errorf("%s stands where a tolerance would, such as \"+- 2 %%\"", quote(s))
		}
		if said[i] {
			return Nothing, fmt.Errorf("%s says the same side twice", quote(whole))
		}
		d, rest, err := readDeviation(nom, s[1:], want)
		if err != nil {
			return Nothing, err
		}
		side[i], said[i], s = d, true, rest
	}
	if s != "" {
		return Nothing, fmt.Errorf("%s stands after the tolerance", quote(s))
	}
	return Interval{nom - side[1], nom + side[0]}, nil
}

// readDeviation reads an unsigned size: a percentage of the nominal, or a quantity of the same kind. Between two
// temperatures stands a difference, in K or degC.
func readDeviation(nom float64, s string, want Unit) (d float64, rest string, err error) {
	s = strings.TrimSpace(s)
	if s == "" || s[0] == '-' || s[0] == '+' {
		return 0, "", fmt.Errorf("a tolerance is a size without a sign, such as \"+- 2 %%\"")
	}
	of := want
	if want == Celsius {
		of = Kelvin
	}
	lit, rest, err := readLiteral(s, of)
	if err != nil {
		return 0, "", err
	}
	if lit.unit == "" {
		return 0, "", fmt.Errorf("%s has no unit; a tolerance is one of the nominal (%%) or %s", quote(lit.number),
			describe(of))
	}
	m, err := lit.measure(of)
	if err != nil {
		return 0, "", err
	}
	switch {
	case m.kind == fraction && m.dim == Ratio.Dim:
		if want == Celsius || want == Decibel {
			return 0, "", fmt.Errorf("%s: a share of %s means nothing", quote(lit.text()), describe(want))
		}
	case m.kind == celsius && want == Celsius:
		m.kind = linear
	case !m.fits(of):
		return 0, "", misfit(lit.text(), lit.unit, m, of)
	}
	if d, err = scaled(lit.number, m.exp); err != nil {
		return 0, "", err
	}
	if m.kind == fraction {
		d *= math.Abs(nom)
	}
	return d, rest, nil
}
