package parse

import (
	"fmt"
	"math"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// nominalCelsius is the default of the option TNOM: the temperature at which values hold (SPICE3f3 User's Manual, 4.1).
const nominalCelsius = 27

// options takes from an .options card what bears on the drawn circuit: TNOM. SCALE would change every length and width.
func (r *reader) options(whole source.Span) {
	tokens := r.retold(whole)
	for i := range tokens {
		t := &tokens[i]
		name := strings.ToLower(t.Value)
		if t.Type != tKey || name != "tnom" && name != "scale" {
			continue
		}
		v, ok := math.NaN(), false
		if i+2 < len(tokens) {
			v, _, ok = Number(tokens[i+2].Value)
		}
		switch {
		case r.guard() != 0:
			r.report(source.Diagnostic{At: r.tokenSpan(t), Rule: ruleCard, Message: "the option " + name + " under a condition is not understood"})
		case name == "tnom":
			if r.n.Tnom = v; !ok {
				r.report(source.Diagnostic{At: r.tokenSpan(t), Rule: ruleCard,
					Message: "the option tnom is no plain number: what follows temperature by a coefficient is not known"})
			}
		case v != 1:
			r.report(source.Diagnostic{At: r.tokenSpan(t), Rule: ruleCard,
				Message: fmt.Sprintf("the option scale is not understood: lengths and widths are taken as they are written, not as %s asks", r.n.Src.Text(whole))})
		}
	}
}
