package volt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/quantity"
)

const biased = `[[part]]
name = "capstan-biased"
role = "op-amp"
pins = ["in+", "in-", "out", "ground", "supply"]
supply = { operating = "2 V .. 6 V", current = "1 mA" }
output = { low = "50 mV", high = "supply - 50 mV" }
offset = { max = "1 mV" }
bias = { max = "1 uA" }
`

// Op amps with resistors of a tolerance, an offset of 1 mV and bias currents up to 1 uA into the pins, by formulas: between
// its stops the output is where both inputs meet up to the offset; it stops up to 50 mV from ground or supply. What the
// output would be is monotone in each value, and so is stopping, so that its ends stand at corners; states inside and the
// voltage of the input that is fed back are sampled.
func TestBiasedOpAmps(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	ohms := func() float64 { return math.Round(math.Pow(10, 3+2*rnd.Float64())) }
	type state struct{ a, b, supply, low, high, offset, plus, minus, r1, r2, r3, r4 float64 }
	stop := func(s state, v float64) float64 { return max(s.low, min(s.supply-s.high, v)) }
	for round := range 40 {
		r := [4]float64{ohms(), ohms(), ohms(), ohms()}
		by := []float64{0, 0.01, 0.1, 0.4}[rnd.IntN(4)]
		a := math.Round(rnd.Float64()*60) / 10
		span := []float64{0.01, 1, 8}[rnd.IntN(3)]
		const b = 2.5
		for _, c := range []struct {
			name, cards string
			uses        string // of 1 to 4: the resistors
			out         func(s state) (out, minus float64)
		}{
			{"follower", "X1 A OUT OUT 0 VP capstan-biased", "", func(s state) (float64, float64) {
				out := stop(s, s.a+s.offset)
				return out, out
			}},
			{"non-inverting", "X1 A N OUT 0 VP capstan-biased\nR1 N 0 %v\nR2 OUT N %v", "12", func(s state) (float64, float64) {
				n := s.a + s.offset
				out := stop(s, n+s.r2*(n/s.r1+s.minus))
				return out, (out/s.r2 - s.minus) / (1/s.r1 + 1/s.r2)
			}},
			{"inverting", "X1 B N OUT 0 VP capstan-biased\nR1 A N %v\nR2 OUT N %v", "12", func(s state) (float64, float64) {
				n := s.b + s.offset
				out := stop(s, n+s.r2*((n-s.a)/s.r1+s.minus))
				return out, (s.a/s.r1 + out/s.r2 - s.minus) / (1/s.r1 + 1/s.r2)
			}},
			{"difference", "X1 P N OUT 0 VP capstan-biased\nR1 B N %v\nR2 OUT N %v\nR3 A P %v\nR4 P 0 %v", "1234", func(s state) (float64, float64) {
				p := (s.a/s.r3 - s.plus) / (1/s.r3 + 1/s.r4)
				n := p + s.offset
				out := stop(s, n+s.r2*((n-s.b)/s.r1+s.minus))
				return out, (s.b/s.r1 + out/s.r2 - s.minus) / (1/s.r1 + 1/s.r2)
			}},
		} {
			var values []any
			for k := range len(c.uses) {
				values = append(values, number(r[k]))
			}
			deck := fmt.Sprintf("* shuntwright: tolerances.resistors = \"%v %%\"\n* shuntwright: rails.A = \"%v V .. %v V\"\n* shuntwright: rails.B = \"2.5 V exact\"\n* shuntwright: rails.VP = \"2 V .. 6 V\"\nRB B 0 1k\nRV VP 0 1k\n", 100*by, a-span, a+span) + fmt.Sprintf(c.cards, values...)
			d := load(t, deck, biased)
			q := voltage(t, d, "OUT")
			at := func(p func() float64) state {
				in := func(lo, hi float64) float64 { return lo + (hi-lo)*p() }
				s := state{a: in(a-span, a+span), b: b, supply: in(2, 6), low: in(0, 0.05), high: in(0, 0.05), offset: in(-1e-3, 1e-3), plus: in(0, 1e-6), minus: in(0, 1e-6)}
				for k, v := range []*float64{&s.r1, &s.r2, &s.r3, &s.r4}[:max(2, len(c.uses))] {
					*v = r[k] * in(1-by, 1+by)
				}
				return s
			}
			want, minus := quantity.Nothing, quantity.Nothing
			for bits := range 1 << 11 {
				k := -1
				out, n := c.out(at(func() float64 { k++; return float64(bits >> k & 1) }))
				want, minus = want.Union(quantity.Point(out)), minus.Union(quantity.Point(n))
			}
			for range 200 {
				out, n := c.out(at(rnd.Float64))
				want, minus = want.Union(quantity.Point(out)), minus.Union(quantity.Point(n))
			}
			what := fmt.Sprintf("round %d, %s", round, c.name)
			meets(t, what, q.Seen, want.Lo, want.Hi, 1e-8)
			meets(t, what+", nothing outside,", q.Sound, want.Lo, want.Hi, 1e-8)
			if q.Loose || t.Failed() {
				t.Fatalf("%s: loose %v\n%s", what, q.Loose, deck)
			}
			if strings.Contains(c.cards, " N ") {
				if q := voltage(t, d, "N"); minus.Lo < q.Sound.Lo-1e-8 || minus.Hi > q.Sound.Hi+1e-8 || q.Seen.Lo > minus.Lo+1e-8 || q.Seen.Hi < minus.Hi-1e-8 {
					t.Fatalf("%s: V(N) reaches %v, seen %v, sound %v\n%s", what, minus, q.Seen, q.Sound, deck)
				}
			}
		}
	}
}
