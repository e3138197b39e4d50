package parse

import (
	"bufio"
	"io"
	"strings"

	"github.com/shuntwright/shuntwright/parse/source"
)

// Print writes the netlist as tidy text: in the order in which it was read, includes in their places, long cards
// folded. It is written from what was read, and reading it again yields the same circuit, provided that every card could be
// read: one that could not is left as a comment. What says nothing about the drawn circuit is not kept: comments, the
// commands of a .control block, the rows of a .data card, the distortion inputs of sources.
func (n *Netlist) Print(w io.Writer) error {
	p := &printer{n: n, out: bufio.NewWriter(w), known: map[string]bool{}}
	for i := range n.Models {
		p.known[strings.ToLower(n.Names[n.Models[i].Name])] = true
	}
	p.head()
	for it := range p.sequence() {
		p.item(it)
	}
	p.close(0)
	p.line(".end")
	return p.out.Flush()
}

type printer struct {
	n     *Netlist
	out   *bufio.Writer // keeps the first error
	known map[string]bool
	open  []level
}

// line writes a line as it is, as a comment where what stands around it could not be read.
func (p *printer) line(s string) {
	if p.quoted() {
		p.out.WriteString("* ")
	}
	p.out.WriteString(s)
	p.out.WriteByte('\n')
}

// card writes a card of words, folded where it is long.
func (p *printer) card(words ...printedWord) {
	if !p.quoted() {
		writeCard(p.out, words)
		return
	}
	var text []string
	for _, w := range words {
		text = append(text, strings.Join(w, ""))
	}
	p.line(strings.Join(text, " "))
}

// head writes the title and the global nodes.
func (p *printer) head() {
	title := p.n.Src.Text(p.n.Title)
	if strings.HasPrefix(title, "\ufeff") {
		title = "\ufeff" + title // the first one is the file's and no letter of the title
	}
	p.line(title)
	if len(p.n.Globals) > 0 {
		card := []printedWord{{".global"}}
		for _, g := range p.n.Globals {
			card = append(card, p.name(g, '.'))
		}
		p.card(card...)
	}
}

func (p *printer) item(it printItem) {
	n := p.n
	if it.what != printedPragma {
		p.enter(it)
	}
	switch it.what {
	case printedCard:
		p.element(CardID(it.index))
	case printedSubckt:
		p.subckt(SubID(it.index))
	case printedGuard:
		p.guard(GuardID(it.index))
	case printedParam:
		d := &n.Subs[it.scope].Locals[it.index]
		p.card(printedWord{".param"}, bracedWord(d.Value).enclose(d.Name+"=", ""))
	case printedFunction:
		f := &n.Subs[it.scope].Functions[it.index]
		head := printedWord{f.Name + "(" + strings.Join(f.Args, ",") + ")"}
		p.card(printedWord{".func"}, head, printedWord(f.Body.pieces()).enclose("{", "}"))
	case printedModel:
		p.model(&n.Models[it.index])
	case printedPragma:
		p.line(strings.TrimRight("* shuntwright: "+n.Src.Text(n.Pragmas[it.index]), " "))
	case printedIgnored:
		p.ignored(n.Ignored[it.index])
	}
}

func (p *printer) subckt(id SubID) {
	s := &p.n.Subs[id]
	if p.unreadHead(s) {
		p.open = append(p.open, level{sub: id, quoted: true})
		return
	}
	card := []printedWord{{".subckt"}, p.name(s.Name, 'X')}
	for _, port := range s.Ports {
		card = append(card, p.name(port, 'X'))
	}
	p.card(append(card, paramWords(s.Params, 'X')...)...)
	p.open = append(p.open, level{sub: id})
}

// unreadHead tells that the .subckt card itself could not be read. It stands first in the body then.
func (p *printer) unreadHead(s *Sub) bool {
	return s.Broken && s.First < s.End && p.n.Cards[s.First].Kind == '?' && p.n.Cards[s.First].At == s.At
}

func (p *printer) model(m *Model) {
	card := []printedWord{{".model"}, p.name(m.Name, '.')}
	if m.Base != 0 {
		card = append(card, printedWord{"ako:" + p.n.Names[m.Base]})
	}
	if m.Type != "" {
		card = append(card, bareWord(m.Type))
	}
	if params := paramWords(m.Params, '.'); len(params) > 0 {
		first, last := len(card)-1, len(params)-1
		params[last] = params[last].enclose("", ")")
		card[first] = append(card[first].enclose("", "("), params[0]...)
		card = append(card, params[1:]...)
	}
	p.card(card...)
}

// ignored writes a card that concerns other programs. Of a block the first card and the last are left.
func (p *printer) ignored(c Ignored) {
	switch strings.ToLower(c.Word) {
	case ".alter":
		p.close(0) // what follows would not be read
		p.asWritten(c.At)
	case ".control":
		p.asWritten(c.At)
		p.line("* left out: the commands")
		p.line(".endc")
	case ".data":
		p.asWritten(c.At)
		p.line("* left out: the rows")
		p.line(".enddata")
	default:
		p.asWritten(c.At)
	}
}

// asWritten copies a card that is kept only as text, without its comments.
func (p *printer) asWritten(at source.Span) {
	for i, s := range p.segments(at) {
		if i > 0 {
			s = "+ " + s
		}
		p.line(closedLine(s))
	}
}

// segments are the lines of a card without continuation marks and comments.
func (p *printer) segments(at source.Span) (lines []string) {
	text := p.n.Src.File(at.File).Text
	l := &liner{text: text, at: int(at.Byte), comment: func(int, int) {}}
	card, _ := l.next()
	for _, s := range card {
		if s.From < s.To {
			lines = append(lines, string(text[s.From:s.To]))
		}
	}
	return lines
}
