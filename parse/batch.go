package parse

import (
	"bytes"
	"math"
	"runtime"
	"sync"

	"github.com/alecthomas/participle/v2/lexer"
)

// A batch is a piece of a file that ends where a card ends, and what was read from it. Batches are read side by side and
// laid down one after the other.
type batch struct {
	text []byte // of the file, up to the end of the batch
	from int
	read chan struct{} // closed when it is

	plains []plainCard
	events []event
	nodes  []uint32 // places in names
	pairs  []plainParam
	names  []localName
	slots  []uint32
	words  []plainWord
	slow   bool // leave every card to the grammar
	limits Limits

	touched uint64
}

// An event stands between plain cards: a card that the grammar read, or a comment that is meant for this program.
type event struct {
	after  int // how many plain cards come before it
	pragma segment
	card   logical // nil for a pragma
	tokens []lexer.Token
	syntax *syntax
	err    error    // of the grammar
	why    *refusal // the card is beyond a limit
}

const (
	batchBytes = 256 << 10
	ground     = 1 // the place of node 0 in a batch's names
	firstLocal = 2
)

var nan = math.NaN()

// cut is the end of the batch that starts at a byte: a line that starts a card, its card before it complete.
func cut(text []byte, from, size int) int {
	at := from + size
	if at >= len(text) {
		return len(text)
	}
	// A card line that does not end with a continuation mark, and a card line behind it.
	closed := false
	for at > from && class[text[at-1]] != lineEnd {
		at--
	}
	for at < len(text) {
		i := at
		for i < len(text) && class[text[i]] == gap {
			i++
		}
		if i == len(text) {
			return i
		}
		starts := class[text[i]] == letterlike && text[i] != '+' && text[i] != '/' && !commentLine(text[i])
		if starts && closed && at > from {
			return at
		}
		end := i
		for end < len(text) && class[text[end]] != lineEnd {
			end++
		}
		if b := text[i]; class[b] != lineEnd && !commentLine(b) && b != ';' && !remarked(text, i) {
			closed = !bytes.HasSuffix(bytes.TrimRight(text[i:end], blanks), []byte{'\\'})
		}
		at = end + 1
		if end < len(text)-1 && text[end] == '\r' && text[end+1] == '\n' {
			at++
		}
	}
	return len(text)
}

// reset prepares a batch for another piece.
func (b *batch) reset(text []byte, from int) {
	b.text, b.from, b.read = text, from, make(chan struct{})
	b.plains, b.nodes, b.pairs = b.plains[:0], b.nodes[:0], b.pairs[:0]
	clear(b.events)
	b.events = b.events[:0]
	b.names = append(b.names[:0], localName{}, localName{known: true})
	if b.slots == nil {
		b.slots = make([]uint32, 1<<10)
	}
	clear(b.slots)
}

// scan reads the batch.
func (b *batch) scan() {
	defer close(b.read)
	l := &liner{text: b.text, at: b.from, comment: func(from, to int) {
		if s, ok := pragma(b.text, from, to); ok {
			b.events = append(b.events, event{after: len(b.plains), pragma: s})
		}
	}}
	for {
		if l.idle(); !b.slow && l.at < len(b.text) {
			if next, ok := b.plain(l.at); ok {
				l.at = next
				continue
			}
		}
		card, ok := l.next()
		if !ok {
			return
		}
		e := event{after: len(b.plains), card: card, tokens: scan(b.text, card)}
		if e.why = measure(e.tokens, b.limits); e.why != nil {
			e.why.message = e.tokens[0].Value + ": " + e.why.message
		} else {
			e.syntax, e.err = parseCard(e.tokens)
		}
		b.events = append(b.events, e)
	}
}

// batches cuts a text and reads its batches on all cores, a few ahead of the caller. each gets them in order and returns
// false when the rest is not wanted.
func batches(text []byte, from int, like batch, each func(*batch) bool) {
	workers := runtime.GOMAXPROCS(0)
	if len(text)-from <= batchBytes {
		b := &like
		b.reset(text, from)
		b.scan()
		each(b)
		return
	}
	jobs, ordered := make(chan *batch, 2*workers), make(chan *batch, 2*workers)
	stop := make(chan struct{})
	defer close(stop)
	pool := &sync.Pool{New: func() any { return &batch{slow: like.slow, limits: like.limits} }}
	for range workers {
		go func() {
			for b := range jobs {
				b.scan()
			}
		}()
	}
	go func() {
		defer close(ordered)
		defer close(jobs)
		for from < len(text) {
			to := cut(text, from, batchBytes)
			b := pool.Get().(*batch)
			b.reset(text[:to], from)
			from = to
			select {
			case <-stop:
				return
			case jobs <- b:
			}
			select {
			case <-stop:
				return
			case ordered <- b:
			}
		}
	}()
	for b := range ordered {
		<-b.read
		if !each(b) {
			return
		}
		pool.Put(b)
	}
}
