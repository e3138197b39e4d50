package builtin

import (
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

// everyState calls judge in the working state and in every declared state, or in every one that measures. The state is
// empty in the working one, and otherwise what is added to the name of a quantity.
func everyState(p *rules.Bench, measuring bool, judge func(v *rules.Bench, state string)) {
	judge(p, "")
	for _, s := range p.States() {
		if s.Measuring || !measuring {
			judge(s.Bench, " while "+s.Name)
		}
	}
}

// A held quantity is one with the limits it is held against.
type held struct{ q, lo, hi quantity.Quantity }

// A working state is what each pin is held to in the working state of the equipment.
type working map[string]held

// again tells that another state holds a pin to the same against the same as the working one: it is not said twice.
func (w working) again(pin, state string, h held) bool {
	if state == "" {
		w[pin] = h
		return false
	}
	same := func(a, b quantity.Quantity) bool { return a.Sound == b.Sound && a.Seen == b.Seen }
	o := w[pin]
	return same(h.q, o.q) && same(h.lo, o.lo) && same(h.hi, o.hi)
}
