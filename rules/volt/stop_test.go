package volt_test

import (
	"context"
	"testing"

	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/part"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/volt"
)

// A counting context is done after so many questions; past counts those that were asked later.
type counting struct {
	context.Context
	left, past int
}

func (c *counting) Err() error {
	if c.left--; c.left >= 0 {
		return nil
	}
	c.past++
	return context.DeadlineExceeded
}

// The search for a bound asks the netlist's context at every solution, and one that was cut short is missing.
func TestBoundStops(t *testing.T) {
	const text = `a deck
* shuntwright: rails.BUS = "40 V .. 58 V"
* shuntwright: tolerances.resistors = "1 %"
R1 BUS a 1k
R2 a b 2k
R3 b 0 3k
R4 a 0 4k
D1 b 0 dm
.model dm d
`
	bound := func(left int) (known bool, ctx *counting) {
		ctx = &counting{Context: context.Background(), left: 1 << 30}
		set := source.NewSet()
		cards, _ := parse.Read(set, set.Add("deck.cir", []byte(text), source.Span{}), parse.Options{Context: ctx})
		d, _ := design.Bind(set, cards, &part.Library{}, nil)
		n := net(t, d, "b")
		s := volt.New(d)
		ctx.left = left
		return s.Bound(volt.At(n), design.Operating).Known(), ctx
	}
	known, ctx := bound(1 << 30)
	asked := 1<<30 - ctx.left
	if !known || asked < 10 {
		t.Fatalf("with time left: known %v after %d questions", known, asked)
	}
	for _, left := range []int{0, 1, asked / 2, asked - 1} {
		known, ctx := bound(left)
		if known || ctx.past != 1 {
			t.Errorf("time is up at question %d of %d: known %v, %d solutions were begun later", left, asked, known, ctx.past-1)
		}
	}
}
