package parse

import (
	"github.com/alecthomas/participle/v2/lexer"
)

// A nesting follows an expression token by token with the stack of operators that wait for their right side and of
// marks that wait for their partner. Its height is how deep the parser recurses there, so a card can be held against
// the limits before it is parsed.
type nesting struct {
	stack   []int // binding powers below which a waiting operator is done; open marks are opened
	outer   bool  // the lowest entry is the brace around the whole expression, which costs no depth
	value   bool  // a value stands before, so that the next operator is one between two values
	parts   int
	deepest int
}

const (
	opened   = -1 // a parenthesis, brace or quote
	question = -2 // a choice before its ":"
)

// A chain of "^" leans to the right, as does what follows the ":" of a choice.
func waits(op string) int {
	switch power := binding[op]; op {
	case "**", "^":
		return power
	default:
		return power + 1
	}
}

// take follows one token; it returns false where no expression goes on.
func (n *nesting) take(t *lexer.Token) bool {
	switch t.Type {
	case tOpen:
		if n.value && len(n.stack) == 0 { // the next of several
			*n = nesting{stack: n.stack[:0]}
		}
		if len(n.stack) == 0 {
			n.outer = true
		} else {
			n.count()
		}
		n.push(opened, false)
	case tClose:
		n.closes()
	case tNumber, tIdent:
		n.count()
		n.value = true
	case tOp:
		n.operator(t.Value)
	case tWord, tString: // a name in v(a,b), or no part of an expression
		if len(n.stack) == 0 {
			return false
		}
		n.value = true
	default:
		return false
	}
	return true
}

func (n *nesting) operator(op string) {
	switch {
	case op == "(":
		if !n.value { // that of a call was counted with its name
			n.count()
		}
		n.push(opened, false)
	case op == ")":
		n.closes()
	case op == ",":
		n.drop(func(top int) bool { return top != opened })
		n.value = false
	case op == ":":
		n.drop(func(top int) bool { return top != opened && top != question })
		if k := len(n.stack) - 1; k >= 0 && n.stack[k] == question {
			n.stack[k] = 1
		}
		n.value = false
	case !n.value:
		n.count()
		n.push(unaryBinding, false)
	default:
		power := binding[op]
		n.drop(func(top int) bool { return top > power })
		n.count()
		if op == "?" {
			n.push(question, false)
		} else {
			n.push(waits(op), false)
		}
	}
}

// count counts a value or an operator.
func (n *nesting) count() {
	n.parts++
	depth := len(n.stack)
	if n.outer {
		depth--
	}
	n.deepest = max(n.deepest, depth)
}

func (n *nesting) push(what int, value bool) { n.stack, n.value = append(n.stack, what), value }

// drop takes entries off the top while they are done.
func (n *nesting) drop(done func(top int) bool) {
	for len(n.stack) > 0 && n.stack[len(n.stack)-1] != opened && done(n.stack[len(n.stack)-1]) {
		n.stack = n.stack[:len(n.stack)-1]
	}
}

func (n *nesting) closes() {
	n.drop(func(int) bool { return true })
	if len(n.stack) > 0 {
		n.stack = n.stack[:len(n.stack)-1]
	}
	n.value = true
}

// measure holds the expressions of a card against the limits before they are parsed.
func measure(tokens []lexer.Token, most Limits) *refusal {
	n := nesting{}
	for i := range tokens {
		t := &tokens[i]
		if !n.take(t) {
			n = nesting{stack: n.stack[:0]}
			continue
		}
		var why *LimitError
		switch {
		case n.parts > most.ExpressionParts:
			why = &LimitError{ExpressionParts, most.ExpressionParts, "an expression has more than", "parts"}
		case n.deepest > most.ExpressionDepth:
			why = &LimitError{ExpressionDepth, most.ExpressionDepth, "an expression nests deeper than", ""}
		default:
			continue
		}
		return &refusal{at: t, message: why.Error(), rule: ruleLimit}
	}
	return nil
}
