package builtin

import (
	"cmp"
	_ "embed" // the page
	"fmt"
	"slices"
	"strings"

	"github.com/shuntwright/shuntwright/parse/circuit"
	"github.com/shuntwright/shuntwright/parse/design"
	"github.com/shuntwright/shuntwright/parse/quantity"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules"
)

//go:embed doc/decoupling.md
var decouplingPage string

// Decoupling asks for capacitors between the supply pin and the ground pin of the amplifier: as much as its record wants,
// and one for each part that hangs on the same net.
var Decoupling = &rules.Rule{
	ID:    "decoupling",
	Title: "supply pin without its capacitor",
	Level: rules.Warning,
	Page:  decouplingPage,
	Since: 2,
	Judge: func(p *rules.Bench) {
		if !p.HasSupply {
			p.Skip("the record names no supply pin")
			return
		}
		ground, ok := p.Pin("ground")
		if !ok {
			p.Need(quantity.Need{In: "part record", Key: p.Amp.Record().Name() + ` pins with "ground"`, At: p.Amp.Record().At()})
			return
		}
		pin := p.Design.Circuit.NetName(p.Supply)
		at := bypass(p.Design, p.Supply, ground, least(p).Nom)
		if len(at.caps) == 0 {
			far := behind(p, ground)
			if len(far.caps) == 0 {
				p.Breach(fmt.Sprintf("no capacitor stands between the supply pin (%s) and ground", pin)).At(rules.Error).
					Advise(fmt.Sprintf("a capacitor of %s from %s to %s, beside the pin", show(least(p)), pin, p.Design.Circuit.NetName(ground)))
				return
			}
			p.Breach(fmt.Sprintf("no capacitor stands at the supply pin (%s): the nearest is %s, behind %s", pin, far.caps[0].Path(), paths(p.SupplySeries))).
				Evidence(source.Related{At: far.caps[0].Card(), Message: "the nearest capacitor"}).
				Advise(fmt.Sprintf("a capacitor of %s from %s to %s, beside the pin", show(least(p)), pin, p.Design.Circuit.NetName(ground)))
			return
		}
		if at.unvalued != nil && !(at.farad >= least(p).Nom) { // a part of which no value is known
			p.HoldsIf(fmt.Sprintf("%s holds enough at the supply pin: nobody said how much it is", at.unvalued.Path()))
			return
		}
		sum, limit := at.sum(), least(p)
		c := p.AtLeast(sum, limit, "supply.decoupling")
		if largest := at.largest(); largest.Value() > 0 {
			enough := toThree(largest.Written()+(limit.Nom-sum.Nom)/largest.Copies(), true)
			c.Try(fmt.Sprintf("%s at least %s", largest.Path(), quantity.Show(enough, quantity.Farad)),
				design.Change{Op: design.Set, Target: largest.Path(), Value: enough, Unit: quantity.Farad})
		}
		c.Fails(func(m rules.Measure) string {
			sc := quantity.ScaleFor(quantity.Farad, m.Min, m.LimitMin)
			return fmt.Sprintf("the supply pin (%s) has %s, the part wants %s", pin, sc.Text(m.Min, quantity.Down), sc.Text(m.LimitMin, quantity.Up))
		})
		if len(at.caps) < at.parts {
			p.Breach(fmt.Sprintf("%d parts share %s on %s: each wants one of its own", at.parts, count(len(at.caps), "capacitor"), pin)).At(rules.Note).
				Advise("one capacitor beside each part")
		}
	},
}

// ordinary is what a supply pin gets where nobody says otherwise; common practice, no source.
const ordinary = 100e-9

// least is the capacitance that the part wants at its supply pin.
func least(p *rules.Bench) quantity.Quantity {
	if p.Amp.Entry("supply.decoupling") != nil {
		return p.Part("supply.decoupling")
	}
	return (&quantity.Cause{Name: "usual capacitance", Unit: quantity.Farad, Nom: ordinary, Sound: quantity.Point(ordinary), Seen: quantity.Point(ordinary),
		Grade: quantity.Assumed, Note: "the record does not say supply.decoupling: 100 nF is counted, which is common practice"}).Of()
}

