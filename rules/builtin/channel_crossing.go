package builtin

import (
	_ "embed" // the page
	"fmt"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

//go:embed doc/channel-crossing.md
var channelCrossingPage string

// ChannelCrossing asks that no amplifier takes one input from another's shunt, and that each converter gets the current
// that intent says it reads.
var ChannelCrossing = &rules.Rule{
	ID:    "channel-crossing",
	Title: "channels crossed",
	Level: rules.Error,
	Page:  channelCrossingPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		drawn := len(p.Block.Shunt) > 0
		switch {
		case unusedChannel(p):
			p.Skip("the channel is left unused")
			return
		case p.Design.Intent.Says("senses", p.Name(), "sums"):
			p.Skip("the channel adds up several shunts by intention")
			return
		case !drawn:
			if o, ok := partnerOf(p); ok {
				c := p.Breach(fmt.Sprintf("in+ leads to %s and in- to %s, and those of %s the other way round: the two channels are crossed",
					elementNames(o.mine[0].Shunts), elementNames(o.mine[1].Shunts), o.block.Name())).
					Evidence(source.Related{At: o.block.Amp.Card(), Message: o.block.Name()})
				uncross(p, c)
				return
			}
			if where := channelSaid(p, "shunt"); channelSaid(p, "element") == "" && where != "on-chip" && where != "remote" {
				p.ShuntOhms() // without a shunt nobody knows whose channel it is
				return
			}
		}
		name := p.Output.Declared
		if name == "" {
			if lost, ok := lostConverter(p); ok {
				p.Breach(fmt.Sprintf("the output of %s leads to no converter, and no output leads to %s, which intent declares to read a current", p.Name(), lost)).
					At(rules.Error).Evidence(source.Related{At: p.Design.Intent.Get("converters", lost, "scale").At, Message: "declared here"}).
					Advise("lead the output of " + p.Name() + " to " + lost)
				return
			}
			p.Skip("no converter is declared behind the output")
			return
		}
		of := p.Design.Intent.Get("converters", name, "of")
		if of == nil {
			crossedNames(p, name)
			return
		}
		if strings.EqualFold(of.Text, p.Amp.Path()) || strings.EqualFold(of.Text, channelSaid(p, "element")) || isShunt(p.Block, of.Text) {
			p.Holds(fmt.Sprintf("%s gets the current of %s", name, of.Text))
			return
		}
		if !drawn && !isAmplifier(p.Design, of.Text) {
			p.Skip(fmt.Sprintf("%s names no amplifier, and the shunt of %s is not drawn", of.Key(), p.Name()))
			return
		}
		mine := p.ShuntText()
		if mine == "" {
			mine = p.Name()
		}
		c := p.Breach(fmt.Sprintf("%s is declared to read %s, and gets %s from %s", name, of.Text, mine, p.Name())).
			Evidence(source.Related{At: of.At, Message: "declared here"})
		for _, o := range otherChannels(p).list {
			if o.Name() != p.Name() && (isShunt(o, of.Text) || strings.EqualFold(of.Text, o.Amp.Path())) {
				exchangeOutputs(p, c, o)
			}
		}
		c.Advise("lead the output of the channel across " + of.Text + " to " + name)
	},
}

// lostConverter is a declared converter of a current that no output reaches, where it is this block's: the one that intent
// says it reads, else the first whose output leads to none.
func lostConverter(p *rules.Bench) (name string, ok bool) {
	if p.Digital() {
		return "", false
	}
	reached := map[string]bool{}
	var first *sense.Block
	for _, b := range otherChannels(p).list {
		reached[strings.ToLower(b.Output.Declared)] = true
		only := p.Design.Intent.Get("goals", b.Name(), "trip-only")
		if first == nil && b.Output.Declared == "" && !b.Digital() && len(b.Shunt) > 0 && (only == nil || !only.Flag) {
			first = b
		}
	}
	for _, c := range p.Design.Intent.Names("converters") {
		if p.Design.Intent.Get("converters", c, "scale") == nil || reached[strings.ToLower(c)] {
			continue
		}
		switch of := p.Design.Intent.Get("converters", c, "of"); {
		case of != nil && (strings.EqualFold(of.Text, p.Amp.Path()) || isShunt(p.Block, of.Text)), of == nil && first != nil && first.Name() == p.Name():
			return c, true
		}
	}
	return "", false
}

func isShunt(b *sense.Block, name string) bool {
	for _, e := range b.Shunt {
		if strings.EqualFold(e.Path(), name) {
			return true
		}
	}
	return false
}

func isAmplifier(d *design.Design, name string) bool {
	e, ok := d.Find(name)
	return ok && len(e.Amplifiers()) > 0
}

// A crossing is a block whose inputs lead to two different shunts.
type crossing struct {
	block *sense.Block
	legs  [2]sense.Landing // in+, in-
}

// allChannels is what the rule knows of the other blocks.
type allChannels struct {
	list     []*sense.Block
	named    []labelled                 // those with a converter of which nobody says what it reads
	crossing map[[2]circuit.ID]crossing // by the shunts of in+ and in-
}

