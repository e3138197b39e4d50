package parse

import (
	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"
)

// Op says what an expression does.
type Op uint8

// The kinds of expression.
const (
	Literal Op = iota + 1 // Number
	Name                  // Text is a parameter
	Call                  // Text is a function, Args its arguments
	Unary                 // Text is the operator, Args has one
	Binary                // Text is the operator, Args has two
	Choice                // condition, then, else
	Quoted                // Text is no expression but words for people
)

// An Expr is an expression: a tree whose nodes know which bytes of the file they were written in.
type Expr struct {
	Op       Op
	deep     uint16 // how deep it nests; only at its root
	size     uint32 // how many parts it has; only at its root
	Text     string
	Number   float64
	Args     []*Expr
	From, To uint32
}

// Depth is how deep an expression that was read nests: what evaluating it takes of the stack.
func (e *Expr) Depth() int { return int(e.deep) }

// Size is how many parts an expression that was read has: what evaluating it costs.
func (e *Expr) Size() int { return int(e.size) + 1 }

// deepest is what keeps the parser's stack bounded, whatever the limits and the tokens are.
const deepest = 10_000

// Parse reads an expression by binding power from the tokens of a card.
func (e *Expr) Parse(lex *lexer.PeekingLexer) error {
	switch lex.Peek().Type {
	case tNumber, tIdent, tOp, tOpen:
	default:
		return participle.NextMatch
	}
	p := &pratt{lex: lex}
	got, err := p.expr(0, 0)
	if err != nil {
		return err
	}
	*e = *got
	e.deep, e.size = uint16(p.deepest), uint32(p.parts)
	return nil
}

type pratt struct {
	lex     *lexer.PeekingLexer
	deepest int
	parts   int
	last    string // the token before, for messages
}

// Binding powers of the operators between two operands.
var binding = map[string]int{
	"?": 1, "||": 2, "&&": 3, "==": 4, "!=": 4, "<>": 4, "<": 5, ">": 5, "<=": 5, ">=": 5, "+": 6, "-": 6, "*": 7, "/": 7,
	"**": 9, "^": 9,
}

// A sign binds looser than a power, so -2**2 is -4.
const unaryBinding = 8

func (p *pratt) next() *lexer.Token {
	t := p.lex.Next()
	p.last = t.Value
	return t
}

func (p *pratt) grow(at *lexer.Token, depth int) error {
	p.parts++
	if p.deepest = max(p.deepest, depth); depth > deepest {
		return participle.Errorf(at.Pos, "the expression nests deeper than %d", deepest)
	}
	return nil
}

func (p *pratt) expr(least, depth int) (*Expr, error) {
	left, err := p.prefix(depth)
	if err != nil {
		return nil, err
	}
	for {
		t := p.lex.Peek()
		power := binding[t.Value]
		if t.Type != tOp || power == 0 || power < least {
			return left, nil
		}
		if err := p.grow(t, depth); err != nil {
			return nil, err
		}
		op := p.next().Value
		if op == "?" {
			if left, err = p.choice(left, depth); err != nil {
				return nil, err
			}
			continue
		}
		next := power + 1
		if op == "**" || op == "^" {
			op, next = "**", power // 2**3**2 is 2**9
		}
		right, err := p.expr(next, depth+1)
		if err != nil {
			return nil, err
		}
		left = &Expr{Op: Binary, Text: op, Args: []*Expr{left, right}, From: left.From, To: right.To}
	}
}

func (p *pratt) choice(cond *Expr, depth int) (*Expr, error) {
	yes, err := p.expr(1, depth+1)
	if err != nil {
		return nil, err
	}
	if t := p.lex.Peek(); t.Type != tOp || t.Value != ":" {
		return nil, participle.Errorf(t.Pos, `":" is missing in a choice a ? b : c, found %s`, found(t))
	}
	p.next()
	no, err := p.expr(1, depth+1)
	if err != nil {
		return nil, err
	}
	return &Expr{Op: Choice, Args: []*Expr{cond, yes, no}, From: cond.From, To: no.To}, nil
}