func show(q quantity.Quantity) string { return quantity.Show(q.Nom, q.Unit) }

// decoupled is what stands on a supply net: capacitors to ground, and how many parts draw from it.
type decoupled struct {
	caps     []design.Element
	farad    float64 // of those that have a value
	parts    int
	unvalued *design.Element // an X card whose record says that it is a capacitor
}

// sum is the nominal capacitance: data sheets ask for a nominal value, and know that ceramic is no exact thing.
func (c decoupled) sum() quantity.Quantity {
	const name = "capacitance at the supply pin"
	farad := 0.0
	for _, e := range c.caps {
		if e.Kind() == 'X' {
			continue // of unknown value, beside enough
		}
		v := e.Value()
		if !(v >= 0) {
			return quantity.Missing(quantity.Farad, quantity.Need{In: "netlist", Key: "the value of " + e.Path(), At: e.Card()}).Named(name)
		}
		farad += v
	}
	return (&quantity.Cause{Name: paths(c.caps), Unit: quantity.Farad, Nom: farad, Sound: quantity.Point(farad), Seen: quantity.Point(farad),
		At: c.largest().Card()}).Of().Named(name)
}

// largest is the capacitor of the largest value: the one to be made larger.
func (c decoupled) largest() design.Element {
	return slices.MaxFunc(c.caps, func(a, b design.Element) int { return cmp.Compare(a.Value(), b.Value()) })
}

// mostOnNet is how many elements of a supply net are looked at once enough has been found for one part; a net of a large netlist
// has tens of thousands, and is asked for by each part on it. Whose parts are more than its capacitors is then not said.
const mostOnNet = 64

// bypass finds the capacitors between a supply net and a ground net, by whatever further names both go; on a large net until enough is found.
func bypass(d *design.Design, supply, ground circuit.Net, enough float64) (out decoupled) {
	nets := wired(d, supply)
	seen := map[circuit.ID]bool{}
	for _, n := range nets {
		if n == 0 {
			continue
		}
		for i, id := range d.Circuit.On(n) {
			if i >= mostOnNet && len(out.caps) > 0 && out.farad >= enough {
				out.parts = 0
				return out
			}
			e := d.Element(id)
			if seen[id] {
				continue
			}
			seen[id] = true
			switch e.Kind() {
			case 'C':
				if o := e.Other(n); e.Pins() == 2 && !slices.Contains(nets, o) && meets(d, o, ground) {
					if out.caps = append(out.caps, e); e.Value() >= 0 {
						out.farad += e.Value()
					}
				}
			case 'X':
				r := e.Record()
				switch {
				case r == nil:
				case r.Role() == "capacitor":
					a, okA := e.PinOf("a", "")
					b, okB := e.PinOf("b", "")
					if a == n {
						a = b
					}
					if okA && okB && meets(d, a, ground) {
						out.caps, out.unvalued = append(out.caps, e), &e
					}
				default:
					if s, ok := e.PinOf("supply", ""); ok && s == n {
						out.parts++
					}
				}
			}
		}
	}
	return out
}

// behind finds the capacitors on the far sides of what stands in series with the supply pin, the nearest first.
func behind(p *rules.Bench, ground circuit.Net) decoupled {
	at := p.Supply
	for _, e := range p.SupplySeries {
		at = e.Other(at)
		if c := bypass(p.Design, at, ground, 0); len(c.caps) > 0 {
			return c
		}
	}
	return decoupled{}
}

// paths names elements: "R1, R2".
func paths(list []design.Element) string {
	var out []string
	for _, e := range list {
		out = append(out, e.Path())
	}
	return strings.Join(out, ", ")
}

// count is "1 capacitor", "3 capacitors".
func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
