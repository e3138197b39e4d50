package parse

import (
	"bufio"
	"io"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// Print writes the netlist as tidy text: includes in their places, what each subcircuit defines before its elements,
// long cards folded. It is written from what was read, and reading it again yields the same circuit, provided that
// every card could be read: one that could not is left as a comment. What says nothing about the drawn circuit is not
// kept: comments, the commands of a .control block, the distortion inputs of sources.
func (n *Netlist) Print(w io.Writer) error {
	p := &printer{n: n, out: bufio.NewWriter(w), children: make([][]SubID, len(n.Subs)), models: make([][]int, len(n.Subs)),
		known: map[string]bool{}}
	for i := 1; i < len(n.Subs); i++ {
		up := n.Subs[i].Up
		p.children[up] = append(p.children[up], SubID(i))
	}
	for i := range n.Models {
		m := &n.Models[i]
		p.models[m.Scope] = append(p.models[m.Scope], i)
		p.known[strings.ToLower(n.Names[m.Name])] = true
	}
	p.head()
	p.body(0)
	p.ignored()
	p.line(".end")
	return p.out.Flush()
}

type printer struct {
	n        *Netlist
	out      *bufio.Writer // keeps the first error
	children [][]SubID     // by scope, in order
	models   [][]int       // by scope, in order
	known    map[string]bool
	quoted   bool // everything is a comment: the body of a subcircuit whose card could not be read
}

// line writes a line as it is.
func (p *printer) line(s string) {
	p.mark()
	p.out.WriteString(s)
	p.out.WriteByte('\n')
}

func (p *printer) mark() {
	if p.quoted {
		p.out.WriteString("* ")
	}
}

// card writes a card of words, folded where it is long.
func (p *printer) card(words ...printedWord) {
	if !p.quoted {
		writeCard(p.out, words)
		return
	}
	var text []string
	for _, w := range words {
		text = append(text, strings.Join(w, ""))
	}
	p.line(strings.Join(text, " "))
}

// head writes the title, the comment cards for this tool and the global nodes.
func (p *printer) head() {
	title := p.n.Src.Text(p.n.Title)
	if strings.HasPrefix(title, "\ufeff") {
		title = "\ufeff" + title // the first one is the file's and no letter of the title
	}
	p.line(title)
	for _, at := range p.n.Pragmas {
		if t := p.n.Title; at.File == t.File && at.Byte >= t.Byte && at.Byte+at.Len <= t.Byte+t.Len {
			continue // the title says it
		}
		p.line(strings.TrimRight("* shuntwright: "+p.n.Src.Text(at), " "))
	}
	if len(p.n.Globals) > 0 {
		card := []printedWord{{".global"}}
		for _, g := range p.n.Globals {
			card = append(card, p.name(g, '.'))
		}
		p.card(card...)
	}
}

// body writes what stands in a scope: its parameters and models, then its elements and nested subcircuits in order.
func (p *printer) body(scope SubID) {
	s := &p.n.Subs[scope]
	for i := range s.Locals {
		d := &s.Locals[i]
		p.card(printedWord{".param"}, bracedWord(d.Value).enclose(d.Name+"=", ""))
	}
	for _, i := range p.models[scope] {
		p.model(&p.n.Models[i])
	}
	next := s.First
	for _, child := range p.children[scope] {
		p.elements(next, p.n.Subs[child].First)
		p.subckt(child)
		next = p.n.Subs[child].End
	}
	p.elements(next, s.End)
}

func (p *printer) subckt(id SubID) {
	s := &p.n.Subs[id]
	if p.unreadHead(s) {
		outer := p.quoted
		p.quoted = true
		p.body(id)
		p.line(".ends")
		p.quoted = outer
		return
	}
	card := []printedWord{{".subckt"}, p.name(s.Name, 'X')}
	for _, port := range s.Ports {
		card = append(card, p.name(port, 'X'))
	}
	p.card(append(card, paramWords(s.Params, 'X')...)...)
	p.body(id)
	p.card(printedWord{".ends"}, p.name(s.Name, 'X'))
}

// unreadHead tells that the .subckt card itself could not be read. It stands first in the body then.
func (p *printer) unreadHead(s *Sub) bool {
	if !s.Broken || s.First == s.End {
		return false
	}
	c := &p.n.Cards[s.First]
	return c.Kind == '?' && c.At == s.At
}

func (p *printer) model(m *Model) {
	card := []printedWord{{".model"}, p.name(m.Name, '.'), bareWord(m.Type)}
	if params := paramWords(m.Params, '.'); len(params) > 0 {
		last := len(params) - 1
		params[last] = params[last].enclose("", ")")
		card[2] = append(card[2].enclose("", "("), params[0]...)
		card = append(card, params[1:]...)
	}
	p.card(card...)
}

// ignored writes the cards that concern other programs, or define what is not understood here.
func (p *printer) ignored() {
	for _, c := range p.n.Ignored {
		if strings.EqualFold(c.Word, ".control") {
			p.line(c.Word)
			p.line("* left out: the commands")
			p.line(".endc")
			continue
		}
		p.asWritten(c.At)
	}
}

// asWritten copies a card that is kept only as text, without its comments.
func (p *printer) asWritten(at source.Span) {
	for i, s := range p.segments(at) {
		if i > 0 {
			s = "+ " + s
		}
		p.line(s)
	}
}

// segments are the lines of a card without continuation marks and comments.
func (p *printer) segments(at source.Span) (lines []string) {
	text := p.n.Src.File(at.File).Text[:at.Byte+at.Len]
	l := &liner{text: text, at: int(at.Byte), comment: func(int, int) {}}
	card, _ := l.next()
	for _, s := range card {
		if s.From < s.To {
			lines = append(lines, string(text[s.From:s.To]))
		}
	}
	return lines
}