// A labelled is a channel with the names of its first shunt and of its converter, in lower case.
type labelled struct {
	block            *sense.Block
	shunt, converter string
}

func otherChannels(p *rules.Bench) *allChannels {
	return p.Once("channels", func(d *design.Design, blocks []*sense.Block) any {
		a := &allChannels{list: blocks, crossing: map[[2]circuit.ID]crossing{}}
		for _, b := range blocks {
			if len(b.Shunt) > 0 {
				if name := b.Output.Declared; name != "" && !d.Intent.Says("converters", name, "of") {
					a.named = append(a.named, labelled{b, strings.ToLower(b.Shunt[0].Path()), strings.ToLower(name)})
				}
				continue
			}
			if legs, ok := twoShunts(d, b); ok {
				a.crossing[[2]circuit.ID{legs[0].Shunts[0].ID, legs[1].Shunts[0].ID}] = crossing{b, legs}
			}
		}
		return a
	}).(*allChannels)
}

// twoShunts tells that the inputs of a block lead to one shunt each, and not to the same.
func twoShunts(d *design.Design, b *sense.Block) (legs [2]sense.Landing, ok bool) {
	for i, role := range []string{"in+", "in-"} {
		n, ok := b.Pin(role)
		if !ok {
			return legs, false
		}
		l := sense.Landings(d, n)
		if len(l) == 0 || len(l[0].Shunts) != 1 {
			return legs, false
		}
		legs[i] = l[0]
	}
	return legs, legs[0].Shunts[0].ID != legs[1].Shunts[0].ID
}

// A crossed is the other block of a pair, with where the legs of both lead.
type crossed struct {
	block        *sense.Block
	mine, theirs [2]sense.Landing
}

// partnerOf is the block that has the other halves of the two shunts.
func partnerOf(p *rules.Bench) (c crossed, ok bool) {
	mine, ok := twoShunts(p.Design, p.Block)
	if !ok {
		return c, false
	}
	o, ok := otherChannels(p).crossing[[2]circuit.ID{mine[1].Shunts[0].ID, mine[0].Shunts[0].ID}]
	return crossed{o.block, mine, o.legs}, ok
}

// uncross offers to exchange one input of two crossed channels: in- first, then in+.
func uncross(p *rules.Bench, c *rules.Check) {
	o, ok := partnerOf(p)
	if !ok {
		return
	}
	for i, role := range []string{"in-", "in+"} {
		k := 1 - i // in- is the second leg
		one, two := o.mine[k], o.theirs[k]
		mine, okM := p.Amp.PinAt(role, p.Unit)
		theirs, okT := o.block.Amp.PinAt(role, o.block.Unit)
		if !okM || !okT {
			continue
		}
		e, at := one.Mover(p.Amp, mine)
		f, af := two.Mover(o.block.Amp, theirs)
		c.Try(fmt.Sprintf("%s of %s and of %s exchanged", role, p.Name(), o.block.Name()),
			movedTo(p.Design, e, at, two.Net), movedTo(p.Design, f, af, one.Net))
	}
}

// exchangeOutputs offers to exchange the outputs of two channels.
func exchangeOutputs(p *rules.Bench, c *rules.Check, o *sense.Block) {
	mine, okM := p.Amp.PinAt("out", p.Unit)
	theirs, okT := o.Amp.PinAt("out", o.Unit)
	if okM && okT {
		c.Try(fmt.Sprintf("out of %s and of %s exchanged", p.Name(), o.Name()),
			movedTo(p.Design, p.Amp, mine, o.Output.Pin), movedTo(p.Design, o.Amp, theirs, p.Output.Pin))
	}
}

// crossedNames looks for another channel so named that the two converters would suit each other's shunt.
func crossedNames(p *rules.Bench, converter string) {
	if len(p.Block.Shunt) > 0 {
		shunt, read := strings.ToLower(p.Block.Shunt[0].Path()), strings.ToLower(converter)
		for _, n := range otherChannels(p).named {
			a, b := apartAt(shunt, n.shunt)
			x, y := apartAt(read, n.converter)
			if a == "" || b == "" || a == b || a != y || b != x {
				continue
			}
			o := n.block
			exchangeOutputs(p, p.Breach(fmt.Sprintf("by their names %s belongs to %s and %s to %s; they are connected the other way round, and no %s says that this is meant",
				converter, o.ShuntText(), o.Output.Declared, p.ShuntText(), design.Key("converters", converter, "of"))).At(rules.Warning).
				Evidence(source.Related{At: o.Amp.Card(), Message: o.Name()}), o)
			return
		}
	}
	p.Skip("no " + design.Key("converters", converter, "of") + " is declared")
}

// apartAt is what is left of two names behind what they begin with alike; a number is one thing.
func apartAt(one, two string) (string, string) {
	digit := func(s string, i int) bool { return i < len(s) && s[i] >= '0' && s[i] <= '9' }
	n := 0
	for n < len(one) && n < len(two) && one[n] == two[n] {
		n++
	}
	for n > 0 && digit(one, n-1) && (digit(one, n) || digit(two, n)) {
		n--
	}
	return one[n:], two[n:]
}
