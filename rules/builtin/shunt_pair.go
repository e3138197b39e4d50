package builtin

import (
	_ "embed" // the page
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

//go:embed doc/shunt-pair.md
var shuntPairPage string

// likelyShunt is the largest resistance in ohm that is taken for a shunt without a declared current: common practice, no
// source.
const likelyShunt = 10

// ShuntPair asks that the two inputs lie across exactly one sense element, with nothing on the way that draws a load's
// current.
var ShuntPair = &rules.Rule{
	ID:    "shunt-pair",
	Title: "inputs not across one shunt",
	Level: rules.Error,
	Page:  shuntPairPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		plus, okP := p.Pin("in+")
		minus, okM := p.Pin("in-")
		where := channelSaid(p, "shunt")
		switch {
		case !okP || !okM:
			n := p.Amp.PartNeed("pins")
			n.Key += ` with "in+" and "in-"`
			p.Need(n)
		case unusedChannel(p):
			p.Skip("the channel is left unused")
		case where == "on-chip" || where == "remote":
			p.Skip(fmt.Sprintf("the shunt is %s, as %s says", map[string]string{"on-chip": "inside the part", "remote": "on another board"}[where], design.Key("senses", p.Name(), "shunt")))
		case p.Design.Intent.Says("senses", p.Name(), "sums"):
			summed(p, plus, minus)
		case channelSaid(p, "element") != "":
			acrossNamed(p, channelSaid(p, "element"))
		case len(p.Block.Shunt) > 0:
			acrossShunt(p)
		default:
			acrossNone(p, plus, minus)
		}
	},
}

// summed judges a channel that adds shunts by intention: each input leads to one of them.
func summed(p *rules.Bench, plus, minus circuit.Net) {
	sums := p.Design.Intent.Get("senses", p.Name(), "sums")
	var shunts []design.Element
	for _, name := range sums.Names {
		if e, ok := p.Design.Find(name); ok {
			shunts = append(shunts, e)
		}
	}
	for _, pin := range []struct {
		role string
		net  circuit.Net
	}{{"in+", plus}, {"in-", minus}} {
		leads := slices.ContainsFunc(sense.Landings(p.Design, pin.net), func(l sense.Landing) bool {
			return slices.ContainsFunc(l.Shunts, func(e design.Element) bool {
				return slices.ContainsFunc(shunts, func(s design.Element) bool { return s.ID == e.ID })
			})
		})
		if !leads {
			p.Breach(fmt.Sprintf("%s leads to none of %s, which %s is said to add up", pin.role, elementNames(shunts), p.Name())).
				Evidence(source.Related{At: sums.At, Message: "said here"})
			return
		}
	}
	p.Holds("adds up " + elementNames(shunts) + " by intention")
}

// acrossNamed judges what intent names as the sense element.
func acrossNamed(p *rules.Bench, name string) {
	e, ok := p.Design.Find(name)
	if !ok {
		p.Lacks("", quantity.Need{In: "netlist", Key: "the element " + name + " that " + design.Key("senses", p.Name(), "element") + " names"})
		return
	}
	x, y, ok := volt.Channel(e)
	if !ok && e.Pins() >= 2 {
		x, y = e.Pin(0), e.Pin(1)
	}
	if p.Straddles(p.Design, e, x, y) {
		p.Holds("in+ and in- lie across " + e.Path() + ", which is declared to be what they sense")
		return
	}
	p.Breach(fmt.Sprintf("in+ and in- do not lie across %s, which joins %s and %s", e.Path(), p.Design.Circuit.NetName(x), p.Design.Circuit.NetName(y))).
		Evidence(source.Related{At: e.Card(), Message: e.Path()}).Advise("lead one input to each end of " + e.Path())
}

