package parse

import (
	"io"

	"github.com/alecthomas/participle/v2/lexer"
)

// Token types. Every known dot word and element letter has its own, so that no alternative of the grammar takes a card
// that belongs to another.
const (
	tNone    lexer.TokenType = iota // says nothing
	tWord                           // a name or a number of a card
	tString                         // a name in double quotes
	tKey                            // a word before "="
	tEq                             // =
	tComma                          // , in a list of values
	tOpen                           // { or ' before an expression
	tClose                          // } or ' behind it
	tLeft                           // ( where parentheses mean something
	tRight                          // )
	tNumber                         // of an expression
	tIdent                          // of an expression
	tOp                             // of an expression
	tFlag                           // ON or OFF behind the model
	tDc                             // DC of a source
	tAc                             // AC of a source
	tDistof                         // DISTOF1, DISTOF2
	tWave                           // PULSE, SIN, EXP, PWL, SFFM
	tFormula                        // VALUE, V or I before the expression of a source
	tPoly                           // POLY of a controlled source
	tTable                          // TABLE before an expression in braces
	tLaw                            // LAPLACE, FREQ, ...: a form that is kept and not evaluated
	tTail                           // what follows such a form
	tParams                         // PARAMS:
	tPath                           // of an include
	tBad                            // what fits nowhere, such as a quote that is not closed
	tOrphan                         // a "+" line without a card before it
	tStray                          // a first word that is no element

	tAko // the model that a model is a kind of

	tSubckt
	tEnds
	tParam
	tModel
	tInclude
	tGlobal
	tFunc
	tLib
	tEndl
	tIf
	tElseif
	tElse
	tEndif
	tEnd
	tOther // any other dot word

	tR
	tC
	tL
	tK
	tV
	tI
	tE
	tG
	tF
	tH
	tB
	tD
	tQ
	tJ
	tZ
	tM
	tS
	tW
	tT
	tO
	tU
	tX
)

// symbols are the token types by the names the grammar uses.
var symbols = map[string]lexer.TokenType{
	"EOF": lexer.EOF, "Word": tWord, "String": tString, "Key": tKey, "Eq": tEq, "Comma": tComma, "Open": tOpen,
	"Close": tClose, "Left": tLeft, "Right": tRight, "Number": tNumber, "Ident": tIdent, "Op": tOp, "Flag": tFlag,
	"Dc": tDc, "Ac": tAc, "Distof": tDistof, "Wave": tWave, "Formula": tFormula, "Poly": tPoly, "Table": tTable,
	"Law": tLaw, "Tail": tTail,
	"ParamsWord": tParams, "Ako": tAko, "Path": tPath, "Bad": tBad, "Orphan": tOrphan, "Stray": tStray, "DotSubckt": tSubckt,
	"DotEnds": tEnds, "DotParam": tParam, "DotModel": tModel, "DotInclude": tInclude, "DotGlobal": tGlobal, "DotFunc": tFunc,
	"DotLib": tLib, "DotEndl": tEndl, "DotIf": tIf, "DotElseif": tElseif, "DotElse": tElse, "DotEndif": tEndif,
	"DotEnd": tEnd, "DotOther": tOther, "Rname": tR, "Cname": tC, "Lname": tL, "Kname": tK, "Vname": tV, "Iname": tI,
	"Ename": tE, "Gname": tG, "Fname": tF, "Hname": tH, "Bname": tB, "Dname": tD, "Qname": tQ, "Jname": tJ, "Zname": tZ,
	"Mname": tM, "Sname": tS, "Wname": tW, "Tname": tT, "Oname": tO, "Uname": tU, "Xname": tX,
}

var dotWords = map[string]lexer.TokenType{
	".subckt": tSubckt, ".ends": tEnds, ".param": tParam, ".model": tModel, ".include": tInclude, ".inc": tInclude,
	".global": tGlobal, ".end": tEnd, ".macro": tSubckt, ".eom": tEnds, ".func": tFunc, ".lib": tLib, ".endl": tEndl,
	".if": tIf, ".elseif": tElseif, ".else": tElse, ".endif": tEndif,
}

var letters = map[byte]lexer.TokenType{
	'r': tR, 'c': tC, 'l': tL, 'k': tK, 'v': tV, 'i': tI, 'e': tE, 'g': tG, 'f': tF, 'h': tH, 'b': tB, 'd': tD, 'q': tQ,
	'j': tJ, 'z': tZ, 'm': tM, 's': tS, 'w': tW, 't': tT, 'o': tO, 'u': tU, 'x': tX,
}

// flagFrom is the first place behind the model where ON and OFF are words of the language and not names.
var flagFrom = map[lexer.TokenType]int{tD: 4, tQ: 5, tJ: 5, tZ: 5, tM: 5, tS: 6, tW: 5}

// waves are the source functions, by the words for them.
var waves = map[string]string{"pulse": "PULSE", "sin": "SIN", "sine": "SIN", "exp": "EXP", "pwl": "PWL", "sffm": "SFFM"}

var laws = map[string]bool{
	"table": true, "laplace": true, "freq": true, "chebyshev": true, "pwl": true, "delay": true,
	"foster": true, "pole": true, "opamp": true, "transformer": true, "vcr": true, "vccap": true, "npwl": true,
	"ppwl": true, "and": true, "nand": true, "or": true, "nor": true,
}

// A language is the lexer the grammar is built on.
type language struct{}

// Symbols names the token types.
func (language) Symbols() map[string]lexer.TokenType { return symbols }

// Lex cuts the first card of a text into tokens.
func (language) Lex(_ string, r io.Reader) (lexer.Lexer, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	l := &liner{text: text, comment: func(int, int) {}}
	card, _ := l.next()
	return &replay{tokens: scan(text, card)}, nil
}

// replay hands tokens out one by one.
type replay struct {
	tokens []lexer.Token
	at     int
}

// Next returns the next token, and the last one for ever.
func (r *replay) Next() (lexer.Token, error) {
	t := r.tokens[min(r.at, len(r.tokens)-1)]
	r.at++
	return t, nil
}
