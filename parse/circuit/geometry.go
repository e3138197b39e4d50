package circuit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
)

// modelTypes are the types of model that suit a letter: those of the SPICE3f3 User's Manual, 3.1, and what dialects call them.
var modelTypes = map[byte][]string{'R': {"R", "RES"}, 'C': {"C", "CAP"}, 'D': {"D"}, 'S': {"SW", "VSWITCH"}, 'W': {"CSW", "ISWITCH"},
	'Q': {"NPN", "PNP"}, 'J': {"NJF", "PJF"}, 'M': {"NMOS", "PMOS"}, 'Z': {"NMF", "PMF"}}

// suits reports an element other than R, C and L that names a model of another letter's type: it is something unknown.
func (f *flattener) suits(id ID, m *Model) {
	c := f.c
	types, card := modelTypes[c.Elements[id].Kind], c.card(id)
	if types == nil || slices.Contains(types, m.Type) {
		return
	}
	for _, others := range modelTypes {
		if slices.Contains(others, m.Type) {
			c.eval.report(source.Diagnostic{At: card.At, Rule: ruleCard, Related: []source.Related{{At: m.At, Message: "the model"}},
				Message: fmt.Sprintf("%s names model %s, which is of type %s, not %s", c.Cards.CardName(c.Elements[id].Card), m.Name, m.Type,
					strings.Join(types, " or "))})
			f.spoil(id)
			return
		}
	}
}

// fit holds an R, C or L against the model it names. A model of another type, or one with a multiplier of its own, leaves
// the value unknown.
func (f *flattener) fit(id ID, e *env, m *Model) {
	c := f.c
	card := c.card(id)
	if word := bareName(c.extra(id)); word != nil && c.eval.defined(e, word.Text) && strings.EqualFold(word.Text, m.Name) {
		return // the word is a parameter that is called like a model
	}
	name := c.Cards.CardName(c.Elements[id].Card)
	types, judged := modelTypes[card.Kind]
	factor, given := m.Params[string(card.Kind-'A'+'a')]
	why := ""
	switch {
	case judged && !slices.Contains(types, m.Type):
		why = fmt.Sprintf("%s names model %s, which is of type %s, not %s", name, m.Name, m.Type, types[0])
	case given && factor != 1 && !math.IsNaN(c.Elements[id].Value):
		why = fmt.Sprintf("%s has a value and its model %s a %c, by which some dialects multiply: its value is not known", name, m.Name, card.Kind)
	default:
		return
	}
	c.eval.report(source.Diagnostic{At: card.At, Rule: ruleCard, Message: why, Related: []source.Related{{At: m.At, Message: "the model"}}})
	f.spoil(id)
}

// byModel is the value of an R, C or L that names a model instead: that of an R or C from its length and width, and
// nothing for all others.
func (f *flattener) byModel(id ID, e *env, x *parse.Expr) float64 {
	c := f.c
	card := c.card(id)
	name := c.Cards.CardName(c.Elements[id].Card)
	if !c.plan.model(card.Scope, card.Ref) {
		if !c.Cards.Doubted(x.Text) {
			c.eval.report(source.Diagnostic{At: card.At, Rule: ruleCard, Near: c.eval.near(x.Text, c.plan.modelNames()),
				Message: fmt.Sprintf("%s has no value: %q is no number, no parameter and no model", name, x.Text)})
		}
		return math.NaN()
	}
	if v := f.geometric(id, e); v > 0 && !math.IsInf(v, 0) {
		return v
	}
	c.eval.report(source.Diagnostic{At: card.At, Rule: ruleCard,
		Message: fmt.Sprintf("%s has no value: its model %s does not give one", name, c.Cards.Names[card.Ref])})
	return math.NaN()
}

// geometric is the value of an R or C by length, width and model; NaN where something is missing. The default width of
// the manual is not that of its program, so a width must be said.
func (f *flattener) geometric(id ID, e *env) float64 {
	c := f.c
	card := c.card(id)
	m := c.modelIn(card.Scope, card.Ref, e)
	side := func(name, standard string) float64 {
		if p := c.find(id, name); p != nil {
			return c.given(e, p)
		}
		if v, ok := m.Params[standard]; ok {
			return v
		}
		return math.NaN()
	}
	narrow := m.Params["narrow"]
	l, w := side("l", "")-narrow, side("w", "defw")-narrow
	if !(l > 0 && w > 0) {
		return math.NaN()
	}
	switch card.Kind {
	case 'R':
		if sheet, ok := m.Params["rsh"]; ok {
			return sheet * l / w // SPICE3f3 User's Manual, 3.1
		}
	case 'C':
		if area, ok := m.Params["cj"]; ok {
			return area*l*w + 2*m.Params["cjsw"]*(l+w) // SPICE3f3 User's Manual, 3.1, from memory
		}
	}
	return math.NaN()
}
