package design_test

import (
	"math"
	"strings"
	"testing"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

const frost = "* shuntwright: temperature = \"-40 degC .. 125 degC\"\n* shuntwright: tolerances.resistors = \"0 %\"\n"

// R0 (1 + TC1 (T - TNOM) + TC2 (T - TNOM)^2), SPICE3f3 User's Manual, 3.1, over -40 degC to 125 degC, worked by hand.
func TestDrift(t *testing.T) {
	for card, want := range map[string][2]float64{
		"R1 a 0 1k rm":        {1000 * (1 - 0.065), 1000 * (1 + 0.1)}, // TNOM 25: -65 K and +100 K
		"R1 a 0 1k rm TC1=2m": {1000 * (1 - 0.13), 1000 * (1 + 0.2)},
		"R1 a 0 1k TC=1m\n.options reltol=1m tnom=25 acct": {1000 * (1 - 0.065), 1000 * (1 + 0.1)},
		"R1 a 0 1k TC2=10u":                                    {1000, 1000 * (1 + 1e-5*98*98)},
		"R1 a 0 1k TC=1m,10u":                                  {1000 * (1 - 0.05 + 0.025), 1000 * (1 + 0.098 + 1e-5*98*98)}, // turns 50 K below 27 degC
		"R1 a 0 1k TC=1m temp=77":                              {1050, 1050},
		"R1 a 0 1k TC=1m,10u temp=77":                          {1075, 1075},
		"R1 a 0 1k TC=1m dtemp=10":                             {1000 * (1 - 0.057), 1000 * (1 + 0.108)},
		"R1 a 0 1k TC=1m m=4":                                  {250 * (1 - 0.067), 250 * (1 + 0.098)},
		"R1 a 0 {1k*(1+1m*(temper-27))}":                       {1000 * (1 - 0.067), 1000 * (1 + 0.098)},
		"R1 a 0 {1k*(1+1m*(temper-27))} m=4":                   {250 * (1 - 0.067), 250 * (1 + 0.098)},
		"R1 a 0 {rx}\n.param rx={1k*(1+1m*k)} k={temp-27}":     {1000 * (1 - 0.067), 1000 * (1 + 0.098)},
		"R1 a 0 1k temp=77":                                    {1000, 1000},
		"R1 a 0 {1k*(1+1m*(temper-27))} temp=0":                {1000 * (1 - 0.067), 1000 * (1 + 0.098)}, // the circuit's temperature, not its own
		"X1 a c m=2\n.subckt c p\nR1 p 0 1k TC1={1m}\n.ends c": {500 * (1 - 0.067), 500 * (1 + 0.098)},
	} {
		d := load(t, frost+card+"\n.model rm R TC1=1m TNOM=25", "")
		path := "R1"
		if strings.HasPrefix(card, "X1") {
			path = "X1.R1"
		}
		ends(t, card, element(t, d, path).Resistance(), want[0], want[1], want[0], want[1])
	}
}

// What bends is seen at many temperatures and counted a little beyond them: 1 kohm (1 + 1e-5 dT^2) has its least at 27 degC
// and 1e-5 98^2 more at 125 degC; with TC1 of 1 m/K on top the product is largest at 125 degC and turns where 3e-8 dT^2 + 2e-5 dT + 1e-3 = 0, 54.45 K below
// 27 degC, at 1.029648 * 0.94555 = 0.973584.
func TestBentExpression(t *testing.T) {
	bent := "R1 a 0 {1k*(1+10u*(temper-27)**2)}"
	for card, want := range map[string][2]float64{
		bent:                     {1000, 1000 * (1 + 1e-5*98*98)},
		bent + " tc1=1m":         {973.584, 1000 * (1 + 1e-5*98*98) * 1.098},
		bent + " tc1=1m temp=77": {1050, 1050 * (1 + 1e-5*98*98)},
	} {
		q := element(t, load(t, frost+card, ""), "R1").Resistance()
		if !q.Known() || math.Abs(q.Seen.Lo-want[0]) > 0.01 || math.Abs(q.Seen.Hi-want[1]) > 1e-6 {
			t.Errorf("%s: seen %v, want %v", card, q.Seen, want)
		}
		if gap := q.Seen.Lo - q.Sound.Lo; q.Grade != quantity.Assumed || gap <= 0 || gap > 5 || q.Sound.Hi <= q.Seen.Hi {
			t.Errorf("%s: %v, sound %v", card, q.Grade, q.Sound)
		}
		for c := -40.0; c <= 125; c += 0.37 {
			v := 1000 * (1 + 1e-5*(c-27)*(c-27))
			switch {
			case strings.HasSuffix(card, "=77"):
				v *= 1.05
			case card != bent:
				v *= 1 + 1e-3*(c-27)
			}
			if v < q.Sound.Lo || v > q.Sound.Hi {
				t.Errorf("%s: %v at %v degC outside %v", card, v, c, q.Sound)
			}
		}
	}
}

// Two straight lines move together with the temperature: half of the sum of two alike is half at all of them.
func TestStraightExpressionsMoveTogether(t *testing.T) {
	d := load(t, frost+"R1 a 0 {1k*(1+1m*(temper-27))}\nR2 a 0 1k TC=1m", "")
	share := quantity.Calc("share", quantity.Ratio, func(x []float64) float64 { return x[0] / (x[0] + x[1]) },
		element(t, d, "R1").Resistance(), element(t, d, "R2").Resistance())
	ends(t, "share", share, 0.5, 0.5, 0.5, 0.5)
}

// Intent's coefficient counts on top of an expression: 1067 - 67 = 933 and 1098 ohm, 65 K and 100 K from 25 degC.
func TestIntentOverExpression(t *testing.T) {
	d := load(t, frost+"* shuntwright: elements.R1.temperature-coefficient = \"1000 ppm/K\"\nR1 a 0 {1k*(1+1m*(temper-27))}", "")
	q := element(t, d, "R1").Resistance()
	if q.Sound.Lo > 933*(1-0.065) || q.Sound.Hi < 1098*1.1 || q.Sound.Lo < 800 || q.Sound.Hi > 1250 {
		t.Errorf("%v", q.Sound)
	}
}

func TestUnknownDrift(t *testing.T) {
	for cards, need := range map[string]string{
		"R1 a 0 {1k+temper}":                                    "temperature",
		"R1 a 0 1k TC=1m":                                       "temperature",
		frost + "R1 a 0 1k TC=1m,2u,3n":                         "elements.R1.temperature-coefficient",
		frost + "R1 a 0 1k TC1={nope}":                          "elements.R1.temperature-coefficient",
		frost + "R1 a 0 1k TC=1m temp={nope}":                   "the temperature on the card of R1",
		frost + "R1 a 0 {1/(temper-125)}":                       "the value of R1 at every declared temperature",
		frost + "R1 a 0 {temper-27}":                            "a value of R1 other than 0 ohm at 27 degC",
		frost + "R1 a 0 1k m=0":                                 "the value of R1",
		"R1 a 0 1k tol=5":                                       "elements.R1.tolerance",
		"R1 a 0 1k tol={nope}":                                  "elements.R1.tolerance",
		frost + "R1 a 0 {temper > 99 ? sqrt(27-temper) : 1000}": "the value of R1 at every declared temperature",
	} {
		d, _ := bind(cards, "")
		e := element(t, d, "R1")
		q := e.Resistance()
		if q.Known() || !q.Seen.Empty() || !strings.Contains(q.Needs[0].Key, need) {
			t.Errorf("%s: %v, needs %v", cards, q.Seen, q.Needs)
		}
		if e.Short() {
			t.Errorf("%s: a piece of wire", cards)
		}
	}
}

// A change says what the card would: m copies of it stand in parallel.
func TestChangeOfAMultipliedElement(t *testing.T) {
	d := load(t, "* shuntwright: tolerances.resistors = \"0 %\"\nX1 a c m=3\n.subckt c p\nR1 p 0 600 m=2\nI1 p 0 2m\n.ends\nR2 a 0 {1k*(1+1m*(temper-27))}", "")
	if e := element(t, d, "X1.R1"); e.Value() != 100 || e.Written() != 600 || e.Copies() != 6 {
		t.Errorf("R1: %v ohm, written %v, %v copies", e.Value(), e.Written(), e.Copies())
	}
	o := d.With(design.Change{Op: design.Set, Target: "X1.R1", Value: 1200}, design.Change{Op: design.Set, Target: "X1.I1", Value: 3e-3},
		design.Change{Op: design.Set, Target: "R2", Value: 50})
	if e := element(t, o, "X1.R1"); e.Value() != 200 || e.Written() != 1200 {
		t.Errorf("R1 changed: %v ohm, written %v", e.Value(), e.Written())
	}
	ends(t, "R1", element(t, o, "X1.R1").Resistance(), 200, 200, 200, 200)
	ends(t, "I1", element(t, d, "X1.I1").Drive(design.Operating), 6e-3, 6e-3, 5.7e-3, 6.3e-3)
	ends(t, "I1 changed", element(t, o, "X1.I1").Drive(design.Operating), 9e-3, 9e-3, 8.55e-3, 9.45e-3)
	ends(t, "R2, its expression replaced", element(t, o, "R2").Resistance(), 50, 50, 50, 50)
}
