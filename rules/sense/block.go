// Package sense recognises sense blocks: one amplifier each, with everything that decides its reading.
package sense

import (
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
)

// A Leg is one input: what stands in series between the amplifier's pin and the shunt.
type Leg struct {
	Pin    circuit.Net
	Shunt  circuit.Net      // the shunt's end, which a sense terminal is joined to; the pin's own net where there is no shunt
	Series []design.Element // from the pin outwards; of parallel ways one
	Beside []design.Element // resistors from the pin to the same side of the shunts, beside the only one in Series
	Inner  []circuit.Net    // the nets between them, the pin first
}

// A Block is one amplifier with everything that decides its reading. It holds handles into one Design; laying changes
// over the design means recognising again.
type Block struct {
	Amp  design.Element
	Unit string // the amplifier inside a package of several; "" otherwise
	Kind string // the record's role
	// Network is what an op-amp block is built of; nil for every other kind. The ends of its legs are the two ends of the
	// shunt as the output sees them: it rises with Plus.Shunt above Minus.Shunt.
	Network *Network
	Plus    Leg
	Minus   Leg
	// Shunt is the group of parallel elements that the two legs straddle; empty where there is none, then Broken says
	// why. Current is the declared current that decides the reading.
	Shunt        []design.Element
	Broken       string
	References   []Pin
	Supply       circuit.Net
	Ground       circuit.Net
	Output       Output
	SupplySeries []design.Element // between the supply pin and what holds the rail
	HasSupply    bool
}

// A Pin is a pin role with its net and what holds that net.
type Pin struct {
	Role   string
	Net    circuit.Net
	Source string // the rail or source that holds it, or the elements it reaches one through; "" when nothing does
}

// An Output is what follows the output pin: series elements out to the net that a converter reads.
type Output struct {
	Pin       circuit.Net
	Converter circuit.Net // the last net outwards, or the declared converter's
	Series    []design.Element
	Declared  string // the name of the converter in intent, "" where none is declared on the way
}

// Name is the block's instance path, with its unit.
func (b *Block) Name() string {
	if b.Unit == "" {
		return b.Amp.Path()
	}
	return b.Amp.Path() + ":" + b.Unit
}

// Digital tells a monitor that hands out numbers: it has no analog output, and Output is empty.
func (b *Block) Digital() bool { return b.Kind == "digital-monitor" }

// Pin is the net of one of the amplifier's pins.
func (b *Block) Pin(role string) (circuit.Net, bool) { return b.Amp.PinOf(role, b.Unit) }

// Resistance is the resistance between a leg's pin and the shunt, as a quantity over its resistors, in ohm.
func (l Leg) Resistance(name string) quantity.Quantity {
	var q []quantity.Quantity
	for _, e := range l.Resistors() {
		q = append(q, e.Resistance())
	}
	if len(l.Beside) > 0 {
		return quantity.Calc(name, quantity.Ohm, func(x []float64) float64 {
			g := 0.0
			for _, v := range x {
				g += 1 / v
			}
			return 1 / g
		}, q...)
	}
	return quantity.Calc(name, quantity.Ohm, func(x []float64) float64 {
		sum := 0.0
		for _, v := range x {
			sum += v
		}
		return sum
	}, q...)
}

// Resistors are the leg's resistors.
func (l Leg) Resistors() (out []design.Element) {
	for _, e := range l.Series {
		if e.Kind() == 'R' {
			out = append(out, e)
		}
	}
	return append(out, l.Beside...)
}

// ShuntNames are the paths of the shunt's elements.
func (b *Block) ShuntNames() (out []string) {
	for _, e := range b.Shunt {
		out = append(out, e.Path())
	}
	return out
}

// ShuntText is the shunt in words: "RSH_A" or "RSH1 || RSH2".
func (b *Block) ShuntText() string { return strings.Join(b.ShuntNames(), " || ") }

// ShuntResistance is the resistance of the whole group, in ohm.
func (b *Block) ShuntResistance() quantity.Quantity {
	var q []quantity.Quantity
	for _, e := range b.Shunt {
		q = append(q, e.Resistance())
	}
	return quantity.Calc("shunt "+b.ShuntText(), quantity.Ohm, func(x []float64) float64 {
		g := 0.0
		for _, r := range x {
			g += 1 / r
		}
		return 1 / g
	}, q...)
}

// Current is the declared current of the shunt: that of the one element of the group that declares it.
func (b *Block) Current(r design.Regime) (c design.Current, ok bool) {
	for _, e := range b.Shunt {
		if c, ok = e.Current(r); ok {
			return c, true
		}
	}
	return c, false
}

// CurrentName is the element whose current intent declares, or would declare.
func (b *Block) CurrentName() string {
	if c, ok := b.Current(design.Operating); ok {
		return c.Element.Path()
	}
	if len(b.Shunt) > 0 {
		return b.Shunt[0].Path()
	}
	return "SHUNT"
}

// Sign is +1 where a positive declared current makes in+ the higher input, -1 where in- is.
func (b *Block) Sign() float64 {
	if c, ok := b.Current(design.Operating); ok && c.From == b.Minus.Shunt {
		return -1
	}
	return 1
}
