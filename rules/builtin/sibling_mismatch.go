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
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/sense"
	"github.com/shuntwright/shuntwright/rules/volt"
)

//go:embed doc/sibling-mismatch.md
var siblingMismatchPage string

// SiblingMismatch asks that channels which are meant to be alike are: copied channels in which one value was forgotten pass
// every rule that looks at one channel.
var SiblingMismatch = &rules.Rule{
	ID:    "sibling-mismatch",
	Title: "one channel differs from its siblings",
	Level: rules.Warning,
	Page:  siblingMismatchPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if unusedChannel(p) {
			p.Skip("the channel is left unused")
			return
		}
		f := families(p).of[p.Name()]
		if f == nil || len(f.members) < 2 {
			p.Skip("no other channel is meant to be like this one")
			return
		}
		var texts []string
		var changes []design.Change
		var witnesses []*sense.Block
		curable := true
		mine := likenessOf(p.Design, p.Block)
		turned := false // the inputs stand the other way round, and all that is on them
		if a, ok := mine["polarity"]; ok && f.usual["polarity"].by != nil {
			turned = !a.same(f.usual["polarity"].aspect)
		}
		for _, trait := range traits {
			want := f.usual[trait]
			have, ok := mine[trait]
			if drawn, was := f.drawn[p.Name()][trait]; was && drawn.same(want.aspect) {
				continue // alike as drawn: what a remedy changes here it is to change in the siblings, too
			}
			if !ok || want.by == nil || channelSays(p, "differs", trait) || have.same(want.aspect) || turned && have.turned().same(want.aspect) {
				continue
			}
			texts = append(texts, fmt.Sprintf("%s %s, there %s", trait, have.text, want.text))
			if !slices.Contains(witnesses, want.by) {
				witnesses = append(witnesses, want.by)
			}
			ch := likened(p, trait, have, want)
			if turned && trait == "filter" {
				ch = nil
			}
			curable = curable && ch != nil
			changes = append(changes, ch...)
		}
		if needs := untold(p); texts == nil && needs != nil {
			p.Lacks("", needs...)
			return
		}
		if texts == nil {
			p.Holds("like " + strings.Join(f.besides(p.Name()), ", "))
			return
		}
		var there []string
		for _, b := range witnesses {
			there = append(there, b.Name())
		}
		c := p.Breach(fmt.Sprintf("differs from %s: %s", strings.Join(there, " and "), strings.Join(texts, "; "))).
			Advise(fmt.Sprintf("make it like %s, or say with %s in what it is meant to differ", strings.Join(there, " and "), design.Key("senses", p.Name(), "differs")))
		for _, b := range witnesses {
			c.Evidence(source.Related{At: b.Amp.Card(), Message: b.Name()})
		}
		if curable {
			c.Try("the same as in "+strings.Join(there, " and "), changes...)
		}
	},
}

// traits are what siblings agree in, as senses.BLOCK.differs names them.
var traits = []string{"part", "gain", "shunt", "filter", "capacitor", "reference", "polarity"}

// An aspect is one trait of a channel: numbers that are compared, and words.
type aspect struct {
	numbers []float64
	key     string // what is compared beside the numbers
	text    string // as it is printed
}

// same tells that two aspects agree, numbers but for rounding.
func (a aspect) same(b aspect) bool {
	return a.key == b.key && slices.EqualFunc(a.numbers, b.numbers, func(x, y float64) bool {
		return x == y || math.Abs(x-y) <= 1e-6*max(math.Abs(x), math.Abs(y))
	})
}

// turned is the aspect with what is at in+ and at in- exchanged.
func (a aspect) turned() aspect {
	if n := len(a.numbers); n > 1 { // the last two
		a.numbers = slices.Clone(a.numbers)
		a.numbers[n-2], a.numbers[n-1] = a.numbers[n-1], a.numbers[n-2]
	}
	return a
}

