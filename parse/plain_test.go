package parse

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"github.com/shuntwright/shuntwright/parse/source"
)

// A readCard is a card with all its names spelled out.
type readCard struct {
	Card  Card
	Nodes []string
	Ref   string
	Extra *Extra
	Names []string
}

// readTwice reads a text by the scanner with the grammar behind it, and by the grammar alone.
func readTwice(t rapid.TB, text []byte) {
	t.Helper()
	read := func(slow bool) (*Netlist, []readCard, []string) {
		set := source.NewSet()
		n, diags := Read(set, set.Add("deck.cir", text, source.Span{}), Options{GrammarOnly: slow})
		var cards []readCard
		for id := range n.Cards {
			c := readCard{Card: n.Cards[id], Extra: n.CardExtra(CardID(id))}
			for _, nd := range n.CardNodes(CardID(id)) {
				c.Nodes = append(c.Nodes, strings.ToLower(n.Names[nd]))
			}
			c.Ref = strings.ToLower(n.Names[c.Card.Ref])
			if c.Extra != nil {
				x := *c.Extra
				for _, nm := range x.Names {
					c.Names = append(c.Names, strings.ToLower(n.Names[nm]))
				}
				x.Names, c.Extra = nil, &x
			}
			// Numbers in tables may differ, and only the scanner knows what needs no second look.
			c.Card.First, c.Card.Ref, c.Card.Extra, c.Card.tidy = 0, 0, 0, false
			cards = append(cards, c)
		}
		return n, cards, printed(set, diags)
	}
	fast, fastCards, fastDiags := read(false)
	slow, slowCards, slowDiags := read(true)
	opt := cmp.Options{cmpopts.EquateNaNs(), cmpopts.EquateEmpty(), cmp.AllowUnexported(Card{}, Expr{}, Ignored{})}
	for _, d := range []string{
		cmp.Diff(slowCards, fastCards, opt), cmp.Diff(strings.ToLower(fmt.Sprint(slowDiags)), strings.ToLower(fmt.Sprint(fastDiags))),
		cmp.Diff(slow.Models, fast.Models, opt, cmpopts.IgnoreFields(Model{}, "Name")),
		cmp.Diff(slow.Pragmas, fast.Pragmas, opt), cmp.Diff(slow.Ignored, fast.Ignored, opt),
		cmp.Diff(slow.Title, fast.Title), cmp.Diff(slow.GroundAlias, fast.GroundAlias),
		cmp.Diff(len(slow.Subs), len(fast.Subs)),
	} {
		if d != "" {
			t.Fatalf("the grammar alone (-) and with the scanner (+) differ on %q:\n%s", text, d)
		}
	}
}

func TestPlainCardsAsTheGrammarReadsThem(t *testing.T) {
	for _, text := range plainSeeds {
		readTwice(t, []byte("title\n"+text))
	}
}

