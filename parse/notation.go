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
// a capital M on a resistor (milli), F on a capacitor (femto), MILLI (a mil), and letters of another unit.
func (n *Netlist) notations() (diags []source.Diagnostic) {
	for id := range n.Cards {
		if n.Cards[id].tidy {
			continue
		}
		t, ok := traps[n.Cards[id].Kind]
		if !ok {
			continue
		}
		v, ok := n.CardValue(CardID(id))
		if !ok || v.Expr != nil {
			continue
		}
		if m := t.doubt(n.Src.Text(v.At), n.Cards[id].Kind); m != "" {
			diags = append(diags, source.Diagnostic{At: v.At, Rule: ruleNotation, Message: n.CardName(CardID(id)) + ": " + m})
		}
	}
	return diags
}

// doubt is what may be wrong with a value as it is written; "" when it says what it looks like.
func (t trap) doubt(text string, kind byte) string {
	last := text[len(text)-1]
	if digit(last) || last == '.' {
		if m := code.FindStringSubmatch(text); m == nil || !strings.Contains(t.coded, m[2]) {
			return ""
		}
	}
	value, tail, ok := Number(text)
	if !ok {
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