// acrossShunt judges a shunt that was found: the legs carry no load's current, and it is likely to be one.
func acrossShunt(p *rules.Bench) {
	shunt := p.Block.Shunt
	for _, leg := range []struct {
		role string
		sense.Leg
	}{{"in+", p.Plus}, {"in-", p.Minus}} {
		for i, n := range leg.Inner {
			if load, ok := drawsLoad(p, n); ok {
				p.Breach(fmt.Sprintf("%s is taken behind %s, which carries the current of %s: the pair spans more than the shunt %s",
					leg.role, elementNames(leg.Series[i:]), load.Path(), p.ShuntText())).
					Evidence(source.Related{At: load.Card(), Message: load.Path() + " draws its current here"}).
					Advise("lead " + leg.role + " to the terminal of the shunt itself, " + p.Design.Circuit.NetName(leg.Shunt))
				return
			}
		}
	}
	ohms := p.ShuntResistance()
	if _, declared := p.Current(design.Operating); !declared && ohms.Nom > likelyShunt {
		p.HoldsIf(fmt.Sprintf("%s of %s is all that stands between in+ and in-; %s in the intent would say that it is the shunt",
			p.ShuntText(), quantity.Show(ohms.Nom, quantity.Ohm), design.Key("currents", p.CurrentName(), "range"))).On(shunt[0])
		return
	}
	text := fmt.Sprintf("in+ and in- lie across %s", p.ShuntText())
	if legs := slices.Concat(p.Plus.Series, p.Minus.Series); len(legs) > 0 {
		text += throughText(legs)
	}
	p.Holds(text)
}

// drawsLoad is what draws a load's current from a net inside a leg: a current source, the channel of a transistor or switch
// that is not there to bring the inputs together, another sense element, a supply pin, a coil or a resistor too small to be
// there for bias.
func drawsLoad(p *rules.Bench, n circuit.Net) (design.Element, bool) {
	if _, held := p.Design.Rail(n, design.Operating); held {
		return design.Element{}, false
	}
	inner := slices.Concat(p.Plus.Inner, p.Minus.Inner)
	for e := range p.Design.On(n) {
		a, b, ok := volt.Channel(e)
		switch {
		case ok:
			if (a == n || b == n) && !(slices.Contains(inner, a) && slices.Contains(inner, b)) {
				return e, true
			}
		case e.Kind() == 'I':
			if src := e.Source(); src == nil || src.Levels != [2]float64{} {
				return e, true
			}
		case p.Network == nil && (e.Kind() == 'L' || e.Kind() == 'R' && e.Value() < leastBias) && e.Pins() == 2 && takesAway(p, e, n, inner):
			return e, true
		case e.Kind() == 'R' && p.Design.Intent.Says("currents", e.Path()) && !slices.ContainsFunc(p.Block.Shunt, func(s design.Element) bool { return s.ID == e.ID }):
			return e, true
		case e.Kind() == 'X' && e.Record() != nil && e.ID != p.Amp.ID:
			if s, ok := e.PinOf("supply", ""); ok && s == n {
				return e, true
			}
		}
	}
	return design.Element{}, false
}

// leastBias is the resistance in ohm below which a resistor at a leg draws a load's current and biases nothing: common practice,
// no source.
const leastBias = 100

// takesAway tells that an element leads direct current from a net inside a leg to somewhere that is no part of the two legs; what
// ends at capacitors and clamps does not.
func takesAway(p *rules.Bench, e design.Element, n circuit.Net, inner []circuit.Net) bool {
	to := e.Other(n)
	legs := slices.Concat(p.Plus.Series, p.Plus.Beside, p.Minus.Series, p.Minus.Beside)
	if slices.ContainsFunc(legs, func(o design.Element) bool { return o.ID == e.ID }) || to == n || to == p.Plus.Shunt || to == p.Minus.Shunt || slices.Contains(inner, to) {
		return false
	}
	if _, held := p.Design.Rail(to, design.Operating); held {
		return true
	}
	for o := range p.Design.On(to) {
		if o.ID != e.ID && strings.IndexByte("CDK", o.Kind()) < 0 {
			return true
		}
	}
	return false
}

