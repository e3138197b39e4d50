package house

import (
	"fmt"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"
)

// sameName is the function that == and != go through; no rule can write it.
const sameName = "=="

// guard makes every == and != of a file ask equal. The language says "not equal" of values of different types without
// asking either, so that ohm(10) == 10 or == "10 ohm" would be a silent False.
func guard(file *syntax.File) {
	syntax.Walk(file, func(n syntax.Node) bool {
		b, ok := n.(*syntax.BinaryExpr)
		if !ok || b.Op != syntax.EQL && b.Op != syntax.NEQ {
			return true
		}
		start, _ := b.Span()
		b.X = &syntax.CallExpr{Fn: &syntax.Ident{NamePos: start, Name: sameName}, Lparen: start, Args: []syntax.Expr{b.X, b.Y}, Rparen: start}
		b.Y = &syntax.BinaryExpr{X: &syntax.Literal{Token: syntax.INT, TokenPos: start, Raw: "0", Value: int64(0)}, OpPos: start, Op: syntax.LE,
			Y: &syntax.Literal{Token: syntax.INT, TokenPos: start, Raw: "0", Value: int64(0)}} // True, which a rule may have another meaning for
		return true
	})
}

// equal compares two values; a quantity or a part of the circuit only with its like.
func equal(_ *starlark.Thread, _ *starlark.Builtin, args starlark.Tuple, _ []starlark.Tuple) (starlark.Value, error) {
	x, y := args[0], args[1]
	if x.Type() != y.Type() && x != starlark.None && y != starlark.None && (ours(x) || ours(y)) {
		return nil, fmt.Errorf("%s cannot be compared with %s; compare quantities, as in ohm(10), or names", article(x.Type()), article(y.Type()))
	}
	same, err := starlark.Equal(x, y)
	return starlark.Bool(same), err
}

func ours(v starlark.Value) bool {
	switch v.(type) {
	case number, *thing:
		return true
	}
	return false
}
