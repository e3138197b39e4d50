package builtin

import (
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
)

// filtered is what both filter rules begin with: the record's input model and the filter resistors of both legs. Without
// a model or a shunt it records what is missing, without resistors it skips; then there are none.
func filtered(p *rules.Bench) (model string, filter []design.Element) {
	if p.Network != nil {
		p.Skip("the resistors in front of an op amp are part of its gain; resistor-match judges them")
		return "", nil
	}
	model, ok := p.Word("input.model")
	switch {
	case !ok:
		return "", nil
	case len(p.Block.Shunt) == 0:
		p.ShuntOhms()
		return "", nil
	}
	filter = append(resistors(p.Plus.Resistors()), resistors(p.Minus.Resistors())...)
	if len(filter) == 0 {
		p.Skip("no resistance stands in series with the inputs")
	}
	return model, filter
}

// resistors are those of a leg that are no piece of wire.
func resistors(series []design.Element) (out []design.Element) {
	for _, e := range series {
		if e.Kind() == 'R' && e.Value() > 0 {
			out = append(out, e)
		}
	}
	return out
}
