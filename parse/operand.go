package parse

import (
	"math"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"

	"github.com/shuntwright/shuntwright/parse/source"
)

// An operand is a number, an expression in braces or quotes, or the bare name of a parameter. Whether a name is one is
// known only when every card is read.
type operand struct {
	Number   float64
	Expr     *Expr
	From, To uint32 // bytes of the file
	step     bool   // a number with a plus sign
}

// Parse reads an operand.
func (o *operand) Parse(lex *lexer.PeekingLexer) error {
	if err := (*braced)(o).Parse(lex); err != participle.NextMatch {
		return err
	}
	t := lex.Peek()
	switch t.Type {
	case tWord:
	case tNumber, tIdent, tOp: // a parameter behind an expression that needed no braces
		return o.bare(lex)
	default:
		return participle.NextMatch
	}
	lex.Next()
	*o = *worded(t)
	return nil
}

// worded is a word as a number, or as the name of a parameter.
func worded(t *lexer.Token) *operand {
	o := &operand{}
	o.From, o.To = extent(t)
	if v, _, ok := Number(t.Value); ok {
		o.Number, o.step = v, t.Value[0] == '+'
	} else {
		o.Number, o.Expr = math.NaN(), &Expr{Op: Name, Text: t.Value, From: o.From, To: o.To}
	}
	return o
}

// bare reads an expression without braces.
func (o *operand) bare(lex *lexer.PeekingLexer) error {
	e := &Expr{}
	if err := e.Parse(lex); err != nil {
		return err
	}
	o.From, o.To = e.From, e.To
	o.Number, o.Expr = math.NaN(), e
	if e.Op == Literal {
		o.Number, o.Expr = e.Number, nil
	}
	return nil
}

// A datum is an operand, or a text in double quotes that says something to people.
type datum operand

// Parse reads a datum.
func (d *datum) Parse(lex *lexer.PeekingLexer) error {
	if lex.Peek().Type != tString {
		return (*operand)(d).Parse(lex)
	}
	text := &meant{}
	err := text.Parse(lex)
	d.From, d.To, d.Number, d.Expr = text.From, text.To, math.NaN(), (*Expr)(text)
	return err
}

// A meant expression may be a text in double quotes instead.
type meant Expr

// Parse reads an expression or a text.
func (m *meant) Parse(lex *lexer.PeekingLexer) error {
	t := lex.Peek()
	if t.Type != tString {
		return (*Expr)(m).Parse(lex)
	}
	lex.Next()
	*m = meant{Op: Quoted, Text: t.Value}
	m.From, m.To = extent(t)
	return nil
}

// A figure is an operand that no name can be mistaken for: a number or an expression in braces or quotes.
type figure operand

// Parse reads a figure.
func (f *figure) Parse(lex *lexer.PeekingLexer) error {
	if t := lex.Peek(); t.Type == tWord {
		if _, _, ok := Number(t.Value); ok {
			return (*operand)(f).Parse(lex)
		}
		return participle.NextMatch
	}
	return (*braced)(f).Parse(lex)
}

// A braced operand is an expression in braces or quotes.
type braced operand

// Parse reads an expression with its braces or quotes.
func (b *braced) Parse(lex *lexer.PeekingLexer) error {
	open := lex.Peek()
	if open.Type != tOpen {
		return participle.NextMatch
	}
	lex.Next()
	e := &Expr{}
	if err := e.Parse(lex); err != nil {
		return missing(err, lex)
	}
	end := lex.Peek()
	if end.Type != tClose {
		return unclosed(open, end)
	}
	lex.Next()
	b.From = uint32(open.Pos.Offset)
	b.To = uint32(end.Pos.Offset) + 1
	b.Number, b.Expr = math.NaN(), e
	if e.Op == Literal {
		b.Number, b.Expr = e.Number, nil
	}
	return nil
}

// extent is where a token lies. A name in double quotes is covered without them.
func extent(t *lexer.Token) (from, to uint32) {
	return uint32(t.Pos.Offset), uint32(t.Pos.Offset + len(t.Value))
}

func (o *operand) value(at func(from, to uint32) source.Span) Value {
	return Value{Number: o.Number, Expr: o.Expr, At: at(o.From, o.To)}
}
