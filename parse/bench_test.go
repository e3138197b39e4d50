package parse

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/source"
)

func BenchmarkRead(b *testing.B) {
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
