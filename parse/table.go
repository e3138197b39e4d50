package parse

import "github.com/alecthomas/participle/v2/lexer"

// TABLE {expression} = (x,y) (x,y) ...
type table struct {
	Word   lexer.Token `parser:"@Table Eq?"`
	In     braced      `parser:"@@ Eq?"`
	Points []operand   `parser:"@@*"`
}

// fill adds the expression and the points to a shape that has its two nodes.
func (t *table) fill(sh *shape, head *lexer.Token) *refusal {
	const form = ": expected TABLE {expression} = (x,y) (x,y) ..."
	switch {
	case len(t.Points) == 0:
		return &refusal{at: &t.Word, message: "TABLE of " + head.Value + " has no points" + form}
	case len(t.Points)%2 == 1:
		return &refusal{at: &t.Word, message: "TABLE of " + head.Value + " has a point without a value" + form}
	}
	in := t.In.Expr
	if in == nil {
		in = &Expr{Op: Literal, Number: t.In.Number, From: t.In.From, To: t.In.To}
	}
	sh.law, sh.args = &Law{Form: "TABLE", Expr: in}, t.Points
	return nil
}
