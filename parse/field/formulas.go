package field

import (
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

// FormulaNames are the names in the formulas of an entry: once each, as first written.
func (e *Entry) FormulaNames() (names []string) {
	formulas := []*quantity.Formula{e.Formula, e.Limits.Lo, e.Limits.Hi}
	for _, s := range e.Steps {
		formulas = append(formulas, s.Y)
	}
	for _, f := range formulas {
		if f == nil {
			continue
		}
		for _, n := range f.Names() {
			if !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
	}
	return names
}

// Apart is how a name in a formula is written as the number or the operation that was probably meant: "5V" is "5 V",
// "supply-90" is "supply - 90". It is "" for a name that looks like neither.
func Apart(name string, unit quantity.Unit) string {
	digits := strings.TrimLeft(name, "+-")
	end := strings.LastIndexAny(digits, "0123456789")
	if digits != "" && digits[0] >= '0' && digits[0] <= '9' {
		lead := len(name) - len(digits)
		text := name[:lead+end+1] + " " + name[lead+end+1:]
		if _, err := quantity.ReadWritten(text, unit); err == nil {
			return text
		}
	}
	if i := strings.IndexAny(name, "+-*/"); i > 0 && i < len(name)-1 {
		return name[:i] + " " + name[i:i+1] + " " + name[i+1:]
	}
	return ""
}
