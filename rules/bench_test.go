package rules_test

import (
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

func BenchmarkOneBlock(b *testing.B) {
	d := load(b, deck, barge)
	for b.Loop() {
		rules.JudgeAt(d, builtin.All, "XA")
	}
}

// What a remedy, a what-if or an editor does again and again.
func BenchmarkOneBlockAgain(b *testing.B) {
	d := load(b, deck, barge)
	v := 1000.0
	for b.Loop() {
		v++
		rules.JudgeAt(d.With(design.Change{Op: design.Set, Target: "RA", Value: v}), builtin.All, "XA")
	}
}
