package builtin

import (
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// channelSaid is what intent says of a channel under a key: a text; "" where it says nothing.
func channelSaid(p *rules.Bench, key string) string {
	if e := p.Design.Intent.Get("senses", p.Name(), key); e != nil {
		return e.Text
	}
	return ""
}

// channelSays tells a flag of a channel that intent sets.
func channelSays(p *rules.Bench, key ...string) bool {
	e := p.Design.Intent.Get(append([]string{"senses", p.Name()}, key...)...)
	return e != nil && e.Flag
}

// unusedChannel tells a channel that nobody reads: intent says so, or it is one of several in a package and nothing else is on
// the net of its output.
func unusedChannel(p *rules.Bench) bool {
	if e := p.Design.Intent.Get("senses", p.Name(), "unused"); e != nil {
		return e.Flag
	}
	out, ok := p.Pin("out")
	return ok && p.Unit != "" && aloneOn(p, out)
}

// aloneOn tells that nothing but one pin of the amplifier is on a net, which nothing declared holds either.
func aloneOn(p *rules.Bench, n circuit.Net) bool {
	if _, held := p.Design.Rail(n, design.Operating); held {
		return false
	}
	for e := range p.Design.On(n) {
		if e.ID != p.Amp.ID {
			return false
		}
	}
	pins := 0
	for i := range p.Amp.Pins() {
		if p.Amp.Pin(i) == n {
			pins++
		}
	}
	return pins == 1
}

// elementNames are the paths of elements, joined: "RF1 and RF2".
func elementNames(list []design.Element) string {
	var paths []string
	for _, e := range list {
		paths = append(paths, e.Path())
	}
	if len(paths) < 2 {
		return strings.Join(paths, "")
	}
	return strings.Join(paths[:len(paths)-1], ", ") + " and " + paths[len(paths)-1]
}

// throughText is " through RF1", or nothing where nothing is passed.
func throughText(series []design.Element) string {
	if len(series) == 0 {
		return ""
	}
	return " through " + elementNames(series)
}

// movedTo moves a pin of an element to another net.
func movedTo(d *design.Design, e design.Element, pin int, to circuit.Net) design.Change {
	return design.Change{Op: design.Connect, Target: e.Path(), Pins: [2]int{pin}, Net: to, Text: d.Circuit.NetName(to)}
}

// pinsSwapped are two pins of the amplifier that change places; none where the card has not both.
func pinsSwapped(p *rules.Bench, one, other string) []design.Change {
	a, okA := p.Amp.PinAt(one, p.Unit)
	b, okB := p.Amp.PinAt(other, p.Unit)
	if !okA || !okB {
		return nil
	}
	return []design.Change{{Op: design.Swap, Target: p.Amp.Path(), Pins: [2]int{a, b}}}
}

// exchange words what inputsExchanged changes.
func exchange(p *rules.Bench) string {
	if p.Network == nil {
		return "in+ and in- of " + p.Name() + " exchanged"
	}
	return "the ends at the shunt of the two legs of " + p.Name() + " exchanged"
}

// inputsExchanged are changes that exchange the two inputs: the pins of an amplifier, the far ends of the legs where the
// block is built of op amps, whose own inputs close its loop; none where such a leg is the wire to a terminal.
func inputsExchanged(p *rules.Bench) []design.Change {
	if p.Network == nil {
		return pinsSwapped(p, "in+", "in-")
	}
	plus := sense.Landing{Net: p.Plus.Shunt, Series: p.Plus.Series}
	minus := sense.Landing{Net: p.Minus.Shunt, Series: p.Minus.Series}
	if len(plus.Series) == 0 || len(minus.Series) == 0 {
		return nil
	}
	e, at := plus.Mover(p.Amp, 0)
	f, af := minus.Mover(p.Amp, 0)
	if e.Pin(at) != plus.Net || f.Pin(af) != minus.Net { // at a sense terminal of the shunt
		return nil
	}
	return []design.Change{movedTo(p.Design, e, at, minus.Net), movedTo(p.Design, f, af, plus.Net)}
}
