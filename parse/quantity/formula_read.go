package quantity

import (
	"fmt"
	"slices"
)

// maxNesting bounds parentheses, functions and signs inside each other.
const maxNesting = 32

// formulaReader reads a list of tokens by descent.
type formulaReader struct {
	list  []token
	at    int
	depth int
	want  Unit
	names []string
}

func (p *formulaReader) peek() token {
	if p.at < len(p.list) {
		return p.list[p.at]
	}
	return token{}
}

func (p *formulaReader) take(sign string) bool {
	if p.peek().is(sign) {
		p.at++
		return true
	}
	return false
}

func (p *formulaReader) sum() (*node, error) {
	left, err := p.product()
	for err == nil && (p.peek().is("+") || p.peek().is("-")) {
		left, err = p.binary(left, p.product)
	}
	return left, err
}

func (p *formulaReader) product() (*node, error) {
	left, err := p.operand()
	for err == nil && (p.peek().is("*") || p.peek().is("/")) {
		left, err = p.binary(left, p.operand)
	}
	return left, err
}

func (p *formulaReader) binary(left *node, next func() (*node, error)) (*node, error) {
	op := p.list[p.at].text[0]
	p.at++
	right, err := next()
	if err != nil {
		return nil, err
	}
	if p.want == Celsius || p.want == Decibel {
		return nil, fmt.Errorf("a formula in %s knows only min and max, no %c", p.want, op)
	}
	n := &node{op: op, dim: left.dim, args: []*node{left, right}}
	switch op {
	case '+', '-':
		return n, p.agree(op, left, right)
	case '/':
		if right.constant() && right.eval(nil) == 0 {
			return nil, fmt.Errorf("%s is divided by 0", quote((&Formula{root: left}).String()))
		}
	}
	for d := range n.dim {
		v := int(left.dim[d]) + int(right.dim[d])
		if op == '/' {
			v = int(left.dim[d]) - int(right.dim[d])
		}
		if v < -100 || v > 100 {
			return nil, fmt.Errorf("a product of this many units measures nothing")
		}
		n.dim[d] = int8(v)
	}
	return n, nil
}

// constant tells that no name is below a node.
func (n *node) constant() bool {
	return n.op != 'a' && !slices.ContainsFunc(n.args, func(a *node) bool { return !a.constant() })
}

// agree refuses to add or compare what measures different things.
func (p *formulaReader) agree(op byte, a, b *node) error {
	if a.dim == b.dim {
		return nil
	}
	for _, n := range []*node{a, b} {
		if n.op == 'n' && n.dim == Ratio.Dim {
			_, err := literal{number: n.text}.measure(p.want)
			return err
		}
	}
	word := map[byte]string{'+': "added to", '-': "subtracted from", '<': "compared with", '>': "compared with"}[op]
	if op == '-' {
		a, b = b, a
	}
	return fmt.Errorf("%s (%s) cannot be %s %s (%s)", quote((&Formula{root: a}).String()),
		measure{dim: a.dim}.noun("in another unit"), word, quote((&Formula{root: b}).String()),
		measure{dim: b.dim}.noun("in another unit"))
}

func (p *formulaReader) operand() (*node, error) {
	if p.depth++; p.depth > maxNesting {
		return nil, fmt.Errorf("the formula is nested more than %d deep", maxNesting)
	}
	defer func() { p.depth-- }()
	t := p.peek()
	if p.at == len(p.list) {
		return nil, fmt.Errorf("the formula ends where a name or a number is expected")
	}
	p.at++
	switch {
	case t.is("("):
		n, err := p.sum()
		if err == nil && !p.take(")") {
			err = p.unclosed()
		}
		return n, err
	case t.is("-") || t.is("+"):
		n, err := p.operand()
		if err != nil || t.is("+") {
			return n, err
		}
		if p.want == Celsius || p.want == Decibel {
			return nil, fmt.Errorf("a negative number in %s is written without a space after the sign", p.want)
		}
		return &node{op: '~', dim: n.dim, args: []*node{n}}, nil
	case t.kind == numberToken:
		return p.number(t)
	case t.kind == nameToken && !t.quoted && p.peek().is("("):
		return p.function(t.text)
	case t.kind == nameToken:
		if !slices.Contains(p.names, t.text) {
			p.names = append(p.names, t.text)
		}
		return &node{op: 'a', text: t.text, dim: p.want.Dim}, nil
	}
	return nil, fmt.Errorf("%s stands where a name or a number is expected", quote(t.text))
}

// number reads a number and the unit that may follow it.
func (p *formulaReader) number(t token) (*node, error) {
	lit := literal{number: t.text}
	if next := p.peek(); p.at < len(p.list) && next.kind == nameToken && !next.quoted {
		lit.unit = next.text
		p.at++
	}
	if lit.unit == "" {
		v, err := scaled(t.text, 0)
		return &node{op: 'n', val: v, text: t.text, dim: Ratio.Dim}, err
	}
	if p.want == Celsius || p.want == Decibel {
		v, _, err := lit.in(p.want)
		return &node{op: 'n', val: v, text: lit.text(), dim: p.want.Dim}, err
	}
	m, err := lit.measure(p.want)
	if err != nil {
		return nil, err
	}
	if m.kind > fraction {
		return nil, misfit(lit.text(), lit.unit, m, p.want)
	}
	v, err := scaled(t.text, m.exp)
	return &node{op: 'n', val: v, text: lit.text(), dim: m.dim}, err
}

func (p *formulaReader) function(name string) (*node, error) {
	op, ok := map[string]byte{"min": '<', "max": '>'}[name]
	if !ok {
		return nil, fmt.Errorf("unknown function %s; there are min and max", quote(name))
	}
	p.at++
	n := &node{op: op}
	for {
		arg, err := p.sum()
		if err != nil {
			return nil, err
		}
		if n.args = append(n.args, arg); len(n.args) > 1 {
			if err := p.agree(op, n.args[0], arg); err != nil {
				return nil, err
			}
		}
		n.dim = arg.dim
		if p.take(",") {
			continue
		}
		if !p.take(")") {
			return nil, p.unclosed()
		}
		if len(n.args) < 2 {
			return nil, fmt.Errorf("%s compares two values or more", name)
		}
		return n, nil
	}
}

func (p *formulaReader) unclosed() error {
	if p.at == len(p.list) {
		return fmt.Errorf("a parenthesis is never closed")
	}
	return p.stray()
}

// stray is the message about a token that cannot follow what was read.
func (p *formulaReader) stray() error {
	t := p.list[p.at]
	if n := len(t.text); t.kind != signToken && n > 1 && (t.text[0] == '-' || t.text[0] == '+') {
		return fmt.Errorf("%s stands where an operator is expected; operators stand between spaces, %s",
			quote(t.text), quote(t.text[:1]+" "+t.text[1:]))
	}
	return fmt.Errorf("%s stands where an operator is expected", quote(t.text))
}