// acrossNone says why no shunt was found and what would cure it.
func acrossNone(p *rules.Bench, plus, minus circuit.Net) {
	net := p.Design.Circuit.NetName
	var at [2]*sense.Landing
	for i, pin := range []circuit.Net{plus, minus} {
		if l := sense.Landings(p.Design, pin); len(l) > 0 {
			at[i] = &l[0]
		}
	}
	switch {
	case plus == minus || at[0] != nil && at[1] != nil && at[0].Net == at[1].Net:
		n := plus
		text := fmt.Sprintf("in+ and in- are on the same net %s", net(n))
		if plus != minus {
			n = at[0].Net
			text = fmt.Sprintf("in+ and in- both lead to %s%s: the amplifier sees no current", net(n), throughText(slices.Concat(at[0].Series, at[1].Series)))
		}
		c := p.Breach(text).Tells(p.ShuntNeed())
		if at[0] == nil || len(at[0].Shunts) != 1 {
			c.Advise("lead one input to each terminal of the shunt")
			return
		}
		leadApart(p, c, at, at[0].Shunts[0])
	case at[0] != nil && at[1] != nil:
		c := p.Breach(fmt.Sprintf("in+ leads to %s at %s, in- to %s at %s: two different shunts", elementNames(at[0].Shunts), net(at[0].Net), elementNames(at[1].Shunts), net(at[1].Net))).Tells(p.ShuntNeed())
		for _, e := range slices.Concat(at[0].Shunts, at[1].Shunts) {
			c.Evidence(source.Related{At: e.Card(), Message: e.Path()})
		}
		uncross(p, c)
		if len(at[0].Shunts) == 1 {
			leadToward(p, c, "in-", at[1], farEnd(at[0].Shunts[0], at[0].Net))
		}
		if len(at[1].Shunts) == 1 {
			leadToward(p, c, "in+", at[0], farEnd(at[1].Shunts[0], at[1].Net))
		}
	default:
		var needs []quantity.Need
		for i, pin := range []circuit.Net{plus, minus} {
			if at[i] == nil {
				for _, e := range sense.Unknown(p.Design, pin) {
					needs = append(needs, needOf(e))
				}
			}
		}
		if needs != nil { // the shunt may be on the other side of it
			p.Lacks("", needs...)
			return
		}
		c := p.Breach(p.Broken).Tells(p.ShuntNeed())
		for i, role := range []string{"in-", "in+"} { // the leg that leads nowhere is the other one's
			l := at[i]
			if l == nil || len(l.Shunts) != 1 {
				continue
			}
			far := farEnd(l.Shunts[0], l.Net)
			c.Evidence(source.Related{At: l.Shunts[0].Card(), Message: fmt.Sprintf("the other input leads to %s", l.Shunts[0].Path())})
			if open := pinNet(role, plus, minus); aloneOn(p, open) {
				leadToward(p, c, role, &sense.Landing{Net: open}, far)
			}
		}
		c.Advise("lead one input to each terminal of one shunt; where it is meant to sense across something else, name that in " + design.Key("senses", p.Name(), "element"))
	}
}

// needOf is what is missing about an element of which nobody knows what it does.
func needOf(e design.Element) quantity.Need {
	if e.Kind() == 'X' {
		return e.PartNeed("pins")
	}
	return quantity.Need{In: "netlist", Key: "a card that can be read in place of " + e.Path(), At: e.Card()}
}

func pinNet(role string, plus, minus circuit.Net) circuit.Net {
	if role == "in+" {
		return plus
	}
	return minus
}

// farEnd is the terminal of a sense element across from the one that an input leads to.
func farEnd(e design.Element, n circuit.Net) circuit.Net {
	if a, b, ok := e.SenseTerminals(); ok && (n == a || n == b) {
		if n == a {
			return b
		}
		return a
	}
	if a, b := e.Ends(); n == a {
		return b
	} else {
		return a
	}
}

// leadApart leads one of two inputs that stand at one terminal of a shunt to the other: that which makes the output rise with
// the declared current first.
func leadApart(p *rules.Bench, c *rules.Check, at [2]*sense.Landing, shunt design.Element) {
	n := at[0].Net
	far := farEnd(shunt, n)
	order := []int{1, 0}
	if cur, ok := shunt.Current(design.Operating); ok && p.Design.Intent.Says("currents", shunt.Path(), "from") {
		if (cur.From == n) != (p.Polarity() > 0) {
			order = []int{0, 1}
		}
	}
	for _, i := range order {
		leadToward(p, c, []string{"in+", "in-"}[i], at[i], far)
	}
}

// leadToward offers to lead one input to another net by moving the end of its leg.
func leadToward(p *rules.Bench, c *rules.Check, role string, l *sense.Landing, to circuit.Net) {
	pin, ok := p.Amp.PinAt(role, p.Unit)
	if !ok {
		return
	}
	e, at := l.Mover(p.Amp, pin)
	what := "the end of " + e.Path() + " at " + p.Design.Circuit.NetName(l.Net)
	if e.ID == p.Amp.ID {
		what = role + " of " + p.Name()
	}
	c.Try(what+" moved to "+p.Design.Circuit.NetName(to), movedTo(p.Design, e, at, to))
}