// plainSeeds are cards at the edge between what the scanner takes and what it leaves to the grammar.
var plainSeeds = []string{
	"R1 a b 10k\nR2 b 0 4K7\nC1 a gnd 10F ; c\nL1 a 0 1u $ c\nL2 a 0 1u // c\nL3 a 0 1u $c\n",
	"R1 a b 10k\n\n* between\n+ tc1=1\nR2 a b 1k\n; only a comment\n+ tc=2\nR3 a b 1k\n$ c\n// c\n+ tc = 3\n",
	"R1 a b 1k tc1=1m tc2 = 2u\nR2 a b 1k tc=1,2\nR3 a b 1k tc=1 2\nR4 a b r=1k\nR5 a b 1k rmod\nR6 a b x\nR7 a b 1k a==2\n",
	"M1 d g s b n w=1u l=2u\nM2 d g s n\n.model n nmos\nM3 d g n n n\nM4 d g s b q\nM5 a b c\nM6 a b c d e f\nM7 a b c d n off\n",
	"Q1 c b e q\nQ2 c b e s q\nQ3 c b e q 2\nQ4 c b e q off\n.model q npn\nJ1 d g s j\nJ2 d g s j off\nZ1 d g s z area=2\n",
	"D1 a b d\nD2 a b d 2\nD3 a b d off\nD4 a b off\n.model d d(is=1)\nS1 a b c d s\nS2 a b c d s on\nS3 a b c on s\nW1 a b V1 w\n",
	"V1 a 0 5\nV2 a 0 DC 5\nV3 a 0 dc\nV4 a 0 ac\nV5 a 0 sin\nV6 a 0 5 x=1\nI1 a 0 1m\nI2 a 0\nV7 a 0 5 ac 1\n",
	"R1 a b 1k $; c\nX1 a b s $;\nR1 a b 1k r=2k\nX1 a b s PARAMS:g=1\nX2 a b s a:b=1\nC1 a b 1n C=2\nS1 a b c d s ic=on\nV1 (a 0) 5\nR2 a b m 1k\n$ c\nR3 a gnd! 1\n",
	"X1 a b s\nX2 a s g=1 h=2\nX3 a s params: g=1\nX4 s\nX5 a params: s\nX6 a b s g=\nX7 a b s g=x\nX8 a b s =1\n.subckt s a b\n.ends\n",
	"R1 a[3] net-5 1\nR2 +5V N$12 1\nR3 vdd! x1.n2 1\nR4 \"a b\" 0 1\nR5 $x 0 1\nR6 a /b 1\nR7 a //b 1\nR8 a 0 1=$ 2\n",
	"  R1 a b 1k\n\tR2\ta\tb\t2k \t\n R3 a b 1k\f\nR4 a b\v1k\n",
	"R1 a b 1k\rR2 a b 2k\r\nR3 a b 3k\r\r+ tc=1\rR4 a b 4k",
	"R1 a b \\\n 1k\nR2 a b 1k \\\n\n* c\n+ tc=1\nR3 a b 1k\\\nR4 c d 1k\nR5 a b 1k ; c \\\nR6 a b 1k\n\\\nR7 a b 1k\n",
	"R1 a b 1,k\nR2 (a b) 1k\nR3 a b {1k}\nR4 a b '1k'\nR5 a b 1k\x00\nR6 a b 1\u00b5\nR7 \u03a9 b 1\nR8 a b 1 \u03a9=2\n",
	"E1 a 0 b 0 2\nG1 a 0 b 0 2\nF1 a 0 V1 2\nH1 a 0 V1 2\nK1 L1 L2 1\nT1 a 0 b 0 z0=50\nB1 a 0 v=1\nA1 a b c\n1 a b c\n.x y\n",
	".subckt s a b\nR1 a b 1k\n.control\nR2 a b 1k\n.endc\n.ends\nR1 a b 1k\nR1 a c 1k\n.end\nR3 a b 1k\n",
	"R1 GND Gnd 1k\nR2 00 0 1k\nR3 0 a 1\nr1 A b 1e3\nR5 a b 1e\nR6 a b 1e999\nR7 a b -0\nR8 a b +-5\nR9 a b 1MILLI\n",
	"* shuntwright: rails.V5 = \"5 V\"\nR1 a b 1k\n* shuntwright: temperature = \"20 degC\"\n+ tc=1\n#shuntwright: x = 1\n",
}

func FuzzPlain(f *testing.F) {
	for _, text := range plainSeeds {
		f.Add([]byte("title\n" + text))
	}
	if deck, err := os.ReadFile("../examples/cable-ferry/ferry-drive.cir"); err == nil {
		f.Add(deck)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) < 4096 {
			readTwice(t, text)
		}
	})
}

// Cards put together from words that matter somewhere, in any order.
func TestPlainCardsOfAnyWords(t *testing.T) {
	words := []string{"a", "B", "0", "gnd", "n1", "net-5", "+5V", "a[3]", "1k", "2.2u", "10", "-3", "1e-3", "4K7", "on", "OFF", "dc",
		"ac", "params:", "m=2", "tc1=1m", "w = 1u", "ic=", "=", "x=y", "nch", "d1n", "sub", ";", "$", "//", ",", "(", ")", "{1+1}",
		"'2'", "\\", "\"q r\"", "value", "poly", "sin", "\u00b5", "1\u00b5", "tc=1,2"}
	heads := []string{"R", "C", "L", "V", "I", "D", "Q", "M", "J", "Z", "S", "W", "X", "E", "F", "K", ".model nch nmos", "+", "*", "r", "x", ""}
	ends := []string{"\n", "\r\n", "\r", "\n\n", "\n* c\n", " \n", "\n+ ", "\n  + ", "\n; c\n", "\n\t"}
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("title\n.model d1n d\n.subckt sub a b\n.ends\n")
		for i := range rapid.IntRange(1, 8).Draw(t, "cards") {
			b.WriteString(rapid.SampledFrom(heads).Draw(t, "head"))
			fmt.Fprint(&b, i%5)
			for range rapid.IntRange(0, 7).Draw(t, "words") {
				b.WriteString(" " + rapid.SampledFrom(words).Draw(t, "word"))
			}
			b.WriteString(rapid.SampledFrom(ends).Draw(t, "end"))
		}
		readTwice(t, []byte(b.String()))
	})
}

