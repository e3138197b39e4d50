package parse

import (
	"math"
	"strconv"
	"strings"
)

// String is the expression as text that reads back as the same tree, with no more parentheses than that takes.
func (e *Expr) String() string { return strings.Join(e.pieces(), "") }

// pieces are the text of the expression cut behind operators and commas, where a long card may go on in the next line.
func (e *Expr) pieces() []string {
	t := &exprText{}
	t.expr(e, 0)
	t.cut()
	return t.done
}

type exprText struct {
	done []string
	now  strings.Builder
}

func (t *exprText) cut() {
	if t.now.Len() > 0 {
		t.done = append(t.done, t.now.String())
		t.now.Reset()
	}
}

func (t *exprText) add(s string) { t.now.WriteString(s) }

// operator adds what an operand follows.
func (t *exprText) operator(s string) {
	t.add(s)
	t.cut()
}

// atomBinding is that of what never needs parentheses.
const atomBinding = 10

func (e *Expr) binding() int {
	switch {
	case e.Op == Binary:
		return binding[e.Text]
	case e.Op == Choice:
		return binding["?"]
	case e.Op == Unary, e.Op == Literal && math.Signbit(e.Number):
		return unaryBinding
	}
	return atomBinding
}

// expr adds an expression, in parentheses where it binds looser than its place asks for.
func (t *exprText) expr(e *Expr, least int) {
	if e.binding() < least {
		t.add("(")
		defer t.add(")")
	}
	switch e.Op {
	case Literal:
		t.add(numberText(e.Number))
	case Name:
		t.add(e.Text)
	case Call:
		t.call(e)
	case Unary:
		t.add(e.Text)
		t.expr(e.Args[0], unaryBinding)
	case Choice:
		t.expr(e.Args[0], binding["?"]+1)
		t.operator("?")
		t.expr(e.Args[1], 0)
		t.operator(":")
		t.expr(e.Args[2], 0)
	case Binary:
		left := binding[e.Text]
		right := left + 1
		if e.Text == "**" { // 2**3**2 is 2**9, and -2**2 is -4
			left, right = atomBinding, left
		}
		if e.Args[1].Op == Unary { // a sign behind an operator takes nothing that it should not
			right = 0
		}
		t.expr(e.Args[0], left)
		t.operator(e.Text)
		t.expr(e.Args[1], right)
	}
}

// call adds a call. The names of v(a,b) and i(V1) may hold anything, those of other calls only where all are in quotes.
func (t *exprText) call(e *Expr) {
	names, words := true, true
	for _, a := range e.Args {
		names = names && a.Op == Name
		words = words && (a.Op != Name || expressionName(a.Text))
	}
	t.add(e.Text + "(")
	for i, a := range e.Args {
		if i > 0 {
			t.operator(",")
		}
		switch {
		case names && e.Probe():
			t.add(nameText(a.Text))
		case !words:
			t.add(`"` + a.Text + `"`)
		case i == 0 && e.Probe(): // braces tell an expression from a name
			t.add("{")
			t.expr(a, 0)
			t.add("}")
		default:
			t.expr(a, 0)
		}
	}
	t.add(")")
}

// expressionName tells that a text is one name where operators are read as operators.
func expressionName(s string) bool {
	for i := range len(s) {
		if !identByte(s[i]) && (i == 0 || !digit(s[i]) && s[i] != '.') {
			return false
		}
	}
	return s != ""
}

// nameText is a name as it stands on a card: in double quotes where it would be read as something else.
func nameText(s string) string {
	if wordlike(s) && !startsComment(s) {
		return s
	}
	return `"` + s + `"`
}

// wordlike tells that a text is one word of a card without quotes.
func wordlike(s string) bool {
	for i := range len(s) {
		if delimiter(s[i]) || s[i] == ';' {
			return false
		}
	}
	return s != ""
}

// startsComment tells that a word behind a blank would begin a comment.
func startsComment(s string) bool { return s == "$" || strings.HasPrefix(s, "//") }

// numberText is the shortest text that reads back as the same number, without scale factor.
func numberText(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
