package rules

import (
	"sync"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// together is what rules work out once for the netlist as drawn, whichever block asks first.
type together struct {
	d      *design.Design
	blocks func() []*sense.Block

	mu   sync.Mutex
	made map[string]func() any
}

func newTogether(d *design.Design) *together {
	return &together{d: d, made: map[string]func() any{}, blocks: sync.OnceValue(func() (list []*sense.Block) {
		for b := range sense.Blocks(d) {
			if d.Circuit.Cards.Stopped() != nil {
				break
			}
			list = append(list, b)
		}
		return list
	})}
}

// Once is what a rule works out from all blocks of the netlist as drawn, in netlist order; it is worked out one time for
// all blocks. Changes that are tried as remedies are not in it, so it is right for what other blocks are, not for this one.
func (p *Bench) Once(key string, work func(d *design.Design, blocks []*sense.Block) any) any {
	t := p.site.together
	t.mu.Lock()
	f := t.made[key]
	if f == nil {
		f = sync.OnceValue(func() any { return work(t.d, t.blocks()) })
		t.made[key] = f
	}
	t.mu.Unlock()
	return f()
}
