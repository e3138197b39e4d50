package circuit

import "github.com/shuntwright/shuntwright/parse"

// A nameIndex finds what has a name of its own within an instance: elements, and instances by their X cards. It is
// open-addressed over numbers only, because netlists have millions of elements of which a few are asked for.
type nameIndex struct {
	slots []uint32 // a number plus 1; 0 is free
	cards *parse.Netlist
	of    func(k uint32) (in Inst, card parse.CardID)
}

// index builds the index of the numbers from one to before another. Of two of one name the first is found.
func (c *Circuit) index(from, to int, of func(k uint32) (Inst, parse.CardID)) nameIndex {
	size := 16
	for size < 2*(to-from) {
		size *= 2
	}
	x := nameIndex{make([]uint32, size), c.Cards, of}
	for k := from; k < to; k++ {
		in, card := of(uint32(k))
		hash := c.Cards.CardHash(card)
		i := x.slot(in, hash, func(other parse.CardID) bool {
			return c.Cards.CardHash(other) == hash && c.Cards.CardNamed(other, c.Cards.CardName(card))
		})
		if x.slots[i] == 0 {
			x.slots[i] = uint32(k + 1)
		}
	}
	return x
}

// slot is where a name in an instance is, or would be.
func (x nameIndex) slot(in Inst, hash uint32, named func(parse.CardID) bool) uint32 {
	mask := uint32(len(x.slots) - 1)
	for i := (hash ^ uint32(in)*0x85ebca6b) * 0x9e3779b1 >> 3 & mask; ; i = (i + 1) & mask {
		if x.slots[i] == 0 {
			return i
		}
		if at, card := x.of(x.slots[i] - 1); at == in && named(card) {
			return i
		}
	}
}

func (x nameIndex) find(in Inst, name string) (k uint32, ok bool) {
	i := x.slot(in, parse.NameHash(name), func(card parse.CardID) bool { return x.cards.CardNamed(card, name) })
	return x.slots[i] - 1, x.slots[i] != 0
}

func (c *Circuit) indexElements() nameIndex {
	return c.index(0, len(c.Elements), func(k uint32) (Inst, parse.CardID) { return c.Elements[k].Inst, c.Elements[k].Card })
}

func (c *Circuit) indexInstances() nameIndex {
	return c.index(1, len(c.insts), func(k uint32) (Inst, parse.CardID) { return c.insts[k].up, c.insts[k].call })
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