// likenessOf are the traits of a channel that can be told.
func likenessOf(d *design.Design, b *sense.Block) map[string]aspect {
	l := map[string]aspect{}
	r := b.Amp.Record()
	base := strings.TrimSuffix(r.Name(), r.Suffix())
	l["part"] = aspect{key: strings.ToLower(base), text: base}
	if g, ok := networkGain(b); ok {
		l["gain"] = aspect{numbers: []float64{g}, text: quantity.Show(g, quantity.VoltPerVolt)}
	} else if g := b.Amp.Part("gain"); g.Known() {
		l["gain"] = aspect{numbers: []float64{g.Nom}, text: quantity.Show(g.Nom, quantity.VoltPerVolt)}
	}
	if len(b.Shunt) == 0 {
		return l
	}
	if q := b.ShuntResistance(); q.Known() {
		l["shunt"] = aspect{numbers: []float64{q.Nom}, text: quantity.Show(q.Nom, quantity.Ohm)}
	}
	plus, minus := b.Plus.Resistance("Rf+"), b.Minus.Resistance("Rf-")
	if plus.Known() && minus.Known() {
		l["filter"] = aspect{numbers: []float64{plus.Nom, minus.Nom},
			text: fmt.Sprintf("%s at in+ and %s at in-", quantity.Show(plus.Nom, quantity.Ohm), quantity.Show(minus.Nom, quantity.Ohm))}
	}
	across, atPlus, atMinus := capacitors(d, b)
	if !math.IsNaN(across + atPlus + atMinus) {
		l["capacitor"] = aspect{numbers: []float64{across, atPlus, atMinus},
			text: fmt.Sprintf("%s across, %s at in+ and %s at in-", quantity.Show(across, quantity.Farad), quantity.Show(atPlus, quantity.Farad), quantity.Show(atMinus, quantity.Farad))}
	}
	if ref, ok := reference(d, b); ok {
		l["reference"] = ref
	}
	if d.Intent.Says("currents", b.CurrentName(), "from") {
		slope := b.Sign()
		if w, _ := b.Amp.Word("polarity"); w == "inverted" {
			slope = -slope
		}
		l["polarity"] = aspect{numbers: []float64{slope}, text: map[float64]string{1: "rising with the current", -1: "falling with the current"}[slope]}
	}
	return l
}

// untold are the values of a channel that nobody can read, so that they could not be compared.
func untold(p *rules.Bench) (needs []quantity.Need) {
	for _, q := range []quantity.Quantity{p.Block.ShuntResistance(), p.Plus.Resistance("Rf+"), p.Minus.Resistance("Rf-")} {
		needs = append(needs, q.Needs...)
	}
	for _, n := range slices.Concat(p.Plus.Inner, p.Minus.Inner) {
		for e := range p.Design.On(n) {
			if e.Kind() == 'C' && math.IsNaN(e.Value()) {
				needs = append(needs, e.Capacitance().Needs...)
			}
		}
	}
	return needs
}

// networkGain is the nominal gain of a block that is built of op amps and resistors, in V/V; ok is false for every other.
func networkGain(b *sense.Block) (gain float64, ok bool) {
	if b.Network == nil {
		return 0, false
	}
	s, ok := b.Network.Solve(b.Network.Nominal())
	if !ok {
		return 0, false
	}
	n := 0.0
	for sign, end := range map[float64]circuit.Net{1: b.Plus.Shunt, -1: b.Minus.Shunt} {
		if k, driven := b.Network.Port(end); driven {
			gain += sign * s.Of(b.Network.Reads(), k)
			n++
		}
	}
	return gain / n, n > 0
}

// capacitors are the sums of those between the legs and of those from each leg to elsewhere, in farad.
func capacitors(d *design.Design, b *sense.Block) (across, atPlus, atMinus float64) {
	counted := map[circuit.ID]bool{}
	sum := func(leg, other sense.Leg, into *float64) {
		for _, n := range leg.Inner {
			for e := range d.On(n) {
				if e.Kind() != 'C' || e.Pins() != 2 || counted[e.ID] || e.Pin(0) == e.Pin(1) {
					continue
				}
				counted[e.ID] = true
				switch to := e.Other(n); {
				case to == other.Pin || to == other.Shunt || slices.Contains(other.Inner, to):
					across += e.Value()
				case to == leg.Shunt || slices.Contains(leg.Inner, to):
				default:
					*into += e.Value()
				}
			}
		}
	}
	sum(b.Plus, b.Minus, &atPlus)
	sum(b.Minus, b.Plus, &atMinus)
	return across, atPlus, atMinus
}

