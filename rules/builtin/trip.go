package builtin

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/field"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// A trip is one threshold that the block's output is compared with: by a comparator that is drawn, or by a converter or
// firmware as intent declares.
type trip struct {
	name          string // its entry in intent; without one the comparator's path
	net           circuit.Net
	comparator    *design.Element // nil where none is drawn
	unit          string
	signal, other string // of a comparator: the input that the output reaches, and the one at the threshold
}

// get is what intent says of the trip; nil where it says nothing.
func (t trip) get(p *rules.Bench, key string) *field.Entry {
	return p.Design.Intent.Get("trips", t.name, key)
}

func (t trip) key(key string) string { return design.Key("trips", t.name, key) }

// flag is a flag of the trip, false where nobody said it.
func (t trip) flag(p *rules.Bench, key string) bool {
	e := t.get(p, key)
	return e != nil && e.Flag
}

// A tripStep is a net that resistors and coils reach from another, over which element and from where.
type tripStep struct {
	net  circuit.Net
	over design.Element
	from int // -1 at the start
}

// netsBehind are the nets that a net reaches through resistors and coils, itself first, not past what something holds.
func netsBehind(d *design.Design, start circuit.Net) []tripStep {
	out := []tripStep{{net: start, from: -1}}
	seen := map[circuit.Net]bool{start: true}
	for i := 0; i < len(out) && len(out) < 256; i++ {
		if _, held := d.Rail(out[i].net, design.Operating); held {
			continue
		}
		for e := range d.On(out[i].net) {
			if k := e.Kind(); k != 'R' && k != 'L' || e.Pins() != 2 {
				continue
			}
			to := e.Other(out[i].net)
			if _, held := d.Rail(to, design.Operating); !held && !seen[to] {
				seen[to] = true
				out = append(out, tripStep{to, e, i})
			}
		}
	}
	return out
}

func reachedAt(steps []tripStep, n circuit.Net) int {
	return slices.IndexFunc(steps, func(s tripStep) bool { return s.net == n })
}

// trips are the trips of a block: those that intent declares on a net that its output reaches, or at a comparator that is
// drawn there, and every other comparator there. A declared one that belongs to no block lacks something, which the first
// block of the netlist says.
func trips(p *rules.Bench) (list []trip, missing []quantity.Need) {
	var reached []tripStep
	if _, ok := p.Pin("out"); ok { // a digital monitor has none, and may be the first block all the same
		reached = netsBehind(p.Design, p.Output.Pin)
	}
	drawn := comparators(p.Design, reached)
	taken := map[string]bool{}
	var astray []trip
	for _, name := range p.Design.Intent.Names("trips") {
		t := trip{name: name}
		if o, ok := t.found(p.Design, reached, drawn); ok {
			taken[o.name] = true
			o.name = name
			list = append(list, o)
			continue
		}
		astray = append(astray, t)
	}
	for _, t := range drawn {
		if !taken[t.name] {
			list = append(list, t)
		}
	}
	if len(astray) > 0 && first(p) {
		missing = nobodys(p.Design, astray)
	}
	return list, missing
}

// found is the trip where the output reaches it: on the net that intent names, or as a comparator that is drawn, whose path
// intent names or the trip has for its name.
func (t trip) found(d *design.Design, reached []tripStep, drawn []trip) (trip, bool) {
	by, on := d.Intent.Get("trips", t.name, "comparator"), d.Intent.Get("trips", t.name, "net")
	if by == nil && on != nil {
		n, ok := d.Net(on.Text)
		t.net = n
		return t, ok && reachedAt(reached, n) >= 0
	}
	name := t.name
	if by != nil {
		name = by.Text
	}
	if i := slices.IndexFunc(drawn, func(o trip) bool { return strings.EqualFold(o.name, name) }); i >= 0 {
		return drawn[i], true
	}
	return t, false
}

// first tells the first block of the netlist.
func first(p *rules.Bench) bool {
	for b := range sense.Blocks(p.Design) {
		return b.Name() == p.Name()
	}
	return false
}

