package volt_test

import (
	"math"
	"strings"
	"testing"
)

const bells = `
[[part]]
name = "quay-bell"
role = "comparator"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { current = "0.5 mA" }
bias = { max = "2 uA" }

[[part]]
name = "quay-bell-two"
role = "comparator"
pins = ["pa", "ma", "oa", "ground", "pb", "mb", "ob", "supply"]
units = { a = { "in+" = 1, "in-" = 2, out = 3 }, b = { "in+" = 5, "in-" = 6, out = 7 } }
supply = { current = "0.5 mA" }
bias = { max = "2 uA" }

[[part]]
name = "quay-bell-bare"
role = "comparator"
pins = ["in+", "in-", "out", "ground", "supply"]
`

// A comparator draws up to 2 uA from each input: 20 mV over 10 kohm || 10 kohm = 5 kohm are 10 mV below half of 4 V.
func TestComparatorInputs(t *testing.T) {
	const deck = `* shuntwright: rails = { V4 = "4 V exact", V1 = "1 V exact" }
* shuntwright: tolerances.resistors = "0 %"
R1 V4 mid 10k
R2 mid 0 10k
RP V4 o 10k
RQ V1 0 10k
`
	for _, card := range []string{"XC mid V1 o 0 V4 quay-bell", "XC V1 mid o 0 V4 quay-bell", "XC V1 V1 o2 0 V1 mid o V4 quay-bell-two"} {
		q := voltage(t, load(t, deck+card, bells), "mid")
		if !q.Known() || math.Abs(q.Seen.Lo-1.99) > 1e-9 || math.Abs(q.Seen.Hi-2) > 1e-9 || q.Sound != q.Seen {
			t.Errorf("%s: %v (sound %v), want 1.99 .. 2; missing %v", card, q.Seen, q.Sound, q.Needs)
		}
	}
	// Its bias is asked for, and what its output does is not known.
	for card, want := range map[string]string{"XC mid V1 o 0 V4 quay-bell-bare": "bias.max", "XC V1 V1 mid 0 V4 quay-bell": "what XC does to mid"} {
		if q := voltage(t, load(t, deck+card, bells), "mid"); q.Known() || !strings.Contains(q.Needs[0].Key, want) {
			t.Errorf("%s: %v, missing %v, want %q", card, q.Seen, q.Needs, want)
		}
	}
}
