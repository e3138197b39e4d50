package policy

import "testing"

func TestPattern(t *testing.T) {
	for _, c := range []struct {
		pattern, instance string
		want              bool
	}{
		{"XA", "XA", true}, {"xa", "XA", true}, {"XA", "XAB", false}, {"XA", "XP.XA", false},
		{"X*", "XAB", true}, {"X*", "XA.XS", false}, {"*.XS", "XPA.XS", true}, {"*.XS", "X.XPA.XS", false},
		{"**.XS", "X.XPA.XS", true}, {"**", "X.XPA.XS", true}, {"**", "", true}, {"*", "", true},
		{"XA:b", "XA:b", true}, {"XA:*", "XA:b", true}, {"X.A", "XBA", false}, {"X[1]", "X[1]", true}, {"X[1]", "X1", false},
		{"X?", "X?", true}, {"X?", "XA", false}, {"x$(", "X$(", true},
	} {
		if got := readPattern(c.pattern).matches(c.instance); got != c.want {
			t.Errorf("%q matches %q: %v", c.pattern, c.instance, got)
		}
	}
}