// nobodys are what trips lack that no block's output reaches.
func nobodys(d *design.Design, astray []trip) (missing []quantity.Need) {
	for b := range sense.Blocks(d) {
		if _, ok := b.Pin("out"); !ok {
			continue
		}
		reached := netsBehind(d, b.Output.Pin)
		drawn := comparators(d, reached)
		astray = slices.DeleteFunc(astray, func(t trip) bool { _, ok := t.found(d, reached, drawn); return ok })
	}
	for _, t := range astray {
		if d.Intent.Says("trips", t.name, "net") || d.Intent.Says("trips", t.name, "comparator") {
			missing = append(missing, quantity.Need{In: "netlist", Key: "a way through resistors from an output to what " + design.Key("trips", t.name) + " names"})
		} else {
			missing = append(missing, quantity.Need{In: "intent", Key: t.key("net")})
		}
	}
	return missing
}

// comparators are those with one input among the nets; with both they compare the output with itself.
func comparators(d *design.Design, reached []tripStep) (list []trip) {
	seen := map[string]bool{}
	for _, s := range reached {
		for e := range d.On(s.net) {
			for _, unit := range e.Comparators() {
				name := e.Path()
				if unit != "" {
					name += ":" + unit
				}
				plus, okP := e.PinOf("in+", unit)
				minus, okM := e.PinOf("in-", unit)
				if !okP || !okM || seen[name] || reachedAt(reached, plus) >= 0 == (reachedAt(reached, minus) >= 0) {
					continue
				}
				seen[name] = true
				t := trip{name: name, comparator: &e, unit: unit, net: plus, signal: "in+", other: "in-"}
				if reachedAt(reached, plus) < 0 {
					t.net, t.signal, t.other = minus, "in-", "in+"
				}
				list = append(list, t)
			}
		}
	}
	return list
}

// fedBack tells that resistors join a comparator's output to one of its inputs, and which one.
func (t trip) fedBack(p *rules.Bench) bool {
	out, ok := t.comparator.PinOf("out", t.unit)
	if !ok {
		return false
	}
	near := netsBehind(p.Design, out)
	other, _ := t.comparator.PinOf(t.other, t.unit)
	return reachedAt(near, t.net) >= 0 || reachedAt(near, other) >= 0
}

// resting is the bench with a comparator's output at rest, low or high, where resistors lead from it to its inputs; p
// itself where there is no feedback. What the output does where nobody knows stays unknown.
func (t trip) resting(p *rules.Bench, high bool) *rules.Bench {
	if t.comparator == nil || !t.fedBack(p) {
		return p
	}
	out, _ := t.comparator.PinOf("out", t.unit)
	c := p.Of(*t.comparator, t.unit)
	change := design.Change{Op: design.Declare, Target: p.Design.Circuit.NetName(out), Text: "0 V exact"}
	switch kind, _ := c.Word("output.type"); {
	case !high:
	case kind == "open-drain": // it lets go of the net
		change = design.Change{Op: design.Connect, Target: t.comparator.Path(), Net: 0, Text: "0"}
		for i := range t.comparator.Pins() {
			if t.comparator.Pin(i) == out {
				change.Pins[0] = i
			}
		}
	case kind == "push-pull":
		n, ok := c.Pin("supply")
		v := p.Net(n, design.Operating)
		if !ok || v.Sound != v.Seen || math.IsInf(v.Sound.Width(), 0) {
			return p
		}
		change.Text = fmt.Sprintf("%g V .. %g V", v.Sound.Lo, v.Sound.Hi)
	default:
		return p
	}
	if v := p.With(change); v != nil {
		return v
	}
	return p
}

// A tripping is what decides when a trip comes, over everything that varies.
type tripping struct {
	bench  *rules.Bench        // with the comparator's output as it rests before the trip
	input  quantity.Quantity   // the threshold at the compared net, less what that net stands at with the output at 0 V, in V
	output quantity.Quantity   // the output from the amplifier's ground pin at which it trips, in V
	amps   quantity.Quantity   // the declared current at which it trips, in A
	level  float64             // nominal, that is compared with, in V against node 0
	slope  quantity.Quantity   // of the compared net over the current, in V/A
	terms  []quantity.Quantity // what amps is a function of: the output, the output at 0 A, gain, offset and scale
	rises  bool                // the output rises towards it
}

