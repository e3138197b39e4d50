package house

import (
	"errors"
	"math"
	"path"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/rules/sense"
)

// seen is a block as rules see it.
func seen(d *design.Design, b *sense.Block) view {
	name := d.Circuit.NetName
	v := view{Name: b.Name(), Kind: b.Kind, Part: b.Amp.Record().Name(), Unit: b.Unit, Amplifier: drawn(d, b.Amp), Broken: b.Broken,
		Shunt: drawnAll(d, b.Shunt), Plus: legOf(d, b.Plus), Minus: legOf(d, b.Minus), SupplySeries: drawnAll(d, b.SupplySeries),
		Output: output{name(b.Output.Pin), name(b.Output.Converter), b.Output.Declared, drawnAll(d, b.Output.Series)}}
	for _, role := range b.Amp.Record().Pins() {
		if n, ok := b.Pin(role); ok {
			v.Pins = append(v.Pins, pin{Role: role, Net: name(n)})
		}
	}
	for _, r := range b.References {
		v.References = append(v.References, pin{r.Role, name(r.Net), r.Source})
	}
	return v
}

func legOf(d *design.Design, l sense.Leg) leg {
	out := leg{Pin: d.Circuit.NetName(l.Pin), Shunt: d.Circuit.NetName(l.Shunt), Series: drawnAll(d, l.Series)}
	for _, n := range l.Inner {
		out.Inner = append(out.Inner, d.Circuit.NetName(n))
	}
	return out
}

func drawnAll(d *design.Design, list []design.Element) (out []element) {
	for _, e := range list {
		out = append(out, drawn(d, e))
	}
	return out
}

func drawn(d *design.Design, e design.Element) element {
	out := element{Path: e.Path(), Kind: string(e.Kind()), Model: e.Ref()}
	for i := range e.Pins() {
		out.Nets = append(out.Nets, d.Circuit.NetName(e.Pin(i)))
	}
	if v := e.Value(); !math.IsNaN(v) && !math.IsInf(v, 0) {
		out.Value = &v
	}
	if r := e.Record(); r != nil {
		out.Part = r.Name()
	}
	return out
}

// mostElements bounds an answer; a rail of a large netlist has more than anybody wants to walk.
const mostElements = 5000

// answer looks up what a rule asks for.
func (b bench) answer(a *ask) (out answer) {
	d := b.Design
	switch a.What {
	case "reach":
		q, err := b.quantity(a.Quantity)
		var u undecided
		switch {
		case errors.As(err, &u):
			return answer{Fault: u.message, Needs: u.needs, Undecided: true}
		case err != nil:
			return answer{Fault: err.Error()}
		}
		return answer{Reach: told(d, q)}
	case "element":
		if e, ok := d.Find(a.Name); ok && e.Kind() != design.Gone {
			return answer{Found: true, Elements: []element{drawn(d, e)}}
		}
		return out
	case "net":
		n, ok := d.Net(a.Name)
		if ok {
			out = answer{Found: true, Name: d.Circuit.NetName(n)}
		}
		return out
	case "on":
		n, err := b.net(a.Name)
		if err != nil {
			return answer{Fault: err.Error()}
		}
		for e := range d.On(n) {
			if len(out.Elements) == mostElements {
				return answer{Fault: a.Name + " joins more elements than a rule may walk; stop at rails"}
			}
			out.Elements = append(out.Elements, drawn(d, e))
		}
		return out
	case "elements":
		for e := range d.Elements() {
			if e.Kind() == design.Gone || a.Kinds != "" && !strings.ContainsRune(a.Kinds, rune(e.Kind())) || !like(a.Like, e.Path()) {
				continue
			}
			if len(out.Elements) == mostElements {
				return answer{Fault: "more elements fit than a rule may look at; narrow kind or like"}
			}
			out.Elements = append(out.Elements, drawn(d, e))
		}
		return out
	case "blocks":
		for o := range sense.Blocks(d) {
			if len(out.Blocks) == mostElements/5 {
				return answer{Fault: "the netlist has more blocks than a rule may look at"}
			}
			out.Blocks = append(out.Blocks, seen(d, o))
		}
		return out
	case "path":
		return b.path(a)
	case "intent":
		return b.promise(a.Path)
	}
	return answer{Fault: "nothing is called " + a.What}
}

// promise is a line of intent.
func (b bench) promise(at []string) (out answer) {
	e := b.Design.Intent.Get(at...)
	if e == nil {
		return answer{Found: b.Design.Intent.Says(at...)}
	}
	out.Found, out.Entry = true, &entry{Text: e.Text, Names: e.Names, Unit: e.Field.Unit, Quantity: e.Written.Text != ""}
	if e.Text == "true" || e.Text == "false" {
		out.Entry.Flag = &e.Flag
	}
	return out
}

// path is the shortest way between two nets through elements of some kinds, as the elements on it. It does not pass node 0.
func (b bench) path(a *ask) (out answer) {
	d := b.Design
	from, err := b.net(a.Name)
	if err != nil {
		return answer{Fault: err.Error()}
	}
	to, err := b.net(a.To)
	if err != nil {
		return answer{Fault: err.Error()}
	}
	type step struct {
		back circuit.Net
		by   design.Element
	}
	came := map[circuit.Net]step{from: {}}
	looked := 0
	for todo := []circuit.Net{from}; len(todo) > 0; todo = todo[1:] {
		n := todo[0]
		if n == to {
			for n != from {
				out.Elements = append(out.Elements, drawn(d, came[n].by))
				n = came[n].back
			}
			slices.Reverse(out.Elements)
			out.Found = true
			return out
		}
		if n == 0 && n != from {
			continue
		}
		for e := range d.On(n) {
			if looked++; looked > 200_000 {
				return answer{Fault: "no way was found among 200000 elements"}
			}
			if e.Pins() != 2 || a.Kinds != "" && !strings.ContainsRune(a.Kinds, rune(e.Kind())) {
				continue
			}
			if o := e.Other(n); !known(came, o) {
				came[o] = step{n, e}
				todo = append(todo, o)
			}
		}
	}
	return out
}

func known[K comparable, V any](m map[K]V, k K) bool { _, ok := m[k]; return ok }

// literal makes what has a meaning in patterns beside * and ? stand for itself; no slash ends what a star fits.
var literal = strings.NewReplacer(`\`, `\\`, "[", `\[`, "/", "|")

// like tells that a name fits a pattern of * and ?, letter case aside; an empty pattern fits all.
func like(pattern, name string) bool {
	if pattern == "" {
		return true
	}
	plain := literal.Replace(strings.ToLower(pattern))
	ok, err := path.Match(plain, strings.ReplaceAll(strings.ToLower(name), "/", "|"))
	return ok && err == nil
}
