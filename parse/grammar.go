package parse

import (
	"sync"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"
)

// The grammar of one card. It is the definition of the language: element cards and dot cards alike are read by it, and
// every message about a card that cannot be read comes from it. What needs knowledge of other cards (is this word a
// model?) is decided when all are read.
type syntax struct {
	Passive  *passive  `parser:"  @@"`
	Call     *call     `parser:"| @@"`
	Source   *stimulus `parser:"| @@"`
	Device   *device   `parser:"| @@"`
	Diode    *diode    `parser:"| @@"`
	Fet      *fet      `parser:"| @@"`
	Linear   *linear   `parser:"| @@"`
	Follower *follower `parser:"| @@"`
	Formula  *formula  `parser:"| @@"`
	Switch   *voltsw   `parser:"| @@"`
	Relay    *ampsw    `parser:"| @@"`
	Coupling *coupling `parser:"| @@"`
	Line     *line     `parser:"| @@"`
	Lossy    *lossy    `parser:"| @@"`
	Uniform  *uniform  `parser:"| @@"`
	Subckt   *subckt   `parser:"| @@"`
	Ends     *ends     `parser:"| @@"`
	Params   *params   `parser:"| @@"`
	Model    *model    `parser:"| @@"`
	Include  *include  `parser:"| @@"`
	Global   *global   `parser:"| @@"`
	Func     *fn       `parser:"| @@"`
	Lib      *lib      `parser:"| @@"`
	Endl     *endl     `parser:"| @@"`
	If       *Expr     `parser:"| DotIf @@"`
	Elseif   *Expr     `parser:"| DotElseif @@"`
	Else     bool      `parser:"| @DotElse"`
	Endif    bool      `parser:"| @DotEndif"`
	End      bool      `parser:"| @DotEnd"`
	Other    bool      `parser:"| @DotOther"`
}

// R, C, L: a value and a model in either order, or R=value.
type passive struct {
	Nodes []name   `parser:"(Rname | Cname | Lname) @@ @@"`
	Value *operand `parser:"( @@"`
	Model *operand `parser:"  @@?"`
	Tail  []assign `parser:"  @@* | @@+ )"`
}

// X: nodes and, last, the subcircuit.
type call struct {
	Names []name   `parser:"Xname @@+"`
	Tail  []assign `parser:"ParamsWord? @@*"`
}

// V, I.
type stimulus struct {
	Nodes []name      `parser:"(Vname | Iname) @@ @@"`
	Items []driveItem `parser:"@@*"`
	Tail  []assign    `parser:"@@*"`
}

type driveItem struct {
	DC     *operand  `parser:"  Dc Eq? @@"`
	AC     bool      `parser:"| @Ac Eq?"`
	Phasor []operand `parser:"  @@*"`
	Distof []operand `parser:"| Distof Eq? @@*"`
	Wave   *wave     `parser:"| @@"`
	Plain  *operand  `parser:"| @@"`
}

type wave struct {
	Word lexer.Token `parser:"@Wave"`
	Args []argument  `parser:"@@*"`
}

// Points of a PWL may stand in parentheses of their own.
type argument struct {
	Group []argument `parser:"  Left @@* Right"`
	Value *operand   `parser:"| @@"`
}

// Q, M: how many of the words are nodes depends on which of them is a model.
type device struct {
	Names []name    `parser:"(Qname | Mname) @@+"`
	Area  *braced   `parser:"@@?"`
	Tail  []trailer `parser:"@@*"`
}

type diode struct {
	Nodes []name    `parser:"Dname @@ @@"`
	Model name      `parser:"@@"`
	Area  *operand  `parser:"@@?"`
	Tail  []trailer `parser:"@@*"`
}

// J, Z.
type fet struct {
	Nodes []name    `parser:"(Jname | Zname) @@ @@ @@"`
	Model name      `parser:"@@"`
	Area  *operand  `parser:"@@?"`
	Tail  []trailer `parser:"@@*"`
}

// E, G: a gain, or a law.
type linear struct {
	Nodes   []name       `parser:"(Ename | Gname) @@ @@ ( @@ @@"`
	Gain    *operand     `parser:"  @@"`
	Poly    *poly        `parser:"  | @@"`
	Table   *table       `parser:"  | @@"`
	Law     *lexer.Token `parser:"  | @Law Tail*"`
	Formula *lexer.Token `parser:"  | @Formula Eq?"`
	Expr    *Expr        `parser:"    @@ )"`
	Tail    []assign     `parser:"@@*"`
}

// F, H: the voltage source whose current they follow, and a gain.
type follower struct {
	Nodes   []name       `parser:"(Fname | Hname) @@ @@"`
	Source  *name        `parser:"( @@"`
	Gain    *operand     `parser:"  @@"`
	Poly    *poly        `parser:"  | @@"`
	Table   *table       `parser:"  | @@"`
	Law     *lexer.Token `parser:"  | @Law Tail*"`
	Formula *lexer.Token `parser:"  | @Formula Eq?"`
	Expr    *Expr        `parser:"    @@ )"`
	Tail    []assign     `parser:"@@*"`
}

