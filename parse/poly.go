package parse

import (
	"fmt"
	"math"

	"github.com/alecthomas/participle/v2/lexer"
)

// POLY(n): controls and coefficients. Parentheses and commas are separators, so that where the controls end is known
// only when the dimension is.
type poly struct {
	Word  lexer.Token `parser:"@Poly"`
	Items []polyItem  `parser:"@@*"`
}

type polyItem struct {
	Name  *name   `parser:"  @@"`
	Value *braced `parser:"| @@"`
}

// polyForms are the polynomial sources as a person would write them.
var polyForms = map[lexer.TokenType]string{
	tE: "Ename node node POLY(n) control control ... p0 p1 ...",
	tG: "Gname node node POLY(n) control control ... p0 p1 ...",
	tF: "Fname node node POLY(n) source ... p0 p1 ...",
	tH: "Hname node node POLY(n) source ... p0 p1 ...",
}

// maxDimension bounds what one polynomial may follow; more is a slip of the pen.
const maxDimension = 100

// fill adds controls and coefficients to a shape that has its two output nodes.
func (p *poly) fill(sh *shape, head *lexer.Token) *refusal {
	refuse := func(at *lexer.Token, text string, args ...any) *refusal {
		return &refusal{at: at, message: fmt.Sprintf(text, args...) + ": expected " + polyForms[head.Type]}
	}
	if len(p.Items) == 0 {
		return refuse(nil, "POLY of %s has no dimension", head.Value)
	}
	dimension, t := 0, p.Items[0].Name
	if t != nil {
		if v, tail, ok := Number(t.Value); ok && tail == "" && v == math.Trunc(v) && v <= maxDimension {
			dimension = int(v)
		}
	}
	if dimension < 1 {
		if t == nil {
			return refuse(&p.Word, "POLY of %s has an expression for a dimension, which is a whole number from 1 to %d",
				head.Value, maxDimension)
		}
		return refuse((*lexer.Token)(t), "POLY of %s has the dimension %q, which is no whole number from 1 to %d",
			head.Value, t.Value, maxDimension)
	}
	want, what := dimension, "source"
	if head.Type == tE || head.Type == tG {
		want, what = 2*dimension, "control node"
	}
	if want > 1 {
		what += "s"
	}
	var controls []name
	for _, item := range p.Items[1:] {
		if item.Name == nil || len(controls) == want {
			break
		}
		controls = append(controls, *item.Name)
	}
	if len(controls) < want {
		return refuse(nil, "POLY(%d) of %s has %d of %d %s", dimension, head.Value, len(controls), want, what)
	}
	for _, item := range p.Items[1+want:] {
		o, ok := item.operand()
		if !ok {
			return refuse((*lexer.Token)(item.Name), "%q is no coefficient for %s", item.Name.Value, head.Value)
		}
		sh.args = append(sh.args, o)
	}
	if len(sh.args) == 0 {
		return refuse(nil, "POLY(%d) of %s has no coefficients behind its %d %s", dimension, head.Value, want, what)
	}
	sh.law = &Law{Form: "POLY", Dimension: dimension}
	if head.Type == tF || head.Type == tH {
		sh.names = controls
	} else {
		sh.nodes = append(sh.nodes, controls...)
	}
	return nil
}

// operand is a coefficient: a number, an expression or the name of a parameter.
func (i *polyItem) operand() (o operand, ok bool) {
	if i.Value != nil {
		return operand(*i.Value), true
	}
	if i.Name.Type != tWord {
		return o, false
	}
	return *worded((*lexer.Token)(i.Name)), true
}
