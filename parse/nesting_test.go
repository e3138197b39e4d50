package parse

import (
	"strings"
	"testing"

	"github.com/alecthomas/participle/v2/lexer"
	"pgregory.net/rapid"
)

// followed is what the stack of operators says of an expression, and how deep the parser really went.
func followed(t testing.TB, text string) (n nesting, deep int, ok bool) {
	t.Helper()
	s := &scanner{text: []byte(text), card: logical{{0, len(text)}}}
	s.expression(0)
	tokens := append(s.tokens, lexer.EOFToken(lexer.Position{Offset: len(text)}))
	most := nesting{}
	for i := range tokens {
		if !n.take(&tokens[i]) {
			n = nesting{stack: n.stack[:0]}
		}
		most.parts, most.deepest = max(most.parts, n.parts), max(most.deepest, n.deepest)
	}
	lex, err := lexer.Upgrade(&replay{tokens: tokens})
	if err != nil {
		t.Fatal(err)
	}
	p := &pratt{lex: lex}
	_, err = p.expr(0, 0)
	return most, p.deepest, err == nil && lex.Peek().EOF()
}

func TestNesting(t *testing.T) {
	for _, c := range []struct {
		text           string
		parts, deepest int
	}{
		{"1", 1, 0}, {"1+2", 3, 1}, {"1+2+3+4", 7, 1}, {"1+2*3**4", 7, 3}, {"1*2+3*4+5*6", 11, 2}, {"2**2**2**2", 7, 3},
		{"--1", 3, 2}, {"-2**2", 4, 2}, {"(1)", 2, 1}, {"((1))", 3, 2}, {"min(1,2,3)", 4, 1}, {"min(1,abs(-2))", 5, 3},
		{"1?2:3", 4, 1}, {"1?2:3?4:5?6:7", 10, 3}, {"1?2?3:4:5", 7, 2}, {"v(a,b)*2", 3, 1}, {"{1}", 1, 1}, {"1+{2+3}", 6, 3},
	} {
		n, deep, ok := followed(t, c.text)
		if !ok || n.parts != c.parts || deep != c.deepest {
			t.Errorf("%s: %d parts, %d deep, parsed %v", c.text, n.parts, deep, ok)
		}
	}
}

// expression draws a text that is an expression.
func expression(t *rapid.T, depth int) string {
	if depth == 0 {
		return rapid.SampledFrom([]string{"1", "k", "v(a,b)", "2.5u", "i(V1)"}).Draw(t, "leaf")
	}
	part := func() string { return expression(t, rapid.IntRange(0, depth-1).Draw(t, "depth")) }
	switch rapid.IntRange(0, 6).Draw(t, "kind") {
	case 0:
		return "(" + part() + ")"
	case 1:
		return "{" + part() + "}"
	case 2:
		return rapid.SampledFrom([]string{"-", "+", "!"}).Draw(t, "sign") + part()
	case 3:
		return part() + "?" + part() + ":" + part()
	case 4:
		return "max(" + part() + "," + part() + ")"
	}
	return part() + rapid.SampledFrom([]string{"+", "-", "*", "/", "**", "^", "<", "&&", "||", "==", "<>"}).Draw(t, "op") + part()
}

// The parser goes exactly as deep as the stack says, so the limit holds and refuses nothing within it.
func TestNestingIsTheParsersDepth(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		text := expression(r, 6)
		n, deep, ok := followed(t, text)
		outer := 0
		if strings.HasPrefix(text, "{") {
			outer = 1 // the braces around a whole value cost no depth on a card
		}
		if !ok || n.deepest != deep && n.deepest != deep-outer {
			r.Fatalf("%s: the stack says %d, the parser went %d deep, parsed %v", text, n.deepest, deep, ok)
		}
	})
}

// Whatever stands there, the parser goes no deeper than the stack says, the braces around the whole and the place where a
// value is missing aside.
func TestNestingBoundsTheParser(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{
			"1", "k", "-", "+", "!", "(", ")", "{", "}", "'", "?", ":", ",", "**", "*", "v(", "v(a", "i(x)", "=", "k=", " ", "&&", "max(",
		}), 0, 40).Draw(r, "tokens"), "")
		if n, deep, _ := followed(t, text); deep > n.deepest+2 {
			r.Fatalf("%q: the stack says %d, the parser went %d deep", text, n.deepest, deep)
		}
	})
}
