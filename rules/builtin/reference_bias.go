package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/reference-bias.md
var referenceBiasPage string

// ReferenceBias asks of a channel whose current flows both ways that its output stays inside its swing at the end of
// the current range that the slope puts lowest, that its zero leaves room above, and that the part reads both ways.
var ReferenceBias = &rules.Rule{
	ID:    "reference-bias",
	Title: "current flows both ways, the chain reads one",
	Level: rules.Error,
	Page:  referenceBiasPage,
	Judge: func(p *rules.Bench) {
		i := p.ShuntCurrent(design.Operating)
		rng := p.Design.Intent.Get("currents", p.CurrentName(), "range")
		if rng == nil || len(p.Block.Shunt) == 0 {
			return
		}
		if r := rng.Written.Range; r.Lo >= 0 || r.Hi <= 0 {
			p.Skip("the declared current flows one way only")
			return
		}
		w, said := p.Word("direction")
		if p.Digital() && w != "unidirectional" {
			p.Skip("a digital monitor has no analog output: digital-range judges what it reads")
			return
		}
		if !said { // the output may still fail, but it cannot pass
			unsaid := quantity.Missing(quantity.Amp, p.Amp.PartNeed("direction"))
			p.AtLeast(unsaid.Named("smallest current that the part reads"), quantity.Exactly("one direction", quantity.Amp, 0), "direction")
		}
		if w == "unidirectional" {
			p.AtLeast(i.Named("shunt current"), quantity.Exactly("one direction", quantity.Amp, 0), "a unidirectional part").
				Fails(func(m rules.Measure) string {
					return fmt.Sprintf("a unidirectional part, %s is intended", quantity.Show(m.Min, quantity.Amp))
				})
			return
		}
		seen := working{}
		everyState(p, true, func(v *rules.Bench, state string) { bothWays(p, v, seen, state, rng.Key()) })
	},
}

// bothWays holds, in one state, the output at its lowest end above where it stops and that at no current below where it clips.
func bothWays(p, v *rules.Bench, seen working, state, current string) {
	out := v.Out(design.Operating).Named("output at the lowest end" + state)
	low := v.Level("output.low", design.Operating, false)
	zero := v.Zero(design.Operating)
	if seen.again("output", state, held{out, low, zero}) {
		return
	}
	c := p.AtLeast(out, low, "output.low")
	if len(p.References) > 0 || p.Network != nil {
		toFirmwareZero(p, c)
		for _, ref := range p.References {
			c.Drive(ref.Role, zero.Nom, true)
			break
		}
		high := v.Level("output.high", design.Operating, true)
		c.Beside(high, "output.high")
		top := p.AtMost(zero.Named("output at 0 A"+state), high, "output.high")
		if len(p.References) > 0 {
			top.Drive(p.References[0].Role, zero.Nom, false)
		}
		top.Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
			return fmt.Sprintf("the output at 0 A stands at %s%s, above %s where it clips: one direction is lost",
				sc.Text(m.Max, quantity.Up), state, sc.Text(m.LimitMax, quantity.Down))
		})
	}
	line := lineOf(out, false, current, p.Name()+" offset")
	c.Shows(func(bool) string { return line.arithmetic() }).Fails(func(m rules.Measure) string { return line.stops(m) + state })
	c.Labels(terms(p))
}

// toFirmwareZero names a remedy: the reference pins on the net that firmware takes for no current, where it says one.
func toFirmwareZero(p *rules.Bench, c *rules.Check) {
	reads, ok := p.Converter()
	if !ok {
		return
	}
	e := p.Design.Intent.Get("converters", reads.Name, "zero")
	if e == nil || e.Formula == nil {
		return
	}
	names := e.Formula.Names()
	if len(names) != 1 || !strings.EqualFold(e.Formula.String(), names[0]) {
		return
	}
	to, ok := p.Design.Net(names[0])
	if !ok {
		return
	}
	var moves []design.Change
	var roles []string
	for _, ref := range p.References {
		pin, ok := p.Amp.PinAt(ref.Role, p.Unit)
		if !ok {
			return
		}
		if ref.Net != to {
			moves = append(moves, movedTo(p.Design, p.Amp, pin, to))
			roles = append(roles, ref.Role)
		}
	}
	c.Try(fmt.Sprintf("%s on %s, which firmware takes for 0 A", strings.Join(roles, " and "), names[0]), moves...)
}

