package parse

import (
	"math"
	"strings"
	"testing"
)

func eval(text string) (float64, string) {
	e, err := ParseExpr(text)
	if err != nil {
		return 0, err.Error()
	}
	v, trouble := e.Eval(func(name *Expr) (float64, bool, *Trouble) {
		switch strings.ToLower(name.Text) {
		case "k":
			return 3, true, nil
		case "rs":
			return 0.01, true, nil
		}
		return 0, false, nil
	})
	if trouble != nil {
		return 0, text[trouble.Expr.From:trouble.Expr.To] + " " + trouble.Message + trouble.Near
	}
	return v, ""
}

func TestExpressions(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
	}{
		{"1+2*3", 7}, {"(1+2)*3", 9}, {"2**3**2", 512}, {"2^3", 8}, {"-2**2", -4}, {"2**-1", 0.5}, {"--3", 3}, {"10-4-3", 3},
		{"12/3/2", 2}, {"1k+2meg", 2001000}, {"1e-3+1", 1.001}, {"1e3-1", 999}, {"2u*1k", 2e-3}, {"1mil", 25.4e-6},
		{"K*Rs", 0.03}, {"pi", math.Pi}, {"PI*2", 2 * math.Pi}, {"1<2", 1}, {"1>=2", 0}, {"1==1 && 2!=2", 0}, {"1<>2||0", 1}, {"!0", 1}, {"!3+1", 1},
		{"k>2 ? 10 : 20", 10}, {"0 ? 1 : 0 ? 2 : 3", 3}, {"1 ? 2 : 1/0", 2}, {"if(0, 1/0, 4)", 4}, {"0 && 1/0", 0}, {"1 || 1/0", 1},
		{"min(3,1,2)", 1}, {"max(1)", 1}, {"abs(-2)", 2}, {"sqrt(16)", 4}, {"exp(0)", 1}, {"ln(exp(2))", 2}, {"log(exp(2))", 2},
		{"log10(1k)", 3}, {"pow(2,10)", 1024}, {"pwr(2,3)", 8}, {"sgn(-4)+sgn(0)+sgn(9)", 0}, {"int(-1.7)", -1}, {"floor(-1.2)", -2}, {"ceil(1.2)", 2},
		{"limit(5,1,3)", 3}, {"limit(0,3,1)", 1}, {"sin(0)+cos(0)+tan(0)", 1}, {"asin(1)+acos(1)", math.Pi / 2}, {"atan(1)*4", math.Pi},
		{"atan2(1,1)*4", math.Pi}, {"sinh(0)+cosh(0)+tanh(0)", 1}, {"{1+{2}}", 3}, {"+4", 4}, {"1 +\t2", 3},
	} {
		if got, trouble := eval(c.text); trouble != "" || !near(got, c.want) {
			t.Errorf("%s = %v %s, want %v", c.text, got, trouble, c.want)
		}
	}
	for _, c := range []struct{ text, want string }{
		{"2*(k/(3-K))", "(k/(3-K)) divides by zero"},
		{"1+sqrt(1-k)", "sqrt(1-k) takes the root of a negative number"},
		{"ln(0)", "ln(0) takes the logarithm of a number that is not positive"},
		{"asin(2)", "asin(2) takes the inverse of a number outside -1 .. 1"},
		{"1+gain", "gain is not defined"},
		{"sqr(4)", "sqr(4) calls an unknown functionsqrt"},
		{"pow(2)", "pow(2) takes 2 values, not 1"},
		{"min()", "min() takes at least 1 values, not 0"},
		{"exp(1k)", "exp(1k) has no finite value"},
		{"1e308*10", "1e308*10 has no finite value"},
		{"0**-1", "0**-1 divides by zero"},
		{"(0-1)**0.5", "(0-1)**0.5 raises a negative number to a power that is not whole"},
		{"pwr(0-2,2)", "pwr(0-2,2) raises a negative number, which dialects read in two ways"},
		{"v(a,b)*2", "v(a,b) depends on the circuit and is no constant"},
		{"", "an expression is missing, found the end of the card"},
		{"1 2", `unexpected "2" behind the expression`},
		{"1+*2", `a value is missing after "+", found "*"`},
		{"min(1,2", `"(" is not closed, found the end of the card`},
		{"1=b", `unexpected "=" behind the expression`},
		{"1 & 2", `unexpected "&" behind the expression`},
		{"1.2.3", `"1.2.3" is no number`},
		{strings.Repeat("(", 300) + "1" + strings.Repeat(")", 300), "an expression nests deeper than 200 (--limit expression-depth=N moves it)"},
		{strings.Repeat("-", 300) + "1", "an expression nests deeper than 200 (--limit expression-depth=N moves it)"},
		{"1" + strings.Repeat("+1", 200_000), "an expression has more than 100000 parts (--limit expression-parts=N moves it)"},
	} {
		if _, got := eval(c.text); got != c.want {
			t.Errorf("%.40s: %s, want %s", c.text, got, c.want)
		}
	}
}

func TestGrammarIsPrintable(t *testing.T) {
	g := Grammar()
	for _, want := range []string{"Passive = ", "Subckt = <dotsubckt> ", "Expr = "} {
		if !strings.Contains(g, want) {
			t.Errorf("no %q in\n%s", want, g)
		}
	}
}
