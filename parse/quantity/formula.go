package quantity

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// A Formula is a limit relative to names: "supply - 90 mV", "max(ground - 7 V, supply - 66 V)", "V3V3 / 2". Every name
// stands for a number of the unit the formula was read for; the value is one too. + - * / stand between spaces, names
// that hold spaces, commas, parentheses or quotes, or that are numbers, stand between quotes, and a number is written
// apart from its unit: "5V" is a name, "5 V" a voltage.
type Formula struct {
	root  *node
	unit  Unit
	names []string
}

// A node is a literal, a name, or an operator or function over its arguments.
type node struct {
	op   byte // 'n' literal, 'a' name, '+', '-', '*', '/', '~' negation, '<' min, '>' max
	val  float64
	text string // the literal as written, or the name
	dim  [5]int8
	args []*node
}

// ReadFormula reads a formula whose value measures what is wanted. It refuses sums of different kinds, a constant
// value that is not finite, and nesting beyond 32.
func ReadFormula(s string, want Unit) (*Formula, error) {
	list, err := tokens(s)
	if err != nil {
		return nil, err
	}
	return formulaOf(list, want)
}

func formulaOf(list []token, want Unit) (*Formula, error) {
	if len(list) == 0 {
		return nil, fmt.Errorf("nothing is written; this wants %s, such as %s", describe(want),
			quote("5 "+want.Example()))
	}
	p := formulaReader{list: list, want: want}
	root, err := p.sum()
	if err != nil {
		return nil, err
	}
	if p.at < len(list) {
		return nil, p.stray()
	}
	f := &Formula{root: root, unit: want, names: p.names}
	if root.op == 'n' && root.dim == Ratio.Dim && !strings.Contains(root.text, " ") {
		_, err := literal{number: root.text}.measure(want)
		return nil, err
	}
	if root.dim != want.Dim {
		return nil, fmt.Errorf("%s is %s, this wants %s", quote(f.String()), measure{dim: root.dim}.noun("another unit"),
			describe(want))
	}
	if v, ok := f.Constant(); ok && (math.IsInf(v, 0) || math.IsNaN(v)) {
		return nil, fmt.Errorf("%s is not a finite number", quote(f.String()))
	}
	return f, nil
}

// Unit is the unit of the value and of every name.
func (f *Formula) Unit() Unit { return f.unit }

// Names are the names used, as first written, in order of appearance.
func (f *Formula) Names() []string { return slices.Clone(f.names) }

// Eval is the value when each name stands for the number that get gives for it. It is not finite where a divisor
// becomes 0.
func (f *Formula) Eval(get func(name string) float64) float64 { return f.root.eval(get) }

// Constant is the value of a formula that names nothing; false when it names something.
func (f *Formula) Constant() (float64, bool) {
	if len(f.names) > 0 {
		return 0, false
	}
	return f.root.eval(nil), true
}

// String writes the formula so that it reads back as the same one.
func (f *Formula) String() string {
	var b strings.Builder
	f.root.write(&b, 0)
	return b.String()
}

func (n *node) eval(get func(string) float64) float64 {
	switch n.op {
	case 'n':
		return n.val
	case 'a':
		return get(n.text)
	case '~':
		return -n.args[0].eval(get)
	}
	v := n.args[0].eval(get)
	for _, a := range n.args[1:] {
		w := a.eval(get)
		switch n.op {
		case '+':
			v += w
		case '-':
			v -= w
		case '*':
			v *= w
		case '/':
			v /= w
		case '<':
			v = math.Min(v, w)
		case '>':
			v = math.Max(v, w)
		}
	}
	return v
}

// strength tells how tightly an operator binds.
func (n *node) strength() int {
	switch n.op {
	case '+', '-':
		return 1
	case '*', '/':
		return 2
	case '~':
		return 3
	}
	return 4
}

// write prints a node inside an operator that binds with the given strength.
func (n *node) write(b *strings.Builder, around int) {
	if n.strength() < around {
		b.WriteString("(")
		defer b.WriteString(")")
	}
	switch n.op {
	case 'n':
		b.WriteString(n.text)
	case 'a':
		b.WriteString(quoteName(n.text))
	case '~':
		b.WriteString("- ")
		n.args[0].write(b, 3)
	case '<', '>':
		b.WriteString(map[byte]string{'<': "min(", '>': "max("}[n.op])
		for i, a := range n.args {
			if i > 0 {
				b.WriteString(", ")
			}
			a.write(b, 0)
		}
		b.WriteString(")")
	default:
		n.args[0].write(b, n.strength())
		b.WriteString(" " + string(n.op) + " ")
		n.args[1].write(b, n.strength()+1)
	}
}