// B.
type formula struct {
	Nodes   []name      `parser:"Bname @@ @@"`
	Formula lexer.Token `parser:"@Formula Eq"`
	Expr    *Expr       `parser:"@@"`
	Tail    []assign    `parser:"@@*"`
}

// S.
type voltsw struct {
	Nodes []name    `parser:"Sname @@ @@ @@ @@"`
	Model name      `parser:"@@"`
	Tail  []trailer `parser:"@@*"`
}

// W.
type ampsw struct {
	Nodes  []name    `parser:"Wname @@ @@"`
	Source name      `parser:"@@"`
	Model  name      `parser:"@@"`
	Tail   []trailer `parser:"@@*"`
}

// K: inductors and the coupling; a core may follow.
type coupling struct {
	Names []name   `parser:"Kname @@ @@ @@*"`
	Value *braced  `parser:"@@?"`
	Core  *name    `parser:"@@?"`
	Tail  []assign `parser:"@@*"`
}

// T.
type line struct {
	Nodes []name   `parser:"Tname @@ @@ @@ @@"`
	Model *name    `parser:"@@?"`
	Tail  []assign `parser:"@@+"`
}

// O.
type lossy struct {
	Nodes []name `parser:"Oname @@ @@ @@ @@"`
	Model name   `parser:"@@"`
}

// U.
type uniform struct {
	Nodes []name   `parser:"Uname @@ @@ @@"`
	Model name     `parser:"@@"`
	Tail  []assign `parser:"@@*"`
}

type subckt struct {
	Name  name     `parser:"DotSubckt @@"`
	Ports []name   `parser:"@@*"`
	Tail  []assign `parser:"ParamsWord? @@*"`
}

type ends struct {
	Word lexer.Token `parser:"@DotEnds"`
	Name *name       `parser:"@@?"`
}

type params struct {
	List []definition `parser:"DotParam @@+"`
}

// name=expression, or name(x,y)=expression for a function.
type definition struct {
	Name lexer.Token `parser:"@Key"`
	Args *formals    `parser:"@@?"`
	Expr *meant      `parser:"Eq @@"`
}

type formals struct {
	Names []formal `parser:"Left ( @@ ( Comma @@ )* )? Right"`
}

type formal struct {
	Name lexer.Token `parser:"@Ident"`
}

type fn struct {
	Name lexer.Token `parser:"DotFunc @Key"`
	Args *formals    `parser:"@@"`
	Expr *Expr       `parser:"Eq? @@"`
}

// A kind of another model may leave its type out.
type model struct {
	Name name         `parser:"DotModel @@"`
	Base *lexer.Token `parser:"( @Ako"`
	Type *lexer.Token `parser:"  @Word? | @Word )"`
	Tail []assign     `parser:"( Left @@* Right )? @@*"`
}

// .lib file section, or .lib section ... .endl
type lib struct {
	Path    lexer.Token `parser:"DotLib @Path"`
	Section *name       `parser:"@@?"`
}

type endl struct {
	Word lexer.Token `parser:"@DotEndl"`
	Name *name       `parser:"@@?"`
}

type include struct {
	Path lexer.Token `parser:"DotInclude @Path"`
}

type global struct {
	Names []name `parser:"DotGlobal @@+"`
}

// name=value, or a list of values.
type assign struct {
	Name  lexer.Token `parser:"@Key Eq"`
	Value datum       `parser:"@@"`
	More  []operand   `parser:"( Comma @@"`
	Rest  []figure    `parser:"| @@ )*"`
}

type trailer struct {
	Flag   *lexer.Token `parser:"  @Flag"`
	Assign *assign      `parser:"| @@"`
}

var parser = sync.OnceValue(func() *participle.Parser[syntax] {
	return participle.MustBuild[syntax](participle.Lexer(language{}))
})

// Grammar is the language in EBNF, one production a line. The last ones are read by hand.
func Grammar() string {
	return parser().String() + `
name = <word> | <string> .
datum = operand | <string> .
meant = Expr | <string> .
operand = <word> | braced .
figure = <word> | braced .
braced = <open> Expr <close> .
Expr = Unary (<op> Expr)* | Expr "?" Expr ":" Expr .
Unary = ("-" | "+" | "!") Unary | <number> | <ident> | <ident> "(" (Expr ("," Expr)*)? ")" | "(" Expr ")" | braced .`
}

// A name is a word of a card or a name in double quotes.
type name lexer.Token

// Parse reads a name.
func (n *name) Parse(lex *lexer.PeekingLexer) error {
	if t := lex.Peek(); t.Type != tWord && t.Type != tString {
		return participle.NextMatch
	}
	*n = name(*lex.Next())
	return nil
}

// span is where a name lies in its file.
func (n *name) span() (from, to uint32) { return extent((*lexer.Token)(n)) }

// parseCard reads one card by the grammar.
func parseCard(tokens []lexer.Token) (*syntax, error) {
	lex, err := lexer.Upgrade(&replay{tokens: tokens})
	if err != nil {
		return nil, err
	}
	return parser().ParseFromLexer(lex)
}
