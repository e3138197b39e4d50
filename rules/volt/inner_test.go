package volt_test

import "testing"

// A net that is named from outside its instance is that net: 10 V over 1 kohm to x1.mid, where 1 kohm stands in the
// instance and 1 kohm outside.
func TestInnerNetIsNoNetOfItsOwn(t *testing.T) {
	d := load(t, exact+"X1 V1 cell\n.subckt cell p\nR1 p mid 1k\nR2 mid 0 1k\n.ends\nR3 x1.mid 0 1k", "")
	for _, name := range []string{"x1.mid", "X1.MID"} {
		meets(t, name, voltage(t, d, name).Seen, 10./3, 10./3, 1e-6)
	}
}
