package circuit

import "github.com/shuntwright/shuntwright/parse"

// An elementIndex finds elements by instance and name. It is open-addressed over numbers only, because netlists have
// millions of elements of which a few are asked for.
type elementIndex []ID // an element's number plus 1; 0 is free

func (c *Circuit) indexElements() elementIndex {
	size := 16
	for size < 2*len(c.Elements) {
		size *= 2
	}
	x, mask := make(elementIndex, size), uint32(size-1)
	last := parse.CardID(0)
	for id := range c.Elements {
		e := &c.Elements[id]
		if id > 0 && e.Card == last && e.Inst == c.Elements[id-1].Inst {
			continue // a further piece of one card
		}
		last = e.Card
		i := slotOf(e.Inst, c.Cards.CardHash(e.Card)) & mask
		for x[i] != 0 && !c.sameName(x[i]-1, ID(id)) {
			i = (i + 1) & mask
		}
		if x[i] == 0 { // of two of one name the first is found
			x[i] = ID(id + 1)
		}
	}
	return x
}

func (c *Circuit) sameName(a, b ID) bool {
	x, y := &c.Elements[a], &c.Elements[b]
	return x.Inst == y.Inst && c.Cards.CardHash(x.Card) == c.Cards.CardHash(y.Card) && c.Cards.CardNamed(x.Card, c.Cards.CardName(y.Card))
}

func slotOf(inst Inst, name uint32) uint32 { return (name ^ uint32(inst)*0x85ebca6b) * 0x9e3779b1 >> 3 }

func (x elementIndex) find(c *Circuit, inst Inst, name string) (ID, bool) {
	mask := uint32(len(x) - 1)
	for i := slotOf(inst, parse.NameHash(name)) & mask; x[i] != 0; i = (i + 1) & mask {
		id := x[i] - 1
		if e := &c.Elements[id]; e.Inst == inst && c.Cards.CardNamed(e.Card, name) {
			return id, true
		}
	}
	return 0, false
}

// An instanceIndex finds instances by the one they stand in and their name, likewise.
type instanceIndex []Inst // 0 is free

func (c *Circuit) indexInstances() instanceIndex {
	size := 16
	for size < 2*len(c.insts) {
		size *= 2
	}
	x, mask := make(instanceIndex, size), uint32(size-1)
	for k := 1; k < len(c.insts); k++ {
		in := &c.insts[k]
		i := slotOf(in.up, c.Cards.CardHash(in.call)) & mask
		for x[i] != 0 && !(c.insts[x[i]].up == in.up && c.Cards.CardNamed(c.insts[x[i]].call, c.Cards.CardName(in.call))) {
			i = (i + 1) & mask
		}
		if x[i] == 0 {
			x[i] = Inst(k)
		}
	}
	return x
}

func (x instanceIndex) find(c *Circuit, up Inst, name string) (Inst, bool) {
	mask := uint32(len(x) - 1)
	for i := slotOf(up, parse.NameHash(name)) & mask; x[i] != 0; i = (i + 1) & mask {
		if in := &c.insts[x[i]]; in.up == up && c.Cards.CardNamed(in.call, name) {
			return x[i], true
		}
	}
	return 0, false
}

// A netIndex finds nets by instance and name: those of the top, which may be millions, by number.
type netIndex struct {
	top  []Net // by name; a net's number plus 1
	rest map[netName]Net
}

func (c *Circuit) indexNets() netIndex {
	x := netIndex{top: make([]Net, len(c.Cards.Names)), rest: map[netName]Net{}}
	put := func(k netName, n Net) {
		if k.inst == 0 {
			x.top[k.name] = n + 1
		} else {
			x.rest[k] = n
		}
	}
	for i, k := range c.names {
		put(k, Net(i))
	}
	for k, n := range c.aliases {
		put(k, n)
	}
	return x
}

func (x netIndex) find(k netName) (Net, bool) {
	if k.inst != 0 {
		n, ok := x.rest[k]
		return n, ok
	}
	n := x.top[k.name]
	return n - 1, n > 0
}
