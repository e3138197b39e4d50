package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/ratiometric-mismatch.md
var ratiometricMismatchPage string

// RatiometricMismatch holds how far the reading at no current moves where the zero follows one supply and the converter
// measures against another. What moves both alike leaves the reading where it is.
var RatiometricMismatch = &rules.Rule{
	ID:    "ratiometric-mismatch",
	Title: "zero and converter follow different references",
	Level: rules.Warning,
	Page:  ratiometricMismatchPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		name := p.Output.Declared
		zero := p.IdealZero(design.Operating)
		if p.CurrentOutput() { // what its load returns to is its reference
			zero = p.Zero(design.Operating)
		}
		switch {
		case p.Digital():
			p.Skip("a digital monitor has no analog output")
			return
		case len(p.References) == 0 && !p.CurrentOutput():
			p.Skip("the part has no reference pin")
			return
		case zero.Known() && max(zero.Sound.Hi, -zero.Sound.Lo) < 1e-9:
			p.Skip("the output counts from ground: no reference moves the zero")
			return
		case name == "" || p.Design.Intent.Get("converters", name, "range") == nil && p.Design.Intent.Get("converters", name, "reference") == nil:
			p.Skip("no range of a converter on the output is declared")
			return
		case p.Calibrated("offset") && p.Design.Intent.Get("calibration", p.Name(), "offset", "supply") == nil:
			p.Skip("the firmware measures its zero")
			return
		}
		if e := p.Design.Intent.Get("converters", name, "zero"); e != nil && e.Formula != nil && len(e.Formula.Names()) > 0 {
			p.Skip("the firmware's zero follows " + strings.Join(e.Formula.Names(), ", "))
			return
		}
		goal := p.Goal()
		if !goal.Declared {
			p.Skip("no goal is declared")
			return
		}
		scale := p.Scale()
		full, text, sure := converterSpan(p, name)
		shift := supplyShift(zero, full)
		limit := quantity.Calc("goal / 3", quantity.Volt, func(x []float64) float64 { return x[0] * x[1] * math.Abs(x[2]) / 3 }, goal.Error, goal.From, scale)
		if !sure && !shift.Seen.Empty() && !limit.Seen.Empty() && max(shift.Seen.Hi, -shift.Seen.Lo) > limit.Seen.Lo {
			// The range ends at the amplifier's own supply: that may be what its pin takes and not what it measures against.
			p.Lacks("", quantity.Need{In: "intent", Key: design.Key("converters", name, "reference")})
			return
		}
		p.Within(shift, limit.Times(-1), limit, "a third of the goal at its lowest current").Fails(func(m rules.Measure) string {
			end := max(m.Max, -m.Min)
			return fmt.Sprintf("the zero follows %s, the converter measures against %s: the reading at 0 A moves by %s, %s",
				followed(zero), text, quantity.ScaleFor(quantity.Volt, end).Text(end, quantity.Up), quantity.Show(threeDigits(end/math.Abs(scale.Nom)), quantity.Amp))
		}).Advise("take the zero from the converter's own reference, or let the firmware sample the reference net and subtract it (calibration." + p.Name() + ".offset)")
	},
}

// converterSpan is what the highest number of a converter stands for, in volts, and what that is in words: the net that intent
// says it measures against, else its range. It is not sure where the range only ends at the supply of the amplifier.
func converterSpan(p *rules.Bench, name string) (full quantity.Quantity, text string, sure bool) {
	if e := p.Design.Intent.Get("converters", name, "reference"); e != nil {
		if n, ok := p.Design.Net(e.Text); ok {
			return p.Net(n, design.Operating), e.Text, true
		}
	}
	e := p.Design.Intent.Get("converters", name, "range")
	if e == nil || e.Limits.Lo == nil || e.Limits.Hi == nil {
		return quantity.Missing(quantity.Volt, quantity.Need{In: "intent", Key: design.Key("converters", name, "range")}), "", true
	}
	l := e.Limits
	names := l.Names()
	in := make([]quantity.Quantity, len(names))
	sure = true
	for i, s := range names {
		n, ok := p.Design.Net(s)
		if !ok {
			in[i] = quantity.Missing(quantity.Volt, quantity.Need{In: "netlist", Key: "the net " + s})
			continue
		}
		in[i] = p.Net(n, design.Operating)
		sure = sure && !suppliesAmplifier(p, n)
	}
	full = quantity.Calc("span of the converter", quantity.Volt, func(x []float64) float64 {
		at := l.Eval(func(name string) float64 { return x[slices.Index(names, name)] })
		return at.Hi - at.Lo
	}, in...)
	if text = strings.Join(names, ", "); text == "" {
		text = "a fixed " + quantity.Show(full.Nom, quantity.Volt)
	}
	return full, text, sure
}

// suppliesAmplifier tells that a net is the one at the supply pin, or behind what stands in series with it.
func suppliesAmplifier(p *rules.Bench, n circuit.Net) bool {
	at := p.Supply
	for _, e := range p.SupplySeries {
		if at == n {
			return true
		}
		at = e.Other(at)
	}
	return p.HasSupply && at == n
}

// supplyShift is how far the reading at no current moves with the rails, in volts at nominal full scale: zero / full x nominal
// full - nominal zero. What a specimen is built with, such as the ratio of a divider, stands at its nominal.
func supplyShift(zero, full quantity.Quantity) quantity.Quantity {
	const name = "movement of the reading at 0 A"
	z0, f0 := zero.Nom, full.Nom
	shift := quantity.Calc(name, quantity.Volt, func(x []float64) float64 { return x[0]*f0/x[1] - z0 }, zero, full)
	if !shift.Known() || shift.Seen.Empty() || math.IsNaN(z0*f0) {
		return shift
	}
	built := map[string]float64{}
	var moves []quantity.Quantity
	for _, c := range shift.Causes() {
		if changesAtWork(c) && c.Name != "temperature" {
			moves = append(moves, c.Of())
		} else {
			built[c.Name] = c.Nom
		}
	}
	return quantity.Calc(name, quantity.Volt, func(x []float64) float64 {
		at := map[string]float64{}
		for k, v := range built {
			at[k] = v
		}
		for i, m := range moves {
			at[m.Name] = x[i]
		}
		return shift.At(false, at)
	}, moves...)
}

// followed names what moves a zero: "rails.V3V3".
func followed(zero quantity.Quantity) string {
	var out []string
	for _, c := range zero.Causes() {
		if changesAtWork(c) && c.Sound.Width() > 0 && len(out) < 3 {
			out = append(out, c.Name)
		}
	}
	if out == nil {
		return "nothing"
	}
	return strings.Join(out, ", ")
}
