package parse

import "bytes"

// Most cards of a large netlist are plain: a name, nodes, a number or a model, perhaps name=number behind. They are read
// here some hundred times faster than by the grammar, which stays the definition of the language: a card is taken only
// where it is certain that the grammar would read the same, and everything else, every error above all, is left to it.
// FuzzPlain holds the two together.

// A plainCard is one card as it was read, without pointers. Names are numbered within their batch.
type plainCard struct {
	at, length   uint32 // bytes of the file
	first        uint32 // its nodes in batch.nodes
	params       uint32 // its name=number pairs in batch.params ...
	ref          uint32 // the number of the model's or subcircuit's name; 0: none
	digits, wide uint32 // where the value stands, from at; wide 0: none
	value        float64
	n, paired    uint8 // how many nodes, and ... how many pairs
	name         uint8 // bytes of its name
	kind         byte
	tidy         bool // its value is written so that nobody can misread it
}

// A plainParam is one name=number: bytes of the file.
type plainParam struct {
	name, nameEnd, digits, end uint32
	number                     float64
}

// A localName is a name as it is first written in a batch.
type localName struct {
	from, to uint32 // bytes of the file
	hash     uint32
	ref      bool
	id       NameID // once numbered in the netlist
	known    bool
}

// What a byte is in a plain card. Anything else sends the card to the grammar.
const (
	odd byte = iota
	letterlike
	gap
	lineEnd
	equal
	remark
)