// terms tells which term of the output a cause belongs to: the current, the offset, the scale (gain, shunt, input
// network and what temperature does to them), and else the zero.
func terms(p *rules.Bench) func(*quantity.Cause) string {
	scale := []string{p.Amp.Path() + " gain", p.Amp.Path() + " input.resistance", "temperature"}
	for _, e := range slices.Concat(p.Block.Shunt, p.Plus.Series, p.Plus.Beside, p.Minus.Series, p.Minus.Beside) {
		scale = append(scale, e.Path(), design.Key("elements", e.Path(), "temperature-coefficient"))
	}
	if p.Network != nil {
		for _, e := range p.Network.Resistors {
			if e.Pin(0) == p.Minus.Pin || e.Pin(1) == p.Minus.Pin {
				scale = append(scale, e.Path())
			}
		}
	}
	return func(c *quantity.Cause) string {
		switch {
		case strings.HasPrefix(c.Name, "currents."):
			return "current"
		case strings.HasSuffix(c.Name, " offset"):
			return "offset"
		case slices.Contains(scale, c.Name):
			return "scale"
		}
		return "zero"
	}
}

// A line is the output against the shunt current around the witness of one of its ends.
type line struct {
	zero, slope, amps, offset float64 // V, V/A, A, V
	ok                        bool
}

func lineOf(out quantity.Quantity, high bool, current, offset string) line {
	var l line
	for _, s := range out.Witness(high) {
		if strings.EqualFold(s.Name, current) {
			l.amps, l.ok = s.Value, true
		}
	}
	if !l.ok || l.amps == 0 {
		return line{}
	}
	at := out.At(high, nil)
	l.slope = (at - out.At(high, map[string]float64{current: 0.9 * l.amps})) / (0.1 * l.amps)
	l.offset = at - out.At(high, map[string]float64{offset: 0})
	if l.zero = at - l.slope*l.amps - l.offset; math.Abs(l.zero) < 1e-9 { // what rounding leaves of a reference at ground
		l.zero = 0
	}
	l.ok = !math.IsNaN(l.zero) && !math.IsInf(l.zero, 0) && l.slope != 0
	return l
}

// arithmetic is "0.5 V - 31.9 mV/A x 20 A - 2.3 mV".
func (l line) arithmetic() string {
	if !l.ok {
		return ""
	}
	term := func(v float64, text string) string {
		if v < 0 {
			return " - " + text
		}
		return " + " + text
	}
	return quantity.Show(l.zero, quantity.Volt) +
		term(l.slope*l.amps, quantity.Show(math.Abs(l.slope), quantity.VoltPerAmp)+" x "+quantity.Show(math.Abs(l.amps), quantity.Amp)) +
		term(l.offset, quantity.Show(math.Abs(l.offset), quantity.Volt))
}

// stops is "stops reading below -13.8 A, -20 A is intended".
func (l line) stops(m rules.Measure) string {
	if !l.ok || unlimited(m.Min) {
		return "the output leaves its range inside the intended current range"
	}
	at := (m.LimitMin - l.zero - l.offset) / l.slope
	side := "below"
	if l.amps > 0 {
		side = "above"
	}
	if at*l.amps >= 0 {
		return fmt.Sprintf("stops reading %s %s, %s is intended", side, three(at, l.amps < 0), quantity.Show(l.amps, quantity.Amp))
	}
	if side = "up"; l.amps > 0 {
		side = "down"
	}
	return fmt.Sprintf("reads only from %s %s, %s is intended", three(at, l.amps < 0), side, quantity.Show(l.amps, quantity.Amp))
}

// three prints a current to three digits, rounded up or down so that it promises no range that is not there.
func three(v float64, up bool) string {
	if v == 0 {
		return "0 A"
	}
	return quantity.Show(toThree(v, up), quantity.Amp)
}
