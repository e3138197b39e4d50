package parse

import (
	"hash/maphash"
	"slices"
	"strings"
	"unicode/utf8"
)

// A nameTable numbers names, letter case aside. Nodes and references are numbered in one sequence but found apart. It is
// open-addressed over numbers only, because a netlist has millions of names and a map of strings is the dearest step of
// reading.
type nameTable struct {
	names []string // by NameID, as first written
	nodes slots
	refs  slots
	arena strings.Builder // the bytes of many names in one allocation
}

// Slots hold the hash of a name above its NameID; 0 is free.
type slots struct {
	table []uint64
	used  int
}

func newNameTable() nameTable {
	return nameTable{names: []string{"0"}, nodes: slots{table: make([]uint64, 64)}, refs: slots{table: make([]uint64, 64)}}
}

// folded is the lower case of every ASCII byte.
var folded = func() (t [256]byte) {
	for i := range t {
		t[i] = lower(byte(i))
	}
	return t
}()

// seed makes hashes differ from run to run, so that nobody can write names that collide. No result depends on a hash.
var seed = maphash.MakeSeed()

// nameHash hashes a name, letter case aside; ok is false where its case is not that of ASCII alone.
func nameHash(name []byte) (h uint32, ok bool) {
	var short [64]byte
	low := short[:0]
	if len(name) > len(short) {
		low = make([]byte, 0, len(name))
	}
	low = low[:len(name)]
	var all byte
	for i, b := range name {
		all |= b
		low[i] = folded[b]
	}
	k := maphash.Bytes(seed, low)
	return uint32(k ^ k>>32), all < utf8.RuneSelf
}

// NameHash is a hash of a name, letter case aside. It holds within one run of the program.
func NameHash(name string) uint32 {
	if h, ok := nameHash([]byte(name)); ok {
		return h
	}
	h, _ := nameHash([]byte(strings.ToLower(name)))
	return h
}

// sameFolded tells that two names are the same, letter case aside.
func sameFolded(a string, b []byte) bool {
	if len(a) == len(b) {
		var all byte
		same := true
		for i := range b {
			all |= b[i] | a[i]
			same = same && folded[a[i]] == folded[b[i]]
		}
		if all < utf8.RuneSelf {
			return same
		}
	}
	return wideFolded(a, b)
}

// wideFolded compares names that may hold letters beyond ASCII, some of which change their length with their case.
func wideFolded(a string, b []byte) bool {
	return strings.ToLower(a) == strings.ToLower(string(b))
}

// find is the number of a name; 0 when it has none.
func (t *nameTable) find(name string, ref bool) NameID {
	s := &t.nodes
	if ref {
		s = &t.refs
	}
	i := t.slot(s, NameHash(name), []byte(name))
	return NameID(s.table[i])
}

// slot finds where a name of this hash is, or would be.
func (t *nameTable) slot(s *slots, hash uint32, name []byte) uint32 {
	mask := uint32(len(s.table) - 1)
	for i := hash & mask; ; i = (i + 1) & mask {
		e := s.table[i]
		if e == 0 || uint32(e>>32) == hash && sameFolded(t.names[uint32(e)], name) {
			return i
		}
	}
}

// number is the number of a name, a new one where it has none.
func (t *nameTable) number(name []byte, hash uint32, ref bool) NameID {
	s := &t.nodes
	if ref {
		s = &t.refs
	}
	i := t.slot(s, hash, name)
	if e := s.table[i]; e != 0 {
		return NameID(e)
	}
	id := NameID(len(t.names))
	t.names = append(t.names, t.keep(name))
	s.table[i] = uint64(hash)<<32 | uint64(id)
	if s.used++; 2*s.used > len(s.table) {
		s.grow(2 * len(s.table))
	}
	return id
}

// touch brings what looking up names will need into the cache, many at a time: one by one each would wait for memory.
// It returns a sum that means nothing, so that the reads are made.
func (t *nameTable) touch(list []localName) (sum uint64) {
	mask := uint32(len(t.nodes.table) - 1)
	for i := range list {
		sum += t.nodes.table[list[i].hash&mask]
	}
	for i := range list {
		if e := t.nodes.table[list[i].hash&mask]; uint32(e>>32) == list[i].hash {
			sum += uint64(len(t.names[uint32(e)]))
		}
	}
	for i := range list {
		if e := t.nodes.table[list[i].hash&mask]; uint32(e>>32) == list[i].hash {
			sum += uint64(first(t.names[uint32(e)]))
		}
	}
	return sum
}

// expect makes room for more nodes.
func (t *nameTable) expect(nodes int) {
	t.names = slices.Grow(t.names, nodes)
	size := len(t.nodes.table)
	for size < 2*(t.nodes.used+nodes) {
		size *= 2
	}
	if size > len(t.nodes.table) {
		t.nodes.grow(size)
	}
}

func (s *slots) grow(size int) {
	old := s.table
	s.table = make([]uint64, size)
	mask := uint32(size - 1)
	for _, e := range old {
		if e == 0 {
			continue
		}
		i := uint32(e>>32) & mask
		for s.table[i] != 0 {
			i = (i + 1) & mask
		}
		s.table[i] = e
	}
}

// keep copies a name into the arena.
func (t *nameTable) keep(name []byte) string {
	const block = 1 << 16
	if len(name) > block/16 {
		return string(name)
	}
	if t.arena.Cap()-t.arena.Len() < len(name) {
		t.arena = strings.Builder{}
		t.arena.Grow(block)
	}
	from := t.arena.Len()
	t.arena.Write(name)
	return t.arena.String()[from:]
}

func first(s string) byte {
	if s == "" {
		return 0
	}
	return s[0]
}
