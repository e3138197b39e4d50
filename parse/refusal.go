package parse

import (
	"errors"
	"maps"
	"strings"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"

	"github.com/shuntwright/shuntwright/parse/source"
)

// forms are the cards as a person would write them, for messages.
var forms = map[lexer.TokenType]string{
	tR: "Rname node node value", tC: "Cname node node value", tL: "Lname node node value",
	tK: "Kname inductor inductor coupling", tV: "Vname node node [[DC] value] [AC ...] [function(...)]",
	tI: "Iname node node [[DC] value] [AC ...] [function(...)]",
	tE: "Ename node node control control gain", tG: "Gname node node control control gain",
	tF: "Fname node node source gain", tH: "Hname node node source gain",
	tB: "Bname node node V=expression or I=expression", tD: "Dname node node model",
	tQ: "Qname collector base emitter [substrate] model", tJ: "Jname drain gate source model",
	tZ: "Zname drain gate source model", tM: "Mname drain gate source bulk model",
	tS: "Sname node node control control model", tW: "Wname node node source model",
	tT: "Tname node node node node Z0=value ...", tO: "Oname node node node node model",
	tU: "Uname node node node model L=value", tX: "Xname node ... subcircuit",
	tSubckt: ".subckt name node ... [parameter=value ...]", tEnds: ".ends [name]", tParam: ".param name=value ...",
	tModel: ".model name type(parameter=value ...)", tInclude: ".include path", tGlobal: ".global node ...",
	tFunc: ".func name(argument, ...) {expression}", tLib: ".lib file section or .lib section", tEndl: ".endl [section]",
	tIf: ".if (condition)", tElseif: ".elseif (condition)", tElse: ".else", tEndif: ".endif",
}

// explain turns the grammar's answer about a card into a message for the person who wrote it.
func explain(tokens []lexer.Token, err error) *refusal {
	head := &tokens[0]
	switch head.Type {
	case tOrphan:
		return &refusal{message: "a continuation line has no card before it"}
	case tStray:
		return &refusal{at: head, message: `"` + head.Value + `" is no card: no element starts with "` + firstLetter(head.Value) + `"`}
	}
	var unexpected *participle.UnexpectedTokenError
	if !errors.As(err, &unexpected) {
		r := &refusal{message: head.Value + ": " + err.Error()}
		var perr participle.Error
		if errors.As(err, &perr) {
			r.message = head.Value + ": " + perr.Message()
			r.at = tokenAt(tokens, perr.Position().Offset)
		}
		return r
	}
	at := tokenAt(tokens, unexpected.Unexpected.Pos.Offset)
	switch form := forms[head.Type]; {
	case head.Type == tElse && at != nil && strings.EqualFold(at.Value, "if"):
		return &refusal{at: at, message: "a further condition stands on a card of its own", near: ".elseif"}
	case at == nil:
		return &refusal{message: head.Value + " ends too early: expected " + form}
	case at.Type == tBad && strings.HasPrefix(at.Value, "}"):
		return &refusal{at: at, message: head.Value + `: "}" closes nothing`}
	case at.Type == tBad && at.Value == "(":
		return &refusal{at: at, message: head.Value + ": parentheses nest too deep"}
	case at.Type == tBad && (at.Value[0] == '"' || at.Value[0] == '\''):
		return &refusal{at: at, message: head.Value + ": a quote is not closed"}
	case at.Type == tLeft && (head.Type == tV || head.Type == tI) && before(tokens, at).Type == tWord:
		word := before(tokens, at)
		return &refusal{at: word, message: head.Value + ` has an unknown source function "` + word.Value + `"`,
			near: strings.ToUpper(source.Nearest(word.Value, maps.Keys(waves)))}
	default:
		return &refusal{at: at, message: "unexpected " + found(at) + " in " + head.Value + ": expected " + form}
	}
}

func firstLetter(s string) string {
	for _, r := range s {
		return string(r)
	}
	return ""
}

// tokenAt is the token that starts at a byte of the file; nil for the end of the card.
func tokenAt(tokens []lexer.Token, offset int) *lexer.Token {
	for i := range tokens {
		if tokens[i].Pos.Offset == offset && !tokens[i].EOF() && len(tokens[i].Value) > 0 {
			return &tokens[i]
		}
	}
	return nil
}

func before(tokens []lexer.Token, at *lexer.Token) *lexer.Token {
	for i := range tokens {
		if &tokens[i] == at && i > 0 {
			return &tokens[i-1]
		}
	}
	return at
}
