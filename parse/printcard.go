package parse

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// element writes an element card.
func (p *printer) element(id CardID) {
	c := &p.n.Cards[id]
	if c.Kind == '?' {
		p.line("* not read: " + strings.Join(p.segments(c.At), " "))
		return
	}
	x := p.n.CardExtra(id)
	if x == nil {
		x = &Extra{}
	}
	if x.Law == nil {
		p.card(p.words(id, x)...)
		return
	}
	law, ok := p.law(c, x)
	if !ok {
		p.asWritten(c.At)
		return
	}
	card := []printedWord{{p.n.CardName(id)}}
	for _, nd := range p.n.CardNodes(id)[:2] {
		card = append(card, p.name(nd, c.Kind))
	}
	p.card(append(card, law...)...)
}

// law is what stands behind the two nodes of a source that follows a law; ok is false where only its first word is
// kept.
func (p *printer) law(c *Card, x *Extra) (card []printedWord, ok bool) {
	switch l := x.Law; l.Form {
	case "VALUE", "VOL", "CUR", "V", "I":
		card = append(card, printedWord(l.Expr.pieces()).enclose(l.Form+"={", "}"))
		return append(card, bracedParams(x.Params)...), true
	case "POLY":
		card = append(card, printedWord{"POLY(" + strconv.Itoa(l.Dimension) + ")"})
		for _, nd := range p.n.Nodes[c.First+2 : c.First+c.N] {
			card = append(card, p.name(nd, c.Kind))
		}
		for _, ref := range x.Names {
			card = append(card, p.name(ref, c.Kind))
		}
		for _, v := range l.Args {
			card = append(card, operandWord(v))
		}
	case "TABLE":
		if l.Expr == nil {
			return nil, false
		}
		card = append(card, printedWord{"TABLE"}, printedWord(l.Expr.pieces()).enclose("{", "}"), printedWord{"="})
		for i := 0; i+1 < len(l.Args); i += 2 {
			card = append(card, append(tightWord(l.Args[i]).enclose("(", ","), tightWord(l.Args[i+1]).enclose("", ")")...))
		}
	default:
		return nil, false
	}
	return append(card, paramWords(x.Params, c.Kind)...), true
}

// words is a card word by word: nodes, elements it names, value and model in the order of its letter, then the rest.
func (p *printer) words(id CardID, x *Extra) []printedWord {
	c := &p.n.Cards[id]
	card := []printedWord{{p.n.CardName(id)}}
	for _, nd := range p.n.CardNodes(id) {
		card = append(card, p.name(nd, c.Kind))
	}
	for _, ref := range x.Names {
		card = append(card, p.name(ref, c.Kind))
	}
	switch c.Kind {
	case 'R', 'C', 'L':
		return append(card, p.passive(id, x)...)
	case 'V', 'I':
		return append(append(card, p.source(c, x)...), paramWords(x.Params, c.Kind)...)
	case 'K':
		return append(append(card, p.coupling(id, x)...), paramWords(x.Params, c.Kind)...)
	}
	if c.Ref != 0 {
		card = append(card, p.name(c.Ref, c.Kind))
	}
	if v, ok := valueOf(c, x); ok {
		if c.Kind == 'Q' {
			card = append(card, p.area(v, c.N))
		} else {
			card = append(card, operandWord(v))
		}
	}
	for _, f := range x.Flags {
		card = append(card, printedWord{strings.ToUpper(f)})
	}
	return append(card, paramWords(x.Params, c.Kind)...)
}

// valueOf is a card's value; ok is false where it has none.
func valueOf(c *Card, x *Extra) (v Value, ok bool) {
	return Value{Number: c.Value, Expr: x.Value}, x.Value != nil || !math.IsNaN(c.Value)
}

// passive is what stands behind the nodes of an R, C or L. A bare word for a value may be a model as well; in braces it
// is a parameter.
func (p *printer) passive(id CardID, x *Extra) (card []printedWord) {
	c := &p.n.Cards[id]
	v, _ := valueOf(c, x)
	both := c.Ref != 0 && v.Expr != nil && v.Expr.Op == Name && sameFolded(v.Expr.Text, []byte(p.n.Names[c.Ref]))
	own := p.own(id, x)
	switch {
	case own >= 0:
	case both:
		card = append(card, bareWord(v.Expr.Text))
	default:
		card = append(card, operandWord(v))
	}
	if c.Ref != 0 && !both {
		card = append(card, modelOperand(p.n.Names[c.Ref]))
	}
	for i := range x.Params {
		w := paramWord(&x.Params[i], c.Kind)
		if i == own && x.Params[i].Expr != nil && c.Ref == 0 { // bare it would be a model as well
			w = listWord(&x.Params[i], bracedWord)
		}
		card = append(card, w)
	}
	return card
}

// own is which of the parameters is the value, as in R=value and K=coupling; -1 where the value stands by itself.
func (p *printer) own(id CardID, x *Extra) int {
	v, ok := p.n.CardValue(id)
	return slices.IndexFunc(x.Params, func(q Param) bool { return ok && q.At == v.At })
}

// modelOperand is a model where a value could stand: it cannot be quoted.
func modelOperand(name string) printedWord {
	if startsComment(name) && expressionName(name) {
		return printedWord{"{" + name + "}"}
	}
	return bareWord(name)
}

