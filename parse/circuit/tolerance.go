package circuit

import (
	"strings"

	"github.com/shuntwright/shuntwright/parse"
)

func isTolerance(p *parse.Param) bool { return strings.EqualFold(p.Name, "tol") }

// percent is a tolerance written as tol=5%, as a fraction.
func percent(p *parse.Param) (fraction float64, ok bool) {
	x := p.Expr
	if x == nil || !isTolerance(p) || x.Op != parse.Name {
		return 0, false
	}
	text, ok := strings.CutSuffix(x.Text, "%")
	if !ok {
		return 0, false
	}
	v, tail, ok := parse.Number(text)
	return v / 100, ok && tail == ""
}