// reference tells what the reference pins stand on: ground, supply, or a net of a known voltage. ok is false where one
// hangs on something else.
func reference(d *design.Design, b *sense.Block) (a aspect, ok bool) {
	if len(b.References) == 0 {
		return a, false
	}
	var keys, texts []string
	for _, r := range b.References {
		name, _, _ := strings.Cut(r.Source, " through ")
		end, found := d.Net(name)
		key, text := "", "on "+name
		switch q, held := d.Rail(end, design.Operating); {
		case r.Net == b.Ground || found && r.Source != "" && end == b.Ground && !divided(d, r.Net):
			key, text = "ground", "on ground"
		case b.HasSupply && r.Net == b.Supply:
			key, text = "supply", "on its supply"
		case r.Source == "" || !found || !held || !q.Known() || divided(d, r.Net):
			return a, false
		default:
			key = quantity.Show(q.Nom, quantity.Volt)
		}
		keys, texts = append(keys, r.Role+" "+key), append(texts, r.Role+" "+text)
	}
	return aspect{key: strings.Join(keys, ", "), text: strings.Join(texts, ", ")}, true
}

// divided tells that more than one resistor is on a net that nothing holds.
func divided(d *design.Design, n circuit.Net) bool {
	if _, held := d.Rail(n, design.Operating); held {
		return false
	}
	count := 0
	for e := range d.On(n) {
		if e.Kind() == 'R' {
			count++
		}
	}
	return count > 1
}

// A family is channels that are meant to be alike, in netlist order, and what is usual among them.
type family struct {
	members []*sense.Block
	usual   map[string]custom
	drawn   map[string]map[string]aspect // the traits by the name of the channel
}

// A custom is the aspect that most of a family have, that of the first where as many have another, and who has it.
type custom struct {
	aspect
	by *sense.Block
}

func (f *family) besides(name string) (list []string) {
	for _, b := range f.members {
		if b.Name() != name && len(list) < 4 {
			list = append(list, b.Name())
		}
	}
	return list
}

type allFamilies struct{ of map[string]*family }

// families are those of the netlist as drawn: channels that share a declared group; else channels at nets that are switched
// alike, with the same declared range and scale; else channels of one part with the same declared range and scale. Of
// several channels at one shunt the first counts.
func families(p *rules.Bench) *allFamilies {
	return p.Once("families", func(d *design.Design, blocks []*sense.Block) any {
		byKey := map[string]*family{}
		var keys []string
		taken := map[string]bool{}
		for _, b := range blocks {
			key := kinship(d, b)
			if key == "" {
				continue
			}
			if len(b.Shunt) > 0 {
				at := key + "\x00" + b.Shunt[0].Path()
				if taken[at] {
					continue
				}
				taken[at] = true
			}
			if byKey[key] == nil {
				byKey[key] = &family{}
				keys = append(keys, key)
			}
			byKey[key].members = append(byKey[key].members, b)
		}
		all := &allFamilies{map[string]*family{}}
		for _, key := range keys {
			f := byKey[key]
			f.settle(d)
			for _, b := range f.members {
				all.of[b.Name()] = f
			}
		}
		return all
	}).(*allFamilies)
}

// settle finds what is usual; a channel that is meant to differ in a trait has no say in it.
func (f *family) settle(d *design.Design) {
	f.usual, f.drawn = map[string]custom{}, map[string]map[string]aspect{}
	if len(f.members) < 2 {
		return
	}
	type votes struct {
		custom
		n int
	}
	count := map[string][]votes{}
	for _, b := range f.members {
		f.drawn[b.Name()] = likenessOf(d, b)
		for trait, a := range f.drawn[b.Name()] {
			if e := d.Intent.Get("senses", b.Name(), "differs", trait); e != nil && e.Flag {
				continue
			}
			i := slices.IndexFunc(count[trait], func(v votes) bool { return v.same(a) })
			if i < 0 {
				i = len(count[trait])
				count[trait] = append(count[trait], votes{custom: custom{a, b}})
			}
			count[trait][i].n++
		}
	}
	for trait, list := range count {
		best := list[0]
		for _, v := range list[1:] {
			if v.n > best.n {
				best = v
			}
		}
		f.usual[trait] = best.custom
	}
}

