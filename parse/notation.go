package parse

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// ruleNotation is the id under which numbers are reported that may not mean what they look like.
const ruleNotation = "number-notation"

// A trap is how people write the values of one kind of element: its unit, and the words that may stand behind the scale
// factor.
type trap struct {
	unit  string
	words []string // lower case
	coded string   // letters that stand for the point in codes such as 4K7 (IEC 60062)
}

var traps = map[byte]trap{
	'R': {"ohm", []string{"", "o", "oh", "ohm", "ohms", "r", "\u03c9", "\u2126"}, "RrKkMmGgLl"},
	'C': {"F", []string{"", "f", "farad", "farads"}, "pPnNuU\u00b5\u03bcmMfF"},
	'L': {"H", []string{"", "h", "hy", "henry", "henries", "henrys"}, "pPnNuU\u00b5\u03bcmMhH"},
	'V': {"V", []string{"", "v", "volt", "volts"}, "VvkKmM"},
	'I': {"A", []string{"", "a", "amp", "amps", "ampere", "amperes"}, "AamMuU"},
}

var code = regexp.MustCompile(`^[+-]?(\d+)(\pL)(\d+)$`)

// notations reports the values of elements that read as something else than they look like: letter codes (4K7 is 4000),
// a capital M on a resistor (milli), F on a capacitor (femto), MILLI (a mil), and letters of another unit. Of parameters
// and gains, whose unit nobody knows, it reports codes and MILLI, and in expressions the log that dialects differ about.
func (n *Netlist) notations() (diags []source.Diagnostic) {
	report := func(at source.Span, of, message string) {
		if message != "" {
			diags = append(diags, source.Diagnostic{At: at, Rule: ruleNotation, Message: of + ": " + message})
		}
	}
	written := func(at source.Span) string { return strings.Trim(n.Src.Text(at), "{}()' \t") }
	plain := func(of string, at source.Span, x *Expr) {
		if x == nil {
			report(at, of, lost(written(at)))
			return
		}
		for part := range x.doubtful {
			at := source.Span{Pos: source.Pos{File: at.File, Byte: part.From}, Len: part.To - part.From}
			if part.Op == Call {
				report(at, of, "log is read as the natural logarithm, which some dialects have to base 10; write ln or log10")
			} else {
				report(at, of, lost(n.Src.Text(at)))
			}
		}
	}
	params := func(of string, list []Param) {
		for i := range list {
			plain(of+list[i].Name, list[i].At, list[i].Expr)
		}
	}
	for id := range n.Cards {
		c := &n.Cards[id]
		if c.tidy && c.Extra == 0 {
			continue
		}
		name := n.CardName(CardID(id))
		if x := n.CardExtra(CardID(id)); x != nil {
			params(name+" ", x.Params)
		}
		v, ok := n.CardValue(CardID(id))
		if !ok || c.tidy {
			continue
		}
		if t, trapped := traps[c.Kind]; trapped && v.Expr == nil {
			report(v.At, name, t.doubt(written(v.At), c.Kind))
		} else {
			plain(name, v.At, v.Expr)
		}
	}
	for i := range n.Subs {
		params("", n.Subs[i].Params)
		params("", n.Subs[i].Locals)
	}
	for i := range n.Models {
		params("model "+n.Names[n.Models[i].Name]+" ", n.Models[i].Params)
	}
	return diags
}

// doubtful goes over the numbers in an expression and the calls of log.
func (e *Expr) doubtful(yield func(*Expr) bool) { e.eachDoubtful(yield) }

func (e *Expr) eachDoubtful(yield func(*Expr) bool) bool {
	if (e.Op == Literal || e.Op == Call && strings.EqualFold(e.Text, "log")) && !yield(e) {
		return false
	}
	for _, a := range e.Args {
		if !a.eachDoubtful(yield) {
			return false
		}
	}
	return true
}

// lost is what may be wrong with a number of any unit; "" when it says what it looks like.
func lost(text string) string {
	value, tail, ok := Number(text)
	read := fmt.Sprintf("%q is read as %s", text, strconv.FormatFloat(value, 'g', 6, 64))
	switch low := strings.ToLower(text); {
	case !ok || tail == "":
		return ""
	case strings.ContainsAny(tail, "0123456789"):
		return read + ", the digits behind the letters being lost"
	case strings.HasPrefix(strings.TrimLeft(low, "+-.0123456789"), "milli"):
		return read + ", a mil being 25.4e-6; milli is m"
	}
	return ""
}

// doubt is what may be wrong with a value as it is written; "" when it says what it looks like.
func (t trap) doubt(text string, kind byte) string {
	value, tail, ok := Number(text)
	if !ok || tail == "" && digit(text[len(text)-1]) {
		return ""
	}
	read := fmt.Sprintf("%q is read as %s %s", text, strconv.FormatFloat(value, 'g', 6, 64), t.unit)
	if m := code.FindStringSubmatch(text); m != nil && strings.Contains(t.coded, m[2]) {
		scale := m[2]
		switch {
		case strings.EqualFold(scale, t.unit[:1]), kind == 'R' && strings.EqualFold(scale, "r"):
			scale = ""
		case kind == 'R' && scale == "M":
			scale = "MEG"
		case kind == 'R' && strings.EqualFold(scale, "l"): // milliohm
			scale = "m"
		}
		return fmt.Sprintf("%s, the digits behind the letter being lost; write %s.%s%s", read, m[1], m[3], scale)
	}
	if strings.ContainsAny(tail, "0123456789") {
		return read + ", the digits behind the letters being lost"
	}
	number := strings.TrimRight(text, scaleLetters)
	suffix := text[len(number):]
	switch low := strings.ToLower(suffix); {
	case strings.HasPrefix(low, "mil") && strings.HasPrefix(strings.ToLower(tail), "li"):
		return read + ", a mil being 25.4e-6; milli is m"
	case kind == 'R' && strings.HasPrefix(suffix, "M") && !strings.HasPrefix(low, "meg") && !strings.HasPrefix(low, "mil"):
		return read + ", M being milli; mega is MEG"
	case kind == 'C' && strings.HasPrefix(low, "f"):
		return read + ", F being femto; farads are written without a letter"
	case !slices.Contains(t.words, strings.ToLower(tail)):
		return fmt.Sprintf("%s, %q being ignored", read, tail)
	}
	return ""
}

const scaleLetters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ\u00b5\u03bc\u03a9\u03c9\u2126"