var class = func() (t [256]byte) {
	for b := '!'; b <= '~'; b++ {
		t[b] = letterlike
	}
	for _, b := range `(){}'",\` {
		t[b] = odd
	}
	t[' '], t['\t'], t['\f'], t['\v'] = gap, gap, gap, gap
	t['\n'], t['\r'] = lineEnd, lineEnd
	t['='], t[';'] = equal, remark
	return t
}()

// mostWords bounds the words of a plain card.
const mostWords = 60

// A word of a plain card: bytes of the file. key tells that "=" follows.
type plainWord struct {
	from, to uint32
	key      bool
}

// plain reads the card that starts at a byte. next is the start of the line behind it.
func (b *batch) plain(at int) (next int, ok bool) {
	words := b.words[:0]
	text, i := b.text, at
	last := i
scan:
	for {
		for i < len(text) && class[text[i]] == gap {
			i++
		}
		if i >= len(text) {
			break
		}
		switch class[text[i]] {
		case lineEnd, remark:
			break scan
		case equal:
			if len(words) < 2 || words[len(words)-1].key || i+1 < len(text) && text[i+1] == '=' {
				return 0, false
			}
			words[len(words)-1].key = true
			i++
			continue
		case odd:
			return 0, false
		}
		if remarked(text, i) {
			if i > at && class[text[i-1]] != gap {
				return 0, false
			}
			break
		}
		from := i
		for i++; i < len(text) && class[text[i]] == letterlike; i++ {
		}
		if len(words) == mostWords {
			return 0, false
		}
		last = i
		words = append(words, plainWord{from: uint32(from), to: uint32(i)})
	}
	for i < len(text) && class[text[i]] != lineEnd {
		i++ // a trailing comment
	}
	if i < len(text) {
		if i++; text[i-1] == '\r' && i < len(text) && text[i] == '\n' {
			i++
		}
	}
	if len(words) < 4 || continued(text, i) {
		return 0, false
	}
	b.words = words
	return i, b.take(words, uint32(at), uint32(last))
}

// continued tells that the card before a byte goes on there: behind empty lines and comments stands a "+".
func continued(text []byte, i int) bool {
	for i < len(text) {
		for i < len(text) && class[text[i]] == gap {
			i++
		}
		if i == len(text) {
			return false
		}
		switch b := text[i]; {
		case b == '+' || b == '\\':
			return true
		case !commentLine(b) && b != ';' && class[b] != lineEnd && !remarked(text, i):
			return false
		}
		for i < len(text) && class[text[i]] != lineEnd {
			i++
		}
		i++
	}
	return false
}

// remarked tells that a trailing comment starts at a byte where a word could.
func remarked(text []byte, i int) bool {
	last := i+1 == len(text)
	return text[i] == '$' && (last || class[text[i+1]] == gap || class[text[i+1]] == lineEnd || class[text[i+1]] == remark) ||
		text[i] == '/' && !last && text[i+1] == '/'
}

// take files the words of a card whose letter has a plain form.
func (b *batch) take(words []plainWord, at, end uint32) bool {
	head := words[0]
	if head.to-head.from > 255 {
		return false
	}
	c := plainCard{at: at, length: end - at, first: uint32(len(b.nodes)), params: uint32(len(b.pairs)),
		name: uint8(head.to - head.from), kind: b.text[at] &^ 0x20, value: nan}
	plainly := len(words) // words before the first name=number
	for i := range words {
		if words[i].key {
			plainly = i
			break
		}
	}
	nodes, ref, value := 0, 0, 0 // places of words
	switch c.kind {
	case 'R', 'C', 'L', 'V', 'I':
		if plainly != 4 || plainly < len(words) && (c.kind == 'V' || c.kind == 'I') {
			return false
		}
		for _, w := range words[4:] {
			if w.key && w.to == w.from+1 && b.text[w.from]&^0x20 == c.kind { // a second value
				return false
			}
		}
		nodes, value = 2, 3
	case 'D':
		if plainly != 4 {
			return false
		}
		nodes, ref = 2, 3
	case 'J', 'Z', 'Q':
		if plainly != 5 {
			return false
		}
		nodes, ref = 3, 4
	case 'M':
		if plainly != 5 && plainly != 6 {
			return false
		}
		nodes, ref = plainly-2, plainly-1
	case 'S':
		if plainly != 6 {
			return false
		}
		nodes, ref = 4, 5
	case 'X':
		if plainly < 3 {
			return false
		}
		for _, w := range words[1:] {
			if bytes.IndexByte(b.bytes(w), ':') >= 0 { // "params:"
				return false
			}
		}
		nodes, ref = plainly-2, plainly-1
	default:
		return false
	}
	if value > 0 {
		w := words[value]
		number, ok := b.number(w)
		if !ok {
			return false
		}
		c.value, c.digits, c.wide = number, w.from-at, w.to-w.from
		c.tidy = tidy(c.kind, b.bytes(w))
	}
	if c.kind != 'X' && ref > 0 {
		for _, w := range words[4:plainly] {
			if bytes.EqualFold(b.bytes(w), on) || bytes.EqualFold(b.bytes(w), off) {
				return false
			}
		}
	}
	if !b.pair(words[plainly:]) {
		return false
	}
	c.paired = uint8(len(b.pairs) - int(c.params))
	for _, w := range words[1 : 1+nodes] {
		b.nodes = append(b.nodes, b.local(w, false))
	}
	c.n = uint8(nodes)
	if ref > 0 {
		c.ref = b.local(words[ref], true)
	}
	b.plains = append(b.plains, c)
	return true
}

// pair files what stands behind a card as name=number.
func (b *batch) pair(words []plainWord) bool {
	before := len(b.pairs)
	for i := 0; i < len(words); i += 2 {
		ok := words[i].key && i+1 < len(words) && !words[i+1].key
		if ok {
			k, v := words[i], words[i+1]
			p := plainParam{name: k.from, nameEnd: k.to, digits: v.from, end: v.to}
			if p.number, ok = b.number(v); ok {
				b.pairs = append(b.pairs, p)
				continue
			}
		}
		b.pairs = b.pairs[:before]
		return false
	}
	return true
}

func (b *batch) bytes(w plainWord) []byte { return b.text[w.from:w.to] }

func (b *batch) number(w plainWord) (float64, bool) {
	v, _, ok := Number(string(b.bytes(w)))
	return v, ok
}

var on, off = []byte("on"), []byte("off")

// tidy tells that a value cannot be mistaken: digits, and at most a scale factor that has one meaning.
func tidy(kind byte, text []byte) bool {
	for i, c := range text {
		switch {
		case digit(c) || c == '.' || c == '-' && i == 0:
			continue
		case i == 0 || i < len(text)-1:
			return false
		}
		switch c {
		case 'k', 'K', 'u', 'U', 'n', 'N', 'p', 'P', 'm':
			return true
		}
		return false
	}
	return true
}

// local numbers a name within the batch; 1 is ground.
func (b *batch) local(w plainWord, ref bool) uint32 {
	name := b.bytes(w)
	if !ref && len(name) == 1 && name[0] == '0' {
		return ground
	}
	hash, _ := nameHash(name)
	slot := hash
	if ref {
		slot = ^hash
	}
	mask := uint32(len(b.slots) - 1)
	for i := slot & mask; ; i = (i + 1) & mask {
		k := b.slots[i]
		if k == 0 {
			b.names = append(b.names, localName{from: w.from, to: w.to, hash: hash, ref: ref})
			b.slots[i] = uint32(len(b.names) - 1)
			if 2*len(b.names) > len(b.slots) {
				b.widen()
			}
			return uint32(len(b.names) - 1)
		}
		if l := &b.names[k]; l.hash == hash && l.ref == ref && bytes.EqualFold(b.text[l.from:l.to], name) {
			return k
		}
	}
}

func (b *batch) widen() {
	b.slots = make([]uint32, 2*len(b.slots))
	mask := uint32(len(b.slots) - 1)
	for k := firstLocal; k < len(b.names); k++ {
		slot := b.names[k].hash
		if b.names[k].ref {
			slot = ^slot
		}
		i := slot & mask
		for b.slots[i] != 0 {
			i = (i + 1) & mask
		}
		b.slots[i] = uint32(k)
	}
}
