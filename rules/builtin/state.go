package builtin

import "github.com/shuntwright/shuntwright/parse/quantity"

// A held quantity is one with the limits it is held against.
type held struct{ q, lo, hi quantity.Quantity }

// again tells that another state of the equipment holds the same against the same: it is not said twice.
func (h held) again(o held) bool {
	same := func(a, b quantity.Quantity) bool { return a.Sound == b.Sound && a.Seen == b.Seen }
	return h.q.Name != "" && same(h.q, o.q) && same(h.lo, o.lo) && same(h.hi, o.hi)
}