// A text of many batches reads like one that is not cut.
func TestBatches(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	var b strings.Builder
	b.WriteString("title\n")
	for i := range 30_000 {
		switch r.IntN(12) {
		case 0:
			fmt.Fprintf(&b, "R%d n%d n%d {%d+1}\n", i, i, i+1, i)
		case 1:
			fmt.Fprintf(&b, "C%d n%d 0\n* between\n\n+ %dn\n", i, i, i)
		case 2:
			fmt.Fprintf(&b, "L%d n%d \\\n 0 1u ; %d\n", i, i, i)
		case 3:
			fmt.Fprintf(&b, ".subckt s%d a b\nR1 a b 1k\n.ends\n", i)
		case 4:
			fmt.Fprintf(&b, "* shuntwright: rails.n%d = \"5 V\"\n", i)
		case 5:
			fmt.Fprintf(&b, "M%d n%d 0 0 nch w=1u\n", i, i)
		default:
			fmt.Fprintf(&b, "R%d n%d 0 %d\n", i, i*7%30_000, i+1)
		}
	}
	b.WriteString(".model nch nmos\n")
	if b.Len() < 2*batchBytes {
		t.Fatalf("%d bytes are no two batches", b.Len())
	}
	readTwice(t, []byte(b.String()))
}

// Wherever a text is cut, no card is: the pieces read one by one give the cards of the whole.
func TestCut(t *testing.T) {
	pieces := []string{"R1 a b 1k\n", "+ tc1=1\n", "* c\n", "\n", "R2 a b \\\n", "  \n", ".param x=1\n", "R3 a b 1k\r", "\r\n", "; c\n", "#\n", "\\\n",
		"$ c\n", "\u03a9\n", "\"\n", "R4 a b 1k ; \\\n", "+ \\\n", "// c\n"}
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		for range rapid.IntRange(1, 30).Draw(t, "lines") {
			b.WriteString(rapid.SampledFrom(pieces).Draw(t, "line"))
		}
		text := []byte(b.String())
		size := rapid.IntRange(1, 40).Draw(t, "size")
		var got []logical
		for from := 0; from < len(text); {
			to := cut(text, from, size)
			if to <= from {
				t.Fatalf("no end behind %d in %q", from, text)
			}
			got = append(got, cards(text[:to], from)...)
			from = to
		}
		if d := cmp.Diff(cards(text, 0), got, cmp.AllowUnexported(segment{}), cmpopts.EquateEmpty()); d != "" {
			t.Fatalf("%q in pieces of %d:\n%s", text, size, d)
		}
	})
}

func cards(text []byte, from int) (all []logical) {
	l := &liner{text: text, at: from, comment: func(int, int) {}}
	for {
		c, ok := l.next()
		if !ok {
			return all
		}
		all = append(all, c)
	}
}

// Numbers of few digits convert like strconv does, to the last bit.
func TestSmallNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits := rapid.StringMatching(`-?[0-9]{0,9}\.?[0-9]{1,8}`).Draw(t, "digits")
		exponent := rapid.IntRange(-40, 40).Draw(t, "exponent")
		got, _, ok := Number(fmt.Sprintf("%se%d", digits, exponent))
		var want float64
		if _, err := fmt.Sscanf(fmt.Sprintf("%se%d", digits, exponent), "%g", &want); err != nil || !ok ||
			math.Float64bits(got) != math.Float64bits(want) {
			t.Fatalf("%se%d is %v, want %v", digits, exponent, got, want)
		}
	})
}