// kinship is what the channels of a family share; "" for a channel that is meant to be like no other.
func kinship(d *design.Design, b *sense.Block) string {
	if e := d.Intent.Get("senses", b.Name(), "group"); e != nil {
		return "group " + strings.ToLower(e.Text)
	}
	rng := d.Intent.Get("currents", b.CurrentName(), "range")
	if len(b.Shunt) == 0 || rng == nil {
		return ""
	}
	alike := fmt.Sprintf("%g %g", rng.Written.Range.Lo, rng.Written.Range.Hi)
	scaled := false
	if b.Output.Declared != "" {
		if e := d.Intent.Get("converters", b.Output.Declared, "scale"); e != nil {
			alike += fmt.Sprintf(" %g", e.Written.Nom)
			scaled = true
		}
	}
	if s := switchedLike(d, b); s != "" {
		return "switched " + s + " " + alike
	}
	if !scaled { // an equal range alone is chance
		return ""
	}
	r := b.Amp.Record()
	return "part " + strings.ToLower(strings.TrimSuffix(r.Name(), r.Suffix())) + " " + alike
}

// switchedLike is how the net is switched that the shunt stands at, or that a transistor at it leads to; "" where it is
// not declared to be.
func switchedLike(d *design.Design, b *sense.Block) string {
	at := func(n circuit.Net) string {
		name := d.Circuit.NetName(n)
		between := d.Intent.Get("switching", name, "between")
		if between == nil {
			return ""
		}
		s := strings.ToLower(strings.Join(between.Names, " "))
		if f := d.Intent.Get("switching", name, "frequency"); f != nil {
			s += fmt.Sprintf(" %g", f.Written.Nom)
		}
		return s
	}
	for _, n := range []circuit.Net{b.Plus.Shunt, b.Minus.Shunt} {
		if s := at(n); s != "" {
			return "at " + s
		}
	}
	for _, n := range []circuit.Net{b.Plus.Shunt, b.Minus.Shunt} {
		if _, held := d.Rail(n, design.Operating); held { // a rail leads to every leg of a bridge
			continue
		}
		for e := range d.On(n) {
			if x, y, ok := volt.Channel(e); ok {
				for _, to := range []circuit.Net{x, y} {
					if s := at(to); s != "" && to != n {
						return "below " + s
					}
				}
			}
		}
	}
	return ""
}

// likened are changes that would give a channel the usual aspect; none where that is no change of one value or pin.
func likened(p *rules.Bench, trait string, have aspect, want custom) (ch []design.Change) {
	set := func(list []design.Element, v float64) {
		if len(list) == 1 && v > 0 {
			ch = append(ch, design.Change{Op: design.Set, Target: list[0].Path(), Value: v, Unit: quantity.Ohm})
		}
	}
	switch trait {
	case "part", "gain":
		if p.Network != nil {
			return nil // which resistor is the one?
		}
		if want.by.Unit == p.Unit && want.by.Amp.Pins() == p.Amp.Pins() {
			ch = []design.Change{{Op: design.Replace, Target: p.Amp.Path(), Text: want.by.Amp.Ref()}}
		}
	case "shunt":
		if p.Block.Shunt[0].Kind() == 'R' {
			set(p.Block.Shunt, want.numbers[0])
		}
	case "filter":
		for i, leg := range []sense.Leg{p.Plus, p.Minus} {
			if one := (aspect{numbers: have.numbers[i : i+1]}); !one.same(aspect{numbers: want.numbers[i : i+1]}) {
				before := len(ch)
				set(leg.Resistors(), want.numbers[i])
				if len(ch) == before {
					return nil
				}
			}
		}
	case "reference":
		for i, r := range p.References {
			pin, ok := p.Amp.PinAt(r.Role, p.Unit)
			if !ok || i >= len(want.by.References) || want.by.References[i].Role != r.Role {
				return nil
			}
			theirs := want.by.References[i].Net
			to := theirs
			switch {
			case theirs == want.by.Ground:
				to = p.Ground
			case want.by.HasSupply && theirs == want.by.Supply:
				to = p.Supply
			}
			if to != r.Net {
				ch = append(ch, movedTo(p.Design, p.Amp, pin, to))
			}
		}
	case "polarity":
		ch = inputsExchanged(p)
	}
	return ch
}
