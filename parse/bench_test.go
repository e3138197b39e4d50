package parse

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
)

func BenchmarkReadMixed(b *testing.B) {
	var deck strings.Builder
	deck.WriteString("twenty thousand elements\n")
	for i := range 20_000 {
		switch i % 4 {
		case 0, 1:
			fmt.Fprintf(&deck, "R%d n%d n%d %dk\n", i, i, i+1, i%97+1)
		case 2:
			fmt.Fprintf(&deck, "C%d n%d 0 %dn IC=0\n", i, i, i%13+1)
		default:
			fmt.Fprintf(&deck, "X%d n%d n%d 0 cell gain=%d\n", i, i, i+1, i%7)
		}
	}
	text := []byte(deck.String())
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		set := source.NewSet()
		id := set.Add("deck.cir", text, source.Span{})
		if _, diags := Read(set, id, Options{}); len(diags) > 0 {
			b.Fatal(diags[0])
		}
	}
}

// BenchmarkReadPlain reads a million element lines of a name, two nodes and a value.
func BenchmarkReadPlain(b *testing.B) {
	text := plainLines(1_000_000)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		set := source.NewSet()
		if _, diags := Read(set, set.Add("deck.cir", text, source.Span{}), Options{}); len(diags) > 0 {
			b.Fatal(diags[0])
		}
	}
}

func plainLines(cards int) []byte {
	var deck strings.Builder
	deck.WriteString("plain element lines\n")
	for i := range cards {
		switch i % 5 {
		case 3:
			fmt.Fprintf(&deck, "C%d n%d 0 %dn\n", i, i/2, i%13+1)
		case 4:
			fmt.Fprintf(&deck, "L%d n%d n%d %du\n", i, i/2, i/2+1, i%7+1)
		default:
			fmt.Fprintf(&deck, "R%d n%d n%d %dk\n", i, i/2, i*7%cards, i%97+1)
		}
	}
	return []byte(deck.String())
}
