package builtin

import (
	_ "embed" // the page
	"fmt"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/sense-polarity.md
var sensePolarityPage string

// SensePolarity asks that the output moves the way it is meant to as the declared current rises.
var SensePolarity = &rules.Rule{
	ID:    "sense-polarity",
	Title: "output moves against the declared current",
	Level: rules.Error,
	Page:  sensePolarityPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if unusedChannel(p) {
			p.Skip("the channel is left unused")
			return
		}
		if len(p.Block.Shunt) == 0 {
			p.ShuntOhms()
			return
		}
		name := p.CurrentName()
		shunt := p.Block.Shunt[0]
		cur, declared := p.Current(design.Operating)
		if declared {
			shunt = cur.Element
		}
		falls, why := meantToFall(p)
		net := p.Design.Circuit.NetName
		from := p.Design.Intent.Get("currents", name, "from")
		if from == nil {
			need := quantity.Need{In: "intent", Key: design.Key("currents", name, "from")}
			source, ok := likelySource(p)
			if !ok || risesFrom(p, source) != falls {
				p.Lacks("", need)
				return
			}
			p.Breach(fmt.Sprintf("the current most likely comes from %s, where %s is: the output would fall as it rises; %s in the intent would say",
				net(source), inputAt(p, source), need.Key)).At(rules.Note).On(shunt).
				Advise("declare " + need.Key + ", or exchange the inputs")
			return
		}
		if cur.From != p.Plus.Shunt && cur.From != p.Minus.Shunt {
			p.Lacks("", quantity.Need{In: "intent", Key: design.Key("currents", name, "from") + " with a net of " + p.ShuntText(), At: from.At})
			return
		}
		rng := p.Design.Intent.Get("currents", name, "range")
		oneWay := rng != nil && (rng.Written.Range.Lo >= 0 || rng.Written.Range.Hi <= 0)
		comes := cur.From // where the current that flows comes from
		if oneWay && rng.Written.Range.Lo < 0 {
			comes = cur.To
		}
		if side, ok := p.Amp.Word("input.source-side"); ok {
			if oneWay && inputAt(p, comes) != side {
				p.Breach(fmt.Sprintf("the current comes from %s, where %s is: the part wants %s on that side", net(comes), inputAt(p, comes), side)).
					Evidence(source.Related{At: from.At, Message: "declared here"}).Try(exchange(p), inputsExchanged(p)...)
				return
			}
			if oneWay {
				p.Holds(fmt.Sprintf("%s is on the side that the current comes from, %s", side, net(comes)))
				return
			}
		}
		direction, _ := p.Amp.Word("direction")
		floor := direction == "unidirectional" && oneWay && !risesFrom(p, comes) // it has to read what flows
		if risesFrom(p, cur.From) == !falls && !floor || direction == "unidirectional" && oneWay && rng.Written.Range.Lo < 0 && risesFrom(p, comes) {
			way := "rises"
			if !risesFrom(p, cur.From) {
				way = "falls"
			}
			p.Holds(fmt.Sprintf("the output %s with the current from %s", way, net(cur.From)))
			return
		}
		way, level := "falls", rules.Warning
		if risesFrom(p, cur.From) {
			way = "rises"
		}
		text := fmt.Sprintf("%s stands where the declared current enters, at %s: the output %s with it", inputAt(p, cur.From), net(cur.From), way)
		if p.Network != nil { // which input of its op amps leads where says nothing
			text = fmt.Sprintf("the output %s with the declared current, which enters at %s", way, net(cur.From))
		}
		switch {
		case floor:
			level = rules.Error
			text += ", and a part that reads one direction stays at its floor"
		case oneWay:
			level = rules.Error
		case feedsComparator(p):
			level = rules.Error
			text += ", and a comparator trips on it"
		}
		if why != "" {
			text += ", " + why
		}
		p.Breach(text).At(level).Evidence(source.Related{At: from.At, Message: "declared here"}).
			Try(exchange(p), inputsExchanged(p)...).
			Advise("exchange the inputs, or declare " + design.Key("senses", p.Name(), "inverted") + " where it is meant")
	},
}

// meantToFall tells that intent wants the output to fall as the current rises, and by what.
func meantToFall(p *rules.Bench) (falls bool, why string) {
	if e := p.Design.Intent.Get("senses", p.Name(), "inverted"); e != nil {
		if e.Flag {
			return true, "and it is declared to fall"
		}
		return false, ""
	}
	if p.Output.Declared != "" {
		if e := p.Design.Intent.Get("converters", p.Output.Declared, "scale"); e != nil && e.Written.Range.Hi < 0 {
			return true, "and the converter's scale is negative"
		}
	}
	return false, ""
}

// risesFrom tells that the output rises with a current that enters the shunt at a net.
func risesFrom(p *rules.Bench, from circuit.Net) bool {
	return (from == p.Plus.Shunt) == (p.Polarity() > 0)
}

// inputAt is the input that leads to a terminal of the shunt.
func inputAt(p *rules.Bench, n circuit.Net) string {
	if n == p.Plus.Shunt {
		return "in+"
	}
	return "in-"
}

// likelySource is the terminal that a current which flows one way most likely comes from: a rail above ground, or the
// terminal that is not at ground.
func likelySource(p *rules.Bench) (circuit.Net, bool) {
	if e := p.Design.Intent.Get("currents", p.CurrentName(), "range"); e != nil && e.Written.Range.Lo < 0 {
		return 0, false
	}
	one, other := p.Plus.Shunt, p.Minus.Shunt
	for range 2 {
		if one == 0 {
			return other, true
		}
		if q, held := p.Design.Rail(one, design.Operating); held && q.Known() && q.Sound.Lo > 0 {
			if _, too := p.Design.Rail(other, design.Operating); !too {
				return one, true
			}
		}
		one, other = other, one
	}
	return 0, false
}

// feedsComparator tells that a comparator stands at the output or behind what follows it.
func feedsComparator(p *rules.Bench) bool {
	nets := []circuit.Net{p.Output.Pin, p.Output.Converter}
	at := p.Output.Pin
	for _, e := range p.Output.Series {
		at = e.Other(at)
		nets = append(nets, at)
	}
	for _, n := range nets {
		if n == 0 {
			continue
		}
		for e := range p.Design.On(n) {
			if r := e.Record(); r != nil && r.Role() == "comparator" {
				return true
			}
		}
	}
	return false
}
