package builtin

import (
	_ "embed" // the page
	"fmt"
	"math"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/op-amp-output-sink.md
var opAmpOutputSinkPage string

// OpAmpOutputSink asks of each op amp of a block that its output can take the current that its own resistors push into it
// at the low end, that what comes back outweighs what helps, and of all that their offsets stay inside the goal.
var OpAmpOutputSink = &rules.Rule{
	ID:    "op-amp-output-sink",
	Title: "op amp cannot come down, or amplifies its offset",
	Level: rules.Warning,
	Since: 2,
	Page:  opAmpOutputSinkPage,
	Judge: func(p *rules.Bench) {
		if !built(p) {
			return
		}
		for i := range p.Network.Stages {
			sinks(p, i)
			back := p.OpAmpRatio(stageName(p, i, "feedback"), quantity.Ratio, func(b rules.Built) float64 { return b.Net.Feedback(b.Ohms, i) })
			p.AtLeast(back, quantity.Exactly("none", quantity.Ratio, 0), "negative feedback").Rating().At(rules.Error).Fails(func(m rules.Measure) string {
				return fmt.Sprintf("%s can turn positive: the output latches", m.Name)
			})
		}
		followers(p)
		offsets(p)
	},
}

// followers looks at the op amps that drive what the reading counts from: one whose output is joined to its own in+ and
// not to its in- latches, where one is meant that follows.
func followers(p *rules.Bench) {
	s, ok := p.Network.Solve(p.Network.Nominal())
	if !ok {
		return
	}
	for k, n := range p.Network.Ports {
		if math.Abs(s.Of(p.Network.Reads(), k)) < 1e-9 {
			continue
		}
		for e := range p.Design.On(n) {
			for _, u := range e.OpAmps() {
				out, okO := e.PinOf("out", u)
				plus, okP := e.PinOf("in+", u)
				minus, okM := e.PinOf("in-", u)
				if okO && okP && okM && out == n && plus == n && minus != n {
					p.Breach(fmt.Sprintf("%s drives its own in+, and not its in-: the output latches", e.Path())).At(rules.Error).On(e).
						Advise("exchange in+ and in- of " + e.Path())
				}
			}
		}
	}
}

// weak is how far above its low end an output may need its full sink current, in volts: below one junction drop only a
// current source of some microamperes pulls down the output of many op amps (common practice).
const weak = 0.7

// sinks holds the current that the resistors on an output push into it at its low end against what it surely sinks there.
func sinks(p *rules.Bench, i int) {
	s := p.Stage(i)
	t := p.Network.Stages[i]
	if t.Through != nil {
		return // the transistor takes the current
	}
	amps := p.ShuntCurrent(design.Operating)
	least := amps.Seen.Lo
	if amps.Seen.Empty() {
		p.AtMost(amps, quantity.Exactly("limit", quantity.Amp, 0), "currents")
		return
	}
	out := s.OpAmpAt(least, "lowest output", quantity.Volt, design.Operating, func(b rules.Built) float64 { return b.At(t.Out) })
	low := s.Level("output.low", design.Operating, false)
	if low.Known() && out.Known() && out.Sound.Lo > low.Sound.Hi+weak {
		p.Holds(fmt.Sprintf("%s stays above %s, where it sinks with all its strength", stageName(p, i, "the output"), quantity.Show(out.Sound.Lo, quantity.Volt)))
		return
	}
	end := low // or where the resistors leave it, if that is higher
	if low.Known() && out.Known() && out.Sound.Lo > low.Sound.Hi {
		end = quantity.Exactly("lowest output", quantity.Volt, out.Sound.Lo)
	}
	name := stageName(p, i, "current into the output at its low end")
	sink := s.OpAmpAt(least, name, quantity.Amp, design.Operating, func(b rules.Built) float64 {
		sum := 0.0
		for k, e := range b.Net.Resistors {
			a, c := e.Pin(0), e.Pin(1)
			if a == t.Out {
				a, c = c, a
			}
			if c != t.Out || a == t.Out {
				continue
			}
			sum += (b.At(a) - b.More[0]) / b.Ohms[k]
		}
		return sum
	}, end)
	if t.Out == p.Output.Pin {
		sink = withPulls(p, sink.Name, sink, end)
	}
	if sink.Known() && sink.Sound.Hi <= 0 {
		p.Holds(fmt.Sprintf("%s only delivers current at its low end", stageName(p, i, "the output")))
		return
	}
	limit := s.Part("output.sink")
	larger(p, p.AtMost(sink, limit, "output.sink")).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Amp, m.Max, m.LimitMax)
		stays := end.Nom + (m.Max-m.LimitMax)*across(p, t.Out)
		return fmt.Sprintf("%s is %s, the op amp surely sinks %s: the output may stay at %s", m.Name, sc.Text(m.Max, quantity.Up),
			sc.Text(m.LimitMax, quantity.Down), quantity.ScaleFor(quantity.Volt, stays).Text(stays, quantity.Up))
	})
}