// tripping works out when a trip comes: (Vth - V0 -+ G Voff) / S with Vth referred to the output. Of an op-amp block G Voff is
// what offsets and bias currents add to the output.
func (t trip) tripping(p *rules.Bench) tripping {
	r := tripping{rises: true}
	zero := p.Zero(design.Operating)
	for range 2 { // which way the output comes decides which of two thresholds counts
		v := t.resting(p, t.signal == "in+" != r.rises)
		r.bench, r.input = v, t.threshold(v, r.rises)
		k, ground := v.Transfer(t.net), v.Net(v.Ground, design.Operating)
		r.output = quantity.Calc("output at the trip "+t.name, quantity.Volt, func(x []float64) float64 { return x[0]/x[1] - x[2] }, r.input, k, ground)
		if rises := !(r.output.Nom < zero.Nom); rises == r.rises {
			break
		} else {
			r.rises = rises
		}
	}
	offset, scale := eitherWay(p.Name()+" offset", p.Part("offset.max")), p.Scale()
	if len(p.Block.Shunt) > 1 { // the limits of the current are those of one element
		scale = quantity.Calc("scale", quantity.VoltPerAmp, func(x []float64) float64 { return x[0] * x[1] }, scale, p.GroupRatio())
	}
	r.level = t.level(r.bench).Nom
	r.slope = quantity.Calc("slope", quantity.VoltPerAmp, func(x []float64) float64 { return x[0] * x[1] }, scale, r.bench.Transfer(t.net))
	gain := p.Gain()
	if p.Network != nil { // the offset of an op amp is raised by the gain for noise, and its bias currents count
		gain, offset = quantity.Exactly("as it is", quantity.VoltPerVolt, 1), p.OpAmpShift()
	}
	r.terms = []quantity.Quantity{r.output, zero, gain, offset, scale}
	r.amps = quantity.Calc("trip current of "+t.name, quantity.Amp, func(x []float64) float64 { return (x[0] - x[1] - x[2]*x[3]) / x[4] }, r.terms...)
	return r
}

// shows is how an end of the trip current comes about: "(2.9 V - 0 V - 2.3 mV) / 31.6 mV/A".
func (r tripping) shows(high bool) string {
	x, ok := r.amps.Corner(high, r.terms)
	if !ok {
		return ""
	}
	v := func(v float64) string {
		if math.Abs(v) < 1e-9 { // what rounding leaves of a reference at ground
			v = 0
		}
		return quantity.Show(math.Abs(v), quantity.Volt)
	}
	sign := map[bool]string{true: " - ", false: " + "}
	first := v(x[0])
	if x[0] < 0 {
		first = "-" + first
	}
	return fmt.Sprintf("(%s%s%s%s%s) / %s", first, sign[x[1] >= 0], v(x[1]), sign[x[2]*x[3] >= 0], v(x[2]*x[3]), quantity.Show(x[4], quantity.VoltPerAmp))
}

// threshold is the voltage that the output's share must add to at the compared net: the threshold with the comparator's
// offset and half its hysteresis, less what the net stands at with the output at 0 V.
func (t trip) threshold(p *rules.Bench, rises bool) quantity.Quantity {
	rest := quantity.Exactly("rest", quantity.Volt, 0)
	if t.net != p.Output.Pin {
		rest = p.NetAfter(t.net, design.Change{Op: design.Declare, Target: p.Design.Circuit.NetName(p.Output.Pin), Text: "0 V exact"})
	}
	if t.comparator == nil || t.get(p, "threshold") != nil {
		return quantity.Minus("threshold", t.level(p), rest)
	}
	half := 0.5
	if !rises {
		half = -0.5
	}
	offset := eitherWay(t.comparator.Path()+t.unit+" offset", p.PartOf(*t.comparator, "offset.max"))
	return quantity.Calc("threshold", quantity.Volt, func(x []float64) float64 { return x[0] + x[1] + half*x[2] - x[3] },
		t.level(p), offset, p.PartOf(*t.comparator, "hysteresis"), rest)
}

// level is the voltage that is compared with, against node 0: what intent declares, else what stands at the other input of
// the comparator.
func (t trip) level(p *rules.Bench) quantity.Quantity {
	if t.comparator == nil || t.get(p, "threshold") != nil {
		return p.Declared(quantity.Volt, "trips", t.name, "threshold")
	}
	other, _ := t.comparator.PinOf(t.other, t.unit)
	if level := p.Net(other, design.Operating); level.Known() {
		return level
	}
	return quantity.Missing(quantity.Volt, quantity.Need{In: "intent", Key: t.key("threshold")})
}

// limitOf is a current of intent as a limit, in A, on the side that a trip is on.
func limitOf(en *field.Entry, amps float64) quantity.Quantity {
	return (&quantity.Cause{Name: en.Key(), Unit: quantity.Amp, Nom: amps, Sound: quantity.Point(amps), Seen: quantity.Point(amps), At: en.At}).Of()
}