func (p *pratt) prefix(depth int) (*Expr, error) {
	t := p.lex.Peek()
	if err := p.grow(t, depth); err != nil {
		return nil, err
	}
	from, to := extent(t)
	switch t.Type {
	case tNumber:
		v, _, ok := Number(t.Value)
		if !ok {
			return nil, participle.Errorf(t.Pos, "%s is no number", found(t))
		}
		p.next()
		return &Expr{Op: Literal, Number: v, From: from, To: to}, nil
	case tIdent:
		p.next()
		if open := p.lex.Peek(); open.Type == tOp && open.Value == "(" {
			return p.call(t, depth)
		}
		return &Expr{Op: Name, Text: t.Value, From: from, To: to}, nil
	case tOpen:
		p.next()
		e, err := p.expr(0, depth+1)
		if err != nil {
			return nil, err
		}
		end := p.lex.Peek()
		if end.Type != tClose {
			return nil, unclosed(t, end)
		}
		p.next()
		return e, nil
	case tOp:
		switch t.Value {
		case "(":
			p.next()
			e, err := p.expr(0, depth+1)
			if err != nil {
				return nil, err
			}
			end := p.lex.Peek()
			if end.Type != tOp || end.Value != ")" {
				return nil, unclosed(t, end)
			}
			if p.next(); e.Op != Name { // a message shows the parentheses
				_, to = extent(end)
				e.From, e.To = from, to
			}
			return e, nil
		case "-", "+", "!":
			p.next()
			e, err := p.expr(unaryBinding, depth+1)
			if err != nil {
				return nil, err
			}
			if t.Value == "+" {
				return e, nil
			}
			return &Expr{Op: Unary, Text: t.Value, Args: []*Expr{e}, From: from, To: e.To}, nil
		}
	}
	return nil, participle.Errorf(t.Pos, "a value is missing%s, found %s", p.after(), found(t))
}

func (p *pratt) after() string {
	if p.last == "" {
		return ""
	}
	return ` after "` + p.last + `"`
}

func (p *pratt) call(name *lexer.Token, depth int) (*Expr, error) {
	open := p.next()
	from, _ := extent(name)
	e := &Expr{Op: Call, Text: name.Value, From: from}
	probe := p.lex.Peek().Type == tWord || p.lex.Peek().Type == tString
	for first := true; ; first = false {
		t := p.lex.Peek()
		if t.Type == tOp && t.Value == ")" && (first || probe) {
			break
		}
		if probe { // names in v(a,b) and i(V1), with or without the comma
			if t.Type == tOp && t.Value == "," && !first {
				p.next()
				t = p.lex.Peek()
			}
			if t.Type != tWord && t.Type != tString {
				return nil, unclosed(open, t)
			}
			p.next()
			from, to := extent(t)
			e.Args = append(e.Args, &Expr{Op: Name, Text: t.Value, From: from, To: to})
			continue
		}
		arg, err := p.expr(0, depth+1)
		if err != nil {
			return nil, err
		}
		e.Args = append(e.Args, arg)
		if t = p.lex.Peek(); t.Type == tOp && t.Value == "," {
			p.next()
			continue
		}
		if t.Type != tOp || t.Value != ")" {
			return nil, unclosed(open, t)
		}
		break
	}
	_, e.To = extent(p.next())
	return e, nil
}

// unclosed reports an opening mark whose partner is not where it should be.
func unclosed(open, at *lexer.Token) error {
	return participle.Errorf(at.Pos, "%q is not closed, found %s", open.Value, found(at))
}

// missing turns "does not start here" into a message.
func missing(err error, lex *lexer.PeekingLexer) error {
	if err == participle.NextMatch {
		return participle.Errorf(lex.Peek().Pos, "an expression is missing, found %s", found(lex.Peek()))
	}
	return err
}

func found(t *lexer.Token) string {
	if t.EOF() {
		return "the end of the card"
	}
	return `"` + t.Value + `"`
}

// ParseExpr reads a text that is nothing but an expression. Offsets in the tree count from the start of the text.
func ParseExpr(text string) (*Expr, error) {
	s := &scanner{text: []byte(text), card: logical{{0, len(text)}}}
	s.expression(0)
	tokens := append(s.tokens, lexer.EOFToken(lexer.Position{Offset: len(text)}))
	if why := measure(tokens, StandardLimits); why != nil {
		return nil, participle.Errorf(why.at.Pos, "%s", why.message)
	}
	lex, err := lexer.Upgrade(&replay{tokens: tokens})
	if err != nil {
		return nil, err
	}
	e := &Expr{}
	if err := e.Parse(lex); err != nil {
		return nil, missing(err, lex)
	}
	if t := lex.Peek(); !t.EOF() {
		return nil, participle.Errorf(t.Pos, "unexpected %s behind the expression", found(t))
	}
	return e, nil
}