// withPulls adds to the current into an output what resistors on it bring that are no part of the network that decides it:
// a pull-up, a divider to a rail. The net beyond such a resistor follows the output in part and stands somewhere by itself.
func withPulls(p *rules.Bench, name string, sink, end quantity.Quantity) quantity.Quantity {
	in := []quantity.Quantity{sink, end, p.Net(p.Ground, design.Operating)}
	for _, e := range pulls(p, p.Output.Pin) {
		far := e.Other(p.Output.Pin)
		in = append(in, e.Resistance(), p.Rest(far, design.Operating), p.Transfer(far))
	}
	if len(in) == 3 {
		return sink
	}
	return quantity.Calc(name, quantity.Amp, func(x []float64) float64 {
		sum, at := x[0], x[1]+x[2]
		for k := 3; k < len(x); k += 3 {
			sum += (x[k+1] - (1-x[k+2])*at) / x[k]
		}
		return sum
	}, in...)
}

// pulls are the resistors on an output that are no part of the network that decides it.
func pulls(p *rules.Bench, out circuit.Net) (list []design.Element) {
	own := map[circuit.ID]bool{}
	for _, e := range p.Network.Resistors {
		own[e.ID] = true
	}
	for e := range p.Design.On(out) {
		if e.Kind() == 'R' && e.Pins() == 2 && e.Value() > 0 && !own[e.ID] && e.Other(out) != out {
			list = append(list, e)
		}
	}
	return list
}

// across is the resistance of all resistors on an output together, as drawn, in ohm.
func across(p *rules.Bench, out circuit.Net) float64 {
	g := 0.0
	for _, e := range append(pulls(p, out), p.Network.Resistors...) {
		if a, b := e.Pin(0), e.Pin(1); (a == out) != (b == out) {
			g += 1 / e.Value()
		}
	}
	return 1 / g
}

// offsets holds the offsets of all op amps of the block, each through its noise gain and counted at the shunt, against the
// goal. A calibrated offset is left to its drift.
func offsets(p *rules.Bench) {
	limit, declared := allowed(p)
	if !declared || p.Calibrated("offset") {
		return
	}
	gain := math.Abs(p.Part("gain").Nom)
	var vos []quantity.Quantity
	for i := range p.Network.Stages {
		vos = append(vos, p.StageOffset(i))
	}
	q := p.OpAmpRatio("offset at the shunt", quantity.Volt, func(b rules.Built) float64 {
		sum := 0.0
		for i, v := range b.More {
			sum += b.Offset(b.Net.Reads(), i) * v / gain
		}
		return sum
	}, vos...)
	p.Within(q, limit.Times(-1), limit, "goal at its lowest current").At(rules.Error).Fails(func(m rules.Measure) string {
		sc := quantity.ScaleFor(quantity.Volt, m.Max, m.LimitMax)
		return fmt.Sprintf("the op amp's offset makes %s at the shunt, the whole goal allows %s", sc.Text(max(m.Max, -m.Min), quantity.Up), sc.Text(m.LimitMax, quantity.Down))
	}).Advise("an op amp with less offset, a larger shunt, or a calibration of the offset")
}