// coupling is what stands behind the inductors of a K: the value, and a core behind it. In braces the value is told from
// a core whose name looks like a number.
func (p *printer) coupling(id CardID, x *Extra) (card []printedWord) {
	c := &p.n.Cards[id]
	v, _ := valueOf(c, x)
	switch {
	case p.own(id, x) >= 0:
	case c.Ref != 0 && v.Expr == nil:
		card = append(card, printedWord{"{" + numberText(v.Number) + "}"})
	default:
		card = append(card, namedOperand(v, c.Kind))
	}
	if c.Ref != 0 {
		card = append(card, p.name(c.Ref, c.Kind))
	}
	return card
}

// source is what a V or I is told to do.
func (p *printer) source(c *Card, x *Extra) (card []printedWord) {
	if v, ok := valueOf(c, x); ok {
		card = append(card, printedWord{"DC"}, operandWord(v))
	}
	d := x.Drive
	if d == nil {
		return card
	}
	if d.AC {
		card = append(card, printedWord{"AC"})
		for _, v := range d.Phasor {
			card = append(card, operandWord(v))
		}
	}
	if d.Function != "" {
		for i, v := range d.Args {
			w := operandWord(v)
			if i == 0 {
				w = w.enclose(d.Function+"(", "")
			}
			if i == len(d.Args)-1 {
				w = w.enclose("", ")")
			}
			card = append(card, w)
		}
	}
	return card
}

// area is the area of a Q. Its words are counted to find the nodes, so that with a substrate it must be a word, and
// without one no word that is taken for the model.
func (p *printer) area(v Value, nodes uint32) printedWord {
	switch {
	case nodes > 3 && v.Expr != nil && v.Expr.Op == Name:
		return printedWord{quotedName(v.Expr.Text, 'Q')}
	case v.Expr == nil && nodes == 3 && p.known[numberText(v.Number)]:
		return printedWord{"{" + numberText(v.Number) + "}"}
	}
	return namedOperand(v, 'Q')
}

// name is a name of the netlist as one word of a card of a kind.
func (p *printer) name(id NameID, kind byte) printedWord {
	return printedWord{quotedName(p.n.Names[id], kind)}
}

// quotedName is a name in quotes where it would be read as something else on a card of that kind.
func quotedName(s string, kind byte) string {
	if kind != 'V' && kind != 'I' && reserved(kind, s) { // their nodes stand before any word of the language
		return `"` + s + `"`
	}
	return nameText(s)
}

// reserved tells that a word is one of the language somewhere on a card of that kind.
func reserved(kind byte, s string) bool {
	s = strings.ToLower(s)
	switch kind {
	case 'V', 'I':
		return s == "dc" || s == "ac" || s == "distof1" || s == "distof2" || waves[s] != ""
	case 'E', 'G', 'F', 'H':
		return s == "value" || s == "vol" || s == "cur" || s == "poly" || laws[s] || kinds[s]
	case 'X':
		_, ok := parameterWord(s)
		return ok || s == "params" || s == "param"
	}
	return flagFrom[letters[lower(kind)]] > 0 && (s == "on" || s == "off")
}

// kinds are words that only say again what the letter of a source says.
var kinds = map[string]bool{"vcvs": true, "vccs": true, "cccs": true, "ccvs": true}

// bareWord is a word that must not be quoted. A comma before one that looks like a comment keeps it a word.
func bareWord(s string) printedWord {
	if startsComment(s) {
		s = "," + s
	}
	return printedWord{s}
}

// operandWord is a value behind a blank: a number, an expression in braces, or a word that could not stand in braces.
func operandWord(v Value) printedWord {
	if v.Expr != nil && v.Expr.Op == Name && !expressionName(v.Expr.Text) {
		return bareWord(v.Expr.Text)
	}
	return bracedWord(v)
}

// tightWord is a value directly behind a mark, where no word looks like a comment.
func tightWord(v Value) printedWord {
	if v.Expr != nil && v.Expr.Op == Name {
		return printedWord{v.Expr.Text}
	}
	return bracedWord(v)
}

// namedOperand is a value at a place where names in quotes are read as well.
func namedOperand(v Value, kind byte) printedWord {
	if v.Expr != nil && v.Expr.Op == Name && !expressionName(v.Expr.Text) {
		return printedWord{quotedName(v.Expr.Text, kind)}
	}
	return bracedWord(v)
}

// bracedWord is a number, or an expression in braces.
func bracedWord(v Value) printedWord {
	if v.Expr == nil {
		return printedWord{numberText(v.Number)}
	}
	if v.Expr.Op == Quoted {
		return printedWord{`"` + v.Expr.Text + `"`}
	}
	return printedWord(v.Expr.pieces()).enclose("{", "}")
}

func paramWords(list []Param, kind byte) (words []printedWord) {
	for i := range list {
		words = append(words, paramWord(&list[i], kind))
	}
	return words
}

// paramWord is name=value,value on a card of words, where a lone name needs no braces.
func paramWord(q *Param, kind byte) printedWord {
	return listWord(q, func(v Value) printedWord {
		if v.Expr != nil && reserved(kind, v.Expr.Text) {
			return bracedWord(v)
		}
		return tightWord(v)
	})
}

func listWord(q *Param, value func(Value) printedWord) printedWord {
	w := value(q.Value)
	for _, v := range q.More {
		w = append(w.enclose("", ","), value(v)...)
	}
	return w.enclose(bareWord(q.Name)[0]+"=", "")
}

// bracedParams are name=value behind an expression: more than a number stands in braces there, and a list has no
// commas.
func bracedParams(list []Param) (words []printedWord) {
	for i := range list {
		words = append(words, bracedWord(list[i].Value).enclose(list[i].Name+"=", ""))
		for _, v := range list[i].More {
			if v.Expr == nil {
				v.Expr = &Expr{Op: Literal, Number: v.Number}
			}
			words = append(words, bracedWord(v))
		}
	}
	return words
}
